/* Values as text: what loom_edit_set takes, read back from a design. */
#pragma once

#include "design/design.h"

G_BEGIN_DECLS

/* Value of `key` of `target`, both as loom_edit_set has them; "" where there is none. New. */
char *loom_value_text(const LoomDesign *design, const char *target, const char *key);

G_END_DECLS
