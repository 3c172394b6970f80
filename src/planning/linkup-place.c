#include "linkup.h"
#include "placing-private.h"

#include <glib/gi18n-lib.h>

typedef struct {
  const LoomLinkup *linkup;
  const LoomLinkupAnswer *answer;
  const LoomPlacing *at; /* [n_pieces] or NULL */
  const char *const *scenes;
} Placing;

static bool
place_chain(LoomEdit *edit, gpointer data, GError **error)
{
  const Placing *p = data;
  g_autofree char *open = g_strdup(p->linkup->end_a);
  for (guint i = 0; i < p->answer->n_pieces; i++) {
    const LoomLinkupPiece *piece = &p->answer->pieces[i];
    const char *given = loom_placing_add(edit, piece->kind, p->at ? &p->at[i] : NULL, error);
    if (!given)
      return false;
    g_autofree char *in = g_strconcat(given, ":", piece->kind->ends[piece->in].id, NULL);
    g_autofree char *out = g_strconcat(given, ":", piece->kind->ends[piece->out].id, NULL);
    if (!loom_edit_plug(edit, open, in, LOOM_FIT_NORMAL, p->scenes, error))
      return false;
    g_free(open);
    open = g_steal_pointer(&out);
  }
  return loom_edit_plug(edit, open, p->linkup->end_b, LOOM_FIT_NORMAL, p->scenes, error);
}

/* What is plugged at the end of the part, as "G1:out"; NULL where nothing is. New. */
static char *
plugged_at(const LoomDesign *design, guint part, guint end)
{
  guint joint;
  if (loom_design_joints_at(design, part, end, &joint, 1) == 0)
    return NULL;
  const LoomJoint *j = loom_design_joint(design, joint);
  const LoomPart *p = loom_design_part(design, part);
  bool first =
      g_str_equal(j->a.part, p->designation) && g_str_equal(j->a.end, p->kind->ends[end].id);
  const LoomEndName *far = first ? &j->b : &j->a;
  return g_strconcat(far->part, ":", far->end, NULL);
}

/* The other end of the lead goes to the target; what it held goes to the end that was asked for. */
static bool
turn_round(LoomEdit *edit, gpointer data, GError **error)
{
  const Placing *p = data;
  const LoomDesign *design = loom_edit_design(edit);
  guint index = loom_design_find_part(design, p->answer->lead);
  if (index == LOOM_NONE) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("There is no %s any more."), p->answer->lead);
    return false;
  }
  const LoomKind *kind = loom_design_part(design, index)->kind;
  g_autofree char *asked = g_strconcat(p->answer->lead, ":", kind->ends[p->answer->asked].id, NULL);
  g_autofree char *other = g_strconcat(p->answer->lead, ":", kind->ends[p->answer->other].id, NULL);
  g_autofree char *far = plugged_at(design, index, p->answer->other);
  const char *target = g_str_equal(asked, p->linkup->end_a) ? p->linkup->end_b : p->linkup->end_a;
  if (far && !(loom_edit_unplug(edit, other, NULL, error) &&
               loom_edit_plug(edit, far, asked, LOOM_FIT_NORMAL, p->scenes, error)))
    return false;
  return loom_edit_plug(edit, other, target, LOOM_FIT_NORMAL, p->scenes, error);
}

bool
loom_linkup_place(LoomEdit *edit, const LoomLinkup *linkup, guint index, const LoomPlacing *at,
                  const char *const *scenes, GError **error)
{
  g_return_val_if_fail(index < linkup->n_answers, false);
  Placing placing = {linkup, &linkup->answers[index], at, scenes};
  LoomAct act = placing.answer->type == LOOM_ANSWER_TURN ? turn_round : place_chain;
  return loom_placing_whole(edit, act, &placing, error);
}
