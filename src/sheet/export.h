/* The diagram as a file: .svg, .pdf (A4 landscape or larger if it must, searchable) or .png. */
#pragma once

#include "draw.h"
#include "sheet.h"

G_BEGIN_DECLS

/* By the suffix of `path`. Written beside and renamed. false with `error` on an unknown suffix or a
 * file that cannot be written. `options` NULL: title block, legend, print palette. */
bool loom_export_diagram(const LoomSheet *sheet, const LoomDrawOptions *options, const char *path,
                         GError **error);

G_END_DECLS
