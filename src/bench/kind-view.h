/* A kind's picture as a widget: shelf rows, offers, the tag. */
#pragma once

#include "sheet/draw.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define LOOM_TYPE_KIND_VIEW (loom_kind_view_get_type())
G_DECLARE_FINAL_TYPE(LoomKindView, loom_kind_view, LOOM, KIND_VIEW, GtkWidget)

/* A picture that asks for width x height pixels and fills at most what it gets. `kind` may be NULL.
 */
GtkWidget *loom_kind_view_new(const LoomKind *kind, int width, int height);
void loom_kind_view_set_kind(LoomKindView *view, const LoomKind *kind);

/* The picture by itself, for drag icons, at `scale` pixels a millimetre. New. */
GdkPaintable *loom_kind_view_paintable(const LoomKind *kind, LoomPalette palette, double scale);

G_END_DECLS
