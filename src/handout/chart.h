/* The rota of an event day as a chart: a row a pack, time to the right. Patterns and letters tell
 * what is what without colour. */
#pragma once

#include "planning/rota.h"
#include "scroll.h"

G_BEGIN_DECLS

/* Stands on its own. */
LoomFigure loom_chart_rota(const LoomRota *rota, double width_mm);

G_END_DECLS
