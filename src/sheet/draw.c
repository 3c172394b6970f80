#include "draw-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

#define VEIL_OPACITY 0.68 /* over what takes no part in the scene */
#define MARGIN_MM 6.0
#define READINGS_MARGIN_MM 14.0 /* readings stand around everything else */
#define SAME_OPACITY 0.5        /* over what is the same in both revisions */

void
loom_draw_options_init(LoomDrawOptions *options)
{
  *options = (LoomDrawOptions){.mark_joint = LOOM_NONE, .block_scale = 1};
}

bool
loom_drawing_has(const LoomDrawing *d, guint part)
{
  return loom_drawing_shows(d, part) && (!d->late || d->late[part] == d->second);
}

bool
loom_drawing_shows(const LoomDrawing *d, guint part)
{
  return !d->drawn || d->drawn[part];
}

/* What a part covers, its connectors and wires included. */
static LoomRect
reach_of(const LoomSheet *sheet, guint part)
{
  LoomRect r = loom_rect_union(sheet->parts[part].outline, sheet->parts[part].caption);
  for (guint e = 0; e < sheet->parts[part].n_ends; e++)
    r = loom_rect_union(r, loom_sheet_end(sheet, part, e)->box);
  return loom_rect_grown(r, 4);
}

static bool *
choose_parts(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  bool clipped = options->clip.width > 0;
  if (!options->only_parts && !clipped)
    return NULL;
  bool *drawn = g_new0(bool, sheet->n_parts + 1);
  for (guint p = 0; !options->only_parts && p < sheet->n_parts; p++)
    drawn[p] = true;
  for (guint i = 0; options->only_parts && i < options->n_only; i++)
    if (options->only_parts[i] < sheet->n_parts)
      drawn[options->only_parts[i]] = true;
  for (guint p = 0; clipped && p < sheet->n_parts; p++)
    drawn[p] = drawn[p] && loom_rect_meets(reach_of(sheet, p), options->clip);
  for (guint i = 0; clipped && !options->only_parts && i < sheet->n_leads; i++)
    for (guint k = 0; k + 1 < sheet->leads[i].n_points && !drawn[sheet->leads[i].part]; k++)
      drawn[sheet->leads[i].part] = loom_rect_meets(
          loom_rect_grown(
              loom_rect_around(sheet->leads[i].points[k], sheet->leads[i].points[k + 1]), 3),
          options->clip);
  return drawn;
}

static char *
id_of(const char *prefix, const char *designation, const char *end)
{
  return end ? g_strdup_printf("%s-%s-%s", prefix, designation, end)
             : g_strdup_printf("%s-%s", prefix, designation);
}

static char *
title_of(const LoomPart *part)
{
  return part->label ? g_strdup_printf("%s %s", part->designation, part->label)
                     : g_strdup_printf("%s %s", part->designation, part->kind->name);
}

static void
begin_part(LoomDrawing *d, const char *prefix, const LoomPart *part)
{
  g_autofree char *id = id_of(prefix, part->designation, NULL);
  g_autofree char *title = title_of(part);
  g_autofree char *size = part->kind->lead ? loom_tag_size_text(part) : NULL;
  g_autofree char *desc = size ? g_strdup_printf("%s, %s.", part->kind->name, size)
                               : g_strdup(part->kind->about ? part->kind->about : part->kind->name);
  loom_ink_begin(d->ink, id, title, desc);
}

/* Readings at ends [n_ends] and of parts [n_parts] behind them, NULL none. */
static const LoomSheetReading **
readings_by_place(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  const LoomSheetReading **places =
      g_new0(const LoomSheetReading *, sheet->n_ends + sheet->n_parts + 1);
  for (guint i = 0; i < options->n_readings; i++) {
    const LoomSheetReading *r = &options->readings[i];
    if (r->part >= sheet->n_parts || r->width_factor <= 0)
      continue;
    if (r->end == LOOM_NONE)
      places[sheet->n_ends + r->part] = r;
    else if (r->end < sheet->parts[r->part].n_ends)
      places[sheet->parts[r->part].first_end + r->end] = r;
  }
  return places;
}

/* Of a wire with an end of its own that end's, of one from end to end the lead's. */
static const LoomSheetReading *
reading_of_wire(const LoomSheet *sheet, const LoomSheetReading **places, const LoomLaidLead *lead)
{
  guint end = lead->end_a == LOOM_NONE   ? lead->end_b
              : lead->end_b == LOOM_NONE ? lead->end_a
                                         : LOOM_NONE;
  return end == LOOM_NONE ? places[sheet->n_ends + lead->part]
                          : places[sheet->parts[lead->part].first_end + end];
}

static void
draw_coarse_line(LoomInk *ink, const LoomLaidLead *lead)
{
  if (lead->n_points > 1)
    loom_draw_corners(ink, lead->points, lead->n_points, false, loom_style_line(LOOM_PAINT_INK, 1));
}

static void
draw_leads(LoomDrawing *d)
{
  g_autofree const LoomSheetReading **readings = readings_by_place(d->sheet, d->options);
  for (guint i = 0; i < d->sheet->n_leads; i++) {
    const LoomLaidLead *lead = &d->sheet->leads[i];
    if (!loom_drawing_has(d, lead->part))
      continue;
    if (d->options->coarse) {
      draw_coarse_line(d->ink, lead);
      continue;
    }
    const LoomPart *part = loom_sheet_part(d->sheet, lead->part);
    const LoomSheetReading *r = reading_of_wire(d->sheet, readings, lead);
    begin_part(d, part->kind->lead ? "lead" : "pigtail", part);
    loom_draw_wire(d->ink, part, lead, r && r->width_factor > 0 ? r->width_factor : 1,
                   r ? r->stress : 0);
    if (d->sheet->inside->letters[i].text)
      loom_words_draw(d->ink, &d->sheet->inside->letters[i]);
    loom_ink_end(d->ink);
  }
}

static const LoomState *
state_of(const LoomDrawing *d)
{
  const LoomScene *scene = loom_design_scene(d->sheet->design, d->sheet->scene);
  guint state = d->options->state ? loom_scene_find_state(scene, d->options->state) : LOOM_NONE;
  return state == LOOM_NONE ? NULL : &scene->states[state];
}

static void
draw_words(LoomInk *ink, const GArray *words)
{
  for (guint i = 0; i < words->len; i++)
    loom_words_draw(ink, &g_array_index(words, LoomWords, i));
}

/* A switch that the state throws is called so; all else has its words from the sheet. */
static void
draw_part_words(LoomDrawing *d, guint p, const LoomState *state)
{
  const LoomPart *part = loom_sheet_part(d->sheet, p);
  bool on = loom_part_on(part, state);
  if (!state || !part->kind->has_switch || on == part->on) {
    draw_words(d->ink, d->sheet->inside->words[p]);
    return;
  }
  g_autoptr(LoomPart) thrown = loom_part_copy(part);
  thrown->on = on;
  g_autoptr(GArray) words = loom_words_array_new();
  loom_place_words(thrown, loom_sheet_picture(d->sheet, part->kind), words);
  draw_words(d->ink, words);
}

static void
draw_parts(LoomDrawing *d)
{
  const LoomState *state = state_of(d);
  for (guint p = 0; p < d->sheet->n_parts; p++) {
    const LoomPart *part = loom_sheet_part(d->sheet, p);
    if (part->kind->lead || !loom_drawing_has(d, p))
      continue;
    begin_part(d, "part", part);
    loom_draw_part(d->ink, part, loom_sheet_picture(d->sheet, part->kind), d->options->coarse);
    if (!d->options->coarse)
      draw_part_words(d, p, state);
    loom_ink_end(d->ink);
  }
}

/* How far a plug that sits one way off is moved across, in ways. */
static int
shift_of(const LoomSheet *sheet, const LoomPlacedEnd *placed)
{
  const LoomWiring *w = sheet->inside->wiring;
  guint number = loom_wiring_end(w, placed->part, placed->end);
  for (guint k = w->end_first[number]; k < w->end_first[number + 1]; k++) {
    const LoomWiredJoint *j = &w->joints[w->end_joints[k]];
    bool second = j->part_b == placed->part && j->end_b == placed->end;
    if (second && loom_design_joint(w->design, j->joint)->fit == LOOM_FIT_SHIFTED)
      return 1;
  }
  return 0;
}

static void
draw_one_end(LoomDrawing *d, const LoomPlacedEnd *placed)
{
  const LoomPart *part = loom_sheet_part(d->sheet, placed->part);
  const LoomEnd *end = &part->kind->ends[placed->end];
  g_autofree char *id = id_of("end", part->designation, end->id);
  g_autofree char *title = g_strdup_printf("%s:%s", part->designation, end->id);
  g_autofree char *desc = g_strdup_printf(placed->plugged ? "%s, %s" : _("%s, %s, not plugged"),
                                          _(loom_gender_label(end->gender)), end->family->name);
  double aside = shift_of(d->sheet, placed) * -loom_end_size(end).pitch_mm;
  LoomPoint at = {placed->at.x + abs(placed->dy) * aside, placed->at.y + abs(placed->dx) * aside};
  loom_ink_begin(d->ink, id, title, desc);
  loom_draw_end_at(d->ink, end, at, placed->dx, placed->dy);
  loom_ink_end(d->ink);
}

/* Sockets and studs first: what is plugged into them is drawn over them. */
static void
draw_ends(LoomDrawing *d)
{
  for (guint on_top = 0; on_top < 2; on_top++)
    for (guint i = 0; i < d->sheet->n_ends; i++) {
      const LoomPlacedEnd *placed = &d->sheet->ends[i];
      const LoomEnd *end = &loom_sheet_part(d->sheet, placed->part)->kind->ends[placed->end];
      bool round = !d->late || d->late_ends[i] == d->second;
      if (round && loom_drawing_shows(d, placed->part) && loom_end_is_on_top(end) == (on_top == 1))
        draw_one_end(d, placed);
    }
}

static void
draw_tags(LoomDrawing *d)
{
  for (guint p = 0; p < d->sheet->n_parts; p++) {
    const LoomPart *part = loom_sheet_part(d->sheet, p);
    if (!part->kind->lead || !loom_drawing_has(d, p))
      continue;
    begin_part(d, "tag", part);
    loom_draw_tag(d->ink, part, &d->sheet->inside->tags[p]);
    loom_ink_end(d->ink);
  }
}

/* A line that is no wire: from face to face, dashed. */
static void
draw_dashes(LoomInk *ink, const LoomLaidJoint *j, LoomPaint paint, double line_mm, double dash_mm)
{
  LoomStyle style = loom_style_line(paint, line_mm);
  style.dash_mm = dash_mm;
  if (j->n_points < 2) {
    loom_draw_segment(ink, j->from.x, j->from.y, j->to.x, j->to.y, style);
    return;
  }
  g_autoptr(LoomPath) path = loom_path_new();
  loom_strokes_path(path, j->points, j->n_points, 0, 2);
  loom_ink_path(ink, path, &style);
}

/* A cable tie around the two halves: band and tail. */
static void
draw_tie(LoomInk *ink, const LoomLaidJoint *j)
{
  double h = LOOM_TIE_MM / 2;
  LoomPoint at = j->apart ? j->from : j->at;
  loom_ink_begin_placed(ink, at.x, at.y, j->dy ? 1 : 0, false);
  loom_draw_rect(ink, (LoomRect){-1.0, -h, 2.0, 2 * h}, 0.9, loom_style_line(LOOM_PAINT_INK, 0.55));
  loom_draw_rect(ink, (LoomRect){-1.1, -h - 0.9, 2.2, 1.6}, 0.4,
                 loom_style_both(LOOM_PAINT_TINT, LOOM_PAINT_INK, 0.3));
  loom_draw_segment(ink, 0.2, -h - 0.8, 1.2, -h - 1.8, loom_style_line(LOOM_PAINT_INK, 0.55));
  loom_ink_end(ink);
}

static bool
is_radio(const LoomSheet *sheet, const LoomWiredJoint *j)
{
  return loom_run_kind_end(sheet->inside->wiring, j->part_a, j->end_a)->family->shape ==
         LOOM_SHAPE_RADIO;
}

static void
draw_joint(LoomDrawing *d, guint i)
{
  const LoomLaidJoint *j = &d->sheet->joints[i];
  const LoomJoint *joint = loom_design_joint(d->sheet->design, j->joint);
  const LoomWiredJoint *wired = &d->sheet->inside->wiring->joints[i];
  g_autofree char *id = g_strdup_printf("joint-%s-%s--%s-%s", joint->a.part, joint->a.end,
                                        joint->b.part, joint->b.end);
  g_autofree char *title = g_strdup_printf(_("%s:%s in %s:%s"), joint->a.part, joint->a.end,
                                           joint->b.part, joint->b.end);
  loom_ink_begin(d->ink, id, title, j->mates ? _("Plugged.") : _("These two ends do not mate."));
  if (is_radio(d->sheet, wired))
    draw_dashes(d->ink, j, LOOM_PAINT_NOTE, 0.5, 2.4);
  else if (!j->mates) {
    draw_dashes(d->ink, j, LOOM_PAINT_STOP, 0.7, 1.3);
  } else if (j->apart) {
    draw_dashes(d->ink, j, LOOM_PAINT_FAINT, 0.4, 0.9);
  }
  if (joint->tied)
    draw_tie(d->ink, j);
  if (d->sheet->inside->joint_words[i].text)
    loom_words_draw(d->ink, &d->sheet->inside->joint_words[i]);
  loom_ink_end(d->ink);
}

static void
draw_joints(LoomDrawing *d)
{
  for (guint i = 0; i < d->sheet->n_joints; i++) {
    const LoomWiredJoint *w = &d->sheet->inside->wiring->joints[i];
    bool round = !d->late || (d->late[w->part_a] || d->late[w->part_b]) == d->second;
    if (round && loom_drawing_shows(d, w->part_a) && loom_drawing_shows(d, w->part_b) &&
        d->sheet->joints[i].joint == w->joint)
      draw_joint(d, i);
  }
}

static void
veil_wire(LoomDrawing *d, guint lead, LoomStyle veil, LoomStyle along)
{
  const LoomLaidLead *l = &d->sheet->leads[lead];
  loom_draw_corners(d->ink, l->points, l->n_points, false, along);
  if (d->sheet->inside->letters[lead].text)
    loom_draw_rect(d->ink, d->sheet->inside->letters[lead].box, 0, veil);
}

void
loom_draw_veil(LoomDrawing *d, const bool *parts, double opacity)
{
  LoomStyle veil = {LOOM_PAINT_PAPER, LOOM_PAINT_NONE, 0, 0, opacity};
  LoomStyle along = {LOOM_PAINT_NONE, LOOM_PAINT_PAPER, 3.4, 0, opacity};
  const LoomSheet *s = d->sheet;
  for (guint p = 0; p < s->n_parts; p++) {
    if (!parts[p] || !loom_drawing_shows(d, p))
      continue;
    LoomRect outline = loom_rect_grown(s->parts[p].outline, 0.5);
    loom_draw_rect(d->ink, loom_rect_union(outline, s->parts[p].caption), 0, veil);
    for (guint e = 0; e < s->parts[p].n_ends; e++)
      loom_draw_rect(d->ink, loom_sheet_end(s, p, e)->box, 0, veil);
  }
  for (guint i = 0; i < s->n_leads; i++)
    if (parts[s->leads[i].part] && loom_drawing_shows(d, s->leads[i].part) &&
        s->leads[i].n_points > 1)
      veil_wire(d, i, veil, along);
}

static void
draw_mark(LoomDrawing *d)
{
  for (guint i = 0; d->options->mark_joint != LOOM_NONE && i < d->sheet->n_joints; i++) {
    const LoomLaidJoint *j = &d->sheet->joints[i];
    if (j->joint != d->options->mark_joint)
      continue;
    loom_draw_circle(d->ink, j->at.x, j->at.y, 7.8, loom_style_line(LOOM_PAINT_PAPER, 1.8));
    loom_draw_circle(d->ink, j->at.x, j->at.y, 7.8, loom_style_line(LOOM_PAINT_INK, 0.9));
  }
}

/* What the parts that are drawn cover. */
static LoomRect
sheet_extents(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  double margin = options->n_readings ? READINGS_MARGIN_MM : MARGIN_MM;
  if (!options->only_parts)
    return loom_rect_grown(sheet->extents, margin);
  LoomRect all = {0, 0, 0, 0};
  g_autofree bool *drawn = choose_parts(sheet, options);
  for (guint p = 0; p < sheet->n_parts; p++)
    if (drawn[p])
      all = loom_rect_union(all, reach_of(sheet, p));
  for (guint i = 0; i < sheet->n_leads; i++)
    for (guint k = 0; drawn[sheet->leads[i].part] && k + 1 < sheet->leads[i].n_points; k++)
      all = loom_rect_union(
          all, loom_rect_grown(
                   loom_rect_around(sheet->leads[i].points[k], sheet->leads[i].points[k + 1]), 2));
  return loom_rect_grown(all, margin);
}

/* The screen has no end; a drawing of its own ends with its extents. */
static LoomRect
paper_of(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  bool endless = options->clip.width > 0;
  return endless ? (LoomRect){0, 0, 0, 0} : loom_rect_grown(sheet_extents(sheet, options), -1);
}

double
loom_draw_lowest(const LoomSheet *sheet, const bool *drawn, double left, double right)
{
  double lowest = -INFINITY;
  for (guint p = 0; p < sheet->n_parts; p++) {
    LoomRect r = reach_of(sheet, p);
    if ((!drawn || drawn[p]) && r.x < right && r.x + r.width > left)
      lowest = fmax(lowest, r.y + r.height);
  }
  for (guint i = 0; i < sheet->n_leads; i++)
    for (guint k = 0; k + 1 < sheet->leads[i].n_points; k++) {
      LoomRect r = loom_rect_around(sheet->leads[i].points[k], sheet->leads[i].points[k + 1]);
      if ((!drawn || drawn[sheet->leads[i].part]) && r.x - 3 < right && r.x + r.width + 3 > left)
        lowest = fmax(lowest, r.y + r.height + 3);
    }
  return lowest;
}

LoomRect
loom_draw_extents(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  g_autofree bool *drawn = choose_parts(sheet, options);
  return loom_draw_page_extents(sheet, options, drawn, sheet_extents(sheet, options));
}

static void
draw_things(LoomDrawing *d)
{
  draw_leads(d);
  draw_parts(d);
  if (d->options->coarse)
    return;
  draw_ends(d);
  draw_joints(d);
  draw_mark(d);
  draw_tags(d);
}

/* What is the same in both revisions under a veil, the rest on top of it. */
static void
draw_revisions(LoomDrawing *d)
{
  g_autofree bool *late = loom_changed_parts(d->sheet, d->options->merged);
  g_autofree bool *ends = loom_changed_ends(d->sheet, late);
  g_autofree bool *same = g_new0(bool, d->sheet->n_parts + 1);
  for (guint p = 0; p < d->sheet->n_parts; p++)
    same[p] = !late[p];
  d->late = late;
  d->late_ends = ends;
  draw_things(d);
  loom_draw_veil(d, same, SAME_OPACITY);
  d->second = true;
  draw_things(d);
  d->late = NULL;
  loom_draw_changes(d);
}

void
loom_draw_sheet(LoomInk *ink, const LoomSheet *sheet, const LoomDrawOptions *options)
{
  LoomDrawing d = {.ink = ink, .sheet = sheet, .options = options, .labels = loom_crowd_new()};
  d.drawn = choose_parts(sheet, options);
  d.paper = paper_of(sheet, options);
  if (options->merged)
    draw_revisions(&d);
  else
    draw_things(&d);
  if (!options->coarse)
    loom_draw_readings(&d);
  if (options->faded)
    loom_draw_veil(&d, options->faded, VEIL_OPACITY);
  loom_draw_flags(&d);
  loom_draw_page(&d, sheet_extents(sheet, options));
  g_free(d.drawn);
  loom_crowd_free(d.labels);
}

LoomPoint *
loom_draw_flag_places(const LoomSheet *sheet, const LoomDrawOptions *options)
{
  LoomDrawing d = {.sheet = sheet, .options = options, .labels = loom_crowd_new()};
  LoomPoint *places = g_new0(LoomPoint, options->findings ? options->findings->n_findings + 1 : 1);
  d.drawn = choose_parts(sheet, options);
  d.paper = paper_of(sheet, options);
  loom_place_flags(&d, places);
  g_free(d.drawn);
  loom_crowd_free(d.labels);
  return places;
}
