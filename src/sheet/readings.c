#include "readings.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define LIVE_V 0.05 /* below this an open end is not worth a word */
#define NEAR_V 0.03
#define LEAST_A 0.0005 /* and so is a current */

/* A survey under way. Worst margins by part, NULL none: of what carries current, and of volts. */
typedef struct {
  const LoomNetwork *n;
  const LoomOperatingPoint *p;
  const LoomMargin **amps, **volts; /* [n_parts] */
  bool *here;                       /* [n_parts] takes part in the scene */
  bool *read;                       /* [n_ends] the joint at this end has its reading */
  GArray *list;                     /* of LoomSheetReading */
} Survey;

char *
loom_volts_text(double volt)
{
  if (isnan(volt))
    return g_strdup(_("off"));
  return g_strdup_printf(fabs(volt) < 100 ? "%.2f V" : "%.1f V", fabs(volt) < 0.005 ? 0 : volt);
}

char *
loom_amps_text(double ampere)
{
  double A = fabs(ampere);
  if (isnan(A) || A < LEAST_A)
    return NULL;
  if (A < 0.0995)
    return g_strdup_printf("%.0f mA", A * 1000);
  return g_strdup_printf(A < 9.995 ? "%.2f A" : "%.1f A", A);
}

double
loom_current_width(double ampere)
{
  return isnan(ampere) ? 0.7 : CLAMP(0.7 + 0.25 * sqrt(fabs(ampere)), 0.7, 1.7);
}

double
loom_margin_stress(const LoomMargin *m)
{
  double over = m->load / m->limit;
  if (m->what == LOOM_RATING_LOWEST_V)
    over = 2 - over;
  else if (m->what != LOOM_RATING_HIGHEST_V)
    return over;
  return 1 + (over - 1) * (1 - LOOM_WARM_STRESS) / NEAR_V;
}

static void
keep_worse(const LoomMargin **worst, guint part, const LoomMargin *margin)
{
  if (part == LOOM_NONE)
    return;
  if (!worst[part] || loom_margin_stress(margin) > loom_margin_stress(worst[part]))
    worst[part] = margin;
}

/* Limits of outputs, ends and groups are held by electronics, and 75 % of a fuse is a matter of
 * minutes: they are findings, not heat. */
static void
sort_margins(Survey *s, const LoomMargins *margins)
{
  for (guint i = 0; i < margins->n_margins; i++) {
    const LoomMargin *m = &margins->margins[i];
    switch (m->what) {
    case LOOM_RATING_CONTACT: {
      const LoomTouch *touch = &s->n->wiring->touches[m->index];
      keep_worse(s->amps, s->n->wiring->node_part[touch->a], m);
      keep_worse(s->amps, s->n->wiring->node_part[touch->b], m);
      break;
    }
    case LOOM_RATING_WIRE:
    case LOOM_RATING_INNER:
    case LOOM_RATING_SWITCH:
    case LOOM_RATING_FUSE:
      keep_worse(s->amps, m->part, m);
      break;
    case LOOM_RATING_LOWEST_V:
    case LOOM_RATING_HIGHEST_V:
      keep_worse(s->volts, m->part, m);
      break;
    default:
      break;
    }
  }
}

static const LoomKind *
kind_of(const Survey *s, guint part)
{
  return loom_wiring_part(s->n->wiring, part)->kind;
}

static guint
contact_with(const LoomEnd *end, LoomRole role, const char *name)
{
  for (guint c = 0; c < end->n_contacts; c++)
    if (end->contacts[c].role == role)
      return c;
  return name ? loom_end_find_contact(end, name) : LOOM_NONE;
}

/* The two contacts between which one would measure; false where the end has none such. */
static bool
measured_between(const LoomEnd *end, guint *plus, guint *minus)
{
  *plus = contact_with(end, LOOM_ROLE_PLUS, "+");
  *minus = contact_with(end, LOOM_ROLE_MINUS, "-");
  if (*plus != LOOM_NONE && *minus != LOOM_NONE)
    return true;
  *plus = contact_with(end, LOOM_ROLE_POLE, NULL);
  *minus = *plus != LOOM_NONE && *plus + 1 < end->n_contacts ? *plus + 1 : LOOM_NONE;
  return *minus != LOOM_NONE && end->contacts[*minus].role == LOOM_ROLE_POLE;
}

static double
volts_at(const Survey *s, guint part, guint end)
{
  guint plus, minus;
  if (!measured_between(&kind_of(s, part)->ends[end], &plus, &minus))
    return NAN;
  return loom_point_volts(s->p, loom_wiring_node(s->n->wiring, part, end, plus),
                          loom_wiring_node(s->n->wiring, part, end, minus));
}

/* Text, width of the wire or both; `text` is taken. */
static void
add(Survey *s, guint part, guint end, char *text, double width, double stress)
{
  LoomSheetReading reading = {part, end, text, width, stress};
  g_array_append_val(s->list, reading);
}

/* Takes `text`. */
static char *
with_limit(char *text, const LoomMargin *margin)
{
  if (!text || !margin || loom_margin_stress(margin) <= LOOM_WARM_STRESS)
    return text;
  g_autofree char *plain = text;
  if (margin->what == LOOM_RATING_LOWEST_V)
    return g_strdup_printf(_("%s, needs %.3g V"), plain, margin->limit);
  if (margin->what == LOOM_RATING_HIGHEST_V)
    return g_strdup_printf(_("%s, at most %.3g V"), plain, margin->limit);
  return g_strdup_printf(_("%s of %.3g A"), plain, margin->limit);
}

static double
stress_of(const LoomMargin *margin)
{
  return margin ? loom_margin_stress(margin) : 0;
}

/* Of a joint the end that knows + from - stands for both: a lead only passes on. False where no
 * lead is at the joint. */
static bool
find_spokesman(const Survey *s, guint end_number, guint *part, guint *end)
{
  bool lead = kind_of(s, *part)->lead;
  const LoomWiring *w = s->n->wiring;
  for (guint k = w->end_first[end_number]; k < w->end_first[end_number + 1]; k++) {
    const LoomWiredJoint *j = &w->joints[w->end_joints[k]];
    bool mine = loom_wiring_end(w, j->part_a, j->end_a) == end_number;
    guint other = mine ? j->part_b : j->part_a, other_end = mine ? j->end_b : j->end_a;
    guint plus, minus;
    lead = lead || kind_of(s, other)->lead;
    if (kind_of(s, *part)->lead && !kind_of(s, other)->lead &&
        measured_between(&kind_of(s, other)->ends[other_end], &plus, &minus)) {
      *part = other;
      *end = other_end;
    }
  }
  return lead;
}

static void
mark_read(Survey *s, guint end_number)
{
  const LoomWiring *w = s->n->wiring;
  s->read[end_number] = true;
  for (guint k = w->end_first[end_number]; k < w->end_first[end_number + 1]; k++) {
    const LoomWiredJoint *j = &w->joints[w->end_joints[k]];
    s->read[loom_wiring_end(w, j->part_a, j->end_a)] = true;
    s->read[loom_wiring_end(w, j->part_b, j->end_b)] = true;
  }
}

/* What is written at an end, or rather at the joint there; NULL nothing. New. */
static char *
volts_text_at(const Survey *s, guint part, guint end, bool plugged)
{
  guint plus, minus;
  if (!measured_between(&kind_of(s, part)->ends[end], &plus, &minus))
    return NULL;
  double volt = volts_at(s, part, end);
  bool passes = kind_of(s, part)->ends[end].contacts[plus].role == LOOM_ROLE_PASS;
  if (isnan(volt) ? !plugged || passes : !plugged && fabs(volt) < LIVE_V)
    return NULL;
  return loom_volts_text(volt);
}

/* Takes `text`. */
static char *
with_amps(char *text, double ampere)
{
  g_autofree char *amps = loom_amps_text(ampere);
  if (!amps)
    return text;
  char *both = g_strdup_printf("%s · %s", text, amps);
  g_free(text);
  return both;
}

/* Of all parts at the joint: what one stands the other may not. */
static const LoomMargin *
worst_volts_at(const Survey *s, guint part, guint end_number)
{
  const LoomWiring *w = s->n->wiring;
  const LoomMargin *worst[1] = {s->volts[part]};
  for (guint k = w->end_first[end_number]; k < w->end_first[end_number + 1]; k++) {
    const LoomWiredJoint *j = &w->joints[w->end_joints[k]];
    for (guint side = 0; side < 2; side++) {
      const LoomMargin *m = s->volts[side ? j->part_b : j->part_a];
      if (m)
        keep_worse(worst, 0, m);
    }
  }
  return worst[0];
}

static void
survey_end(Survey *s, guint part, guint end)
{
  guint number = loom_wiring_end(s->n->wiring, part, end), spoken = part, spoken_end = end;
  bool plugged = loom_wiring_n_joints_at(s->n->wiring, part, end) > 0;
  double ampere = loom_end_current_A(s->n, s->p, part, end);
  add(s, part, end, NULL, loom_current_width(ampere), stress_of(s->amps[part]));
  if (s->read[number])
    return;
  bool lead = find_spokesman(s, number, &spoken, &spoken_end);
  const LoomMargin *needs = worst_volts_at(s, part, number);
  char *text = with_limit(volts_text_at(s, spoken, spoken_end, plugged), needs);
  if (!text)
    return;
  mark_read(s, number);
  add(s, spoken, spoken_end, lead ? text : with_amps(text, ampere), 0, stress_of(needs));
}

static double
greatest_current(const Survey *s, guint part)
{
  double most = 0;
  for (guint e = 0; e < kind_of(s, part)->n_ends; e++)
    most = fmax(most, fabs(loom_end_current_A(s->n, s->p, part, e)));
  return most;
}

/* Amps on a lead; on anything else only where a rating is near. */
static void
survey_part(Survey *s, guint part)
{
  double ampere = greatest_current(s, part), stress = stress_of(s->amps[part]);
  if (!kind_of(s, part)->lead && stress <= LOOM_WARM_STRESS)
    return;
  add(s, part, LOOM_NONE, with_limit(loom_amps_text(ampere), s->amps[part]),
      loom_current_width(ampere), stress);
}

static void
survey(Survey *s)
{
  for (guint part = 0; part < s->n->wiring->n_parts; part++)
    if (s->here[part])
      survey_part(s, part);
  /* What is no lead first: its ends speak for the joints. */
  for (guint leads = 0; leads < 2; leads++)
    for (guint part = 0; part < s->n->wiring->n_parts; part++)
      for (guint e = 0;
           s->here[part] && kind_of(s, part)->lead == (leads == 1) && e < kind_of(s, part)->n_ends;
           e++)
        survey_end(s, part, e);
}

static char *
caption_of(const LoomNetwork *n, const LoomOperatingPoint *p, const char *state, double charge)
{
  g_autofree char *why = loom_point_why(p, n);
  const char *name = state ? state : _("as placed");
  if (why)
    return g_strdup_printf(_("State %s: %s"), name, why);
  return g_strdup_printf(_("State %s, packs %.0f %% charged."), name, charge * 100);
}

LoomReadings *
loom_readings_new(const LoomNetwork *n, const LoomOperatingPoint *p, const LoomMargins *margins,
                  const char *state, double charge)
{
  guint n_parts = n->wiring->n_parts;
  Survey s = {.n = n, .p = p, .list = g_array_new(FALSE, FALSE, sizeof(LoomSheetReading))};
  s.amps = g_new0(const LoomMargin *, n_parts + 1);
  s.volts = g_new0(const LoomMargin *, n_parts + 1);
  s.here = loom_design_scene_parts(n->wiring->design, n->wiring->scene);
  s.read = g_new0(bool, n->wiring->n_ends + 1);
  if (p->trouble == LOOM_TROUBLE_NONE) {
    sort_margins(&s, margins);
    survey(&s);
  }
  LoomReadings *readings = g_new0(LoomReadings, 1);
  readings->n_readings = s.list->len;
  readings->readings = (LoomSheetReading *)g_array_free(s.list, FALSE);
  readings->solved = p->trouble == LOOM_TROUBLE_NONE;
  readings->caption = caption_of(n, p, state, charge);
  g_free(s.amps);
  g_free(s.volts);
  g_free(s.here);
  g_free(s.read);
  return readings;
}

void
loom_readings_free(LoomReadings *readings)
{
  if (!readings)
    return;
  for (guint i = 0; i < readings->n_readings; i++)
    g_free(readings->readings[i].text);
  g_free(readings->readings);
  g_free(readings->caption);
  g_free(readings);
}
