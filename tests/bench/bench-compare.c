/* How comparing grows with the robot (the drawing alone), and how long a full event day takes to
 * plan with four chargers, alike or of two kinds. */
#include "design/edit.h"
#include "planning/compare.h"
#include "planning/rota.h"

#include "planning/fixture.h"

#include <stdio.h>
#include <time.h>

static double
now_ms(void)
{
  struct timespec t;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
  return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

/* n motors on leads. Changed: every tenth motor has another name, every eleventh lead is turned. */
static LoomDesign *
row_of_motors(const LoomCatalogue *catalogue, guint n, bool changed)
{
  LoomDesign *design = loom_design_new("row");
  LoomEdit *edit = loom_edit_new(design, "Build");
  const LoomKind *motor = loom_catalogue_kind(catalogue, "motor-medium");
  const LoomKind *lead = loom_catalogue_kind(catalogue, "motor-extension-300");
  for (guint i = 0; i < n; i++) {
    g_autofree char *m = g_strdup_printf("M%u", changed && i % 10 == 0 ? n + i + 1 : i + 1);
    g_autofree char *w = g_strdup_printf("W%u", i + 1);
    g_autofree char *poles = g_strdup_printf("%s:poles", m);
    g_autofree char *end = g_strdup_printf("%s:%s", w, changed && i % 11 == 0 ? "a" : "b");
    loom_edit_add(edit, motor, m, i % 100 * 50, i / 100 * 50, NULL);
    loom_edit_add(edit, lead, w, i % 100 * 50, i / 100 * 50 + 20, NULL);
    loom_edit_plug(edit, end, poles, LOOM_FIT_NORMAL, NULL, NULL);
  }
  loom_design_apply(design, edit);
  return design;
}

static void
bench_compare(const LoomCatalogue *catalogue)
{
  for (guint n = 125; n <= 8000; n *= 4) {
    g_autoptr(LoomDesign) a = row_of_motors(catalogue, n, false);
    g_autoptr(LoomDesign) b = row_of_motors(catalogue, n, true);
    double best = 1e9;
    guint found = 0;
    for (guint i = 0; i < 5; i++) {
      double start = now_ms();
      g_autoptr(LoomCompare) c = loom_compare_new(a, b, LOOM_COMPARE_DRAWING);
      best = MIN(best, now_ms() - start);
      found = c->n_differences;
    }
    printf("compare %6u parts  %8.2f ms  %6.2f us a part  (%u differences)\n", 2 * n, best,
           best * 1e3 / (2 * n), found);
  }
}

static void
bench_rota(const LoomCatalogue *catalogue, const char *const *ids, guint n, const char *words)
{
  const LoomKind *chargers[8];
  for (guint i = 0; i < n; i++)
    chargers[i] = loom_catalogue_kind(catalogue, ids[i]);
  for (guint outings = 10; outings <= 80; outings *= 2) {
    LoomRotaDay day;
    loom_rota_day_init(&day, loom_catalogue_kind(catalogue, "pack-nimh-12v-3ah"));
    loom_rota_day_every(&day, 540, 12, outings, 6);
    day.n_packs = day.n_full = 8;
    day.chargers = chargers;
    day.n_chargers = n;
    double start = now_ms();
    g_autoptr(LoomRota) r = loom_rota_new(&day);
    printf("rota    %6u outings, %u chargers, %s  %8.2f ms  (at least %u packs%s)\n", outings, n,
           words, now_ms() - start, r->least_packs, r->proven ? "" : ", not proven");
    loom_rota_day_clear(&day);
  }
}

int
main(void)
{
  static const char *const alike[] = {"charger-nimh-12v", "charger-nimh-12v", "charger-nimh-12v",
                                      "charger-nimh-12v"};
  static const char *const mixed[] = {"charger-nimh-12v", "charger-multi", "charger-nimh-12v",
                                      "charger-multi"};
  g_autoptr(LoomCatalogue) catalogue = fixture_built_in();
  bench_compare(catalogue);
  bench_rota(catalogue, alike, G_N_ELEMENTS(alike), "alike");
  bench_rota(catalogue, mixed, G_N_ELEMENTS(mixed), "two kinds");
  return 0;
}
