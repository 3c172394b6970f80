/* A drawing that is no sheet as a file: .svg, .pdf or .png, as large as it is. */
#pragma once

#include "ink.h"

G_BEGIN_DECLS

typedef struct {
  double width_mm, height_mm;
  const char *title, *desc; /* borrowed */
  void (*draw)(LoomInk *ink, gconstpointer data);
  gconstpointer data;
} LoomFigureFile;

/* By the suffix of `path`, on white paper. Written beside and renamed. false with `error` on an
 * unknown suffix or a file that cannot be written. */
bool loom_figure_file_write(const LoomFigureFile *figure, const char *path, GError **error);

G_END_DECLS
