/* How long the book takes, whole and chapter by chapter, and how it grows with the number of parts.
 *
 *   bench-handout       20, 40, ... 400 parts; processor time for making and for writing,
 *                       and both together by the clock on the wall
 *
 * It fails where 400 parts take more than 2.6 times what 200 take: by more than parts^1.4.
 *
 * The design is several rovers side by side: pack, fuse, switch, controller, motors, servos,
 * sensors and their leads, 20 parts each. */
#include "handout/book.h"
#include "robots.h"
#include "sheet/tidy.h"

#include <glib/gstdio.h>
#include <math.h>
#include <stdio.h>
#include <time.h>

static double
now_ms(void)
{
  struct timespec t;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
  return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

/* Kinds with their letters, and joints between them by place in this list. */
static const char *const KINDS[][2] = {
    {"G", "pack-nimh-12v-3ah"},   {"F", "fuse-lead-15"},     {"Q", "switch-main-20"},
    {"W", "extension-30-300"},    {"K", "controller-rover"}, {"M", "motor-medium"},
    {"M", "motor-medium"},        {"M", "motor-medium"},     {"M", "servo-standard"},
    {"W", "servo-extension-300"}, {"M", "servo-standard"},   {"B", "sensor-touch"},
    {"W", "sensor-lead-300"},     {"B", "sensor-distance"},  {"W", "i2c-lead-400"},
    {"B", "sensor-colour"},       {"W", "i2c-lead-400"},     {"M", "servo-micro"},
    {"M", "servo-micro"},         {"W", "servo-y"}};
static const struct {
  guint a;
  const char *end_a;
  guint b;
  const char *end_b;
} JOINTS[] = {{0, "out", 1, "in"},        {1, "out", 2, "in"},         {2, "out", 3, "a"},
              {3, "b", 4, "power"},       {4, "motor-1", 5, "poles"},  {4, "motor-2", 6, "poles"},
              {4, "motor-3", 7, "poles"}, {4, "servo-1", 8, "lead"},   {4, "servo-2", 9, "a"},
              {9, "b", 10, "lead"},       {4, "digital-1-2", 12, "a"}, {12, "b", 11, "port"},
              {4, "i2c-1", 14, "a"},      {14, "b", 13, "port"},       {4, "i2c-2", 16, "a"},
              {16, "b", 15, "port"},      {4, "servo-4", 19, "a"},     {19, "b", 17, "lead"},
              {19, "c", 18, "lead"}};

#define MOST_GROWTH 2.6 /* from 200 to 400 parts */
#define N_KINDS G_N_ELEMENTS(KINDS)

static LoomDesign *
rovers(guint n)
{
  g_autoptr(GString) script = g_string_new(NULL);
  for (guint r = 0; r < n; r++) {
    for (guint k = 0; k < N_KINDS; k++)
      g_string_append_printf(script, "add %s %s%u\nset %s%u \"place=rover %u\"\n", KINDS[k][1],
                             KINDS[k][0], r * 100 + k + 1, KINDS[k][0], r * 100 + k + 1, r + 1);
    for (guint j = 0; j < G_N_ELEMENTS(JOINTS); j++)
      g_string_append_printf(script, "plug %s%u:%s %s%u:%s\n", KINDS[JOINTS[j].a][0],
                             r * 100 + JOINTS[j].a + 1, JOINTS[j].end_a, KINDS[JOINTS[j].b][0],
                             r * 100 + JOINTS[j].b + 1, JOINTS[j].end_b);
  }
  LoomDesign *design = robots_parse(script->str, "rovers");
  LoomEdit *edit = loom_edit_new(design, "tidy");
  loom_tidy(edit, 0);
  loom_design_apply(design, edit);
  return design;
}

/* Milliseconds of making and of writing; returns the number of pages. */
static guint
measure(const LoomDesign *design, guint chapters, double *making_ms, double *writing_ms)
{
  g_autoptr(GError) error = NULL;
  g_autofree char *path = g_build_filename(g_get_tmp_dir(), "loombook-bench.pdf", NULL);
  LoomBookOptions options;
  loom_book_options_init(&options);
  options.chapters = chapters;
  options.catalogue = robots_catalogue();
  double start = now_ms();
  g_autoptr(LoomBook) book = loom_book_new(design, &options, NULL, NULL, NULL, &error);
  *making_ms = now_ms() - start;
  start = now_ms();
  if (!book || !loom_book_write_pdf(book, path, NULL, NULL, NULL, &error))
    g_error("%s", error->message);
  *writing_ms = now_ms() - start;
  g_unlink(path);
  return loom_book_n_pages(book);
}

static void
each_chapter(const LoomDesign *design)
{
  double making, writing;
  for (guint c = 0; c < LOOM_N_CHAPTERS; c++) {
    guint pages = measure(design, 1u << c, &making, &writing);
    printf("  %-22s %3u pages  %6.0f ms, %6.0f ms\n", loom_chapter_title(c), pages, making,
           writing);
  }
}

int
main(void)
{
  static const guint SIZES[] = {1, 2, 5, 10, 20};
  double making, writing, before = INFINITY, growth = 0;
  for (guint i = 0; i < G_N_ELEMENTS(SIZES); i++) {
    g_autoptr(LoomDesign) design = rovers(SIZES[i]);
    gint64 start = g_get_monotonic_time();
    guint pages = measure(design, (1u << LOOM_N_CHAPTERS) - 1, &making, &writing);
    printf("%4u parts  %3u pages  made in %6.0f ms, written in %6.0f ms; %6.2f s on the wall\n",
           loom_design_n_parts(design), pages, making, writing,
           (double)(g_get_monotonic_time() - start) / 1e6);
    growth = (making + writing) / before;
    before = making + writing;
    if (SIZES[i] == 10)
      each_chapter(design);
  }
  return growth <= MOST_GROWTH ? 0 : 1;
}
