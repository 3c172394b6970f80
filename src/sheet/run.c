#include "run.h"

#include "strokes.h"

#define WIDE_MM 2.1 /* strokes wider than this keep a lane free beside them */

static void
run_free(gpointer data)
{
  LoomRun *run = data;
  g_array_unref(run->stretches);
  g_array_unref(run->joints);
  if (run->corners)
    g_array_unref(run->corners);
  if (run->points)
    g_array_unref(run->points);
  g_free(run);
}

const LoomEnd *
loom_run_kind_end(const LoomWiring *wiring, guint part, guint end)
{
  return &loom_wiring_part(wiring, part)->kind->ends[end];
}

void
loom_run_joint_end(const LoomWiring *wiring, const LoomRunJoint *joint, bool second, guint *part,
                   guint *end)
{
  const LoomWiredJoint *j = &wiring->joints[joint->wired];
  bool b = second != joint->reversed;
  *part = b ? j->part_b : j->part_a;
  *end = b ? j->end_b : j->end_a;
}

static bool
is_lead(const LoomWiring *w, guint part)
{
  return loom_wiring_part(w, part)->kind->lead;
}

/* A connector on wires of its own. */
static bool
is_flexible(const LoomWiring *w, guint part, guint end)
{
  return is_lead(w, part) || loom_run_kind_end(w, part, end)->pigtail_mm > 0;
}

static bool
is_self(const LoomWiredJoint *j)
{
  return j->part_a == j->part_b && j->end_a == j->end_b;
}

static bool
plugged_once(const LoomWiring *w, guint number)
{
  guint first = w->end_first[number];
  return w->end_first[number + 1] == first + 1 && !is_self(&w->joints[w->end_joints[first]]);
}

static void
find_fixed(LoomRuns *r)
{
  const LoomWiring *w = r->wiring;
  for (guint p = 0; p < w->n_parts; p++) {
    const LoomKind *kind = loom_wiring_part(w, p)->kind;
    r->tag[p] = kind->lead && kind->n_ends != 2;
    for (guint e = 0; e < kind->n_ends; e++) {
      bool one = plugged_once(w, loom_wiring_end(w, p, e));
      r->hung[loom_wiring_end(w, p, e)] = is_flexible(w, p, e) && !one;
      r->tag[p] |= kind->lead && !one;
    }
  }
}

static guint
place_at(const LoomWiring *w, guint number, guint wired)
{
  guint k = w->end_first[number];
  while (k < w->end_first[number + 1] && w->end_joints[k] != wired)
    k++;
  return k - w->end_first[number];
}

/* What the end of a run at (part, end) stands on. */
static LoomStop
stop_at(const LoomRuns *r, guint part, guint end, guint wired)
{
  const LoomWiring *w = r->wiring;
  guint number = loom_wiring_end(w, part, end);
  LoomStop stop = {.type = LOOM_STOP_FACE, .part = part, .end = end, .n_places = 1};
  if (is_flexible(w, part, end) && !r->hung[number])
    stop.type = is_lead(w, part) ? LOOM_STOP_TAG : LOOM_STOP_ROOT;
  if (stop.type == LOOM_STOP_FACE) {
    stop.place = place_at(w, number, wired);
    stop.n_places = w->end_first[number + 1] - w->end_first[number];
  }
  return stop;
}

/* Whether a run passes through here: a lead with two ends, each plugged once. */
static bool
passes(const LoomRuns *r, guint part)
{
  return is_lead(r->wiring, part) && !r->tag[part];
}

static void
add_stretch(LoomRun *run, guint part, guint end_a, guint end_b)
{
  LoomStretch s = {part, end_a, end_b};
  g_array_append_val(run->stretches, s);
}

static bool
widest(const LoomWiring *w, const LoomRun *run)
{
  for (guint i = 0; i < run->stretches->len; i++) {
    const LoomStretch *s = &g_array_index(run->stretches, LoomStretch, i);
    guint end = s->end_a != LOOM_NONE ? s->end_a : s->end_b;
    g_autoptr(GArray) strokes = loom_strokes_of_end(loom_wiring_part(w, s->part)->kind, end);
    if (loom_strokes_width(strokes) > WIDE_MM)
      return true;
  }
  return false;
}

/* The run that begins at (part, end) with the joint `wired`. */
static LoomRun *
follow(LoomRuns *r, guint part, guint end, guint wired, bool *seen)
{
  const LoomWiring *w = r->wiring;
  LoomRun *run = g_new0(LoomRun, 1);
  run->stretches = g_array_new(FALSE, FALSE, sizeof(LoomStretch));
  run->joints = g_array_new(FALSE, FALSE, sizeof(LoomRunJoint));
  run->from = stop_at(r, part, end, wired);
  if (run->from.type != LOOM_STOP_FACE)
    add_stretch(run, part, LOOM_NONE, end);
  for (;;) {
    const LoomWiredJoint *j = &w->joints[wired];
    LoomRunJoint joint = {wired, !(j->part_a == part && j->end_a == end)};
    g_array_append_val(run->joints, joint);
    seen[wired] = true;
    loom_run_joint_end(w, &joint, true, &part, &end);
    if (!passes(r, part))
      break;
    guint far = 1 - end;
    add_stretch(run, part, end, far);
    end = far;
    wired = w->end_joints[w->end_first[loom_wiring_end(w, part, far)]];
  }
  run->to = stop_at(r, part, end, wired);
  if (run->to.type != LOOM_STOP_FACE)
    add_stretch(run, part, end, LOOM_NONE);
  run->wide = widest(w, run);
  return run;
}

static void
follow_all(LoomRuns *r, bool *seen)
{
  const LoomWiring *w = r->wiring;
  for (guint number = 0; number < w->n_ends; number++) {
    guint part = w->end_part[number];
    if (passes(r, part))
      continue;
    for (guint k = w->end_first[number]; k < w->end_first[number + 1]; k++) {
      guint wired = w->end_joints[k];
      if (!seen[wired] && !is_self(&w->joints[wired]))
        g_ptr_array_add(r->runs, follow(r, part, number - w->part_end[part], wired, seen));
    }
  }
}

/* A ring of leads that stands on nothing: the first of them is made its fixed thing. */
static void
break_rings(LoomRuns *r, bool *seen)
{
  const LoomWiring *w = r->wiring;
  for (guint i = 0; i < w->n_joints; i++) {
    const LoomWiredJoint *j = &w->joints[i];
    if (seen[i] || is_self(j))
      continue;
    r->tag[MIN(j->part_a, j->part_b)] = true;
    follow_all(r, seen);
  }
}

LoomRuns *
loom_runs_new(const LoomWiring *wiring)
{
  LoomRuns *r = g_new0(LoomRuns, 1);
  r->wiring = wiring;
  r->runs = g_ptr_array_new_with_free_func(run_free);
  r->tag = g_new0(bool, wiring->n_parts + 1);
  r->hung = g_new0(bool, wiring->n_ends + 1);
  find_fixed(r);
  g_autofree bool *seen = g_new0(bool, wiring->n_joints + 1);
  follow_all(r, seen);
  break_rings(r, seen);
  return r;
}

void
loom_runs_free(LoomRuns *r)
{
  if (!r)
    return;
  g_ptr_array_unref(r->runs);
  g_free(r->tag);
  g_free(r->hung);
  g_free(r);
}
