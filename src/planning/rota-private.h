/* The search behind the rota. Inside planning/ only.
 *
 * What has to be planned are charges. Packs are alike and every charge refills the same share, so a
 * day comes down to counting: outing j (from 0) has a full pack if
 *
 *     packs full in the morning + charges done by its due time  >=  j + 1
 *
 * Packs come back at fixed times, their releases. Without loss they are charged in that order, each
 * starts no earlier than the one before it, as soon as its charger is free, and of chargers of one
 * type the one that is free first is taken. What is left to choose is the type, charge by charge:
 *
 *   1. A state holds, after i charges, the minute at which each charger is free. Chargers that are
 *      free before the next charge can start count as free from then.
 *   2. From each state one follows per type. Dues that pass before the next charge can start are
 *      checked: charges done are those placed less the chargers still busy. A state that fails one
 *      is dropped.
 *   3. A state with no charger free later than in another one makes the other superfluous, if it
 *      passes the dues that the other one has passed already.
 *   4. A state is left after the last charge that any due needs: the day is possible.
 *
 * Before, two short cuts: if it works that each charge goes where it is full first, it is possible;
 * if even chargers that are all as fast as the fastest, or never without a pack, are not enough, it
 * is not. All this is exact unless a stage has more than LOOM_ROTA_STATES states left, or all
 * searches for one rota together place more than LOOM_ROTA_EFFORT charges. */
#pragma once

#include "rota.h"

G_BEGIN_DECLS

#define LOOM_ROTA_STATES 200
#define LOOM_ROTA_EFFORT 4000000

/* A setting of a charger. */
typedef struct {
  double current_A;
  guint minutes; /* to refill the day's share */
  guint setting; /* index in the LoomCharge */
} LoomRotaOption;

/* Chargers that are alike. */
typedef struct {
  LoomCharge *charge; /* owned */
  guint n_options;
  LoomRotaOption options[LOOM_CHARGE_SETTINGS]; /* allowed ones, lowest current first */
  guint fastest;                                /* minutes */
  guint n_chargers;
  guint *chargers; /* [n_chargers] owned: indices in the day, ascending */
} LoomRotaType;

typedef struct {
  guint n_full;
  guint n_types;
  const LoomRotaType *types; /* [n_types] borrowed */
  guint more_of, n_more;     /* so many more chargers of that type */
  guint n_releases;
  const guint *releases; /* [n_releases] ascending, borrowed */
  guint n_dues;
  const guint *dues; /* [n_dues] ascending, borrowed */
  guint *effort;     /* charges that may still be placed, over all searches; borrowed */
} LoomRotaProblem;

/* Whether all dues can be met. `exact` (may be NULL) is set to false where "no" is not sure, and
 * left alone otherwise. */
bool loom_rota_possible(const LoomRotaProblem *problem, bool *exact);

/* How many of the dues can be met, from the first on. */
guint loom_rota_reach(const LoomRotaProblem *problem, bool *exact);

/* A charge as planned. */
typedef struct {
  guint type, charger; /* index of the type; index in the day */
  guint option;
  guint start_min, end_min;
} LoomRotaPlanned;

/* Charges for as many dues as there are in the problem, all of which must be within reach, in the
 * order of the releases. `gentle`: each the lowest current that keeps the rest within reach;
 * otherwise each the soonest full. New array of LoomRotaPlanned. */
GArray *loom_rota_plan(const LoomRotaProblem *problem, bool gentle, bool *exact);

/* The outings by time, and everything that follows from the request. */
typedef struct {
  const LoomRotaDay *day; /* borrowed */
  double used;
  guint n_packs, n_full;
  guint *order;    /* [n_outings] index in the day, by start */
  guint *dues;     /* [n_outings] by that order: off the charger */
  guint *releases; /* [n_outings + n_packs - n_full] ascending */
  guint effort;    /* left for searching */
  guint last_min;  /* end of the last outing */
  guint n_types;
  LoomRotaType *types;
} LoomRotaDesk;

/* Lives the day: the first charges as planned, all others as chargers are free. Fills uses,
 * charges and spans. `possible`: every outing has a full pack that way; spare charges are as gentle
 * as the day allows. Otherwise all are as fast as allowed. */
void loom_rota_live(const LoomRotaDesk *desk, const GArray *planned, bool possible, LoomRota *rota);

/* Fills conflicts and notes of a rota that has everything else. */
void loom_rota_tell(const LoomRotaDesk *desk, LoomRota *rota);

G_END_DECLS
