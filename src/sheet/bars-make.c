#include "bars.h"

#include "readings.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* --- where the volts go --- */

/* Pieces that count as one: the wires of a part, its other pieces by type, the touches of a joint.
 */
static gint64
key_of(const LoomNetwork *n, guint branch)
{
  const LoomBranch *b = &n->branches[branch];
  if (!b->element)
    return -1 - (gint64)n->wiring->touches[branch].wired;
  return (gint64)b->part * LOOM_N_ELEMENTS + b->element->type;
}

static char *
where_of(const LoomNetwork *n, guint branch)
{
  const LoomBranch *b = &n->branches[branch];
  if (b->element)
    return g_strdup(loom_wiring_part(n->wiring, b->part)->designation);
  const LoomWiredJoint *j = &n->wiring->joints[n->wiring->touches[branch].wired];
  g_autofree char *from = loom_wiring_end_name(n->wiring, j->part_a, j->end_a);
  g_autofree char *to = loom_wiring_end_name(n->wiring, j->part_b, j->end_b);
  return g_strdup_printf("%s · %s", from, to);
}

static guint
part_of(const LoomNetwork *n, guint branch)
{
  const LoomBranch *b = &n->branches[branch];
  return b->element ? b->part : n->wiring->node_part[n->wiring->touches[branch].a];
}

/* Branch of each piece and the volts on it, in the order of the way. */
typedef struct {
  guint branch;
  const LoomDrop *drop;
  double volt;
} Piece;

static GArray *
pieces_of(const LoomNetwork *n, const LoomWaterfall *w)
{
  GArray *pieces = g_array_new(FALSE, FALSE, sizeof(Piece));
  g_autoptr(GHashTable) known = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, NULL);
  for (guint i = 0; i < w->n_drops; i++) {
    gint64 key = key_of(n, w->drops[i].branch);
    gpointer at;
    if (g_hash_table_lookup_extended(known, &key, NULL, &at)) {
      g_array_index(pieces, Piece, GPOINTER_TO_UINT(at)).volt += w->drops[i].drop_V;
      continue;
    }
    g_hash_table_insert(known, g_memdup2(&key, sizeof key), GUINT_TO_POINTER(pieces->len));
    Piece piece = {w->drops[i].branch, &w->drops[i], w->drops[i].drop_V};
    g_array_append_val(pieces, piece);
  }
  return pieces;
}

static char *
drop_heading(const LoomNetwork *n, const LoomWaterfall *w)
{
  const char *source = loom_wiring_part(n->wiring, n->branches[w->source].part)->designation;
  const char *load = loom_wiring_part(n->wiring, n->branches[w->load].part)->designation;
  return g_strdup_printf(
      _("%s: %.2f V of the %.2f V that %s makes. The way there and back takes %.2f V, %.1f %%."),
      load, w->load_V, w->emf_V, source, w->emf_V - w->load_V,
      100 * (w->emf_V - w->load_V) / w->emf_V);
}

/* A driver or converter that takes most of it away does so by its nature; the rest is to be seen.
 */
static bool
is_by_nature(const LoomNetwork *n, const Piece *piece, double all)
{
  const LoomElement *e = n->branches[piece->branch].element;
  return e && (e->type == LOOM_ELEMENT_DRIVER || e->type == LOOM_ELEMENT_CONVERTER) &&
         piece->volt > all / 2;
}

/* Sum and greatest of those that are drawn to scale. */
static double
sum_of(const LoomNetwork *n, const GArray *pieces, double all, double *most)
{
  double sum = 0;
  *most = 0;
  for (guint i = 0; i < pieces->len; i++) {
    const Piece *piece = &g_array_index(pieces, Piece, i);
    if (is_by_nature(n, piece, all))
      continue;
    sum += piece->volt;
    *most = fmax(*most, piece->volt);
  }
  return fmax(sum, 1e-9);
}

LoomBars *
loom_bars_of_waterfall(const LoomNetwork *n, const LoomWaterfall *w, const char *load)
{
  LoomBars *bars = g_new0(LoomBars, 1);
  if (!w) {
    bars->heading =
        load ? g_strdup_printf(_("%s: nothing flows there in this state."), load)
             : g_strdup(_("No motor, controller or other device takes current in this state."));
    return bars;
  }
  g_autoptr(GArray) pieces = pieces_of(n, w);
  double all = w->emf_V - w->load_V, done = 0, most;
  double scale = sum_of(n, pieces, all, &most);
  bars->heading = drop_heading(n, w);
  bars->n_bars = pieces->len;
  bars->bars = g_new0(LoomBar, pieces->len + 1);
  for (guint i = 0; i < pieces->len; i++) {
    const Piece *piece = &g_array_index(pieces, Piece, i);
    double drawn = is_by_nature(n, piece, all) ? 0 : piece->volt;
    bars->bars[i] = (LoomBar){.part = part_of(n, piece->branch),
                              .where = where_of(n, piece->branch),
                              .what = loom_drop_what(piece->drop, n),
                              .number = g_strdup_printf("%.3f V", piece->volt),
                              .share = g_strdup_printf("%.1f %%", 100 * piece->volt / w->emf_V),
                              .from = done / scale,
                              .to = (done + drawn) / scale,
                              .strong = drawn >= most};
    done += drawn;
  }
  return bars;
}

/* --- what is nearest to its limit --- */

static LoomBar
bar_of_margin(const LoomNetwork *n, const LoomMargin *m)
{
  double to = m->what == LOOM_RATING_LOWEST_V ? m->limit / m->load : m->load / m->limit;
  return (LoomBar){.part = m->part,
                   .where = loom_margin_where(m, n),
                   .what = loom_margin_words(m, n),
                   .number =
                       g_strdup_printf(m->what == LOOM_RATING_LOWEST_V ? _("%.3g, needs %.3g %s")
                                                                       : _("%.3g of %.3g %s"),
                                       m->load, m->limit, m->unit),
                   .share = g_strdup_printf("%.0f %%", m->margin_pct),
                   .from = 0,
                   .to = to,
                   .stress = loom_margin_stress(m),
                   .strong = m->margin_pct < 0};
}

/* What is regulated stands near its limits for good: volts come after amps unless they are near
 * indeed. */
static int
rank_of(const LoomMargin *m)
{
  bool volts = m->what == LOOM_RATING_LOWEST_V || m->what == LOOM_RATING_HIGHEST_V;
  return loom_margin_stress(m) > LOOM_WARM_STRESS ? 0 : volts ? 2 : 1;
}

static gint
nearer_first(gconstpointer a, gconstpointer b)
{
  const LoomMargin *m = *(const LoomMargin *const *)a, *n = *(const LoomMargin *const *)b;
  if (rank_of(m) != rank_of(n))
    return rank_of(m) - rank_of(n);
  double x = loom_margin_stress(m), y = loom_margin_stress(n);
  return x > y ? -1 : x < y;
}

LoomBars *
loom_bars_of_margins(const LoomNetwork *n, const LoomMargins *margins, guint most)
{
  LoomBars *bars = g_new0(LoomBars, 1);
  g_autoptr(GPtrArray) sorted = g_ptr_array_new();
  for (guint i = 0; i < margins->n_margins; i++)
    g_ptr_array_add(sorted, (gpointer)&margins->margins[i]);
  g_ptr_array_sort(sorted, nearer_first);
  bars->n_bars = MIN(margins->n_margins, most);
  bars->bars = g_new0(LoomBar, bars->n_bars + 1);
  for (guint i = 0; i < bars->n_bars; i++)
    bars->bars[i] = bar_of_margin(n, g_ptr_array_index(sorted, i));
  bars->heading = g_strdup(bars->n_bars ? _("What is near its limit comes first, then currents, "
                                            "then voltages. The last column is what is left.")
                                        : _("Nothing flows in this state."));
  return bars;
}
