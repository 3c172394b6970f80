/* A starting point: the supply chain that every robot has, plugged and tidy.
 *
 * Pack, fuse, switch and controller, each the commonest of the catalogue that goes onto the one
 * before, and the leads that link the switch up with the controller. Nothing in it is fixed: with
 * another catalogue it is another chain. */
#pragma once

#include "catalogue/catalogue.h"
#include "design/edit.h"

G_BEGIN_DECLS

/* New; NULL with `error` where the catalogue has no such chain. */
LoomDesign *loom_starting_point_new(LoomCatalogue *catalogue, GError **error);

G_END_DECLS
