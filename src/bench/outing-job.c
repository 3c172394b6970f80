#include "outing-job.h"

#include "planning/outing-words.h"
#include "sheet/figure-file.h"
#include "sheet/outing-plot.h"

#include <math.h>

#define FILE_WIDTH_MM 240.0
#define FILE_HEIGHT_MM 120.0

void
loom_outing_wish_set(LoomOutingWish *wish, const LoomOutingWish *from)
{
  LoomFlowModel *model = from->model ? loom_flow_model_ref(from->model) : NULL;
  g_clear_pointer(&wish->model, loom_flow_model_unref);
  *wish = (LoomOutingWish){model, from->outing, from->charge};
}

void
loom_outing_wish_clear(LoomOutingWish *wish)
{
  g_clear_pointer(&wish->model, loom_flow_model_unref);
}

bool
loom_outing_wish_same(const LoomOutingWish *a, const LoomOutingWish *b)
{
  return a->model == b->model && a->outing == b->outing && fabs(a->charge - b->charge) < 1e-9;
}

typedef struct {
  LoomOutingWish wish;
  char *path; /* or NULL */
} Job;

static void
job_free(gpointer data)
{
  Job *job = data;
  loom_outing_wish_clear(&job->wish);
  g_free(job->path);
  g_free(job);
}

static void
draw_file(LoomInk *ink, gconstpointer data)
{
  loom_outing_plot_draw(ink, data, FILE_WIDTH_MM, FILE_HEIGHT_MM, NAN);
}

static bool
write_trace(const Job *job, const LoomTrace *trace, GError **error)
{
  const LoomDesign *design = loom_flow_model_design(job->wish.model);
  const LoomScene *scene = loom_flow_model_scene(job->wish.model);
  const LoomOuting *outing = &scene->outings[job->wish.outing];
  if (g_str_has_suffix(job->path, ".csv")) {
    g_autofree char *text = loom_outing_csv(design, scene, trace);
    return g_file_set_contents(job->path, text, -1, error);
  }
  g_autofree char *summary = loom_outing_summary(design, outing, trace);
  g_autofree char *title = g_strdup_printf("%s, %s", loom_design_title(design)->name, outing->name);
  g_autoptr(LoomOutingPlot) plot = loom_outing_plot_new(design, scene, trace);
  LoomFigureFile figure = {FILE_WIDTH_MM, FILE_HEIGHT_MM, title, summary, draw_file, plot};
  return loom_figure_file_write(&figure, job->path, error);
}

static void
work(GTask *task, gpointer source, gpointer data, GCancellable *cancellable)
{
  (void)source;
  const Job *job = data;
  GError *error = NULL;
  g_autoptr(LoomTrace) trace =
      loom_flow_model_outing(job->wish.model, job->wish.outing, job->wish.charge, cancellable);
  if (g_task_return_error_if_cancelled(task))
    return;
  if (job->path && !write_trace(job, trace, &error))
    g_task_return_error(task, error);
  else
    g_task_return_pointer(task, g_steal_pointer(&trace), (GDestroyNotify)loom_trace_free);
}

void
loom_outing_job_start(GObject *source, const LoomOutingWish *wish, const char *path,
                      GCancellable *cancellable, GAsyncReadyCallback done, gpointer data)
{
  g_autoptr(GTask) task = g_task_new(source, cancellable, done, data);
  Job *job = g_new0(Job, 1);
  loom_outing_wish_set(&job->wish, wish);
  job->path = g_strdup(path);
  g_task_set_task_data(task, job, job_free);
  g_task_run_in_thread(task, work);
}

const LoomOutingWish *
loom_outing_job_wish(GAsyncResult *result)
{
  return &((const Job *)g_task_get_task_data(G_TASK(result)))->wish;
}

LoomTrace *
loom_outing_job_finish(GAsyncResult *result, GError **error)
{
  return g_task_propagate_pointer(G_TASK(result), error);
}
