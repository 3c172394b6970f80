/* The curve of an outing: what is read from it is what was run, and what is drawn lies to scale and
 * within its room. Widths of words are asked of Pango. */
#include "electric/outing.h"
#include "sheet/figure-file.h"
#include "sheet/inks.h"
#include "sheet/outing-plot.h"

#include "robots.h"

#include <glib/gstdio.h>
#include <libxml/parser.h>
#include <libxml/tree.h>
#include <math.h>
#include <pango/pangocairo.h>
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

static Rig
rig_new(double charge)
{
  Rig r = {.design = robots_load("sandpiper")};
  LoomOutingTerms terms = loom_outing_terms();
  terms.charge = charge;
  r.wiring = loom_wiring_new(r.design, 0);
  const LoomScene *scene = loom_design_scene(r.wiring->design, 0);
  r.trace = loom_outing_run(r.wiring, &scene->outings[0], &terms);
  r.plot = loom_outing_plot_new(r.wiring->design, scene, r.trace);
  return r;
}

static void
rig_clear(Rig *r)
{
  loom_outing_plot_free(r->plot);
  loom_trace_free(r->trace);
  loom_wiring_free(r->wiring);
  loom_design_free(r->design);
}

static xmlDoc *
drawn(const Rig *r, double width, double height, double cursor_s)
{
  LoomInk *ink = loom_ink_svg_new((LoomRect){0, 0, width, height}, LOOM_PALETTE_PRINT, "t", "d");
  loom_outing_plot_draw(ink, r->plot, width, height, cursor_s);
  g_autofree char *svg = loom_ink_svg_free_to_text(ink);
  return xmlReadMemory(svg, (int)strlen(svg), NULL, NULL, XML_PARSE_NONET);
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
  xmlDoc *doc = drawn(&r, 240, 120, NAN);
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

static double
width_of(const char *text, double size_mm, bool bold)
{
  static const double dots = 100;
  cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
  cairo_t *cr = cairo_create(surface);
  PangoLayout *layout = pango_cairo_create_layout(cr);
  PangoFontDescription *font =
      pango_font_description_from_string(bold ? "DejaVu Sans Bold" : "DejaVu Sans");
  pango_font_description_set_absolute_size(font, size_mm * dots * PANGO_SCALE);
  pango_layout_set_font_description(layout, font);
  pango_layout_set_text(layout, text, -1);
  int width, height;
  pango_layout_get_size(layout, &width, &height);
  pango_font_description_free(font);
  g_object_unref(layout);
  cairo_destroy(cr);
  cairo_surface_destroy(surface);
  return width / (double)PANGO_SCALE / dots;
}

static double
number_of(xmlNode *node, const char *name)
{
  xmlChar *text = xmlGetProp(node, BAD_CAST name);
  double number = text ? g_ascii_strtod((const char *)text, NULL) : NAN;
  xmlFree(text);
  return number;
}

static bool
says(xmlNode *node, const char *name, const char *word)
{
  xmlChar *text = xmlGetProp(node, BAD_CAST name);
  bool same = text && strcmp((const char *)text, word) == 0;
  xmlFree(text);
  return same;
}

typedef struct {
  LoomRect rect;
  char text[64];
} Written;

static void
collect(xmlNode *node, GArray *all)
{
  for (; node; node = node->next) {
    if (node->type == XML_ELEMENT_NODE && xmlStrEqual(node->name, BAD_CAST "text")) {
      xmlChar *text = xmlNodeGetContent(node);
      double size = number_of(node, "font-size"), x = number_of(node, "x");
      double width = width_of((const char *)text, size, says(node, "font-weight", "bold"));
      Written w = {{x, number_of(node, "y") - 0.73 * size, width, 0.75 * size}, ""};
      w.rect.x -= says(node, "text-anchor", "middle") ? width / 2
                  : says(node, "text-anchor", "end")  ? width
                                                      : 0;
      g_strlcpy(w.text, (const char *)text, sizeof w.text);
      g_array_append_val(all, w);
      xmlFree(text);
    }
    collect(node->children, all);
  }
}

static void
test_words_keep_within_the_room_and_apart(void **state G_GNUC_UNUSED)
{
  static const double sizes[][2] = {{240, 120}, {140, 60}, {100, 50}, {66, 42}};
  for (guint k = 0; k < G_N_ELEMENTS(sizes); k++) {
    Rig r = rig_new(k % 2 ? 0.12 : 1);
    xmlDoc *doc = drawn(&r, sizes[k][0], sizes[k][1], 62);
    g_autoptr(GArray) all = g_array_new(FALSE, FALSE, sizeof(Written));
    collect(xmlDocGetRootElement(doc), all);
    assert_true(all->len > 8);
    for (guint i = 0; i < all->len; i++) {
      const Written *w = &g_array_index(all, Written, i);
      if (w->rect.x < 0 || w->rect.y < 0 || w->rect.x + w->rect.width > sizes[k][0] ||
          w->rect.y + w->rect.height > sizes[k][1])
        fail_msg("%g mm wide: %s leaves the room", sizes[k][0], w->text);
      for (guint j = 0; j < i; j++) {
        const Written *v = &g_array_index(all, Written, j);
        if (v->rect.x < w->rect.x + w->rect.width && w->rect.x < v->rect.x + v->rect.width &&
            v->rect.y < w->rect.y + w->rect.height && w->rect.y < v->rect.y + v->rect.height)
          fail_msg("%g mm wide: %s covers %s", sizes[k][0], w->text, v->text);
      }
    }
    xmlFreeDoc(doc);
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
      cmocka_unit_test(test_files_begin_as_their_kind_does),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
