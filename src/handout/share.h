/* How much of a charge an outing takes. */
#pragma once

#include "electric/wiring.h"

G_BEGIN_DECLS

/* Share (0 ... 1) of a full charge that the hungriest outing of the wiring's scene takes; 1 where
 * none is drawn, or where one does not come to its end. */
double loom_share_used(const LoomWiring *wiring);

G_END_DECLS
