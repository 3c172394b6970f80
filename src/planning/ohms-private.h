/* Resistance between two contacts of a wiring without power: what an ohmmeter sees.
 *
 * The network is that of all wires, inner joints, closed switches, fuses, contacts, resistors and
 * motor windings. Electronics (constant currents and powers, servos, drivers, converters) are not
 * resistors: they may conduct or not. So two values bound the truth: without them, and with each in
 * place as a short. By star-mesh transformation (each node but the two is taken out, and its
 * neighbours joined by g1 g2 / sum g), exact for any network of resistors. */
#pragma once

#include "electric/wiring.h"

G_BEGIN_DECLS

typedef struct LoomOhms LoomOhms;

/* One thing that is not as the kinds say. */
typedef struct {
  guint part;
  guint element; /* whose resistance is `ohm`; LOOM_NONE: nothing of the kind */
  double ohm;
  guint swap_a, swap_b; /* nodes of the wiring whose wires inside the part are swapped; LOOM_NONE */
} LoomOhmsChange;

/* `touches` in place of the wiring's own; `open` [n_parts]: whose switches are off; NULL: all are
 * on; `change` may be NULL. The wiring must outlive it. New. */
LoomOhms *loom_ohms_new(const LoomWiring *wiring, const LoomTouch *touches, guint n_touches,
                        const bool *open, const LoomOhmsChange *change);
void loom_ohms_free(LoomOhms *ohms);

/* The node that stands in place of `node` for elements of the part. */
guint loom_ohms_swapped(const LoomOhmsChange *change, guint part, guint node);

/* Between nodes; INFINITY where nothing joins them. `least` with electronics as shorts, `most`
 * without. false where a source is joined to either (also through electronics): no ohms are
 * measured there. */
bool loom_ohms_between(const LoomOhms *ohms, guint a, guint b, double *least, double *most);

/* Number of the piece of the network that the node lies in, electronics and sources counted as
 * joined. Equal for nodes that can have to do with each other. */
guint loom_ohms_piece(const LoomOhms *ohms, guint node);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomOhms, loom_ohms_free)

G_END_DECLS
