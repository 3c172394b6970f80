/* What a user can cause to go wrong, and the sentence for it.
 *
 * Every error that reaches a user is one sentence. Errors from files begin with "FILE:LINE: ". */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

#define LOOM_ERROR (loom_error_quark())

typedef enum {
  LOOM_ERROR_FILE,    /* cannot be read or written */
  LOOM_ERROR_SYNTAX,  /* not well-formed XML, or something refused (document types, other encodings)
                       */
  LOOM_ERROR_VERSION, /* written by a newer program */
  LOOM_ERROR_CONTENT, /* well-formed, but an element, attribute or value that has no place there */
  LOOM_ERROR_REFERENCE, /* names something that does not exist */
  LOOM_ERROR_EDIT,      /* a change that the design cannot take */
} LoomError;

GQuark loom_error_quark(void);

G_END_DECLS
