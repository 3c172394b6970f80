#include "linkup.h"

#include "electric/operation.h"

#include <math.h>

#define LEAST_A 0.001

/* The design with the first answer in place that can be; NULL where none can. New. */
static LoomDesign *
linked_up(const LoomLinkup *linkup, const LoomDesign *design, guint scene)
{
  const char *const scenes[] = {loom_design_scene(design, scene)->name, NULL};
  for (guint i = 0; i < linkup->n_answers; i++) {
    g_autoptr(LoomDesign) trial = loom_design_snapshot(design);
    LoomEdit *edit = loom_edit_new(trial, "Try");
    if (!loom_linkup_place(edit, linkup, i, NULL, scenes, NULL)) {
      loom_edit_free(edit);
      continue;
    }
    loom_design_apply(trial, edit);
    return g_steal_pointer(&trial);
  }
  return NULL;
}

/* The greatest current on a contact of the end, over all states that have an operating point. */
static double
most_at(const LoomDesign *design, guint scene, guint part, guint end)
{
  double most_A = 0;
  g_autoptr(LoomWiring) wiring = loom_wiring_new(design, scene);
  g_autoptr(LoomOperation) op = loom_operation_new(wiring, 1.0);
  guint n = loom_design_part(design, part)->kind->ends[end].n_contacts;
  for (guint s = 0; s < op->n_states; s++)
    for (guint c = 0; c < n && !op->points[s]->trouble; c++)
      most_A = fmax(most_A, fabs(op->points[s]->into_A[loom_wiring_node(wiring, part, end, c)]));
  return most_A;
}

double
loom_linkup_current_A(const LoomLinkup *linkup, const LoomDesign *design,
                      const LoomLinkupQuestion *question)
{
  g_autoptr(LoomDesign) trial = linked_up(linkup, design, question->scene);
  if (!trial)
    return NAN;
  const char *asked = loom_design_part(design, question->part_a)->designation;
  guint part = loom_design_find_part(trial, asked);
  bool turned = loom_design_part(trial, part)->kind->lead;
  double most_A = most_at(trial, question->scene, part, question->end_a);
  if (turned) /* a lead that was turned round hangs at the asked end: the other side tells too */
    most_A =
        fmax(most_A, most_at(trial, question->scene,
                             loom_design_find_part(
                                 trial, loom_design_part(design, question->part_b)->designation),
                             question->end_b));
  return most_A > LEAST_A ? most_A : NAN;
}

LoomLinkup *
loom_linkup_solved_new(const LoomPieces *pieces, const LoomDesign *design, const LoomStock *stock,
                       const LoomLinkupQuestion *question)
{
  LoomLinkup *linkup = loom_linkup_new(pieces, design, stock, question);
  LoomLinkupQuestion known = *question;
  known.current_A = loom_linkup_current_A(linkup, design, question);
  if (isnan(known.current_A))
    return linkup;
  loom_linkup_free(linkup);
  return loom_linkup_new(pieces, design, stock, &known);
}
