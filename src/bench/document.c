#include "document.h"

#include "design/file.h"

#include <glib/gi18n-lib.h>

/* Work is written to the draft so long after the first change that it does not hold. */
#define DRAFT_DELAY_MS 1000
/* A check that took longer than this last time runs in a thread the next time. */
#define CHECK_AT_ONCE_US 4000
#define CHECK_AT_ONCE_PARTS 100

struct _LoomDocument {
  GObject parent;
  LoomCatalogue *catalogue;
  LoomPieces *pieces; /* of the catalogue; made when first wanted */
  LoomDrafts *drafts; /* borrowed */
  LoomEvents *events; /* borrowed */
  LoomDesign *design;
  guint design_number;
  char *path;
  guint scene;
  LoomSheet *sheet; /* of the present revision and scene, or of an older one */
  guint64 sheet_revision;
  guint sheet_scene;
  LoomFindings *findings;
  gint64 check_us; /* how long the last check took */
  GCancellable *checking;
  char *draft_id;
  guint draft_timer;
  bool recovered; /* from a draft, and not saved since */
};

G_DEFINE_FINAL_TYPE(LoomDocument, loom_document, G_TYPE_OBJECT)

enum { CHANGED, SCENE, FINDINGS, TITLE, N_SIGNALS };
static guint signals[N_SIGNALS];

static void
say(LoomDocument *self, int signal)
{
  g_signal_emit(self, signals[signal], 0);
}

static void
loom_document_finalize(GObject *object)
{
  LoomDocument *self = LOOM_DOCUMENT(object);
  if (self->checking)
    g_cancellable_cancel(self->checking);
  g_clear_object(&self->checking);
  g_clear_handle_id(&self->draft_timer, g_source_remove);
  g_clear_pointer(&self->sheet, loom_sheet_free);
  g_clear_pointer(&self->findings, loom_findings_free);
  g_clear_pointer(&self->pieces, loom_pieces_free);
  g_clear_pointer(&self->design, loom_design_free);
  g_clear_pointer(&self->catalogue, loom_catalogue_unref);
  g_free(self->path);
  g_free(self->draft_id);
  G_OBJECT_CLASS(loom_document_parent_class)->finalize(object);
}

static void
loom_document_class_init(LoomDocumentClass *class)
{
  static const char *const names[N_SIGNALS] = {"changed", "scene", "findings", "title"};
  G_OBJECT_CLASS(class)->finalize = loom_document_finalize;
  for (int i = 0; i < N_SIGNALS; i++)
    signals[i] = g_signal_new(names[i], LOOM_TYPE_DOCUMENT, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                              G_TYPE_NONE, 0);
}

static void
loom_document_init(LoomDocument *self)
{
  self->design = loom_design_new(_("New robot"));
  loom_design_mark_saved(self->design);
}

LoomDocument *
loom_document_new(LoomCatalogue *catalogue, LoomDrafts *drafts, LoomEvents *events)
{
  LoomDocument *self = g_object_new(LOOM_TYPE_DOCUMENT, NULL);
  self->catalogue = loom_catalogue_ref(catalogue);
  self->drafts = drafts;
  self->events = events;
  if (drafts)
    self->draft_id = loom_drafts_new_id(drafts);
  return self;
}

/* Checking: at once where it is quick, otherwise in a thread on a snapshot. */

typedef struct {
  LoomDesign *snapshot;
  guint64 revision;
  gint64 took_us;
} Check;

static void
check_free(Check *check)
{
  loom_design_free(check->snapshot);
  g_free(check);
}

static void
check_in_thread(GTask *task, gpointer source, gpointer data, GCancellable *cancellable)
{
  (void)source;
  (void)cancellable;
  Check *check = data;
  gint64 start = g_get_monotonic_time();
  LoomFindings *findings = loom_check(check->snapshot);
  check->took_us = g_get_monotonic_time() - start;
  g_task_return_pointer(task, findings, (GDestroyNotify)loom_findings_free);
}

static void
take_findings(LoomDocument *self, LoomFindings *findings, gint64 took_us)
{
  g_clear_pointer(&self->findings, loom_findings_free);
  self->findings = findings;
  self->check_us = took_us;
  loom_events_say(self->events, "findings %u %u %u", findings->n_stop, findings->n_care,
                  findings->n_note);
  say(self, FINDINGS);
}

static void
on_checked(GObject *source, GAsyncResult *result, gpointer data)
{
  (void)data;
  LoomDocument *self = LOOM_DOCUMENT(source);
  Check *check = g_task_get_task_data(G_TASK(result));
  g_autoptr(LoomFindings) findings = g_task_propagate_pointer(G_TASK(result), NULL);
  if (!findings || check->revision != loom_design_revision(self->design))
    return;
  g_clear_object(&self->checking);
  take_findings(self, g_steal_pointer(&findings), check->took_us);
}

void
loom_document_check(LoomDocument *self)
{
  if (self->checking)
    g_cancellable_cancel(self->checking);
  g_clear_object(&self->checking);
  if (loom_design_n_parts(self->design) < CHECK_AT_ONCE_PARTS &&
      self->check_us < CHECK_AT_ONCE_US) {
    gint64 start = g_get_monotonic_time();
    LoomFindings *findings = loom_check(self->design);
    take_findings(self, findings, g_get_monotonic_time() - start);
    return;
  }
  self->checking = g_cancellable_new();
  g_autoptr(GTask) task = g_task_new(self, self->checking, on_checked, NULL);
  Check *check = g_new0(Check, 1);
  check->snapshot = loom_design_snapshot(self->design);
  check->revision = loom_design_revision(self->design);
  g_task_set_task_data(task, check, (GDestroyNotify)check_free);
  g_task_run_in_thread(task, check_in_thread);
}

/* Drafts. */

static gboolean
write_draft(gpointer data)
{
  LoomDocument *self = data;
  self->draft_timer = 0;
  g_autoptr(GError) error = NULL;
  if (!loom_drafts_write(self->drafts, self->draft_id, self->design, self->path, &error))
    loom_events_say(self->events, "draft failed %s", error->message);
  else
    loom_events_say(self->events, "draft written");
  return G_SOURCE_REMOVE;
}

static void
follow_draft(LoomDocument *self)
{
  if (!self->drafts)
    return;
  if (!loom_document_modified(self))
    loom_document_discard_draft(self);
  else if (!self->draft_timer)
    self->draft_timer = g_timeout_add(DRAFT_DELAY_MS, write_draft, self);
}

void
loom_document_discard_draft(LoomDocument *self)
{
  g_clear_handle_id(&self->draft_timer, g_source_remove);
  if (self->drafts)
    loom_drafts_discard(self->drafts, self->draft_id);
}

/* After every change, whoever made it. */
static void
after_change(LoomDocument *self)
{
  guint n_scenes = loom_design_n_scenes(self->design);
  self->scene = MIN(self->scene, n_scenes - 1);
  say(self, CHANGED);
  loom_document_check(self);
  follow_draft(self);
  say(self, TITLE);
}

static void
take_design(LoomDocument *self, LoomDesign *design)
{
  g_clear_pointer(&self->sheet, loom_sheet_free);
  g_clear_pointer(&self->pieces, loom_pieces_free);
  g_clear_pointer(&self->design, loom_design_free);
  self->design = design;
  self->design_number++;
  self->scene = 0;
  loom_design_mark_saved(design);
  after_change(self);
  say(self, SCENE);
}

bool
loom_document_open(LoomDocument *self, const char *path, GError **error)
{
  LoomDesign *design = loom_design_open_with(path, self->catalogue, error);
  if (!design)
    return false;
  loom_document_discard_draft(self);
  self->recovered = false;
  g_autofree char *copy = g_strdup(path);
  g_free(self->path);
  self->path = g_steal_pointer(&copy);
  take_design(self, design);
  loom_events_say(self->events, "opened %s", path);
  return true;
}

bool
loom_document_recover(LoomDocument *self, const LoomDraft *draft, GError **error)
{
  g_autofree char *text = NULL;
  gsize length;
  if (!g_file_get_contents(draft->file, &text, &length, error))
    return false;
  LoomDesign *design = loom_design_parse(text, length, draft->file, error);
  if (!design)
    return false;
  g_free(self->path);
  self->path = g_strdup(draft->original);
  g_free(self->draft_id);
  self->draft_id = g_strdup(draft->id);
  self->recovered = true;
  take_design(self, design);
  loom_events_say(self->events, "recovered %s", self->path ? self->path : "");
  return true;
}

void
loom_document_start_from(LoomDocument *self, LoomDesign *design)
{
  g_clear_pointer(&self->path, g_free);
  self->recovered = false;
  take_design(self, design);
}

bool
loom_document_save(LoomDocument *self, const char *path, GError **error)
{
  if (!loom_design_save(self->design, path, error))
    return false;
  g_autofree char *copy = g_strdup(path);
  g_free(self->path);
  self->path = g_steal_pointer(&copy);
  self->recovered = false;
  loom_document_discard_draft(self);
  loom_events_say(self->events, "saved %s", path);
  say(self, TITLE);
  return true;
}

const char *
loom_document_path(LoomDocument *self)
{
  return self->path;
}

char *
loom_document_name(LoomDocument *self)
{
  if (self->path)
    return g_path_get_basename(self->path);
  return g_strdup(loom_design_title(self->design)->name);
}

bool
loom_document_modified(LoomDocument *self)
{
  return self->recovered || loom_design_modified(self->design);
}

bool
loom_document_untouched(LoomDocument *self)
{
  return !self->path && !loom_document_modified(self);
}

const LoomDesign *
loom_document_design(LoomDocument *self)
{
  return self->design;
}

guint
loom_document_design_number(LoomDocument *self)
{
  return self->design_number;
}

LoomCatalogue *
loom_document_catalogue(LoomDocument *self)
{
  return self->catalogue;
}

void
loom_document_set_catalogue(LoomDocument *self, LoomCatalogue *catalogue)
{
  g_clear_pointer(&self->pieces, loom_pieces_free);
  g_clear_pointer(&self->catalogue, loom_catalogue_unref);
  self->catalogue = loom_catalogue_ref(catalogue);
}

LoomPieces *
loom_document_pieces(LoomDocument *self)
{
  if (!self->pieces)
    self->pieces = loom_pieces_new(self->catalogue, self->design);
  return self->pieces;
}

LoomEvents *
loom_document_events(LoomDocument *self)
{
  return self->events;
}

const LoomSheet *
loom_document_sheet(LoomDocument *self)
{
  guint64 revision = loom_design_revision(self->design);
  if (self->sheet && self->sheet_revision == revision && self->sheet_scene == self->scene)
    return self->sheet;
  g_autoptr(LoomSheet) old = g_steal_pointer(&self->sheet);
  self->sheet = loom_sheet_new(self->design, self->scene, old);
  self->sheet_revision = revision;
  self->sheet_scene = self->scene;
  return self->sheet;
}

const LoomFindings *
loom_document_findings(LoomDocument *self)
{
  return self->findings;
}

guint
loom_document_scene(LoomDocument *self)
{
  return self->scene;
}

const char *
loom_document_scene_name(LoomDocument *self)
{
  return loom_design_scene(self->design, self->scene)->name;
}

void
loom_document_set_scene(LoomDocument *self, guint scene)
{
  if (scene == self->scene || scene >= loom_design_n_scenes(self->design))
    return;
  self->scene = scene;
  loom_events_say(self->events, "scene %s", loom_document_scene_name(self));
  say(self, SCENE);
}

LoomEdit *
loom_document_edit(LoomDocument *self, const char *label)
{
  return loom_edit_new(self->design, label);
}

bool
loom_document_apply(LoomDocument *self, LoomEdit *edit)
{
  g_autoptr(LoomDesign) before = self->events ? loom_design_snapshot(self->design) : NULL;
  if (!loom_design_apply(self->design, edit))
    return false;
  if (before)
    loom_events_difference(self->events, before, self->design);
  after_change(self);
  return true;
}

bool
loom_document_set(LoomDocument *self, const char *target, const char *key, const char *value,
                  GError **error)
{
  g_autofree char *label = g_strdup_printf(_("Change %s"), target);
  g_autoptr(LoomEdit) edit = loom_document_edit(self, label);
  if (!loom_edit_set(edit, target, key, value, error))
    return false;
  loom_document_apply(self, g_steal_pointer(&edit));
  return true;
}

bool
loom_document_undo(LoomDocument *self)
{
  if (!loom_design_undo(self->design))
    return false;
  loom_events_say(self->events, "undo %s", loom_design_redo_label(self->design));
  after_change(self);
  return true;
}

bool
loom_document_redo(LoomDocument *self)
{
  if (!loom_design_redo(self->design))
    return false;
  loom_events_say(self->events, "redo %s", loom_design_undo_label(self->design));
  after_change(self);
  return true;
}
