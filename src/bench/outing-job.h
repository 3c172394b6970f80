/* An outing at work: run in a thread of its own, and on request written to a file there too, so
 * that the window goes on answering. The model is only read (flow-solve.h). */
#pragma once

#include "flow-solve.h"

G_BEGIN_DECLS

/* What is to be run. */
typedef struct {
  LoomFlowModel *model; /* held, or NULL: nothing */
  guint outing;         /* index in the model's scene */
  double charge;        /* 0 ... 1, of every pack at the start */
} LoomOutingWish;

/* Takes its own reference to the model in place of what it had. */
void loom_outing_wish_set(LoomOutingWish *wish, const LoomOutingWish *from);
void loom_outing_wish_clear(LoomOutingWish *wish);
bool loom_outing_wish_same(const LoomOutingWish *a, const LoomOutingWish *b);

/* `path` NULL: the trace alone; otherwise, by its suffix, .csv the samples, .svg, .pdf or .png the
 * curve. `done` is always called, in the main loop; once it is cancelled that is after the step at
 * hand, and nothing is written. */
void loom_outing_job_start(GObject *source, const LoomOutingWish *wish, const char *path,
                           GCancellable *cancellable, GAsyncReadyCallback done, gpointer data);
/* What was run; borrowed from `result`. */
const LoomOutingWish *loom_outing_job_wish(GAsyncResult *result);
/* New; NULL with `error` (G_IO_ERROR_CANCELLED where it was cancelled). */
LoomTrace *loom_outing_job_finish(GAsyncResult *result, GError **error);

G_END_DECLS
