#include "fault-case.h"

/* An answer that outlives its model. */
typedef struct {
  char *key;
  guint32 outcomes;
} Answer;

struct _LoomFaultCase {
  GObject parent;
  LoomDocument *document;
  char *path; /* of the document, as last seen; or NULL */
  bool followed;
  LoomFaultModel *model;
  LoomDesign *design; /* snapshot that the model was made of */
  guint64 revision;   /* of model or of the one that is being made */
  guint scene, serial;
  LoomDiagnosis *diagnosis;
  GCancellable *making;
  GArray *answers; /* Answer */
  GPtrArray *past; /* GArray of Answer, the latest last */
  GArray *known;   /* LoomEvidence: the answers that this model has tests for */
};

G_DEFINE_FINAL_TYPE(LoomFaultCase, loom_fault_case, G_TYPE_OBJECT)

enum { CHANGED, N_SIGNALS };
static guint signals[N_SIGNALS];

/* ---- answers ---- */

static void
clear_answer(gpointer answer)
{
  g_free(((Answer *)answer)->key);
}

static GArray *
answers_new(void)
{
  GArray *answers = g_array_new(FALSE, FALSE, sizeof(Answer));
  g_array_set_clear_func(answers, clear_answer);
  return answers;
}

static void
add_answer(GArray *answers, const char *key, guint32 outcomes)
{
  Answer answer = {g_strdup(key), outcomes};
  g_array_append_val(answers, answer);
}

static GArray *
copy_answers(const GArray *from, const char *but)
{
  GArray *copy = answers_new();
  for (guint i = 0; i < from->len; i++) {
    const Answer *a = &g_array_index(from, Answer, i);
    if (!but || !g_str_equal(a->key, but))
      add_answer(copy, a->key, a->outcomes);
  }
  return copy;
}

/* ---- what they say ---- */

static void
diagnose(LoomFaultCase *self)
{
  g_clear_pointer(&self->diagnosis, loom_diagnosis_free);
  g_array_set_size(self->known, 0);
  for (guint i = 0; self->model && i < self->answers->len; i++) {
    const Answer *a = &g_array_index(self->answers, Answer, i);
    LoomEvidence e = {loom_fault_find_test(self->model, a->key), a->outcomes};
    if (e.test != LOOM_NONE)
      g_array_append_val(self->known, e);
  }
  if (self->model)
    self->diagnosis =
        loom_diagnosis_new(self->model, (LoomEvidence *)self->known->data, self->known->len);
  g_signal_emit(self, signals[CHANGED], 0);
}

/* ---- the model ---- */

typedef struct {
  LoomDesign *design;
  guint scene;
} Making;

static void
making_free(gpointer data)
{
  Making *making = data;
  loom_design_free(making->design);
  g_free(making);
}

static void
make_in_thread(GTask *task, gpointer source, gpointer data, GCancellable *cancellable)
{
  (void)source;
  (void)cancellable;
  Making *making = data;
  if (!g_task_return_error_if_cancelled(task))
    g_task_return_pointer(task, loom_fault_model_new(making->design, making->scene),
                          (GDestroyNotify)loom_fault_model_free);
}

static void
on_made(GObject *source, GAsyncResult *result, gpointer data)
{
  (void)data;
  LoomFaultCase *self = LOOM_FAULT_CASE(source);
  g_autoptr(LoomFaultModel) model = g_task_propagate_pointer(G_TASK(result), NULL);
  if (!model || g_task_get_cancellable(G_TASK(result)) != self->making)
    return;
  g_clear_object(&self->making);
  self->model = g_steal_pointer(&model);
  self->serial++;
  loom_events_say(loom_document_events(self->document), "faults %u tests %u", self->model->n_faults,
                  self->model->n_tests);
  diagnose(self);
}

static void
stop_making(LoomFaultCase *self)
{
  if (self->making)
    g_cancellable_cancel(self->making);
  g_clear_object(&self->making);
}

static void
make(LoomFaultCase *self)
{
  const LoomDesign *design = loom_document_design(self->document);
  guint scene = loom_document_scene(self->document);
  if ((self->model || self->making) && self->revision == loom_design_revision(design) &&
      self->scene == scene)
    return;
  stop_making(self);
  g_clear_pointer(&self->model, loom_fault_model_free);
  g_clear_pointer(&self->design, loom_design_free);
  self->design = loom_design_snapshot(design);
  self->revision = loom_design_revision(design);
  self->scene = scene;
  self->making = g_cancellable_new();
  GTask *task = g_task_new(self, self->making, on_made, NULL);
  Making *making = g_new(Making, 1);
  *making = (Making){loom_design_snapshot(design), scene};
  g_task_set_task_data(task, making, making_free);
  g_task_run_in_thread(task, make_in_thread);
  g_object_unref(task);
  diagnose(self);
}

static void
on_changed(LoomDocument *document, gpointer data)
{
  LoomFaultCase *self = data;
  const char *path = loom_document_path(document);
  if (!loom_document_modified(document) && g_strcmp0(path, self->path) != 0) {
    g_array_set_size(self->answers, 0); /* another robot */
    g_ptr_array_set_size(self->past, 0);
  }
  g_free(self->path);
  self->path = g_strdup(path);
  if (self->followed)
    make(self);
}

void
loom_fault_case_follow(LoomFaultCase *self, bool followed)
{
  self->followed = followed;
  if (followed)
    make(self);
}

/* ---- saying and taking back ---- */

static void
put_answers(LoomFaultCase *self, GArray *answers)
{
  g_ptr_array_add(self->past, self->answers);
  self->answers = answers;
  diagnose(self);
}

void
loom_fault_case_say(LoomFaultCase *self, guint test, guint32 outcomes)
{
  guint32 before;
  if (!self->model || (loom_fault_case_find(self, test, &before) && before == outcomes))
    return;
  const LoomTest *t = &self->model->tests[test];
  GArray *answers = copy_answers(self->answers, t->key);
  add_answer(answers, t->key, outcomes);
  loom_events_say(loom_document_events(self->document), "answer %s %x", t->key, outcomes);
  put_answers(self, answers);
}

void
loom_fault_case_forget(LoomFaultCase *self, guint test)
{
  guint32 before;
  if (!self->model || !loom_fault_case_find(self, test, &before))
    return;
  const char *key = self->model->tests[test].key;
  loom_events_say(loom_document_events(self->document), "forgot %s", key);
  put_answers(self, copy_answers(self->answers, key));
}

bool
loom_fault_case_can_undo(LoomFaultCase *self)
{
  return self->past->len > 0;
}

void
loom_fault_case_undo(LoomFaultCase *self)
{
  if (self->past->len == 0)
    return;
  g_array_unref(self->answers);
  self->answers = g_ptr_array_steal_index(self->past, self->past->len - 1);
  loom_events_say(loom_document_events(self->document), "answers %u", self->answers->len);
  diagnose(self);
}

void
loom_fault_case_afresh(LoomFaultCase *self)
{
  if (self->answers->len == 0)
    return;
  loom_events_say(loom_document_events(self->document), "answers 0");
  put_answers(self, answers_new());
}

/* ---- looking ---- */

const LoomFaultModel *
loom_fault_case_model(LoomFaultCase *self)
{
  return self->model;
}

const LoomDiagnosis *
loom_fault_case_diagnosis(LoomFaultCase *self)
{
  return self->diagnosis;
}

const LoomDesign *
loom_fault_case_design(LoomFaultCase *self)
{
  return self->design;
}

guint
loom_fault_case_serial(LoomFaultCase *self)
{
  return self->serial;
}

guint
loom_fault_case_n_answers(LoomFaultCase *self)
{
  return self->known->len;
}

LoomEvidence
loom_fault_case_answer(LoomFaultCase *self, guint index)
{
  return g_array_index(self->known, LoomEvidence, index);
}

bool
loom_fault_case_find(LoomFaultCase *self, guint test, guint32 *outcomes)
{
  for (guint i = 0; i < self->known->len; i++) {
    LoomEvidence e = g_array_index(self->known, LoomEvidence, i);
    if (e.test != test)
      continue;
    *outcomes = e.outcomes;
    return true;
  }
  return false;
}

/* ---- life ---- */

LoomFaultCase *
loom_fault_case_new(LoomDocument *document)
{
  LoomFaultCase *self = g_object_new(LOOM_TYPE_FAULT_CASE, NULL);
  self->document = g_object_ref(document);
  self->path = g_strdup(loom_document_path(document));
  g_signal_connect_object(document, "changed", G_CALLBACK(on_changed), self, 0);
  g_signal_connect_object(document, "scene", G_CALLBACK(on_changed), self, 0);
  return self;
}

static void
loom_fault_case_finalize(GObject *object)
{
  LoomFaultCase *self = LOOM_FAULT_CASE(object);
  stop_making(self);
  g_clear_pointer(&self->model, loom_fault_model_free);
  g_clear_pointer(&self->diagnosis, loom_diagnosis_free);
  g_clear_pointer(&self->design, loom_design_free);
  g_array_unref(self->answers);
  g_ptr_array_unref(self->past);
  g_array_unref(self->known);
  g_clear_object(&self->document);
  g_free(self->path);
  G_OBJECT_CLASS(loom_fault_case_parent_class)->finalize(object);
}

static void
loom_fault_case_class_init(LoomFaultCaseClass *class)
{
  G_OBJECT_CLASS(class)->finalize = loom_fault_case_finalize;
  signals[CHANGED] = g_signal_new("changed", LOOM_TYPE_FAULT_CASE, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                  NULL, G_TYPE_NONE, 0);
}

static void
loom_fault_case_init(LoomFaultCase *self)
{
  self->answers = answers_new();
  self->past = g_ptr_array_new_with_free_func((GDestroyNotify)g_array_unref);
  self->known = g_array_new(FALSE, FALSE, sizeof(LoomEvidence));
}
