/* Geometry of one part against matrices of cairo: corners, ends, faces; words that fit. */
#include "catalogue/catalogue.h"
#include "sheet/place.h"
#include "sheet/text.h"

#include "robots.h"

#include <cairo.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "near.h"

/* Mirrored about the middle of the outline, then turned about it, then moved so that the corner
 * fits. */
static cairo_matrix_t
matrix_of(const LoomPart *part)
{
  double w = part->kind->width_mm, h = part->kind->height_mm;
  bool upright = part->turn == LOOM_TURN_0 || part->turn == LOOM_TURN_180;
  cairo_matrix_t m;
  cairo_matrix_init_identity(&m);
  cairo_matrix_translate(&m, part->x_mm + (upright ? w : h) / 2,
                         part->y_mm + (upright ? h : w) / 2);
  cairo_matrix_rotate(&m, (int)part->turn * G_PI / 2);
  cairo_matrix_scale(&m, part->flip ? -1 : 1, 1);
  cairo_matrix_translate(&m, -w / 2, -h / 2);
  return m;
}

static void
check_end(const LoomPart *part, guint e)
{
  const LoomEnd *end = &part->kind->ends[e];
  cairo_matrix_t m = matrix_of(part);
  double u = end->side == LOOM_SIDE_LEFT    ? 0
             : end->side == LOOM_SIDE_RIGHT ? part->kind->width_mm
                                            : end->at_mm;
  double v = end->side == LOOM_SIDE_TOP      ? 0
             : end->side == LOOM_SIDE_BOTTOM ? part->kind->height_mm
                                             : end->at_mm;
  double out_x = end->side == LOOM_SIDE_LEFT ? -1 : end->side == LOOM_SIDE_RIGHT;
  double out_y = end->side == LOOM_SIDE_TOP ? -1 : end->side == LOOM_SIDE_BOTTOM;
  cairo_matrix_transform_point(&m, &u, &v);
  cairo_matrix_transform_distance(&m, &out_x, &out_y);
  int dx, dy;
  LoomPoint root = loom_place_root(part, e, &dx, &dy);
  assert_double_equal(root.x, u, 1e-9);
  assert_double_equal(root.y, v, 1e-9);
  assert_double_equal(dx, out_x, 1e-9);
  assert_double_equal(dy, out_y, 1e-9);
  LoomPoint face = loom_place_end(part, e, &dx, &dy);
  double out = (face.x - root.x) * dx + (face.y - root.y) * dy;
  assert_double_equal(out, loom_end_size(end).depth_mm + (end->pigtail_mm > 0 ? LOOM_STUB_MM : 0),
                      1e-9);
}

static void
parts_turn_as_cairo_turns_them(void **state G_GNUC_UNUSED)
{
  guint n;
  const LoomKind *const *kinds = loom_catalogue_kinds(robots_catalogue(), &n);
  for (guint k = 0; k < n; k++)
    for (guint way = 0; way < 8 && !kinds[k]->lead; way++) {
      g_autoptr(LoomPart) part = loom_part_new(kinds[k], "X1");
      part->x_mm = 35;
      part->y_mm = -20;
      part->turn = (LoomTurn)(way % 4);
      part->flip = way > 3;
      cairo_matrix_t m = matrix_of(part);
      double x = 3, y = 4;
      cairo_matrix_transform_point(&m, &x, &y);
      LoomPoint at = loom_place_point(part, 3, 4);
      assert_double_equal(at.x, x, 1e-9);
      assert_double_equal(at.y, y, 1e-9);
      LoomRect outline = loom_place_outline(part);
      assert_double_equal(outline.x, 35, 1e-9);
      assert_double_equal(outline.y, -20, 1e-9);
      for (guint e = 0; e < kinds[k]->n_ends; e++)
        check_end(part, e);
    }
}

static bool
inside(LoomRect r, LoomRect o)
{
  return r.x >= o.x && r.y >= o.y && r.x + r.width <= o.x + o.width &&
         r.y + r.height <= o.y + o.height;
}

/* Designation, label and names of ends: no two words of a part on each other, none half on the
 * outline, none on the picture. */
static void
words_of_a_part_keep_apart(void **state G_GNUC_UNUSED)
{
  guint n;
  const LoomKind *const *kinds = loom_catalogue_kinds(robots_catalogue(), &n);
  for (guint k = 0; k < n; k++)
    for (guint way = 0; way < 8 && !kinds[k]->lead; way++) {
      g_autoptr(LoomPart) part = loom_part_new(kinds[k], "M12");
      part->x_mm = part->y_mm = 0;
      part->turn = (LoomTurn)(way % 4);
      part->flip = way > 3;
      LoomPicture *picture = loom_picture_new(kinds[k]);
      g_autoptr(GArray) words = loom_words_array_new();
      loom_place_words(part, picture, words);
      assert_true(words->len >= 2);
      LoomRect outline = loom_place_outline(part);
      for (guint i = 0; i < words->len; i++) {
        const LoomWords *a = &g_array_index(words, LoomWords, i);
        if (!inside(a->box, outline) && loom_rect_meets(a->box, outline))
          fail_msg("%s, way %u: \"%s\" lies across the outline", kinds[k]->id, way, a->text);
        for (guint j = i + 1; j < words->len; j++) {
          const LoomWords *b = &g_array_index(words, LoomWords, j);
          LoomRect tight = b->box;
          tight.height *= 0.8;
          if (loom_rect_meets(a->box, tight))
            fail_msg("%s, way %u: \"%s\" lies on \"%s\"", kinds[k]->id, way, a->text, b->text);
        }
      }
      loom_picture_unref(picture);
    }
}

/* Our widths against pango's for the font of the drawings, within a hundredth for plain text. */
static void
widths_are_those_of_the_font(void **state G_GNUC_UNUSED)
{
  static const char *const TEXTS[] = {"G1", "Main switch 20 A, on", "300 mm · 1.5 mm²",
                                      "Wheels WAVAY ijl.", "BK RD BU YE"};
  cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 8, 8);
  cairo_t *cr = cairo_create(surface);
  for (int bold = 0; bold < 2; bold++)
    for (guint i = 0; i < G_N_ELEMENTS(TEXTS); i++) {
      PangoLayout *layout = pango_cairo_create_layout(cr);
      PangoFontDescription *font =
          pango_font_description_from_string(bold ? "DejaVu Sans Bold" : "DejaVu Sans");
      pango_font_description_set_absolute_size(font, 1000 * PANGO_SCALE);
      pango_layout_set_font_description(layout, font);
      pango_layout_set_text(layout, TEXTS[i], -1);
      PangoRectangle r;
      pango_layout_get_extents(layout, NULL, &r);
      double pango = (double)r.width / PANGO_SCALE, ours = loom_text_width_mm(TEXTS[i], 1000, bold);
      if (ours < pango * 0.99 || ours > pango * 1.06) /* kerning only makes it narrower */
        fail_msg("\"%s\": %g, pango has %g", TEXTS[i], ours, pango);
      pango_font_description_free(font);
      g_object_unref(layout);
    }
  cairo_destroy(cr);
  cairo_surface_destroy(surface);
}

static void
text_is_shortened_to_fit(void **state G_GNUC_UNUSED)
{
  for (double room = 4; room < 60; room += 1.7) {
    g_autofree char *fit = loom_text_fit("Ultrasonic distance sensor größer", 2.3, false, room);
    assert_true(loom_text_width_mm(fit, 2.3, false) <= room + 1e-9);
    assert_true(g_utf8_validate(fit, -1, NULL));
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(parts_turn_as_cairo_turns_them),
      cmocka_unit_test(words_of_a_part_keep_apart),
      cmocka_unit_test(widths_are_those_of_the_font),
      cmocka_unit_test(text_is_shortened_to_fit),
  };
  return cmocka_run_group_tests_name("place", tests, NULL, NULL);
}
