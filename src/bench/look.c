#include "look.h"

#define DPI_ORDINARY (96.0 * 1024)

/* What the system had set before the preferences were laid over it. */
typedef struct {
  LoomPreferences *preferences; /* borrowed: the keeper hangs on it */
  int dpi;
  gboolean dark;
  bool portal_dark;
  char *theme;
} Keeper;

static void
keeper_free(Keeper *keeper)
{
  g_free(keeper->theme);
  g_free(keeper);
}

static void
apply(Keeper *keeper)
{
  GtkSettings *settings = gtk_settings_get_default();
  LoomLook look = loom_preferences_look(keeper->preferences);
  bool system_dark = keeper->dark || keeper->portal_dark;
  bool dark = look == LOOM_LOOK_SYSTEM ? system_dark : look == LOOM_LOOK_DARK;
  int percent = (int)loom_preferences_text_size(keeper->preferences);
  g_object_set(settings, "gtk-application-prefer-dark-theme", dark, "gtk-theme-name",
               look == LOOM_LOOK_CONTRAST ? "HighContrast" : keeper->theme, "gtk-xft-dpi",
               (int)((gint64)keeper->dpi * percent / 100), NULL);
}

static void
on_changed(LoomPreferences *preferences, gpointer data)
{
  (void)preferences;
  apply(data);
}

/* The desktop's wish for dark windows (org.freedesktop.appearance: 1 is dark). */
static void
on_portal(GObject *source, GAsyncResult *result, gpointer data)
{
  g_autoptr(LoomPreferences) preferences = data;
  g_autoptr(GVariant) answer =
      g_dbus_connection_call_finish(G_DBUS_CONNECTION(source), result, NULL);
  if (!answer)
    return;
  g_autoptr(GVariant) outer = NULL;
  g_variant_get(answer, "(v)", &outer);
  g_autoptr(GVariant) inner =
      g_variant_is_of_type(outer, G_VARIANT_TYPE_VARIANT) ? g_variant_get_variant(outer) : NULL;
  GVariant *value = inner ? inner : outer;
  Keeper *keeper = g_object_get_data(G_OBJECT(preferences), "look");
  if (!g_variant_is_of_type(value, G_VARIANT_TYPE_UINT32))
    return;
  keeper->portal_dark = g_variant_get_uint32(value) == 1;
  apply(keeper);
}

static void
ask_portal(LoomPreferences *preferences)
{
  GApplication *application = g_application_get_default();
  GDBusConnection *bus = application ? g_application_get_dbus_connection(application) : NULL;
  if (!bus)
    return;
  g_dbus_connection_call(bus, "org.freedesktop.portal.Desktop", "/org/freedesktop/portal/desktop",
                         "org.freedesktop.portal.Settings", "Read",
                         g_variant_new("(ss)", "org.freedesktop.appearance", "color-scheme"),
                         G_VARIANT_TYPE("(v)"), G_DBUS_CALL_FLAGS_NO_AUTO_START, -1, NULL,
                         on_portal, g_object_ref(preferences));
}

void
loom_look_follow(LoomPreferences *preferences)
{
  Keeper *keeper = g_new0(Keeper, 1);
  keeper->preferences = preferences;
  g_object_get(gtk_settings_get_default(), "gtk-application-prefer-dark-theme", &keeper->dark,
               "gtk-theme-name", &keeper->theme, "gtk-xft-dpi", &keeper->dpi, NULL);
  if (keeper->dpi <= 0)
    keeper->dpi = (int)DPI_ORDINARY;
  g_object_set_data_full(G_OBJECT(preferences), "look", keeper, (GDestroyNotify)keeper_free);
  g_signal_connect(preferences, "changed", G_CALLBACK(on_changed), keeper);
  apply(keeper);
  ask_portal(preferences);
}

static bool
is_high_contrast(void)
{
  g_autofree char *theme = NULL;
  g_object_get(gtk_settings_get_default(), "gtk-theme-name", &theme, NULL);
  return theme && strstr(theme, "HighContrast");
}

LoomPalette
loom_look_palette(GtkWidget *widget)
{
  GdkRGBA text;
  gtk_style_context_get_color(gtk_widget_get_style_context(widget), &text);
  if (0.3F * text.red + 0.6F * text.green + 0.1F * text.blue > 0.5F)
    return LOOM_PALETTE_DARK;
  return is_high_contrast() ? LOOM_PALETTE_PRINT : LOOM_PALETTE_LIGHT;
}

double
loom_look_text_factor(GtkWidget *widget)
{
  int dpi = 0;
  g_object_get(gtk_widget_get_settings(widget), "gtk-xft-dpi", &dpi, NULL);
  return dpi > 0 ? dpi / DPI_ORDINARY : 1;
}

GdkRGBA
loom_look_rgba(LoomPalette palette, LoomPaint paint, double opacity)
{
  guint32 rgb = loom_palette_rgb(palette, paint);
  return (GdkRGBA){.red = (float)(rgb >> 16 & 0xff) / 255,
                   .green = (float)(rgb >> 8 & 0xff) / 255,
                   .blue = (float)(rgb & 0xff) / 255,
                   .alpha = (float)opacity};
}

void
loom_look_set_colour(cairo_t *cr, LoomPalette palette, LoomPaint paint, double opacity)
{
  GdkRGBA rgba = loom_look_rgba(palette, paint, opacity);
  gdk_cairo_set_source_rgba(cr, &rgba);
}
