/* The look: light, dark or high contrast, and the size of text, for the whole program.
 *
 * Text grows through the screen resolution that GTK lays text out with, so that everything that
 * holds text grows with it; the sheet takes the same factor through loom_look_text_factor. */
#pragma once

#include "preferences.h"
#include "sheet/draw.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* Follows the preferences from now on, for as long as they live. */
void loom_look_follow(LoomPreferences *preferences);

/* Strokes that fit what the theme gives this widget. */
LoomPalette loom_look_palette(GtkWidget *widget);

/* How much larger text is than at 96 dots an inch: 1 ... 2 and beyond. */
double loom_look_text_factor(GtkWidget *widget);

void loom_look_set_colour(cairo_t *cr, LoomPalette palette, LoomPaint paint, double opacity);
GdkRGBA loom_look_rgba(LoomPalette palette, LoomPaint paint, double opacity);

G_END_DECLS
