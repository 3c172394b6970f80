#include "canvas-private.h"

#include "beside.h"
#include "describe.h"
#include "proxy.h"
#include "scenes.h"
#include "sheet/tidy.h"

#include <glib/gi18n-lib.h>

#define NUDGE_FAR_MM (5 * LOOM_GRID_MM)

/* The keyboard's way over the sheet: part 0, its ends, part 1, its ends, ... Each place has a proxy
 * that takes the focus: one for every part, and two for ends, used in turn, so that a screen reader
 * always sees the focus move. */

typedef struct {
  guint part;
  guint end; /* LOOM_NONE: the part itself */
} Place;

static bool
cursor(LoomCanvas *self, Place *place)
{
  const LoomDesign *design = loom_document_design(self->document);
  const char *designation = loom_choice_cursor(self->choice);
  if (!designation || (place->part = loom_design_find_part(design, designation)) == LOOM_NONE)
    return false;
  const char *end = loom_choice_end(self->choice);
  place->end =
      end ? loom_kind_find_end(loom_design_part(design, place->part)->kind, end) : LOOM_NONE;
  return true;
}

static guint
n_ends(LoomCanvas *self, guint part)
{
  return loom_design_part(loom_document_design(self->document), part)->kind->n_ends;
}

static bool
next_place(LoomCanvas *self, Place *place)
{
  guint n_parts = loom_design_n_parts(loom_document_design(self->document));
  guint end = place->end == LOOM_NONE ? 0 : place->end + 1;
  if (end < n_ends(self, place->part)) {
    place->end = end;
    return true;
  }
  *place = (Place){place->part + 1, LOOM_NONE};
  return place->part < n_parts;
}

static bool
previous_place(LoomCanvas *self, Place *place)
{
  if (place->end != LOOM_NONE) {
    place->end = place->end ? place->end - 1 : LOOM_NONE;
    return true;
  }
  if (!place->part)
    return false;
  place->part--;
  guint n = n_ends(self, place->part);
  place->end = n ? n - 1 : LOOM_NONE;
  return true;
}

static void
describe_end_proxy(LoomCanvas *self, LoomProxy *proxy, const Place *place)
{
  const LoomDesign *design = loom_document_design(self->document);
  guint scene = loom_document_scene(self->document);
  g_autofree char *name = loom_describe_end(design, place->part, place->end);
  g_autofree char *state = loom_describe_end_state(design, scene, place->part, place->end);
  g_autofree char *text =
      g_strdup_printf("%s. %s", state,
                      g_str_equal(state, _("free")) ? _("Press Enter for what plugs in.")
                                                    : _("Press U to unplug."));
  loom_proxy_describe(proxy, name, text);
}

static void
focus_place(LoomCanvas *self, const Place *place)
{
  GtkWidget *proxy;
  if (place->end == LOOM_NONE) {
    proxy = g_ptr_array_index(self->proxies, place->part);
  } else {
    self->end_proxy = !self->end_proxy;
    proxy = self->end_proxies[self->end_proxy];
    describe_end_proxy(self, LOOM_PROXY(proxy), place);
    gtk_widget_set_visible(proxy, TRUE);
  }
  gtk_widget_set_child_visible(proxy, TRUE);
  gtk_widget_grab_focus(proxy);
}

static void
choose_place(LoomCanvas *self, const Place *place)
{
  const LoomPart *part = loom_design_part(loom_document_design(self->document), place->part);
  const char *end = place->end == LOOM_NONE ? NULL : part->kind->ends[place->end].id;
  loom_choice_set_part(self->choice, part->designation, end);
  loom_canvas_reveal(self, part->designation, end);
  gtk_widget_queue_allocate(GTK_WIDGET(self));
  focus_place(self, place);
  loom_canvas_hint(self, NULL);
}

void
loom_canvas_take_focus(LoomCanvas *self)
{
  Place place;
  if (cursor(self, &place))
    focus_place(self, &place);
  else
    gtk_widget_grab_focus(GTK_WIDGET(self));
}

static bool
focus_is_inside(LoomCanvas *self)
{
  GtkRoot *root = gtk_widget_get_root(GTK_WIDGET(self));
  GtkWidget *focus = root ? gtk_root_get_focus(root) : NULL;
  return focus && (focus == GTK_WIDGET(self) || gtk_widget_is_ancestor(focus, GTK_WIDGET(self)));
}

static bool
enter_from_outside(LoomCanvas *self, Place *place)
{
  if (!cursor(self, place))
    return gtk_widget_grab_focus(GTK_WIDGET(self));
  focus_place(self, place);
  return true;
}

gboolean
loom_canvas_focus(GtkWidget *widget, GtkDirectionType direction)
{
  LoomCanvas *self = LOOM_CANVAS(widget);
  Place place;
  bool forward = direction == GTK_DIR_TAB_FORWARD;
  GtkWidget *inside = gtk_widget_get_focus_child(widget);
  if (inside && GTK_IS_POPOVER(inside))
    return gtk_widget_child_focus(inside, direction);
  if (!forward && direction != GTK_DIR_TAB_BACKWARD)
    return FALSE;
  if (!focus_is_inside(self))
    return enter_from_outside(self, &place);
  if (!cursor(self, &place)) {
    if (!forward || !loom_design_n_parts(loom_document_design(self->document)))
      return FALSE;
    place = (Place){0, LOOM_NONE};
  } else if (forward ? !next_place(self, &place) : !previous_place(self, &place)) {
    return FALSE;
  }
  choose_place(self, &place);
  return TRUE;
}

/* Keys. */

static bool
step_part(LoomCanvas *self, int by)
{
  guint n = loom_design_n_parts(loom_document_design(self->document));
  Place place = {by > 0 ? n - 1 : 0, LOOM_NONE};
  if (!n)
    return false;
  cursor(self, &place);
  place.end = LOOM_NONE;
  place.part = (guint)((int)(place.part + n) + by) % n;
  choose_place(self, &place);
  return true;
}

/* Enter on a part goes to its first free end, on a free end it opens the offers. */
static bool
enter(LoomCanvas *self)
{
  const LoomDesign *design = loom_document_design(self->document);
  guint scene = loom_document_scene(self->document);
  Place place;
  if (!cursor(self, &place))
    return false;
  const LoomPart *part = loom_design_part(design, place.part);
  if (place.end != LOOM_NONE) {
    loom_canvas_offer(self, part->designation, part->kind->ends[place.end].id);
    return true;
  }
  for (guint i = 0; i < part->kind->n_ends; i++)
    if (loom_scenes_places_left(design, scene, place.part, i)) {
      place.end = i;
      choose_place(self, &place);
      return true;
    }
  return false;
}

static bool
escape(LoomCanvas *self)
{
  Place place;
  if (loom_canvas_cancel(self))
    return true;
  if (cursor(self, &place) && place.end != LOOM_NONE) {
    place.end = LOOM_NONE;
    choose_place(self, &place);
    return true;
  }
  bool chosen = loom_choice_n_parts(self->choice) || loom_choice_is_joint(self->choice);
  loom_choice_clear(self->choice);
  gtk_widget_grab_focus(GTK_WIDGET(self));
  return chosen;
}

static bool
arrow(LoomCanvas *self, int dx, int dy, GdkModifierType state)
{
  double by = state & GDK_SHIFT_MASK ? NUDGE_FAR_MM : LOOM_GRID_MM;
  Place place;
  if (cursor(self, &place) && place.end != LOOM_NONE) {
    bool moved = dx + dy > 0 ? next_place(self, &place) : previous_place(self, &place);
    if (moved)
      choose_place(self, &place);
  } else if (loom_choice_n_parts(self->choice)) {
    loom_canvas_nudge(self, dx * by, dy * by);
  } else {
    loom_canvas_pan_px(self, dx * 40.0, dy * 40.0);
  }
  return true;
}

/* The context menu, where the cursor is. */
static bool
open_menu(LoomCanvas *self)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  LoomPoint at = loom_canvas_middle(self);
  Place place;
  if (cursor(self, &place)) {
    LoomRect r = place.end == LOOM_NONE ? sheet->parts[place.part].outline
                                        : loom_sheet_end(sheet, place.part, place.end)->box;
    at = (LoomPoint){r.x + r.width / 2, r.y + r.height / 2};
  }
  at = loom_canvas_from_sheet(self, at);
  g_signal_emit_by_name(self, "menu", at.x, at.y);
  return true;
}

static bool
act_on_key(LoomCanvas *self, guint key, GdkModifierType state)
{
  switch (key) {
  case GDK_KEY_Left:
  case GDK_KEY_KP_Left:
    return arrow(self, -1, 0, state);
  case GDK_KEY_Right:
  case GDK_KEY_KP_Right:
    return arrow(self, 1, 0, state);
  case GDK_KEY_Up:
  case GDK_KEY_KP_Up:
    return arrow(self, 0, -1, state);
  case GDK_KEY_Down:
  case GDK_KEY_KP_Down:
    return arrow(self, 0, 1, state);
  case GDK_KEY_Page_Down:
    return step_part(self, 1);
  case GDK_KEY_Page_Up:
    return step_part(self, -1);
  case GDK_KEY_Return:
  case GDK_KEY_KP_Enter:
    return enter(self);
  case GDK_KEY_Escape:
    return escape(self);
  case GDK_KEY_Menu:
    return open_menu(self);
  case GDK_KEY_F10:
    return state & GDK_SHIFT_MASK ? open_menu(self) : false;
  default:
    return false;
  }
}

static gboolean
on_key(GtkEventControllerKey *controller, guint key, guint code, GdkModifierType state,
       gpointer data)
{
  (void)controller;
  (void)code;
  LoomCanvas *self = data;
  if (key == GDK_KEY_space && !(state & gtk_accelerator_get_default_mod_mask())) {
    self->space = true;
    gtk_widget_set_cursor_from_name(GTK_WIDGET(self), "grab");
    return GDK_EVENT_STOP;
  }
  if (state & (GDK_CONTROL_MASK | GDK_ALT_MASK))
    return GDK_EVENT_PROPAGATE;
  return act_on_key(self, key, state);
}

static void
on_key_up(GtkEventControllerKey *controller, guint key, guint code, GdkModifierType state,
          gpointer data)
{
  (void)controller;
  (void)code;
  (void)state;
  LoomCanvas *self = data;
  if (key != GDK_KEY_space)
    return;
  self->space = false;
  gtk_widget_set_cursor(GTK_WIDGET(self), NULL);
}

void
loom_canvas_add_keys(LoomCanvas *self)
{
  GtkEventController *keys = gtk_event_controller_key_new();
  g_signal_connect(keys, "key-pressed", G_CALLBACK(on_key), self);
  g_signal_connect(keys, "key-released", G_CALLBACK(on_key_up), self);
  gtk_widget_add_controller(GTK_WIDGET(self), keys);
}

/* Proxies. */

static void
describe_proxy(LoomCanvas *self, guint part)
{
  const LoomDesign *design = loom_document_design(self->document);
  g_autofree char *name = loom_describe_part(design, part);
  g_autofree char *joints = loom_describe_joints(design, loom_document_scene(self->document), part);
  loom_proxy_describe(g_ptr_array_index(self->proxies, part), name, joints);
}

/* One sum a part over what its proxy tells: its record and its joints in the scene. New, [n]. */
static guintptr *
told_sums(LoomCanvas *self, guint n)
{
  const LoomDesign *design = loom_document_design(self->document);
  const char *scene = loom_document_scene_name(self->document);
  guintptr *sums = g_new0(guintptr, n + 1);
  for (guint i = 0; i < n; i++)
    sums[i] = (guintptr)loom_design_part(design, i);
  for (guint i = 0; i < loom_design_n_joints(design); i++) {
    const LoomJoint *joint = loom_design_joint(design, i);
    if (!loom_joint_in_scene(joint, scene))
      continue;
    sums[loom_design_find_part(design, joint->a.part)] += 31 * (guintptr)joint;
    sums[loom_design_find_part(design, joint->b.part)] += 31 * (guintptr)joint;
  }
  return sums;
}

/* The focus goes to the canvas before the proxy that has it is taken away. */
static void
save_focus(LoomCanvas *self, guint n)
{
  for (guint i = n; i < self->proxies->len; i++)
    if (gtk_widget_has_focus(g_ptr_array_index(self->proxies, i)))
      gtk_widget_grab_focus(GTK_WIDGET(self));
  if (!loom_choice_end(self->choice) && gtk_widget_has_focus(self->end_proxies[self->end_proxy]))
    gtk_widget_grab_focus(GTK_WIDGET(self));
}

void
loom_canvas_renew_proxies(LoomCanvas *self)
{
  guint n = loom_design_n_parts(loom_document_design(self->document));
  save_focus(self, n);
  while (self->proxies->len > n) {
    gtk_widget_unparent(g_ptr_array_index(self->proxies, self->proxies->len - 1));
    g_ptr_array_set_size(self->proxies, (int)self->proxies->len - 1);
  }
  while (self->proxies->len < n) {
    GtkWidget *proxy = loom_proxy_new(GTK_ACCESSIBLE_ROLE_LIST_ITEM);
    gtk_widget_insert_before(proxy, GTK_WIDGET(self), self->bubble);
    g_ptr_array_add(self->proxies, proxy);
  }
  g_autofree guintptr *sums = told_sums(self, n);
  for (guint i = 0; i < n; i++) {
    if (i >= self->n_told || sums[i] != self->told[i])
      describe_proxy(self, i);
  }
  g_free(self->told);
  self->told = g_steal_pointer(&sums);
  self->n_told = n;
}

static void
place_proxy(LoomCanvas *self, GtkWidget *proxy, LoomRect rect)
{
  LoomPoint corner = loom_canvas_from_sheet(self, (LoomPoint){rect.x, rect.y});
  int width = MAX(1, (int)(rect.width * self->scale));
  int height = MAX(1, (int)(rect.height * self->scale));
  bool visible = corner.x < gtk_widget_get_width(GTK_WIDGET(self)) && corner.x + width > 0 &&
                 corner.y < gtk_widget_get_height(GTK_WIDGET(self)) && corner.y + height > 0;
  gtk_widget_set_child_visible(proxy, visible || gtk_widget_has_focus(proxy));
  if (!gtk_widget_get_child_visible(proxy))
    return;
  int minimum;
  gtk_widget_measure(proxy, GTK_ORIENTATION_HORIZONTAL, -1, &minimum, NULL, NULL, NULL);
  gtk_widget_size_allocate(proxy, &(GtkAllocation){(int)corner.x, (int)corner.y, width, height},
                           -1);
}

void
loom_canvas_place_proxies(LoomCanvas *self)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  if (gtk_widget_get_width(GTK_WIDGET(self)) <= 0)
    return;
  for (guint i = 0; i < MIN(self->proxies->len, sheet->n_parts); i++)
    place_proxy(self, g_ptr_array_index(self->proxies, i), sheet->parts[i].outline);
  Place place;
  if (cursor(self, &place) && place.end != LOOM_NONE)
    place_proxy(self, self->end_proxies[self->end_proxy],
                loom_sheet_end(sheet, place.part, place.end)->box);
}
