#include "margins.h"

#include "conductor.h"
#include "fuse.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdlib.h>

static const double least_A = 1e-6;

typedef struct {
  const LoomNetwork *n;
  const LoomOperatingPoint *p;
  GArray *list;
} Survey;

static void
add(Survey *s, LoomRating what, guint part, guint index, double load, double limit)
{
  bool volts = what == LOOM_RATING_LOWEST_V || what == LOOM_RATING_HIGHEST_V;
  if (!(limit > 0) || isinf(limit) || isnan(load) || (!volts && load < least_A))
    return;
  double room = what == LOOM_RATING_LOWEST_V ? load - limit : limit - load;
  LoomMargin m = {.what = what,
                  .part = part,
                  .index = index,
                  .load = load,
                  .limit = limit,
                  .unit = volts ? "V" : "A",
                  .margin_pct = 100 * room / limit};
  g_array_append_val(s->list, m);
}

static double
current_A(const LoomOperatingPoint *p, guint branch)
{
  return fabs(p->flows[branch].a_A);
}

static const LoomKind *
kind_of(const LoomNetwork *n, guint part)
{
  return loom_wiring_part(n->wiring, part)->kind;
}

/* Pairs of the part's wires that carry more than 30 % of what the size stands alone. */
static guint
loaded_circuits(const LoomNetwork *n, const LoomOperatingPoint *p, guint part)
{
  const LoomKind *kind = kind_of(n, part);
  guint wires = 0;
  for (guint i = 0; i < kind->n_elements; i++) {
    if (kind->elements[i].type != LOOM_ELEMENT_WIRE)
      continue;
    double alone_A = loom_ampacity_A(kind->elements[i].mm2, NULL);
    wires += !p || current_A(p, n->part_branch[part] + i) > 0.3 * alone_A;
  }
  return (wires + 1) / 2;
}

double
loom_wire_ampacity_A(const LoomNetwork *n, const LoomOperatingPoint *p, guint part, guint element,
                     const char **table)
{
  const LoomKind *kind = kind_of(n, part);
  guint circuits = kind->lead ? loaded_circuits(n, p, part) : 1;
  return loom_ampacity_A(kind->elements[element].mm2, table) * loom_ambient_factor(n->ambient_C) *
         loom_bundle_factor(circuits);
}

static void
survey_contacts(Survey *s)
{
  const LoomWiring *w = s->n->wiring;
  for (guint t = 0; t < w->n_touches; t++) {
    const LoomWiredJoint *j = &w->joints[w->touches[t].wired];
    const LoomEnd *a = &kind_of(s->n, j->part_a)->ends[j->end_a],
                  *b = &kind_of(s->n, j->part_b)->ends[j->end_b];
    add(s, LOOM_RATING_CONTACT, j->part_a, t, current_A(s->p, t), loom_joint_rated_A(a, b));
  }
}

static void
survey_wire(Survey *s, guint part, guint i)
{
  const char *table;
  guint before = s->list->len;
  double limit = loom_wire_ampacity_A(s->n, s->p, part, i, &table);
  add(s, LOOM_RATING_WIRE, part, i, current_A(s->p, s->n->part_branch[part] + i),
      fmax(limit, 1e-3));
  if (s->list->len > before)
    g_array_index(s->list, LoomMargin, before).table = table;
}

static void
survey_fuse(Survey *s, guint part, guint i)
{
  double rated_A = loom_part_fuse_A(loom_wiring_part(s->n->wiring, part), i);
  double load_A = current_A(s->p, s->n->part_branch[part] + i);
  add(s, LOOM_RATING_FUSE, part, i, load_A, rated_A);
  add(s, LOOM_RATING_FUSE_STEADY, part, i, load_A, LOOM_FUSE_CONTINUOUS * rated_A);
}

static void
survey_source(Survey *s, guint part, guint i)
{
  const LoomKind *kind = kind_of(s->n, part);
  double out_A = -s->p->flows[s->n->part_branch[part] + i].a_A;
  add(s, LOOM_RATING_OUTPUT, part, i, out_A, kind->elements[i].limit_A);
  if (kind->chemistry.charger)
    return;
  if (out_A < 0)
    add(s, LOOM_RATING_CHARGE, part, i, -out_A, kind->chemistry.charge_max_A);
  else
    add(s, LOOM_RATING_PACK, part, i, out_A, kind->chemistry.discharge_max_A);
}

static double
output_A(const LoomCurrents *I)
{
  return fmax(fabs(I->c_A), fabs(I->d_A));
}

static void
survey_element(Survey *s, guint part, guint i)
{
  const LoomElement *e = &kind_of(s->n, part)->elements[i];
  guint branch = s->n->part_branch[part] + i;
  switch (e->type) {
  case LOOM_ELEMENT_WIRE:
    survey_wire(s, part, i);
    break;
  case LOOM_ELEMENT_THROUGH:
    add(s, LOOM_RATING_INNER, part, i, current_A(s->p, branch), e->rated_A);
    break;
  case LOOM_ELEMENT_SWITCH:
    add(s, LOOM_RATING_SWITCH, part, i, current_A(s->p, branch), e->rated_A);
    break;
  case LOOM_ELEMENT_FUSE:
    survey_fuse(s, part, i);
    break;
  case LOOM_ELEMENT_SOURCE:
    survey_source(s, part, i);
    break;
  case LOOM_ELEMENT_DRIVER:
    add(s, LOOM_RATING_OUTPUT, part, i, output_A(&s->p->flows[branch]), e->limit_A);
    break;
  case LOOM_ELEMENT_CONVERTER:
    add(s, LOOM_RATING_OUTPUT, part, i, fabs(s->p->flows[branch].c_A), e->limit_A);
    break;
  default:
    break;
  }
}

double
loom_end_current_A(const LoomNetwork *n, const LoomOperatingPoint *p, guint part, guint end)
{
  const LoomEnd *e = &kind_of(n, part)->ends[end];
  double plus = 0, greatest = 0;
  bool has_plus = false;
  for (guint c = 0; c < e->n_contacts; c++) {
    double A = p->into_A[loom_wiring_node(n->wiring, part, end, c)];
    has_plus |= e->contacts[c].role == LOOM_ROLE_PLUS;
    plus += e->contacts[c].role == LOOM_ROLE_PLUS ? A : 0;
    greatest = fmax(greatest, fabs(A));
  }
  return has_plus ? fabs(plus) : greatest;
}

static void
survey_ends(Survey *s, guint part)
{
  const LoomKind *kind = kind_of(s->n, part);
  for (guint i = 0; i < kind->n_ends; i++)
    if (!isnan(kind->ends[i].limit_A))
      add(s, LOOM_RATING_END, part, i, loom_end_current_A(s->n, s->p, part, i),
          kind->ends[i].limit_A);
  for (guint g = 0; g < kind->n_limits; g++) {
    double sum = 0;
    for (guint i = 0; i < kind->limits[g].n_ends; i++)
      sum += loom_end_current_A(s->n, s->p, part, kind->limits[g].ends[i]);
    add(s, LOOM_RATING_GROUP, part, g, sum, kind->limits[g].limit_A);
  }
}

double
loom_lowest_V(const LoomElement *e)
{
  return isnan(e->min_V) ? e->lockout_V : e->min_V;
}

/* The worst element of the part against its lowest, and against its highest voltage. */
static void
survey_volts(Survey *s, guint part)
{
  const LoomKind *kind = kind_of(s->n, part);
  guint low = LOOM_NONE, high = LOOM_NONE;
  double low_share = INFINITY, high_share = -INFINITY;
  for (guint i = 0; i < kind->n_elements; i++) {
    const LoomElement *e = &kind->elements[i];
    const LoomBranch *b = &s->n->branches[s->n->part_branch[part] + i];
    double V = loom_point_volts(s->p, b->a, b->b);
    if (e->reverse_survives || e->type == LOOM_ELEMENT_MOTOR)
      V = fabs(V);
    double share = V / loom_lowest_V(e);
    if (loom_lowest_V(e) > 0 && share < low_share && fabs(share) > LOOM_UNSUPPLIED) {
      low_share = share;
      low = i;
    }
    if (e->max_V > 0 && fabs(V) / e->max_V > high_share) {
      high_share = fabs(V) / e->max_V;
      high = i;
    }
  }
  if (low != LOOM_NONE)
    add(s, LOOM_RATING_LOWEST_V, part, low, low_share * loom_lowest_V(&kind->elements[low]),
        loom_lowest_V(&kind->elements[low]));
  if (high != LOOM_NONE)
    add(s, LOOM_RATING_HIGHEST_V, part, high, high_share * kind->elements[high].max_V,
        kind->elements[high].max_V);
}

static int
worse_first(const void *x, const void *y)
{
  const LoomMargin *a = x, *b = y;
  if (a->margin_pct < b->margin_pct || a->margin_pct > b->margin_pct)
    return a->margin_pct < b->margin_pct ? -1 : 1;
  if (a->what != b->what)
    return a->what < b->what ? -1 : 1;
  if (a->part != b->part)
    return a->part < b->part ? -1 : 1;
  return a->index < b->index ? -1 : a->index > b->index;
}

LoomMargins *
loom_margins_new(const LoomNetwork *n, const LoomOperatingPoint *p)
{
  Survey s = {n, p, g_array_new(FALSE, TRUE, sizeof(LoomMargin))};
  if (p->trouble == LOOM_TROUBLE_NONE) {
    survey_contacts(&s);
    for (guint part = 0; part < n->wiring->n_parts; part++) {
      for (guint i = 0; i < kind_of(n, part)->n_elements; i++)
        survey_element(&s, part, i);
      survey_ends(&s, part);
      survey_volts(&s, part);
    }
  }
  LoomMargins *margins = g_new(LoomMargins, 1);
  margins->n_margins = s.list->len;
  margins->margins = (LoomMargin *)g_array_free(s.list, FALSE);
  if (margins->n_margins)
    qsort(margins->margins, margins->n_margins, sizeof(LoomMargin), worse_first);
  return margins;
}

void
loom_margins_free(LoomMargins *margins)
{
  if (!margins)
    return;
  g_free(margins->margins);
  g_free(margins);
}

char *
loom_margin_where(const LoomMargin *m, const LoomNetwork *n)
{
  const char *designation = loom_wiring_part(n->wiring, m->part)->designation;
  if (m->what == LOOM_RATING_CONTACT)
    return loom_branch_name(n, m->index);
  if (m->what == LOOM_RATING_END)
    return loom_wiring_end_name(n->wiring, m->part, m->index);
  if (m->what == LOOM_RATING_GROUP)
    return g_strdup_printf("%s %s", designation, kind_of(n, m->part)->limits[m->index].label);
  return g_strdup(designation);
}

static char *
wire_text(const LoomMargin *m, const LoomNetwork *n)
{
  g_autofree char *size = loom_wire_size_text(kind_of(n, m->part)->elements[m->index].mm2);
  g_autofree char *around = loom_number_to_text(n->ambient_C);
  return g_strdup_printf("wire %s, %s, %s °C around", size, m->table, around);
}

static char *
wire_words(const LoomMargin *m, const LoomNetwork *n)
{
  g_autofree char *size = loom_wire_size_words(kind_of(n, m->part)->elements[m->index].mm2);
  return g_strdup_printf(_("wire %s, %s, %g °C around"), size, _(m->table), n->ambient_C);
}

static const char *
rating_text(LoomRating what)
{
  static const char *const words[] = {
      [LOOM_RATING_CONTACT] = N_("contact"),
      [LOOM_RATING_INNER] = N_("joint inside"),
      [LOOM_RATING_SWITCH] = N_("switch"),
      [LOOM_RATING_FUSE] = N_("fuse"),
      [LOOM_RATING_FUSE_STEADY] = N_("fuse, 75 % for steady load"),
      [LOOM_RATING_OUTPUT] = N_("limit of its output"),
      [LOOM_RATING_END] = N_("limit of the end"),
      [LOOM_RATING_GROUP] = N_("common limit"),
      [LOOM_RATING_PACK] = N_("steady rate of the pack"),
      [LOOM_RATING_CHARGE] = N_("charging rate of the pack"),
      [LOOM_RATING_LOWEST_V] = N_("lowest voltage"),
      [LOOM_RATING_HIGHEST_V] = N_("highest voltage"),
  };
  return words[what];
}

char *
loom_margin_what(const LoomMargin *m, const LoomNetwork *n)
{
  return m->what == LOOM_RATING_WIRE ? wire_text(m, n) : g_strdup(rating_text(m->what));
}

char *
loom_margin_words(const LoomMargin *m, const LoomNetwork *n)
{
  return m->what == LOOM_RATING_WIRE ? wire_words(m, n) : g_strdup(_(rating_text(m->what)));
}
