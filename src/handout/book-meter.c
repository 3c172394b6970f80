/* Meter checks: where the probes go, what must be read, what to do when it is something else; and
 * what no reading shows. */
#include "book-private.h"
#include "planning/meter.h"

#include <math.h>
#include <string.h>

static const char *const SPLIT =
    N_("Roll-call: "); /* between look and roll-call in LoomSlip.shows */

/* --- readings --- */

static const char *
when_text(LoomMeterWhen when)
{
  switch (when) {
  case LOOM_METER_PACK:
    return _(
        "The pack by itself, nothing plugged to it. Hold the probes so that they cannot touch each "
        "other.");
  case LOOM_METER_ON:
    return _("No pack on the robot, nothing that feeds the controller plugged, main switch on.");
  case LOOM_METER_OFF:
    return _("The same with the main switch off.");
  case LOOM_METER_TRIAL:
    return _("In stage B of the steps: the supply alone, pack on, switch on, the controller not "
             "plugged. "
             "Switch off and pack off again afterwards.");
  case LOOM_METER_POWERED:
    return _(
        "In stage C: everything plugged and on, wheels off the ground. Slip the probes in from "
        "behind; never bridge two contacts.");
  }
  return "";
}

static const char *
check_title(LoomMeterCheck check)
{
  switch (check) {
  case LOOM_CHECK_VOLTS:
    return _("Meter on volts DC");
  case LOOM_CHECK_CONTINUITY:
    return _("Meter on ohms: it conducts");
  case LOOM_CHECK_SHORT:
    return _("Meter on ohms: plus and minus are not joined");
  case LOOM_CHECK_SWITCH:
    return _("Meter on ohms: the switch parts the way");
  case LOOM_CHECK_INSULATION:
    return _("Meter on ohms: the frame is joined to nothing");
  case LOOM_CHECK_LOAD:
    return _("Meter on ohms: what hangs there");
  }
  return "";
}

/* "12.2 V", "0.5 Ω", "500 kΩ". New. */
static char *
value_text(const LoomMaking *m, LoomMeterCheck check, double value)
{
  bool volts = check == LOOM_CHECK_VOLTS;
  double scale = volts || value < 999.5 ? 1 : value < 999.5e3 ? 1e3 : 1e6;
  double shown = value / scale;
  int decimals = volts ? (fabs(shown) < 10 ? 2 : 1) : (shown < 10 ? 1 : 0);
  g_autofree char *number = loom_book_number(m, shown, decimals);
  return g_strdup_printf("%s %s", number,
                         volts          ? "V"
                         : scale == 1   ? "Ω"
                         : scale == 1e3 ? "kΩ"
                                        : "MΩ");
}

static char *
expected_text(const LoomMaking *m, const LoomReading *r)
{
  g_autofree char *low = value_text(m, r->check, r->low);
  if (isinf(r->expected))
    return g_strdup_printf(_("open, or %s and more"), low);
  g_autofree char *high = value_text(m, r->check, r->high);
  if (r->check != LOOM_CHECK_VOLTS && r->low <= 0)
    return g_strdup_printf(_("%s or less"), high);
  g_autofree char *expected = value_text(m, r->check, r->expected);
  return g_strdup_printf(_("%s\n(%s to %s)"), expected, low, high);
}

/* "G1:out:+ (red)". New. */
static char *
probe_text(const LoomMaking *m, const LoomProbe *probe, const char *name)
{
  const LoomEnd *end = &loom_design_part(m->design, probe->part)->kind->ends[probe->end];
  const char *code = end->contacts[probe->contact].colour;
  const LoomColour *colour = code ? loom_colour(code) : NULL;
  return colour ? g_strdup_printf("%s (%s)", name, _(colour->name)) : g_strdup(name);
}

static void
reading_row(LoomMaking *m, LoomTable *table, const LoomReading *r, guint number)
{
  g_autofree char *red = probe_text(m, &r->red, r->red_name);
  g_autofree char *black = probe_text(m, &r->black, r->black_name);
  g_autofree char *expected = expected_text(m, r);
  loom_table_tick(table);
  loom_table_textf(table, "%u", number);
  loom_table_text(table, red);
  loom_table_text(table, black);
  loom_table_text(table, expected);
  loom_table_blank(table);
}

/* Whether the part that is measured belongs to the scene at all. */
static bool
is_here(const LoomMaking *m, const LoomReading *r)
{
  for (guint i = 0; i < m->here->len; i++)
    if (g_array_index(m->here, guint, i) == r->red.part)
      return true;
  return false;
}

/* Readings first ... last - 1, which are of one kind. */
static void
reading_table(LoomMaking *m, const LoomMeterPlan *plan, guint first, guint last)
{
  LoomColumn columns[] = {{"", 7, 0, false},
                          {_("no."), 11, 0, true},
                          {_("red probe on"), 0, 1, false},
                          {_("black probe on"), 0, 1, false},
                          {_("it must read"), 42, 0, false},
                          {_("it reads"), 24, 0, false}};
  const LoomReading *r = &plan->readings[first];
  loom_scroll_text(m->scroll, LOOM_TEXT_STRONG, check_title(r->check));
  g_autofree char *off = r->off ? g_strdup_printf(_("If not: %s"), r->off) : NULL;
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  loom_table_together(table);
  for (guint i = first; i < last; i++)
    if (is_here(m, &plan->readings[i]))
      reading_row(m, table, &plan->readings[i], i + 1);
  loom_table_end(table);
  if (!off)
    return;
  loom_scroll_keep(m->scroll);
  loom_scroll_text(m->scroll, LOOM_TEXT_BODY, off);
}

static void
readings(LoomMaking *m, const LoomMeterPlan *plan)
{
  for (guint first = 0, last; first < plan->n_readings; first = last) {
    const LoomReading *r = &plan->readings[first];
    for (last = first + 1; last < plan->n_readings && plan->readings[last].when == r->when &&
                           plan->readings[last].check == r->check;)
      last++;
    if (first == 0 || plan->readings[first - 1].when != r->when) {
      g_autofree char *title = loom_book_capital(_(loom_meter_when_label(r->when)));
      loom_scroll_section(m->scroll, title);
      loom_scroll_text(m->scroll, LOOM_TEXT_BODY, when_text(r->when));
      loom_scroll_keep(m->scroll);
    }
    reading_table(m, plan, first, last);
  }
}

/* --- what it cannot see --- */

static const char *
slip_title(LoomSlipType type)
{
  switch (type) {
  case LOOM_SLIP_LEFT_OUT:
    return _("A joint that was left out");
  case LOOM_SLIP_TURNED:
    return _("A plug the wrong way round");
  case LOOM_SLIP_SHIFTED:
    return _("A plug one pin off");
  case LOOM_SLIP_SWAPPED:
    return _("A lead made with two wires swapped");
  case LOOM_SLIP_SHORT:
    return _("A strand that joins two contacts in a connector");
  case LOOM_SLIP_CROSSED:
    return _("Two plugs mixed up");
  case LOOM_SLIP_FUSE:
    return _("A fuse of another rating");
  }
  return "";
}

static const char *
contact_name(const LoomMaking *m, const LoomSlip *s, guint contact)
{
  return loom_design_part(m->design, s->part)->kind->ends[s->end].contacts[contact].name;
}

/* The place of the slip in a few letters. New. */
static char *
slip_place(const LoomMaking *m, const LoomSlip *s)
{
  const LoomJoint *joint = s->joint == LOOM_NONE ? NULL : loom_design_joint(m->design, s->joint);
  const LoomPart *part = s->part == LOOM_NONE ? NULL : loom_design_part(m->design, s->part);
  switch (s->type) {
  case LOOM_SLIP_SWAPPED:
    return g_strdup_printf(_("%s: %s and %s"), part->designation, contact_name(m, s, s->a),
                           contact_name(m, s, s->b));
  case LOOM_SLIP_SHORT:
    return g_strdup_printf(_("%s:%s: %s and %s"), part->designation, part->kind->ends[s->end].id,
                           contact_name(m, s, s->a), contact_name(m, s, s->b));
  case LOOM_SLIP_CROSSED:
    return g_strdup_printf(_("%s:%s and %s:%s"), part->designation, part->kind->ends[s->end].id,
                           part->designation, part->kind->ends[s->other].id);
  case LOOM_SLIP_FUSE: {
    g_autofree char *rated = loom_book_number(m, s->rated_A, 1);
    return g_strdup_printf(_("%s, with %s A"), part->designation, rated);
  }
  default:
    return g_strdup_printf(_("%s:%s and %s:%s"), joint->a.part, joint->a.end, joint->b.part,
                           joint->b.end);
  }
}

/* Slips of one type that the same entry of the roll-call shows. */
typedef struct {
  char *shows;
  GString *places;
} Shown;

static void
free_shown(gpointer data)
{
  Shown *s = data;
  g_free(s->shows);
  g_string_free(s->places, TRUE);
  g_free(s);
}

/* What the roll-call shows, or else the look. Borrowed from the slip. */
static const char *
roll_call_of(const LoomSlip *s)
{
  const char *at = s->shows ? strstr(s->shows, _(SPLIT)) : NULL;
  return at ? at + strlen(_(SPLIT)) : s->shows ? s->shows : "";
}

/* The look that goes with it, new; NULL where there is none or nothing else. */
static char *
look_of(const LoomSlip *s)
{
  const char *at = s->shows ? strstr(s->shows, _(SPLIT)) : NULL;
  return at && at > s->shows ? g_strchomp(g_strndup(s->shows, (gsize)(at - s->shows))) : NULL;
}

static GPtrArray *
group_slips(const LoomMaking *m, const LoomMeterPlan *plan, LoomSlipType type)
{
  GPtrArray *groups = g_ptr_array_new_with_free_func(free_shown);
  g_autoptr(GHashTable) by_text = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint i = 0; i < plan->n_slips; i++) {
    const LoomSlip *s = &plan->slips[i];
    if (s->type != type || s->seen_by != LOOM_NONE)
      continue;
    Shown *group = g_hash_table_lookup(by_text, roll_call_of(s));
    if (!group) {
      group = g_new(Shown, 1);
      *group = (Shown){g_strdup(roll_call_of(s)), g_string_new(NULL)};
      g_ptr_array_add(groups, group);
      g_hash_table_insert(by_text, group->shows, group);
    }
    g_autofree char *place = slip_place(m, s);
    g_string_append_printf(group->places, "%s%s", group->places->len ? "; " : "", place);
  }
  return groups;
}

static char *
first_look(const LoomMeterPlan *plan, LoomSlipType type)
{
  for (guint i = 0; i < plan->n_slips; i++)
    if (plan->slips[i].type == type && plan->slips[i].seen_by == LOOM_NONE)
      return look_of(&plan->slips[i]);
  return NULL;
}

static void
slips_of_type(LoomMaking *m, const LoomMeterPlan *plan, LoomSlipType type)
{
  LoomColumn columns[] = {
      {"", 7, 0, false}, {_("where"), 0, 1, false}, {_("what shows it"), 0, 1, false}};
  g_autoptr(GPtrArray) groups = group_slips(m, plan, type);
  g_autofree char *look = first_look(plan, type);
  if (groups->len == 0)
    return;
  loom_scroll_text(m->scroll, LOOM_TEXT_STRONG, slip_title(type));
  if (look) {
    loom_scroll_text(m->scroll, LOOM_TEXT_BODY, look);
    loom_scroll_keep(m->scroll);
  }
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  for (guint i = 0; i < groups->len; i++) {
    const Shown *group = groups->pdata[i];
    loom_table_tick(table);
    loom_table_text(table, group->places->str);
    g_autofree char *shows = loom_book_capital(group->shows);
    loom_table_text(table, shows);
  }
  loom_table_end(table);
}

void
loom_book_meter(LoomMaking *m)
{
  g_autoptr(LoomMeterPlan) plan = loom_meter_new(m->design, m->scene, NULL);
  loom_scroll_text(
      m->scroll, LOOM_TEXT_BODY,
      _("In this order. Write down what you read. A reading outside its limits stops the "
        "build until the reason is found. For a hand meter of 3½ digits; hold the probes "
        "by their shields."));
  readings(m, plan);
  if (plan->n_unseen == 0)
    return;
  loom_scroll_section(m->scroll, _("The meter cannot see"));
  loom_scroll_text(
      m->scroll, LOOM_TEXT_BODY,
      _("These slips leave every reading as it is. Look for them; the roll-call finds the "
        "rest."));
  loom_scroll_keep(m->scroll);
  for (LoomSlipType type = LOOM_SLIP_LEFT_OUT; type <= LOOM_SLIP_FUSE; type++)
    slips_of_type(m, plan, type);
}
