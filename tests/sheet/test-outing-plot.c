/* The curve of an outing: what is read from it is what was run, and what is drawn lies to scale and
 * within its room. Widths of words are asked of Pango. */
#include "electric/outing.h"
#include "sheet/figure-file.h"
#include "sheet/inks.h"
#include "sheet/outing-plot.h"

#include "robots.h"
#include "written.h"

#include <glib/gstdio.h>
#include <libxml/parser.h>
#include <libxml/tree.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "near.h"

typedef struct {
  LoomDesign *design;
  LoomWiring *wiring;
  LoomTrace *trace;
  LoomOutingPlot *plot;
} Rig;

/* Takes the design. */
static Rig
rig_of(LoomDesign *design, double charge)
{
  Rig r = {.design = design};
  LoomOutingTerms terms = loom_outing_terms();
  terms.charge = charge;
  r.wiring = loom_wiring_new(r.design, 0);
  const LoomScene *scene = loom_design_scene(r.wiring->design, 0);
  r.trace = loom_outing_run(r.wiring, &scene->outings[0], &terms);
  r.plot = loom_outing_plot_new(r.wiring->design, scene, r.trace);
  return r;
}

static Rig
rig_new(double charge)
{
  return rig_of(robots_load("sandpiper"), charge);
}

static void
rig_clear(Rig *r)
{
  loom_outing_plot_free(r->plot);
  loom_trace_free(r->trace);
  loom_wiring_free(r->wiring);
  loom_design_free(r->design);
}

static char *
drawn(const Rig *r, double width, double height, double cursor_s)
{
  LoomInk *ink = loom_ink_svg_new((LoomRect){0, 0, width, height}, LOOM_PALETTE_PRINT, "t", "d");
  loom_outing_plot_draw(ink, r->plot, width, height, cursor_s);
  return loom_ink_svg_free_to_text(ink);
}

static void
test_samples_are_read_back(void **state G_GNUC_UNUSED)
{
  Rig r = rig_new(1);
  assert_true(r.trace->n_samples > 10);
  for (guint i = 0; i + 1 < r.trace->n_samples; i++) {
    const LoomSample *s = &r.trace->samples[i], *next = s + 1;
    if (next->time_s - s->time_s < 1e-6)
      continue; /* the state changes */
    LoomSample at = loom_outing_plot_at(r.plot, s->time_s);
    LoomSample half = loom_outing_plot_at(r.plot, (s->time_s + next->time_s) / 2);
    assert_double_equal(at.pack_V, s->pack_V, 1e-9);
    assert_double_equal(at.charge_pct, s->charge_pct, 1e-9);
    assert_double_equal(half.pack_A, (s->pack_A + next->pack_A) / 2, 1e-9);
  }
  rig_clear(&r);
}

static void
test_steps_visit_every_time_once(void **state G_GNUC_UNUSED)
{
  Rig r = rig_new(1);
  double at = 0, end = loom_outing_plot_seconds(r.plot);
  guint there = 0, back = 0;
  for (; at < end; there++) {
    double next = loom_outing_plot_step(r.plot, at, 1);
    assert_true(next > at);
    at = next;
  }
  for (; at > 0; back++) {
    double next = loom_outing_plot_step(r.plot, at, -1);
    assert_true(next < at);
    at = next;
  }
  assert_int_equal(there, back);
  assert_double_equal(loom_outing_plot_step(r.plot, end, 1), end, 1e-9);
  rig_clear(&r);
}

static void
test_places_are_times(void **state G_GNUC_UNUSED)
{
  Rig r = rig_new(1);
  double end = loom_outing_plot_seconds(r.plot), last = -1;
  assert_double_equal(loom_outing_plot_time(r.plot, 200, -50), 0, 1e-12);
  assert_double_equal(loom_outing_plot_time(r.plot, 200, 500), end, 1e-12);
  for (double x = 20; x < 180; x += 10) {
    double time = loom_outing_plot_time(r.plot, 200, x);
    assert_true(time > last);
    last = time;
  }
  rig_clear(&r);
}

/* Points of path data "M1 2L3 4..."; array of LoomPoint. */
static GArray *
points_of(const char *data)
{
  GArray *points = g_array_new(FALSE, FALSE, sizeof(LoomPoint));
  for (const char *s = data; *s;) {
    char *rest;
    LoomPoint p;
    if (!g_ascii_isdigit(*s) && *s != '-') {
      s++;
      continue;
    }
    p.x = g_ascii_strtod(s, &rest);
    p.y = g_ascii_strtod(rest + strspn(rest, " ,"), &rest);
    g_array_append_val(points, p);
    s = rest;
  }
  return points;
}

/* The path with as many points as there are samples, the `which`th of them. */
static GArray *
curve(xmlNode *node, guint n, guint *which)
{
  for (; node; node = node->next) {
    xmlChar *data = xmlGetProp(node, BAD_CAST "d");
    if (data) {
      GArray *points = points_of((const char *)data);
      xmlFree(data);
      if (points->len == n && (*which)-- == 0)
        return points;
      g_array_unref(points);
    }
    GArray *found = curve(node->children, n, which);
    if (found)
      return found;
  }
  return NULL;
}

/* On the paper a volt is everywhere as high as between the highest and the lowest sample. */
static void
test_the_curve_is_to_scale(void **state G_GNUC_UNUSED)
{
  Rig r = rig_new(1);
  g_autofree char *svg = drawn(&r, 240, 120, NAN);
  xmlDoc *doc = xmlReadMemory(svg, (int)strlen(svg), NULL, NULL, XML_PARSE_NONET);
  guint n = r.trace->n_samples, low = 0, high = 0, which = 0;
  g_autoptr(GArray) points = curve(xmlDocGetRootElement(doc), n, &which);
  assert_non_null(points);
  for (guint i = 0; i < n; i++) {
    low = r.trace->samples[i].pack_V < r.trace->samples[low].pack_V ? i : low;
    high = r.trace->samples[i].pack_V > r.trace->samples[high].pack_V ? i : high;
  }
  const LoomSample *s = r.trace->samples;
  const LoomPoint *p = (const LoomPoint *)points->data;
  double per_volt = (p[low].y - p[high].y) / (s[high].pack_V - s[low].pack_V);
  assert_true(per_volt > 1);
  for (guint i = 0; i < n; i++) {
    double y = p[high].y + (s[high].pack_V - s[i].pack_V) * per_volt;
    double x = p[0].x + s[i].time_s / s[n - 1].time_s * (p[n - 1].x - p[0].x);
    assert_double_equal(p[i].y, y, 0.01);
    assert_double_equal(p[i].x, x, 0.01);
    assert_double_equal(loom_outing_plot_time(r.plot, 240, p[i].x), s[i].time_s, 0.02);
  }
  xmlFreeDoc(doc);
  rig_clear(&r);
}

static void
test_words_keep_within_the_room_and_apart(void **state G_GNUC_UNUSED)
{
  static const double sizes[][2] = {{240, 120}, {140, 60}, {100, 50}, {66, 42}};
  for (guint k = 0; k < G_N_ELEMENTS(sizes); k++) {
    Rig r = rig_new(k % 2 ? 0.12 : 1);
    g_autofree char *svg = drawn(&r, sizes[k][0], sizes[k][1], 62);
    g_autoptr(GArray) all = written_read(svg);
    assert_true(all->len > 8);
    for (guint i = 0; i < all->len; i++) {
      const Written *w = &g_array_index(all, Written, i);
      if (w->rect.x < 0 || w->rect.y < 0 || w->rect.x + w->rect.width > sizes[k][0] ||
          w->rect.y + w->rect.height > sizes[k][1])
        fail_msg("%g mm wide: %s leaves the room", sizes[k][0], w->text);
      for (guint j = 0; j < i; j++) {
        const Written *v = &g_array_index(all, Written, j);
        if (written_meet(v->rect, w->rect))
          fail_msg("%g mm wide: %s covers %s", sizes[k][0], w->text, v->text);
      }
    }
    rig_clear(&r);
  }
}

/* A small pack that is nearly empty, and four motors that stand: the controller gets too little in
 * the last push. */
static const char weary[] = "add pack-nimh-12v-2ah G1\n"
                            "add fuse-lead-15 F1\n"
                            "add switch-main-20 Q1\n"
                            "add controller-rover K1\n"
                            "add motor-medium M1\n"
                            "add motor-medium M2\n"
                            "add motor-medium M3\n"
                            "add motor-medium M4\n"
                            "plug G1:out F1:in\n"
                            "plug F1:out Q1:in\n"
                            "plug Q1:out K1:power\n"
                            "plug M1:poles K1:motor-1\n"
                            "plug M2:poles K1:motor-2\n"
                            "plug M3:poles K1:motor-3\n"
                            "plug M4:poles K1:motor-4\n"
                            "set Q1 on=yes\n"
                            "add state:driving/pushing\n"
                            "set state:driving/pushing M1.duty=1 M1.load=stalled M2.duty=1 "
                            "M2.load=stalled M3.duty=1 M3.load=stalled M4.duty=1 M4.load=stalled\n"
                            "add outing:driving/match\n"
                            "set outing:driving/match \"legs=resting 20, pushing 75, resting 20, "
                            "pushing 55, resting 20\"\n";

/* Where a moment lies across: the inverse of loom_outing_plot_time. */
static double
x_at(const LoomOutingPlot *plot, double width_mm, double time_s)
{
  double low = 0, high = width_mm;
  for (guint i = 0; i < 60; i++) {
    double middle = (low + high) / 2;
    *(loom_outing_plot_time(plot, width_mm, middle) < time_s ? &low : &high) = middle;
  }
  return high;
}

/* Told in words beside its line, within the room; no word covers another, none the line. */
static void
test_a_brown_out_is_marked(void **state G_GNUC_UNUSED)
{
  static const double sizes[][2] = {{240, 120}, {180, 80}, {140, 60}, {110, 52}};
  for (guint k = 0; k < G_N_ELEMENTS(sizes); k++)
    for (double charge = 0.16; charge < 0.25; charge += 0.02) {
      Rig r = rig_of(robots_parse(weary, "weary"), charge);
      assert_int_equal(r.trace->brown_part, loom_design_find_part(r.design, "K1"));
      double mark = x_at(r.plot, sizes[k][0], r.trace->brown_s);
      g_autofree char *svg = drawn(&r, sizes[k][0], sizes[k][1], NAN);
      g_autoptr(GArray) all = written_read(svg);
      bool told = false;
      for (guint i = 0; i < all->len; i++) {
        const Written *w = &g_array_index(all, Written, i);
        bool brown = strstr(w->text, "browns out") != NULL;
        told |= brown;
        if (!brown && !strstr(w->text, "lowest"))
          continue;
        if (w->rect.x < 0 || w->rect.x + w->rect.width > sizes[k][0])
          fail_msg("%g mm wide, %g: %s leaves the room", sizes[k][0], charge, w->text);
        if (w->rect.x < mark && mark < w->rect.x + w->rect.width)
          fail_msg("%g mm wide, %g: %s covers the line", sizes[k][0], charge, w->text);
        for (guint j = 0; j < all->len; j++)
          if (j != i && written_meet(g_array_index(all, Written, j).rect, w->rect))
            fail_msg("%g mm wide, %g: %s covers %s", sizes[k][0], charge, w->text,
                     g_array_index(all, Written, j).text);
      }
      assert_true(told);
      rig_clear(&r);
    }
}

static void
draw_file(LoomInk *ink, gconstpointer data)
{
  loom_outing_plot_draw(ink, data, 240, 120, NAN);
}

static void
test_files_begin_as_their_kind_does(void **state G_GNUC_UNUSED)
{
  static const struct {
    const char *suffix, *begins;
  } kinds[] = {{".pdf", "%PDF-"}, {".png", "\x89PNG"}, {".svg", "<?xml"}};
  Rig r = rig_new(1);
  g_autofree char *folder = g_dir_make_tmp("loombook-plot-XXXXXX", NULL);
  LoomFigureFile figure = {240, 120, "Sandpiper, practice", "A curve.", draw_file, r.plot};
  for (guint i = 0; i < G_N_ELEMENTS(kinds); i++) {
    g_autofree char *path = g_strconcat(folder, "/curve", kinds[i].suffix, NULL);
    g_autofree char *bytes = NULL;
    assert_true(loom_figure_file_write(&figure, path, NULL));
    assert_true(g_file_get_contents(path, &bytes, NULL, NULL));
    assert_memory_equal(bytes, kinds[i].begins, strlen(kinds[i].begins));
    g_unlink(path);
  }
  g_autoptr(GError) error = NULL;
  assert_false(loom_figure_file_write(&figure, "/nonexistent/curve.odt", &error));
  assert_non_null(strstr(error->message, ".svg, .pdf or .png"));
  g_rmdir(folder);
  rig_clear(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_samples_are_read_back),
      cmocka_unit_test(test_steps_visit_every_time_once),
      cmocka_unit_test(test_places_are_times),
      cmocka_unit_test(test_the_curve_is_to_scale),
      cmocka_unit_test(test_words_keep_within_the_room_and_apart),
      cmocka_unit_test(test_a_brown_out_is_marked),
      cmocka_unit_test(test_files_begin_as_their_kind_does),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
