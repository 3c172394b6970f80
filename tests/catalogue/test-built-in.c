/* Every entry of the built-in catalogue as a case of its own, named by its id.
 *
 * A new family or kind is tested the moment that it is written down. The tables come from published
 * standards; where a figure is from memory or a custom of the trade, the line says so. */
#include "catalogue/catalogue.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "near.h"

/* Where the cases find what they check; written once before they run. */
typedef struct {
  const LoomCatalogue *catalogue;
  const LoomFamily *family;
  const LoomKind *kind;
} Case;

#define GRID_MM 5    /* ends fall on grid lines when the part's corner does */
#define TITLE_MM 9.5 /* designation and label are written above */

static bool
is_one_of(const char *text, const char *const *words)
{
  return text && g_strv_contains(words, text);
}

/* ---- families -------------------------------------------------------------------------------- */

static void
figures_are_plausible(const LoomFamily *f)
{
  assert_true(f->source[0] && f->name[0]);
  assert_true(f->shape == LOOM_SHAPE_RADIO ? f->ways == 0 : f->ways >= 1);
  assert_true(f->places >= 1);
  assert_false(f->keyed && (f->turnable || f->shiftable));
  assert_false(f->ways == 1 && f->turnable);
  if (!isnan(f->rated_A))
    assert_true(f->rated_A >= 0.5 && f->rated_A <= 100);
  assert_true(f->contact_ohm >= 0 && f->contact_ohm <= 0.05);
}

/* IEC 60998-2-1, clause 10.102: a terminal of a rated connecting capacity takes that size and the
 * two next smaller sizes of IEC 60228. */
static void
screw_takes_three_sizes(const LoomFamily *f)
{
  static const double sizes_mm2[] = {0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16};
  if (!g_str_has_prefix(f->id, "screw-"))
    return;
  double rated = g_ascii_strtod(f->id + strlen("screw-"), NULL);
  guint i = 0;
  while (i < G_N_ELEMENTS(sizes_mm2) && sizes_mm2[i] != rated)
    i++;
  assert_in_range(i, 2, G_N_ELEMENTS(sizes_mm2) - 1);
  assert_double_equal(f->wire_max_mm2, rated, 0);
  assert_double_equal(f->wire_min_mm2, sizes_mm2[i - 2], 0);
}

static void
accepted_families_go_under_terminals(const Case *c)
{
  for (char **id = c->family->accepts; *id; id++) {
    const LoomFamily *taken = loom_catalogue_family(c->catalogue, *id);
    assert_non_null(taken);
    assert_true(taken->shape == LOOM_SHAPE_CONDUCTOR || taken->shape == LOOM_SHAPE_RING);
    assert_int_equal(taken->ways, c->family->ways);
  }
}

/* ISO 8820-1: blade fuses are for 32 V. IEC 62680: USB has four circuits at least, Micro-B five
 * contacts. IEC 60603-7: eight ways. IEC 60603-13: 2.54 mm. */
static void
standard_numbers_hold(const LoomFamily *f)
{
  if (!f->standard)
    return;
  if (g_str_equal(f->standard, "ISO 8820-3"))
    assert_double_equal(f->rated_V, 32, 0);
  if (g_str_equal(f->standard, "IEC 60603-7"))
    assert_int_equal(f->ways, 8);
  if (g_str_equal(f->standard, "IEC 60603-13"))
    assert_double_equal(f->pitch_mm, 2.54, 0);
  if (g_str_has_prefix(f->standard, "IEC 62680"))
    assert_int_equal(f->ways, g_str_has_suffix(f->id, "micro-b") ? 5 : 4);
}

static void
family_is_sound(void **state)
{
  const Case *c = *state;
  figures_are_plausible(c->family);
  screw_takes_three_sizes(c->family);
  accepted_families_go_under_terminals(c);
  standard_numbers_hold(c->family);
}

/* ---- kinds: designation, colours, sizes -------------------------------------------------------
 */

/* Main classes of IEC 81346-2:2009, Table 1, that each group may have. */
static void
letter_is_of_its_class(const LoomKind *k)
{
  static const char *const letters[LOOM_N_GROUPS] = {
      [LOOM_GROUP_SUPPLY] = "G",     [LOOM_GROUP_CHARGING] = "T",  [LOOM_GROUP_PROTECTION] = "F",
      [LOOM_GROUP_SWITCHING] = "Q",  [LOOM_GROUP_LEAD] = "W",      [LOOM_GROUP_DISTRIBUTION] = "X",
      [LOOM_GROUP_CONTROLLER] = "K", [LOOM_GROUP_CONVERTER] = "T", [LOOM_GROUP_MOTOR] = "M",
      [LOOM_GROUP_SERVO] = "M",      [LOOM_GROUP_SENSOR] = "BS",   [LOOM_GROUP_LAMP] = "P",
      [LOOM_GROUP_STRUCTURE] = "UR", [LOOM_GROUP_COMPUTER] = "KS"};
  assert_int_equal(strlen(k->letter), 1);
  assert_non_null(strchr(letters[k->group], k->letter[0]));
}

static void
colours_are_of_iec_60757(const LoomKind *k)
{
  for (guint i = 0; i < k->n_ends; i++)
    for (guint j = 0; j < k->ends[i].n_contacts; j++) {
      const char *colour = k->ends[i].contacts[j].colour;
      assert_true(!colour || loom_colour_valid(colour));
    }
  for (guint i = 0; i < k->n_elements; i++) {
    const char *colour = k->elements[i].colour;
    assert_true(!colour || loom_colour_valid(colour));
  }
}

/* A size of IEC 60228, of equipment wire below 0.5 mm² (DIN VDE 0812, from memory), or an AWG size
 * of ASTM B258 to two per cent. */
static bool
is_a_wire_size(double mm2)
{
  static const double sizes_mm2[] = {0.05, 0.08, 0.14, 0.25, 0.34, 0.5, 0.75,
                                     1,    1.5,  2.5,  4,    6,    10,  16};
  for (guint i = 0; i < G_N_ELEMENTS(sizes_mm2); i++)
    if (fabs(mm2 - sizes_mm2[i]) < 1e-9)
      return true;
  for (int awg = 0; awg <= 30; awg++) {
    double diameter_mm = 0.127 * pow(92, (36 - awg) / 39.0);
    if (fabs(mm2 / (G_PI / 4 * diameter_mm * diameter_mm) - 1) < 0.02)
      return true;
  }
  return false;
}

static void
wire_fits_contact(const LoomEnd *end, double mm2)
{
  if (isnan(mm2))
    return;
  assert_true(is_a_wire_size(mm2));
  if (end->family->wire_max_mm2 > 0)
    assert_true(mm2 >= end->family->wire_min_mm2 && mm2 <= end->family->wire_max_mm2);
}

static void
wires_have_real_sizes(const LoomKind *k)
{
  for (guint i = 0; i < k->n_ends; i++) {
    wire_fits_contact(&k->ends[i], k->ends[i].wire_mm2);
    wire_fits_contact(&k->ends[i], k->ends[i].pigtail_mm2);
    assert_int_equal(k->ends[i].pigtail_mm > 0, !isnan(k->ends[i].pigtail_mm2));
  }
  for (guint i = 0; i < k->n_elements; i++) {
    const LoomElement *e = &k->elements[i];
    if (e->type != LOOM_ELEMENT_WIRE)
      continue;
    assert_true(is_a_wire_size(e->mm2));
    if (isnan(e->length_mm))
      assert_true(k->lead && k->length_mm > 0);
  }
}

/* ---- kinds: gender ----------------------------------------------------------------------------
 */

static gboolean *
reached_from(const LoomKind *k, guint start)
{
  gboolean *reached = g_new0(gboolean, k->n_nodes);
  reached[start] = TRUE;
  for (gboolean grown = TRUE; grown;) {
    grown = FALSE;
    for (guint i = 0; i < k->n_elements; i++) {
      const LoomElement *e = &k->elements[i];
      if (e->type > LOOM_ELEMENT_FUSE || reached[e->a] == reached[e->b])
        continue;
      reached[e->a] = reached[e->b] = grown = TRUE;
    }
  }
  return reached;
}

/* The half that stays live when a joint opens has sockets: the principle of IEC 60309-1 and
 * IEC 60884. Charge leads meet the pack's own sockets, so they have pins; the tabs of lead-acid
 * blocks (IEC 61210) are what the trade has to live with. */
static void
live_end_is_not_to_be_touched(const LoomEnd *end)
{
  if (end->charge || end->gender == LOOM_GENDER_TERMINAL || end->gender == LOOM_GENDER_GENDERLESS ||
      g_str_has_prefix(end->family->id, "tab-"))
    return;
  assert_int_equal(end->gender, LOOM_GENDER_SOCKETS);
}

static void
sources_have_sockets(const LoomKind *k)
{
  for (guint i = 0; i < k->n_elements; i++) {
    if (k->elements[i].type != LOOM_ELEMENT_SOURCE)
      continue;
    g_autofree gboolean *live = reached_from(k, k->elements[i].a);
    for (guint e = 0; e < k->n_ends; e++)
      for (guint c = 0; c < k->ends[e].n_contacts; c++)
        if (live[k->ends[e].first_node + c])
          live_end_is_not_to_be_touched(&k->ends[e]);
  }
}

/* A supply end of a load, and the ends of leads: pins towards the pack, sockets towards the load.
 * A lead with pins at both ends would carry bare live pins whichever way it is plugged. */
static void
leads_have_pins_towards_the_pack(const LoomKind *k)
{
  static const char *const towards_pack[] = {"a", "in", "power", NULL};
  static const char *const towards_load[] = {"b", "c", "out", NULL};
  bool passes = k->group == LOOM_GROUP_LEAD || k->group == LOOM_GROUP_PROTECTION ||
                k->group == LOOM_GROUP_SWITCHING || k->group == LOOM_GROUP_CONTROLLER;
  for (guint i = 0; i < k->n_ends; i++) {
    const LoomEnd *end = &k->ends[i];
    if (!passes || end->family->shape != LOOM_SHAPE_ROUND || end->family->ways != 2)
      continue;
    if (is_one_of(end->id, towards_pack))
      assert_int_equal(end->gender, LOOM_GENDER_PINS);
    else if (is_one_of(end->id, towards_load))
      assert_int_equal(end->gender, LOOM_GENDER_SOCKETS);
    else
      fail_msg("%s:%s is neither towards the pack nor towards the load", k->id, end->id);
  }
}

static void
gender_suits_family(const LoomEnd *end)
{
  switch (end->family->shape) {
  case LOOM_SHAPE_FLAT:
  case LOOM_SHAPE_RADIO:
    assert_int_equal(end->gender, LOOM_GENDER_GENDERLESS);
    break;
  case LOOM_SHAPE_RING:
  case LOOM_SHAPE_SCREW:
  case LOOM_SHAPE_CONDUCTOR:
    assert_int_equal(end->gender, LOOM_GENDER_TERMINAL);
    break;
  default:
    assert_true(end->gender == LOOM_GENDER_PINS || end->gender == LOOM_GENDER_SOCKETS);
  }
}

/* An end that nothing in the catalogue fits would be a dead end on the bench. */
static bool
has_a_partner(const LoomCatalogue *catalogue, const LoomKind *of, const LoomEnd *end)
{
  guint n;
  const LoomKind *const *kinds = loom_catalogue_kinds(catalogue, &n);
  for (guint i = 0; i < n; i++)
    for (guint e = 0; e < kinds[i]->n_ends; e++)
      if ((kinds[i] != of || end->gender == LOOM_GENDER_GENDERLESS) &&
          loom_mate(end, &kinds[i]->ends[e]) == LOOM_MATE_YES)
        return true;
  return false;
}

static void
ends_find_partners(const Case *c)
{
  assert_true(c->kind->n_ends > 0);
  for (guint i = 0; i < c->kind->n_ends; i++) {
    const LoomEnd *end = &c->kind->ends[i];
    gender_suits_family(end);
    if (!has_a_partner(c->catalogue, c->kind, end))
      fail_msg("nothing fits %s:%s", c->kind->id, end->id);
  }
}

/* ---- kinds: contacts --------------------------------------------------------------------------
 */

/* Ways of the servo and sensor plugs: minus, plus, signal; plus in the middle of three (three-wire
 * servo lead convention, from memory). USB: 1 is VBUS, the last is ground (USB 2.0, table 6-1). */
static void
small_plugs_have_their_order(const LoomEnd *end)
{
  static const char *const boards[] = {"header-2.54-3", "locking-2.0-4", "locking-1.0-4", NULL};
  for (guint i = 0; i < end->n_contacts; i++) {
    const LoomContact *c = &end->contacts[i];
    if (is_one_of(end->family->id, boards)) {
      assert_int_equal(c->way == 1, g_str_equal(c->name, "-"));
      assert_int_equal(c->way == 2, g_str_equal(c->name, "+"));
    } else if (end->family->shape == LOOM_SHAPE_USB) {
      assert_int_equal(c->way == 1, g_str_equal(c->name, "+"));
      assert_int_equal(c->way == end->family->ways, g_str_equal(c->name, "-"));
    } else if (end->family->ways == 2 && g_str_equal(c->name, "+")) {
      assert_int_equal(c->way, 1);
    }
  }
}

static void
signals_are_whole(const LoomEnd *end)
{
  for (guint i = 0; i < end->n_contacts; i++) {
    const LoomContact *c = &end->contacts[i];
    assert_int_equal(c->role == LOOM_ROLE_SIGNAL, c->signal != LOOM_SIGNAL_NONE);
    if (c->role == LOOM_ROLE_SIGNAL)
      assert_int_not_equal(c->flow, LOOM_FLOW_NONE);
    if (!isnan(c->level_V) && !isnan(c->tolerates_V))
      assert_true(c->tolerates_V >= c->level_V);
  }
}

static bool
touched(const LoomKind *k, guint node)
{
  for (guint i = 0; i < k->n_elements; i++) {
    const LoomElement *e = &k->elements[i];
    if (e->a == node || e->b == node || e->c == node || e->d == node)
      return true;
  }
  return false;
}

/* What carries supply must lead somewhere; inner nodes always. */
static void
supply_contacts_lead_somewhere(const LoomKind *k)
{
  for (guint i = 0; i < k->n_ends; i++)
    for (guint j = 0; j < k->ends[i].n_contacts; j++) {
      const LoomEnd *end = &k->ends[i];
      LoomRole role = end->contacts[j].role;
      bool carries = role != LOOM_ROLE_NONE && role != LOOM_ROLE_SIGNAL;
      if (carries && !touched(k, end->first_node + j))
        fail_msg("%s:%s:%s leads nowhere", k->id, end->id, end->contacts[j].name);
    }
  for (guint node = 0; node < k->n_nodes; node++)
    if (loom_kind_end_of_node(k, node) == LOOM_NONE)
      assert_true(touched(k, node));
}

static void
contacts_are_sound(const LoomKind *k)
{
  for (guint i = 0; i < k->n_ends; i++) {
    small_plugs_have_their_order(&k->ends[i]);
    signals_are_whole(&k->ends[i]);
  }
  supply_contacts_lead_somewhere(k);
}

/* ---- kinds: channels and devices --------------------------------------------------------------
 */

/* Numbers of one type and module are 1, 2, 3, ... without a gap. */
static void
channels_count_from_one(const LoomKind *k)
{
  for (guint i = 0; i < k->n_channels; i++) {
    guint below = 0;
    for (guint j = 0; j < k->n_channels; j++)
      below += g_str_equal(k->channels[i].type, k->channels[j].type) &&
               g_strcmp0(k->channels[i].module, k->channels[j].module) == 0 &&
               k->channels[j].number < k->channels[i].number;
    assert_int_equal(k->channels[i].number, below + 1);
  }
}

static const LoomContact *
contact_of(const LoomKind *k, guint node)
{
  guint end = loom_kind_end_of_node(k, node);
  assert_int_not_equal(end, LOOM_NONE);
  return &k->ends[end].contacts[node - k->ends[end].first_node];
}

static void
type_fits_signal(const char *type, const LoomContact *c)
{
  static const struct {
    const char *type;
    LoomSignal first, second;
  } table[] = {{"servo", LOOM_SIGNAL_SERVO, LOOM_SIGNAL_SERVO},
               {"digital", LOOM_SIGNAL_DIGITAL, LOOM_SIGNAL_DIGITAL},
               {"analogue", LOOM_SIGNAL_ANALOGUE, LOOM_SIGNAL_ANALOGUE},
               {"i2c", LOOM_SIGNAL_SDA, LOOM_SIGNAL_SCL},
               {"encoder", LOOM_SIGNAL_ENCODER_A, LOOM_SIGNAL_ENCODER_B},
               {"serial", LOOM_SIGNAL_SERIAL, LOOM_SIGNAL_SERIAL},
               {"usb", LOOM_SIGNAL_USB, LOOM_SIGNAL_USB}};
  if (g_str_equal(type, "motor")) {
    assert_int_equal(c->role, LOOM_ROLE_POLE);
    return;
  }
  for (guint i = 0; i < G_N_ELEMENTS(table); i++)
    if (g_str_equal(type, table[i].type)) {
      assert_true(c->signal == table[i].first || c->signal == table[i].second);
      return;
    }
  fail_msg("no channel type %s", type);
}

static bool
some_part_has_channel(const LoomCatalogue *catalogue, const char *type)
{
  guint n;
  const LoomKind *const *kinds = loom_catalogue_kinds(catalogue, &n);
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < kinds[i]->n_channels; j++)
      if (g_str_equal(kinds[i]->channels[j].type, type))
        return true;
  return false;
}

static void
channels_and_devices_are_sound(const Case *c)
{
  const LoomKind *k = c->kind;
  channels_count_from_one(k);
  for (guint i = 0; i < k->n_channels; i++)
    for (guint j = 0; j < k->channels[i].n_nodes; j++)
      type_fits_signal(k->channels[i].type, contact_of(k, k->channels[i].nodes[j]));
  for (guint i = 0; i < k->n_devices; i++) {
    assert_true(some_part_has_channel(c->catalogue, k->devices[i].channel));
    for (guint j = 0; j < k->devices[i].n_nodes; j++)
      type_fits_signal(k->devices[i].channel, contact_of(k, k->devices[i].nodes[j]));
  }
}

/* 0x00-0x07 and 0x78-0x7F are reserved: UM10204, table 3. */
static void
address_is_free(const LoomKind *k)
{
  if (k->address < 0)
    return;
  assert_true(k->address_min >= 0x08 && k->address_max <= 0x77);
  assert_true(k->address >= k->address_min && k->address <= k->address_max);
}

/* ---- kinds: electricity -----------------------------------------------------------------------
 */

/* Voltage of one cell, full, half and empty: NiMH voltage charts; Li-ion charging articles;
 * lead-acid voltage charts; LiFePO4 from memory. Empty is a rest voltage for lead-acid and the
 * usual cut-off for the others. */
static void
pack_has_the_volts_of_its_cells(const LoomKind *k, const LoomElement *source)
{
  static const struct {
    const char *chemistry;
    double full_low_V, full_high_V, half_low_V, half_high_V, empty_low_V, empty_high_V;
  } cells[] = {{"NiMH", 1.35, 1.45, 1.20, 1.25, 1.0, 1.1},
               {"Li-ion", 4.15, 4.25, 3.6, 3.8, 3.0, 3.3},
               {"LiFePO4", 3.3, 3.45, 3.2, 3.3, 2.5, 2.8},
               {"lead-acid", 2.10, 2.17, 2.03, 2.06, 1.90, 1.95}};
  double n = k->chemistry.cells_min;
  for (guint i = 0; i < G_N_ELEMENTS(cells); i++) {
    if (!g_str_equal(cells[i].chemistry, k->chemistry.chemistry))
      continue;
    double full = source->emf_full_V / n, half = source->emf_V / n, empty = source->emf_empty_V / n;
    assert_true(full >= cells[i].full_low_V && full <= cells[i].full_high_V);
    assert_true(half >= cells[i].half_low_V && half <= cells[i].half_high_V);
    assert_true(empty >= cells[i].empty_low_V && empty <= cells[i].empty_high_V);
    return;
  }
  fail_msg("no such chemistry: %s", k->chemistry.chemistry);
}

/* C rates: NiMH to 1 C, lead-acid to 0.3 C (charging instructions), Li-ion and LiFePO4 to 1 C
 * (IEC 62133 practice, from memory). */
static void
pack_charges_within_its_rate(const LoomKind *k, const LoomElement *source)
{
  double rate = g_str_equal(k->chemistry.chemistry, "lead-acid") ? 0.3 : 1.0;
  assert_int_equal(k->chemistry.cells_min, k->chemistry.cells_max);
  assert_true(k->chemistry.charge_max_A <= rate * source->capacity_Ah * 1.0001);
  assert_true(k->chemistry.charge_slow_A <= k->chemistry.charge_max_A);
  assert_true(k->chemistry.discharge_max_A > 0);
}

/* Highest charge voltages of a cell: NiMH 1.6 V, Li-ion 4.20 V, LiFePO4 3.65 V (from memory),
 * lead-acid 2.45 V (charging instructions). */
static void
charger_stays_below_the_cells_limit(const LoomKind *k, const LoomElement *source)
{
  static const struct {
    const char *chemistry;
    double cell_V;
  } limits[] = {{"NiMH", 1.6}, {"Li-ion", 4.2}, {"LiFePO4", 3.65}, {"lead-acid", 2.45}};
  if (k->chemistry.cells_min != k->chemistry.cells_max)
    return;
  for (guint i = 0; i < G_N_ELEMENTS(limits); i++)
    if (g_str_equal(limits[i].chemistry, k->chemistry.chemistry))
      assert_true(source->emf_V <= limits[i].cell_V * k->chemistry.cells_max + 1e-9);
  double highest = 0;
  for (guint i = 0; i < 4 && !isnan(k->chemistry.currents_A[i]); i++)
    highest = MAX(highest, k->chemistry.currents_A[i]);
  assert_double_equal(source->limit_A, highest, 0);
}

static void
source_is_sound(const LoomKind *k, const LoomElement *source)
{
  assert_true(source->emf_V > 0);
  if (k->chemistry.charger) {
    charger_stays_below_the_cells_limit(k, source);
  } else if (k->chemistry.chemistry) {
    pack_has_the_volts_of_its_cells(k, source);
    pack_charges_within_its_rate(k, source);
  } else {
    assert_false(isnan(source->limit_A)); /* a supply without cells limits itself */
  }
}

static bool
has_fill(const LoomKind *k, const char *fill)
{
  for (guint i = 0; i < k->n_marks; i++)
    if (g_strcmp0(k->marks[i].fill, fill) == 0)
      return true;
  return false;
}

/* Ratings and body colours of standard blade fuses, ISO 8820-3. Tan has no letters in IEC 60757 and
 * is drawn gold; natural (clear) is drawn as paper. */
static void
fuse_is_of_the_series(const LoomKind *k, const LoomElement *fuse)
{
  static const struct {
    double rated_A;
    const char *fill;
  } series[] = {{1, "BK"},  {2, "GY"},  {3, "VT"},  {4, "PK"},     {5, "GD"},  {7.5, "BN"},
                {10, "RD"}, {15, "BU"}, {20, "YE"}, {25, "paper"}, {30, "GN"}, {40, "OG"}};
  guint i = 0;
  while (i < G_N_ELEMENTS(series) && series[i].rated_A != fuse->rated_A)
    i++;
  assert_in_range(i, 0, G_N_ELEMENTS(series) - 1);
  assert_double_equal(fuse->rated_V, 32, 0);
  if (k->group == LOOM_GROUP_PROTECTION)
    assert_true(has_fill(k, series[i].fill));
}

/* Number before `words` in the text. */
static double
number_before(const char *text, const char *words)
{
  const char *end = strstr(text, words);
  assert_non_null(end);
  const char *start = end;
  while (start > text && (g_ascii_isdigit(start[-1]) || start[-1] == '.'))
    start--;
  return g_ascii_strtod(start, NULL);
}

/* What a motor says of itself in words ("300 turns a minute at 12 V, stalls at 8.5 A") against its
 * figures: V = I R + k w at no load, I = V / R at stall (DC motor equations of any handbook).
 * Continuous load: 0.2 to 0.3 of the stall current (general brushed-motor practice, from memory).
 */
static void
motor_is_consistent(const LoomKind *k, const LoomElement *motor)
{
  double turns = number_before(k->about, " turns a minute");
  double volt = number_before(k->about, " V, stalls at ");
  double stall_A = g_ascii_strtod(strstr(k->about, "stalls at ") + strlen("stalls at "), NULL);
  double speed = (volt - motor->no_load_A * motor->ohm) / motor->volt_s_per_rad;
  assert_double_equal(speed * 60 / (2 * G_PI), turns, 0.01 * turns);
  assert_double_equal(volt / motor->ohm, stall_A, 0.01 * stall_A);
  double loaded_A = motor->torque_Nm / motor->volt_s_per_rad + motor->no_load_A;
  assert_true(motor->no_load_A < 0.15 * stall_A);
  assert_true(loaded_A >= 0.2 * stall_A && loaded_A <= 0.3 * stall_A);
  assert_true(motor->max_V > volt);
}

static void
range_is_a_range(const LoomElement *e)
{
  if (!isnan(e->min_V) && !isnan(e->max_V))
    assert_true(e->min_V < e->max_V);
  if (!isnan(e->lockout_V)) {
    assert_true(e->lockout_V < e->release_V);
    assert_true(isnan(e->min_V) || e->release_V <= e->min_V);
  }
}

/* Servos of the usual supply take 4.8 to 6 V (general servo articles). */
static void
servo_is_sound(const LoomElement *e)
{
  assert_true(0 < e->idle_A && e->idle_A < e->moving_A && e->moving_A < e->stall_A);
  assert_true(e->min_V <= 4.8 && e->max_V >= 6.0);
}

static void
element_is_sound(const LoomKind *k, const LoomElement *e)
{
  range_is_a_range(e);
  switch (e->type) {
  case LOOM_ELEMENT_SOURCE:
    source_is_sound(k, e);
    break;
  case LOOM_ELEMENT_FUSE:
    fuse_is_of_the_series(k, e);
    break;
  case LOOM_ELEMENT_MOTOR:
    motor_is_consistent(k, e);
    break;
  case LOOM_ELEMENT_SERVO:
    servo_is_sound(e);
    break;
  case LOOM_ELEMENT_CONVERTER:
    assert_true(e->efficiency > 0.5 && e->efficiency < 1);
    assert_true(e->output_V < e->max_V && e->limit_A > 0);
    break;
  case LOOM_ELEMENT_SWITCH:
    assert_true(k->has_switch && e->rated_A > 0);
    break;
  default:
    break;
  }
}

static bool
has_radio(const LoomKind *k)
{
  for (guint i = 0; i < k->n_ends; i++)
    if (k->ends[i].family->shape == LOOM_SHAPE_RADIO)
      return true;
  return false;
}

/* A controller in a robot: its own electronics, an acting total, what its lamp does, and to change
 * the password of a network that it makes (common practice, no source). */
static void
controller_tells_what_to_know(const LoomKind *k)
{
  bool power = false, total = false, wake = false, password = false;
  for (guint i = 0; i < k->n_elements; i++)
    power |= k->elements[i].type == LOOM_ELEMENT_POWER;
  for (guint i = 0; i < k->n_limits; i++)
    total |= k->limits[i].acts && g_str_equal(k->limits[i].id, "total");
  for (guint i = 0; i < k->n_advice; i++) {
    wake |= g_str_equal(k->advice[i].step, "wake") && k->advice[i].seconds > 0;
    password |= g_str_equal(k->advice[i].step, "after") && strstr(k->advice[i].text, "password");
  }
  assert_true(power && total && wake);
  assert_true(password || !has_radio(k));
}

/* ---- kinds: drawing ---------------------------------------------------------------------------
 */

static bool
on_grid(double mm)
{
  return fabs(remainder(mm, GRID_MM)) < 1e-9;
}

static void
ends_sit_on_the_outline(const LoomKind *k)
{
  assert_true(on_grid(k->width_mm) && on_grid(k->height_mm));
  for (guint i = 0; i < k->n_ends; i++) {
    const LoomEnd *end = &k->ends[i];
    bool upright = end->side == LOOM_SIDE_LEFT || end->side == LOOM_SIDE_RIGHT;
    double length_mm = upright ? k->height_mm : k->width_mm;
    assert_true(on_grid(end->at_mm) && end->at_mm > 0 && end->at_mm < length_mm);
    for (guint j = 0; j < i; j++)
      if (k->ends[j].side == end->side)
        assert_true(fabs(k->ends[j].at_mm - end->at_mm) >= 10);
  }
}

static void
fill_is_known(const char *fill)
{
  static const char *const words[] = {"ink", "paper", "metal", "shade", "tint", "lamp", NULL};
  assert_true(!fill || is_one_of(fill, words) || loom_colour_valid(fill));
}

static void
point_is_inside(const LoomKind *k, double x_mm, double y_mm)
{
  double width = k->lead ? 30 : k->width_mm, height = k->lead ? 20 : k->height_mm;
  double top = k->lead ? 0 : TITLE_MM;
  if (x_mm < 0 || x_mm > width || y_mm < top || y_mm > height)
    fail_msg("%s draws at %g, %g, outside of %g x %g", k->id, x_mm, y_mm, width, height);
}

/* Path data is "M", "L", "C" or "Z" and pairs of numbers. */
static void
path_is_inside(const LoomKind *k, const char *path)
{
  g_auto(GStrv) words = g_strsplit_set(path, " ", -1);
  double x_mm = 0;
  guint n = 0;
  assert_int_equal(path[0], 'M');
  for (char **w = words; *w; w++) {
    const char *digits = **w && strchr("MLCZ", **w) ? *w + 1 : *w;
    if (!*digits)
      continue;
    char *rest;
    double value = g_ascii_strtod(digits, &rest);
    assert_int_equal(*rest, 0);
    if (n++ % 2 == 0)
      x_mm = value;
    else
      point_is_inside(k, x_mm, value);
  }
  assert_int_equal(n % 2, 0);
}

static void
mark_is_sound(const LoomKind *k, const LoomMark *mark)
{
  fill_is_known(mark->fill);
  switch (mark->type) {
  case LOOM_MARK_PATH:
    assert_true(mark->fill || mark->line_mm > 0);
    path_is_inside(k, mark->path);
    break;
  case LOOM_MARK_CIRCLE:
    assert_true(mark->fill || mark->line_mm > 0);
    point_is_inside(k, mark->x_mm - mark->size_mm, mark->y_mm - mark->size_mm);
    point_is_inside(k, mark->x_mm + mark->size_mm, mark->y_mm + mark->size_mm);
    break;
  case LOOM_MARK_TEXT:
    assert_true(mark->size_mm > 0 && mark->path[0]);
    point_is_inside(k, mark->x_mm, mark->y_mm);
    break;
  }
}

static void
drawing_is_sound(const LoomKind *k)
{
  if (k->lead)
    assert_true(k->width_mm == 0 && k->height_mm == 0 && k->length_mm > 0);
  else
    ends_sit_on_the_outline(k);
  assert_true(k->n_marks > 0);
  for (guint i = 0; i < k->n_marks; i++)
    mark_is_sound(k, &k->marks[i]);
}

static void
kind_is_sound(void **state)
{
  const Case *c = *state;
  const LoomKind *k = c->kind;
  assert_true(k->name[0] && k->about && k->about[0] && k->source[0]);
  assert_true(!k->holds || loom_catalogue_kind(c->catalogue, k->holds));
  letter_is_of_its_class(k);
  colours_are_of_iec_60757(k);
  wires_have_real_sizes(k);
  sources_have_sockets(k);
  leads_have_pins_towards_the_pack(k);
  ends_find_partners(c);
  contacts_are_sound(k);
  channels_and_devices_are_sound(c);
  address_is_free(k);
  for (guint i = 0; i < k->n_elements; i++)
    element_is_sound(k, &k->elements[i]);
  if (k->group == LOOM_GROUP_CONTROLLER)
    controller_tells_what_to_know(k);
  drawing_is_sound(k);
}

/* ---- the whole --------------------------------------------------------------------------------
 */

static void
there_is_enough_for_a_robot(void **state)
{
  const Case *c = *state;
  guint n_families, n_kinds, seen[LOOM_N_GROUPS] = {0};
  loom_catalogue_families(c->catalogue, &n_families);
  const LoomKind *const *kinds = loom_catalogue_kinds(c->catalogue, &n_kinds);
  assert_true(n_families >= 24);
  assert_true(n_kinds >= 60);
  for (guint i = 0; i < n_kinds; i++)
    seen[kinds[i]->group]++;
  for (guint i = 0; i < LOOM_N_GROUPS; i++)
    assert_true(seen[i] > 0);
}

/* Whoever searches for a thing must tell two entries apart by what is written on them. */
static void
names_differ(void **state)
{
  const Case *c = *state;
  guint n;
  const LoomKind *const *kinds = loom_catalogue_kinds(c->catalogue, &n);
  g_autoptr(GHashTable) names = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint i = 0; i < n; i++)
    if (!g_hash_table_add(names, kinds[i]->name))
      fail_msg("two kinds are called %s", kinds[i]->name);
}

static GArray *
list_cases(Case *cases, const LoomCatalogue *catalogue)
{
  guint n_families, n_kinds;
  const LoomFamily *const *families = loom_catalogue_families(catalogue, &n_families);
  const LoomKind *const *kinds = loom_catalogue_kinds(catalogue, &n_kinds);
  GArray *tests = g_array_new(FALSE, TRUE, sizeof(struct CMUnitTest));
  struct CMUnitTest whole[] = {cmocka_unit_test_prestate(there_is_enough_for_a_robot, cases),
                               cmocka_unit_test_prestate(names_differ, cases)};
  g_array_append_vals(tests, whole, G_N_ELEMENTS(whole));
  *cases++ = (Case){.catalogue = catalogue};
  for (guint i = 0; i < n_families; i++, cases++) {
    *cases = (Case){.catalogue = catalogue, .family = families[i]};
    struct CMUnitTest test = {families[i]->id, family_is_sound, NULL, NULL, cases};
    g_array_append_val(tests, test);
  }
  for (guint i = 0; i < n_kinds; i++, cases++) {
    *cases = (Case){.catalogue = catalogue, .kind = kinds[i]};
    struct CMUnitTest test = {kinds[i]->id, kind_is_sound, NULL, NULL, cases};
    g_array_append_val(tests, test);
  }
  return tests;
}

int
main(void)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomCatalogue) catalogue = loom_catalogue_built_in(&error);
  if (!catalogue) {
    fprintf(stderr, "%s\n", error->message);
    return 1;
  }
  guint n_families, n_kinds;
  loom_catalogue_families(catalogue, &n_families);
  loom_catalogue_kinds(catalogue, &n_kinds);
  g_autofree Case *cases = g_new0(Case, 1 + n_families + n_kinds);
  g_autoptr(GArray) list = list_cases(cases, catalogue);
  struct CMUnitTest *tests = (struct CMUnitTest *)list->data;
  return _cmocka_run_group_tests("built-in catalogue", tests, list->len, NULL, NULL);
}
