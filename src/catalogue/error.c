#include "error.h"

G_DEFINE_QUARK(loom - error - quark, loom_error)
