/* Charging times against the published rule and its worked examples (tests/reference), and which
 * settings of a charger a pack may be given. */
#include "planning/charge.h"

#include "fixture.h"
#include "planning/csv.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "../near.h"

static LoomCsvTable *
table(const char *name)
{
  g_autofree char *path = g_strdup_printf("%s/%s", LOOM_TEST_REFERENCE, name);
  g_autofree char *bytes = NULL;
  gsize length;
  assert_true(g_file_get_contents(path, &bytes, &length, NULL));
  LoomCsvTable *csv = loom_csv_parse(bytes, length, name, NULL);
  assert_non_null(csv);
  return csv;
}

static double
number(const LoomCsvTable *csv, guint row, const char *column)
{
  const char *text = loom_csv_field(csv, row, loom_csv_column(csv, column));
  return *text ? g_ascii_strtod(text, NULL) : NAN;
}

/* The row that begins with these fields. */
static guint
row_of(const LoomCsvTable *csv, const char *first, const char *second)
{
  for (guint i = 1; i < csv->n_rows; i++)
    if (g_str_equal(csv->rows[i].fields[0], first) &&
        (!second || g_str_equal(csv->rows[i].fields[1], second)))
      return i;
  fail_msg("There is no row %s %s.", first, second);
  return 0;
}

static void
factors_are_those_of_the_table(void **state G_GNUC_UNUSED)
{
  static const char *const rows[][2] = {{"NiMH", "NiMH 10-cell 12 V"},
                                        {"Li-ion", "Li-ion 3S"},
                                        {"Li-ion", "Li-ion 4S"},
                                        {"lead-acid", "SLA / VRLA 12 V (6 cells)"}};
  g_autoptr(LoomCsvTable) csv = table("batteries.csv");
  for (guint i = 0; i < G_N_ELEMENTS(rows); i++) {
    LoomChargeFactor k = loom_charge_factor(rows[i][0]);
    guint row = row_of(csv, rows[i][1], "charge_factor_k");
    assert_double_equal(k.least, number(csv, row, "low"), 1e-12);
    assert_double_equal(k.typical, number(csv, row, "typical"), 1e-12);
    assert_double_equal(k.most, number(csv, row, "high"), 1e-12);
  }
  assert_true(isnan(loom_charge_factor("zinc-air").typical));
  assert_true(isnan(loom_charge_factor(NULL).typical));
}

/* "C=2000 mAh; I=200 mA; k=1.4": the number behind `key`. */
static double
input(const char *text, const char *key)
{
  g_autofree char *start = g_strdup_printf("%s=", key);
  const char *at = strstr(text, start);
  if (!at)
    fail_msg("%s is not in \"%s\".", key, text);
  return g_ascii_strtod(at + strlen(start), NULL);
}

static void
the_rule_gives_the_worked_examples(void **state G_GNUC_UNUSED)
{
  static const char *const hours[] = {"BE06", "BE09", "BE10"};
  g_autoptr(LoomCsvTable) csv = table("battery_examples.csv");
  guint inputs = loom_csv_column(csv, "inputs");
  for (guint i = 0; i < G_N_ELEMENTS(hours); i++) {
    guint row = row_of(csv, hours[i], NULL);
    const char *text = loom_csv_field(csv, row, inputs);
    double expected = number(csv, row, "expected");
    assert_double_equal(loom_charge_hours(input(text, "C"), input(text, "I"), input(text, "k")),
                        expected, expected * number(csv, row, "tolerance_rel"));
  }
}

/* The examples that give a factor: it lies between our limits, and puts the hours back. */
static void
the_factors_found_lie_between_the_limits(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCsvTable) csv = table("battery_examples.csv");
  LoomChargeFactor k = loom_charge_factor("NiMH");
  static const struct {
    const char *row;
    double capacity, current, hours;
  } examples[] = {{"BE07", 100, 10, 15}, {"BE08", 3.33, 1, 5}, {"BE11", 66, 1, 100}};
  for (guint i = 0; i < G_N_ELEMENTS(examples); i++) {
    guint row = row_of(csv, examples[i].row, NULL);
    double expected = number(csv, row, "expected");
    assert_true(expected >= k.least && expected <= k.most);
    assert_double_equal(loom_charge_hours(examples[i].capacity, examples[i].current, expected),
                        examples[i].hours, examples[i].hours * number(csv, row, "tolerance_rel"));
  }
  /* 1.4 less up to 15 % for a fast charge (BE09) is no less than our lower limit */
  assert_true(1.4 * 0.85 >= k.least);
}

/* A pack and a charger as kinds. */
static LoomCatalogue *
shelf(const char *packs_and_chargers)
{
  g_autofree char *family = fixture_family("f", 2);
  g_autofree char *all = g_strconcat(family, packs_and_chargers, NULL);
  return fixture_catalogue(all);
}

#define ENDS                                                                                       \
  "<end id=\"out\" family=\"f\" gender=\"sockets\" side=\"left\"><contact way=\"1\" name=\"+\" "   \
  "role=\"plus\"/><contact way=\"2\" name=\"-\" role=\"minus\"/></end>"
#define PACK(id, capacity, chemistry)                                                              \
  "<kind id=\"" id "\" name=\"Pack " id "\" letter=\"G\" group=\"supply\" width_mm=\"30\" "        \
  "height_mm=\"20\" source=\"typical\">" ENDS                                                      \
  "<source a=\"out:+\" b=\"out:-\" emf_V=\"12\" " capacity "/><chemistry " chemistry "/></kind>"
#define CHARGER(id, chemistry)                                                                     \
  "<kind id=\"" id "\" name=\"Charger " id "\" letter=\"T\" group=\"charging\" width_mm=\"30\" "   \
  "height_mm=\"20\" source=\"typical\">" ENDS "<source a=\"out:+\" b=\"out:-\" emf_V=\"14\"/>"     \
  "<chemistry " chemistry "/></kind>"

static void
lead_acid_takes_the_hours_of_the_article(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue =
      shelf(PACK("g", "capacity_Ah=\"7\"", "name=\"lead-acid\" cells=\"6\" charge_max_A=\"2.1\"")
                CHARGER("t", "name=\"lead-acid\" cells=\"6\" currents_A=\"1.75 0.7\""));
  g_autoptr(LoomCharge) c =
      loom_charge_new(loom_catalogue_kind(catalogue, "g"), loom_catalogue_kind(catalogue, "t"));
  g_autoptr(LoomCsvTable) csv = table("batteries.csv");
  guint row = row_of(csv, "SLA / VRLA 12 V (6 cells)", "charge_time_typical");
  double least = number(csv, row, "low"), typical = number(csv, row, "typical");
  double most = number(csv, row, "high");
  assert_null(c->wrong);
  assert_int_equal(c->n_settings, 2);
  assert_double_equal(c->settings[0].rate_C, 0.1, 1e-12); /* "12-16 h" */
  assert_true(c->settings[0].hours >= typical && c->settings[0].hours <= most);
  assert_double_equal(c->settings[1].rate_C, 0.25, 1e-12); /* "8-10 h with higher current" */
  assert_true(c->settings[1].hours >= least && c->settings[1].hours <= 10);
  assert_true(c->settings[1].hours < c->settings[0].hours);
  /* half a pack: half of 1.1 x 4 h, and the whole tail */
  assert_double_equal(loom_charge_setting_hours(c, 1, 0.5), 2.2 + c->settings[1].tail_h, 1e-9);
}

static void
nimh_and_lithium_take_the_usual_hours(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue =
      shelf(PACK("n", "capacity_Ah=\"2\"", "name=\"NiMH\" cells=\"10\" charge_max_A=\"2\"")
                CHARGER("tn", "name=\"NiMH\" cells=\"10\" currents_A=\"0.2\"")
                    PACK("l", "capacity_Ah=\"5\"", "name=\"Li-ion\" cells=\"3\" charge_max_A=\"5\"")
                        CHARGER("tl", "name=\"Li-ion\" cells=\"3\" currents_A=\"2.5\""));
  g_autoptr(LoomCharge) n =
      loom_charge_new(loom_catalogue_kind(catalogue, "n"), loom_catalogue_kind(catalogue, "tn"));
  assert_double_equal(n->settings[0].hours, 14, 1e-9); /* batteries.csv: 0.1 C, 14-16 h */
  assert_double_equal(n->settings[0].most_h, 16, 1e-9);
  assert_null(n->settings[0].note); /* 0.1 C does no harm */
  g_autoptr(LoomCharge) l =
      loom_charge_new(loom_catalogue_kind(catalogue, "l"), loom_catalogue_kind(catalogue, "tl"));
  assert_true(l->settings[0].hours < 2.5 && l->settings[0].most_h >= 3); /* 0.5 C, 2.5-3 h */
  assert_true(l->settings[0].hours > 2);
}

static void
no_setting_is_above_the_packs_rate(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue =
      shelf(PACK("g", "capacity_Ah=\"2\"",
                 "name=\"NiMH\" cells=\"10\" charge_max_A=\"1.9\" charge_slow_A=\"0.5\"")
                CHARGER("t", "name=\"NiMH\" cells=\"1-12\" currents_A=\"3 0.5 2 1\"")
                    CHARGER("strong", "name=\"NiMH\" cells=\"10\" currents_A=\"2 3\""));
  const LoomKind *pack = loom_catalogue_kind(catalogue, "g");
  g_autoptr(LoomCharge) c = loom_charge_new(pack, loom_catalogue_kind(catalogue, "t"));
  assert_null(c->wrong);
  assert_int_equal(c->gentlest, 0);
  assert_int_equal(c->fastest, 1);
  assert_true(c->settings[0].allowed && c->settings[0].gentle);
  assert_true(c->settings[1].allowed && !c->settings[1].gentle);
  assert_false(c->settings[2].allowed || c->settings[3].allowed);
  assert_string_equal(c->settings[2].note, "2 A is more than this pack may be given (1.9 A).");
  assert_non_null(
      strstr(c->settings[0].note, "6.4 hours")); /* 0.25 C is hard to notice: 1.6 x 4 h */
  g_autoptr(LoomCharge) s = loom_charge_new(pack, loom_catalogue_kind(catalogue, "strong"));
  assert_int_equal(s->gentlest, LOOM_NONE);
  assert_string_equal(s->wrong,
                      "Charger strong gives 2 A at least, more than Pack g may be given (1.9 A).");
  assert_int_equal(loom_charge_setting_within(s, 1, 1000), LOOM_NONE);
}

static void
the_slower_setting_is_taken_when_time_allows(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  g_autoptr(LoomCharge) c = loom_charge_new(loom_catalogue_kind(catalogue, "pack-nimh-12v-3ah"),
                                            loom_catalogue_kind(catalogue, "charger-nimh-12v"));
  assert_int_equal(c->n_settings, 2); /* 0.9 and 1.8 A: 4.67 and 2.33 h by 1.4 C / I */
  assert_double_equal(c->settings[0].hours, 1.4 * 3 / 0.9, 1e-9);
  assert_int_equal(loom_charge_setting_within(c, 1, 5), 0);
  assert_int_equal(loom_charge_setting_within(c, 1, 4.6), 1);
  assert_int_equal(loom_charge_setting_within(c, 1, 2.3), LOOM_NONE);
  assert_int_equal(loom_charge_setting_within(c, 0.5, 2.4), 0); /* half as long for half a pack */
  assert_double_equal(loom_charge_setting_hours(c, 1, 0.5), 0.7 * 3 / 1.8, 1e-9);
}

static void
what_does_not_belong_together_is_refused(void **state G_GNUC_UNUSED)
{
  static const struct {
    const char *pack, *charger, *says;
  } pairs[] = {{"pack-nimh-12v-3ah", "charger-li-ion-3s", "never put it on this charger"},
               {"pack-nimh-7.2v-3ah", "charger-nimh-12v", "10 cells and Pack 7.2 V 3 Ah has 6"},
               {"pack-usb-5v", "charger-nimh-12v", "is no pack that a charger"},
               {"supply-bench", "charger-nimh-12v", "is no pack that a charger"},
               {"charger-nimh-12v", "charger-nimh-12v", "is no pack that a charger"},
               {"pack-nimh-12v-3ah", "pack-nimh-12v-3ah", "is no charger"},
               {"pack-nimh-12v-3ah", "switch-main-40", "is no charger"}};
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  for (guint i = 0; i < G_N_ELEMENTS(pairs); i++) {
    g_autoptr(LoomCharge) c = loom_charge_new(loom_catalogue_kind(catalogue, pairs[i].pack),
                                              loom_catalogue_kind(catalogue, pairs[i].charger));
    assert_non_null(c->wrong);
    if (!strstr(c->wrong, pairs[i].says))
      fail_msg("%s", c->wrong);
    assert_int_equal(c->gentlest, LOOM_NONE);
    assert_int_equal(c->n_settings, 0);
  }
}

static void
missing_figures_are_told(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue = shelf(
      PACK("a", "", "name=\"NiMH\" cells=\"10\" charge_max_A=\"2\"")
          PACK("b", "capacity_Ah=\"2\"", "name=\"NiMH\" cells=\"10\"")
              PACK("c", "capacity_Ah=\"2\"", "name=\"zinc-air\" cells=\"10\" charge_max_A=\"2\"")
                  CHARGER("t", "name=\"NiMH, zinc-air\" cells=\"10\" currents_A=\"1\""));
  static const char *const says[][2] = {
      {"a", "how much it holds"}, {"b", "how fast it may be charged"}, {"c", "zinc-air"}};
  for (guint i = 0; i < G_N_ELEMENTS(says); i++) {
    g_autoptr(LoomCharge) c = loom_charge_new(loom_catalogue_kind(catalogue, says[i][0]),
                                              loom_catalogue_kind(catalogue, "t"));
    assert_non_null(c->wrong);
    if (!strstr(c->wrong, says[i][1]))
      fail_msg("%s", c->wrong);
  }
}

/* Every pack of the built-in catalogue on every charger. */
static void
the_built_in_catalogue_charges_within_the_rates(void **state G_GNUC_UNUSED)
{
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  guint n, pairs = 0;
  const LoomKind *const *kinds = loom_catalogue_kinds(catalogue, &n);
  for (guint i = 0; i < n; i++)
    for (guint k = 0; k < n; k++) {
      g_autoptr(LoomCharge) c = loom_charge_new(kinds[i], kinds[k]);
      if (c->wrong)
        continue;
      pairs++;
      for (guint s = 0; s < c->n_settings; s++) {
        const LoomChargeSetting *x = &c->settings[s];
        assert_true(x->least_h <= x->hours && x->hours <= x->most_h);
        assert_int_equal(x->allowed, x->current_A <= kinds[i]->chemistry.charge_max_A);
        assert_true(s == 0 || x->hours < c->settings[s - 1].hours);
      }
      assert_true(loom_charge_cautions(kinds[i]->chemistry.chemistry)[0] != NULL);
    }
  assert_true(pairs >= 10);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(factors_are_those_of_the_table),
      cmocka_unit_test(the_rule_gives_the_worked_examples),
      cmocka_unit_test(the_factors_found_lie_between_the_limits),
      cmocka_unit_test(lead_acid_takes_the_hours_of_the_article),
      cmocka_unit_test(nimh_and_lithium_take_the_usual_hours),
      cmocka_unit_test(no_setting_is_above_the_packs_rate),
      cmocka_unit_test(the_slower_setting_is_taken_when_time_allows),
      cmocka_unit_test(what_does_not_belong_together_is_refused),
      cmocka_unit_test(missing_figures_are_told),
      cmocka_unit_test(the_built_in_catalogue_charges_within_the_rates),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
