#include "flow-state.h"

#include <math.h>

/* What took longer than this last time, or is larger, is solved in a thread the next time. */
#define AT_ONCE_US 6000
#define AT_ONCE_PARTS 100

struct _LoomFlowState {
  GObject parent;
  LoomDocument *document;
  char *state; /* name; NULL: the scene's first */
  double charge;
  bool shown;
  guint watchers;
  LoomFlowing *flow;
  LoomFlowModel *model; /* not while a thread has it */
  gint64 took_us;
  bool busy; /* a thread is solving */
};

G_DEFINE_FINAL_TYPE(LoomFlowState, loom_flow_state, G_TYPE_OBJECT)

enum { FLOW, USE, SHOWN, N_SIGNALS };
static guint signals[N_SIGNALS];

static const LoomScene *
scene_of(LoomFlowState *self)
{
  return loom_design_scene(loom_document_design(self->document),
                           loom_document_scene(self->document));
}

guint
loom_flow_state_state(LoomFlowState *self)
{
  const LoomScene *scene = scene_of(self);
  for (guint i = 0; self->state && i < scene->n_states; i++)
    if (g_str_equal(scene->states[i].name, self->state))
      return i;
  return scene->n_states ? 0 : LOOM_NONE;
}

double
loom_flow_state_charge(LoomFlowState *self)
{
  return self->charge;
}

bool
loom_flow_state_shown(LoomFlowState *self)
{
  return self->shown;
}

LoomDocument *
loom_flow_state_document(LoomFlowState *self)
{
  return self->document;
}

static bool
is_present(LoomFlowState *self, const LoomFlowModel *model)
{
  return loom_flow_model_is_of(model, loom_document_design(self->document),
                               loom_document_scene(self->document),
                               loom_document_design_number(self->document));
}

const LoomFlowing *
loom_flow_state_flow(LoomFlowState *self)
{
  return self->flow && is_present(self, self->flow->model) ? self->flow : NULL;
}

static bool
is_wanted(LoomFlowState *self, const LoomFlowing *flow)
{
  return flow && is_present(self, flow->model) && flow->state == loom_flow_state_state(self) &&
         fabs(flow->charge - self->charge) < 1e-9;
}

/* --- solving --- */

typedef struct {
  LoomFlowModel *model; /* NULL: to be made from */
  LoomDesign *snapshot; /* NULL where there is a model */
  guint scene, design_number, state;
  double charge;
  gint64 took_us;
  LoomFlowing *flow; /* what came out */
} Job;

static void
job_free(Job *job)
{
  g_clear_pointer(&job->model, loom_flow_model_unref);
  g_clear_pointer(&job->snapshot, loom_design_free);
  g_clear_pointer(&job->flow, loom_flowing_unref);
  g_free(job);
}

static Job *
job_new(LoomFlowState *self)
{
  Job *job = g_new0(Job, 1);
  job->scene = loom_document_scene(self->document);
  job->design_number = loom_document_design_number(self->document);
  job->state = loom_flow_state_state(self);
  job->charge = self->charge;
  if (self->model && is_present(self, self->model))
    job->model = g_steal_pointer(&self->model);
  else
    job->snapshot = loom_design_snapshot(loom_document_design(self->document));
  return job;
}

static void
do_job(Job *job)
{
  gint64 start = g_get_monotonic_time();
  if (!job->model)
    job->model = loom_flow_model_new(job->snapshot, job->scene, job->design_number);
  job->flow = loom_flow_model_solve(job->model, job->state, job->charge);
  job->took_us = g_get_monotonic_time() - start;
}

static void
do_job_in_thread(GTask *task, gpointer source, gpointer data, GCancellable *cancellable)
{
  (void)source;
  (void)cancellable;
  do_job(data);
  g_task_return_boolean(task, TRUE);
}

static void
take(LoomFlowState *self, Job *job)
{
  g_clear_pointer(&self->model, loom_flow_model_unref);
  self->model = g_steal_pointer(&job->model);
  self->took_us = job->took_us;
  if (!is_present(self, job->flow->model))
    return;
  g_clear_pointer(&self->flow, loom_flowing_unref);
  self->flow = g_steal_pointer(&job->flow);
  const LoomScene *scene = loom_flow_model_scene(self->flow->model);
  loom_events_say(loom_document_events(self->document), "flow %s %.0f",
                  self->flow->state == LOOM_NONE ? "-" : scene->states[self->flow->state].name,
                  self->flow->charge * 100);
  g_signal_emit(self, signals[FLOW], 0);
}

static void want_flow(LoomFlowState *self);

static void
on_done(GObject *source, GAsyncResult *result, gpointer data)
{
  (void)data;
  LoomFlowState *self = LOOM_FLOW_STATE(source);
  self->busy = false;
  if (!g_task_propagate_boolean(G_TASK(result), NULL))
    return;
  take(self, g_task_get_task_data(G_TASK(result)));
  want_flow(self);
}

static bool
is_quick(LoomFlowState *self)
{
  return self->took_us < AT_ONCE_US &&
         loom_design_n_parts(loom_document_design(self->document)) < AT_ONCE_PARTS;
}

static void
want_flow(LoomFlowState *self)
{
  if (self->busy || (!self->watchers && !self->shown) || is_wanted(self, self->flow))
    return;
  Job *job = job_new(self);
  if (is_quick(self)) {
    do_job(job);
    take(self, job);
    job_free(job);
    return;
  }
  self->busy = true;
  g_autoptr(GTask) task = g_task_new(self, NULL, on_done, NULL);
  g_task_set_task_data(task, job, (GDestroyNotify)job_free);
  g_task_run_in_thread(task, do_job_in_thread);
}

/* --- wishes --- */

static void
say_use(LoomFlowState *self)
{
  g_signal_emit(self, signals[USE], 0);
  want_flow(self);
}

void
loom_flow_state_set_state(LoomFlowState *self, guint state)
{
  const LoomScene *scene = scene_of(self);
  if (state >= scene->n_states || state == loom_flow_state_state(self))
    return;
  g_free(self->state);
  self->state = g_strdup(scene->states[state].name);
  say_use(self);
}

void
loom_flow_state_set_charge(LoomFlowState *self, double charge)
{
  if (fabs(charge - self->charge) < 1e-9)
    return;
  self->charge = CLAMP(charge, 0, 1);
  say_use(self);
}

void
loom_flow_state_show(LoomFlowState *self, bool shown)
{
  if (shown == self->shown)
    return;
  self->shown = shown;
  g_signal_emit(self, signals[SHOWN], 0);
  want_flow(self);
}

void
loom_flow_state_watch(LoomFlowState *self, bool on)
{
  self->watchers += on ? 1 : -1U;
  want_flow(self);
}

static void
on_document(LoomDocument *document, gpointer data)
{
  (void)document;
  say_use(data);
}

LoomFlowState *
loom_flow_state_new(LoomDocument *document)
{
  LoomFlowState *self = g_object_new(LOOM_TYPE_FLOW_STATE, NULL);
  self->document = g_object_ref(document);
  g_signal_connect_object(document, "changed", G_CALLBACK(on_document), self, 0);
  g_signal_connect_object(document, "scene", G_CALLBACK(on_document), self, 0);
  return self;
}

static void
loom_flow_state_finalize(GObject *object)
{
  LoomFlowState *self = LOOM_FLOW_STATE(object);
  g_clear_pointer(&self->flow, loom_flowing_unref);
  g_clear_pointer(&self->model, loom_flow_model_unref);
  g_clear_object(&self->document);
  g_free(self->state);
  G_OBJECT_CLASS(loom_flow_state_parent_class)->finalize(object);
}

static void
loom_flow_state_class_init(LoomFlowStateClass *class)
{
  static const char *const names[N_SIGNALS] = {"flow", "use", "shown"};
  G_OBJECT_CLASS(class)->finalize = loom_flow_state_finalize;
  for (int i = 0; i < N_SIGNALS; i++)
    signals[i] = g_signal_new(names[i], LOOM_TYPE_FLOW_STATE, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                              NULL, G_TYPE_NONE, 0);
}

static void
loom_flow_state_init(LoomFlowState *self)
{
  self->charge = 1;
}
