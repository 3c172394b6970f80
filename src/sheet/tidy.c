#include "tidy.h"

void
loom_tidy(LoomEdit *edit, guint scene)
{
  (void)edit;
  (void)scene;
}

LoomPoint
loom_tidy_free_place(const LoomDesign *design, const LoomKind *kind, double x_mm, double y_mm)
{
  (void)design;
  (void)kind;
  return (LoomPoint){x_mm, y_mm};
}
