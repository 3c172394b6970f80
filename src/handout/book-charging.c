/* Charging and event day: how a pack is charged, how long it takes, and which pack goes out when.
 */
#include "book-private.h"
#include "chart.h"
#include "electric/circuit.h"
#include "figure.h"
#include "safety.h"
#include "solved.h"

#include "design/file.h"
#include "sheet/tidy.h"

#include <math.h>
#include <string.h>

#define DIAGRAM_MM 62.0
#define LOG_ROWS 12

bool
loom_kind_is_charger(const LoomKind *kind)
{
  return kind->chemistry.chemistry && kind->chemistry.charger;
}

bool
loom_kind_is_pack(const LoomKind *kind)
{
  return kind->chemistry.chemistry && !kind->chemistry.charger;
}

/* --- which pack on which charger --- */

/* Circuits of the + poles of the part's sources. */
static bool
share_circuit(const LoomWiring *w, const LoomCircuits *circuits, guint a, guint b)
{
  const LoomKind *x = loom_wiring_part(w, a)->kind, *y = loom_wiring_part(w, b)->kind;
  for (guint i = 0; i < x->n_elements; i++)
    for (guint k = 0; k < y->n_elements; k++)
      if (x->elements[i].type == LOOM_ELEMENT_SOURCE &&
          y->elements[k].type == LOOM_ELEMENT_SOURCE &&
          circuits->circuit[w->part_node[a] + x->elements[i].a] ==
              circuits->circuit[w->part_node[b] + y->elements[k].a])
        return true;
  return false;
}

static GArray *
parts_that(const LoomDesign *design, bool (*is)(const LoomKind *))
{
  GArray *found = g_array_new(FALSE, FALSE, sizeof(guint));
  for (guint i = 0; i < loom_design_n_parts(design); i++)
    if (is(loom_design_part(design, i)->kind))
      g_array_append_val(found, i);
  return found;
}

/* First scene in which the charger meets each pack: `scenes` [n_packs * n_chargers]. */
static void
find_scenes(const LoomDesign *design, const GArray *packs, const GArray *chargers, guint *scenes)
{
  for (guint s = 0; s < loom_design_n_scenes(design); s++) {
    g_autoptr(LoomWiring) wiring = loom_wiring_new(design, s);
    g_autoptr(LoomCircuits) circuits =
        loom_circuits_new(wiring, NULL, LOOM_THROUGH_OPEN | LOOM_THROUGH_FUSES);
    for (guint p = 0; p < packs->len; p++)
      for (guint c = 0; c < chargers->len; c++) {
        guint *scene = &scenes[p * chargers->len + c];
        if (*scene == LOOM_NONE && share_circuit(wiring, circuits, g_array_index(packs, guint, p),
                                                 g_array_index(chargers, guint, c)))
          *scene = s;
      }
  }
}

static bool
suits(const LoomDesign *design, guint pack, guint charger)
{
  g_autoptr(LoomCharge) charge = loom_charge_new(loom_design_part(design, pack)->kind,
                                                 loom_design_part(design, charger)->kind);
  return !charge->wrong;
}

GArray *
loom_book_find_charging(const LoomDesign *design)
{
  GArray *pairs = g_array_new(FALSE, FALSE, sizeof(LoomCharging));
  g_autoptr(GArray) packs = parts_that(design, loom_kind_is_pack);
  g_autoptr(GArray) chargers = parts_that(design, loom_kind_is_charger);
  guint n = packs->len * chargers->len;
  if (n == 0)
    return pairs;
  g_autofree guint *scenes = g_new(guint, n);
  for (guint i = 0; i < n; i++)
    scenes[i] = LOOM_NONE;
  find_scenes(design, packs, chargers, scenes);
  for (guint p = 0; p < packs->len; p++) {
    bool joined = false;
    for (guint c = 0; c < chargers->len; c++)
      joined |= scenes[p * chargers->len + c] != LOOM_NONE;
    for (guint c = 0; c < chargers->len; c++) {
      LoomCharging pair = {g_array_index(packs, guint, p), g_array_index(chargers, guint, c),
                           scenes[p * chargers->len + c]};
      if (joined ? pair.scene != LOOM_NONE : suits(design, pair.pack, pair.charger))
        g_array_append_val(pairs, pair);
    }
  }
  return pairs;
}

/* --- cautions --- */

static void
add_once(GHashTable *seen, LoomMaking *m, const char *text)
{
  if (text && g_hash_table_add(seen, g_strdup(text)))
    loom_scroll_item(m->scroll, "•", text);
}

static void
kind_cautions(GHashTable *seen, LoomMaking *m, const LoomPart *part)
{
  for (guint i = 0; i < part->kind->n_advice; i++) {
    const LoomAdvice *advice = &part->kind->advice[i];
    if (!g_str_equal(advice->step, "caution"))
      continue;
    g_autofree char *text = g_strdup_printf("%s: %s", part->designation, advice->text);
    add_once(seen, m, text);
  }
}

static void
cautions(LoomMaking *m)
{
  g_autoptr(GHashTable) seen = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  const char *sentence;
  loom_scroll_frame_begin(m->scroll, false);
  loom_scroll_text(m->scroll, LOOM_TEXT_STRONG, _("Whoever charges knows this"));
  for (guint i = 0; (sentence = loom_safety_sentence(LOOM_SAFETY_CHARGING, i)); i++)
    add_once(seen, m, sentence);
  for (guint i = 0; i < m->charging->len; i++) {
    const LoomPart *pack =
        loom_design_part(m->design, g_array_index(m->charging, LoomCharging, i).pack);
    for (const char *const *c = loom_charge_cautions(pack->kind->chemistry.chemistry); *c; c++)
      add_once(seen, m, _(*c));
  }
  loom_scroll_frame_end(m->scroll);
}

/* --- the charging scenes --- */

static bool
is_first_of_scene(const LoomMaking *m, guint i)
{
  guint scene = g_array_index(m->charging, LoomCharging, i).scene;
  for (guint k = 0; k < i; k++)
    if (g_array_index(m->charging, LoomCharging, k).scene == scene)
      return false;
  return scene != LOOM_NONE;
}

/* Parts that a charger and its pack are joined through in the scene: [n_parts], new. */
static bool *
charging_parts(const LoomMaking *m, guint scene)
{
  bool *parts = g_new0(bool, loom_design_n_parts(m->design) + 1);
  g_autoptr(LoomWiring) w = loom_wiring_new(m->design, scene);
  g_autoptr(LoomCircuits) circuits =
      loom_circuits_new(w, NULL, LOOM_THROUGH_OPEN | LOOM_THROUGH_FUSES);
  g_autofree bool *charged = g_new0(bool, circuits->n_circuits + 1);
  for (guint i = 0; i < m->charging->len; i++) {
    const LoomCharging *pair = &g_array_index(m->charging, LoomCharging, i);
    const LoomKind *kind = loom_design_part(m->design, pair->charger)->kind;
    for (guint e = 0; e < kind->n_elements && pair->scene == scene; e++)
      if (kind->elements[e].type == LOOM_ELEMENT_SOURCE)
        charged[circuits->circuit[w->part_node[pair->charger] + kind->elements[e].a]] = true;
  }
  for (guint node = 0; node < w->n_nodes; node++)
    parts[w->node_part[node]] |= charged[circuits->circuit[node]];
  return parts;
}

static void
list_steps(LoomMaking *m, guint scene, const bool *parts)
{
  g_autoptr(LoomSteps) steps = loom_steps_new(m->design, scene);
  for (guint i = 0, n = 0; i < steps->n_steps; i++) {
    const LoomStep *s = &steps->steps[i];
    if (s->act != LOOM_STEP_PLUG || s->again || !parts[s->part] || !parts[s->to_part])
      continue;
    g_autofree char *mark = g_strdup_printf("%u.", ++n);
    loom_scroll_item(m->scroll, mark, s->sentence);
  }
}

static void
list_before(LoomMaking *m, guint scene)
{
  g_autoptr(GHashTable) seen = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
  for (guint i = 0; i < m->charging->len; i++) {
    const LoomCharging *pair = &g_array_index(m->charging, LoomCharging, i);
    const LoomPart *charger = loom_design_part(m->design, pair->charger);
    for (guint a = 0; a < charger->kind->n_advice && pair->scene == scene; a++)
      if (g_str_equal(charger->kind->advice[a].step, "before")) {
        g_autofree char *text =
            g_strdup_printf("%s: %s", charger->designation, charger->kind->advice[a].text);
        add_once(seen, m, text);
      }
    if (pair->scene == scene)
      kind_cautions(seen, m, charger);
  }
}

/* The parts by themselves, laid out anew: on the sheet they may lie far apart. New, or NULL. */
static LoomDesign *
extract(const LoomMaking *m, guint scene, const bool *parts)
{
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  for (guint p = 0; p < loom_design_n_parts(m->design); p++)
    if (parts[p])
      g_ptr_array_add(names, loom_design_part(m->design, p)->designation);
  g_autofree char *text =
      loom_design_extract(m->design, (const char *const *)names->pdata, names->len);
  LoomDesign *few = loom_design_parse(text, strlen(text), "charging", NULL);
  if (!few)
    return NULL;
  LoomEdit *edit = loom_edit_new(few, "tidy");
  loom_tidy(edit, scene);
  loom_design_apply(few, edit);
  return few;
}

static void
scene_diagram(LoomMaking *m, guint scene, const bool *parts)
{
  g_autoptr(LoomDesign) few = extract(m, scene, parts);
  if (!few || scene >= loom_design_n_scenes(few))
    return;
  LoomSheet *sheet = loom_sheet_new(few, scene, NULL);
  g_ptr_array_add(m->book->sheets, sheet);
  LoomSheetView view = {.sheet = sheet, .most_scale = 0.9};
  loom_draw_options_init(&view.options);
  view.options.palette = LOOM_PALETTE_PRINT;
  view.area = loom_draw_extents(sheet, &view.options);
  double width = loom_scroll_width_mm(m->scroll);
  double scale = loom_figure_scale(view.area, width, DIAGRAM_MM, view.most_scale);
  loom_scroll_figure(m->scroll, loom_figure_sheet(&view, width, scale * view.area.height));
}

static void
charging_scene(LoomMaking *m, guint scene)
{
  g_autofree char *title =
      g_strdup_printf(_("How it is plugged: %s"), loom_design_scene(m->design, scene)->name);
  loom_scroll_section(m->scroll, title);
  g_autofree bool *parts = charging_parts(m, scene);
  scene_diagram(m, scene, parts);
  list_steps(m, scene, parts);
  list_before(m, scene);
}

/* --- how long it takes --- */

/* "2 h 25 min", to five minutes. New. */
static char *
hours_words(double hours)
{
  guint minutes = (guint)(round(hours * 12) * 5);
  return minutes % 60 ? g_strdup_printf(_("%u h %02u min"), minutes / 60, minutes % 60)
                      : g_strdup_printf(_("%u h"), minutes / 60);
}

static void
setting_row(LoomMaking *m, LoomTable *table, const LoomCharging *pair, const LoomCharge *charge,
            guint i)
{
  const LoomChargeSetting *s = &charge->settings[i];
  const LoomPart *pack = loom_design_part(m->design, pair->pack);
  const LoomPart *charger = loom_design_part(m->design, pair->charger);
  g_autofree char *amps = loom_book_number(m, s->current_A, 2);
  g_autofree char *share = loom_book_number(m, s->rate_C, 2);
  g_autofree char *hours = hours_words(s->hours), *least = hours_words(s->least_h),
                  *most = hours_words(s->most_h);
  loom_table_textf(table, "%s %s", pack->designation, loom_book_part_name(pack));
  loom_table_textf(table, "%s %s", charger->designation, loom_book_part_name(charger));
  loom_table_textf(table, _("%s A\n(%s C)"), amps, share);
  if (s->allowed)
    loom_table_textf(table, _("%s\n(%s to %s)"), hours, least, most);
  else
    loom_table_text(table, _("do not use"));
  if (s->note)
    loom_table_text(table, s->note);
  else if (!s->allowed)
    loom_table_text(table, _("More than this pack may be given."));
  else
    loom_table_text(table, i == charge->gentlest
                               ? _("Take this one when time allows.")
                               : _("Allowed when there is no time for the slower one."));
}

static void
charge_times(LoomMaking *m)
{
  LoomColumn columns[] = {{_("pack"), 0, 1, false},
                          {_("charger"), 0, 1, false},
                          {_("setting"), 22, 0, false},
                          {_("from empty to full"), 43, 0, false},
                          {_("use it"), 0, 1.2, false}};
  loom_scroll_section(m->scroll, _("How long it takes"));
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  loom_table_together(table);
  for (guint i = 0; i < m->charging->len; i++) {
    const LoomCharging *pair = &g_array_index(m->charging, LoomCharging, i);
    const LoomPart *pack = loom_design_part(m->design, pair->pack);
    const LoomPart *charger = loom_design_part(m->design, pair->charger);
    g_autoptr(LoomCharge) charge = loom_charge_new(pack->kind, charger->kind);
    for (guint s = 0; s < charge->n_settings && !charge->wrong; s++)
      setting_row(m, table, pair, charge, s);
    if (!charge->wrong)
      continue;
    loom_table_textf(table, "%s %s", pack->designation, loom_book_part_name(pack));
    loom_table_textf(table, "%s %s", charger->designation, loom_book_part_name(charger));
    loom_table_text(table, NULL);
    loom_table_text(table, _("never"));
    loom_table_text(table, charge->wrong);
  }
  loom_table_end(table);
  loom_scroll_text(
      m->scroll, LOOM_TEXT_SMALL,
      _("By capacity, current and what the chemistry takes besides; the charger's own end "
        "of charge has the last word. C: the current that would empty the pack in one "
        "hour."));
}

/* --- the day --- */

/* The pair whose pack drives the scene that is built; otherwise the first. */
static const LoomCharging *
day_pair(const LoomMaking *m)
{
  for (guint i = 0; i < m->charging->len; i++) {
    const LoomCharging *pair = &g_array_index(m->charging, LoomCharging, i);
    if (loom_design_part(m->design, pair->pack)->kind->chemistry.cells_min > 0 &&
        m->wiring->end_first[m->wiring->part_end[pair->pack]] <
            m->wiring->end_first[m->wiring->part_end[pair->pack + 1]])
      return pair;
  }
  return &g_array_index(m->charging, LoomCharging, 0);
}

/* Parts of the pack's kind, named; and the stock's besides, numbered. New, of strings. */
static GPtrArray *
name_packs(const LoomMaking *m, const LoomKind *kind)
{
  GPtrArray *names = g_ptr_array_new_with_free_func(g_free);
  guint wanted = m->options->day.n_packs;
  for (guint i = 0; i < loom_design_n_parts(m->design); i++)
    if (g_str_equal(loom_design_part(m->design, i)->kind->id, kind->id))
      g_ptr_array_add(names, g_strdup(loom_design_part(m->design, i)->designation));
  if (wanted == 0)
    wanted = MAX(names->len, loom_stock_count(m->options->stock, kind->id));
  for (guint i = names->len; i < wanted; i++)
    g_ptr_array_add(names, g_strdup_printf(_("spare %u"), i + 1));
  return names;
}

static LoomRota *
plan_day(const LoomMaking *m, const LoomCharging *pair)
{
  const LoomEventDay *asked = &m->options->day;
  const LoomKind *pack = loom_design_part(m->design, pair->pack)->kind;
  g_autoptr(GPtrArray) names = name_packs(m, pack);
  g_autoptr(GPtrArray) chargers = g_ptr_array_new(), charger_names = g_ptr_array_new();
  for (guint i = 0; i < m->charging->len; i++) {
    const LoomCharging *other = &g_array_index(m->charging, LoomCharging, i);
    const LoomPart *charger = loom_design_part(m->design, other->charger);
    if (other->pack != pair->pack)
      continue;
    g_ptr_array_add(chargers, charger->kind);
    g_ptr_array_add(charger_names, charger->designation);
  }
  LoomRotaDay day;
  loom_rota_day_init(&day, pack);
  day.n_packs = day.n_full = MIN(names->len, asked->n_packs ? asked->n_packs : names->len);
  day.names = (const char *const *)names->pdata;
  day.chargers = (const LoomKind *const *)chargers->pdata;
  day.charger_names = (const char *const *)charger_names->pdata;
  day.n_chargers = chargers->len;
  day.used = loom_solved_share_used(m->wiring);
  loom_rota_day_every(&day, asked->first_min, asked->every_min, asked->n_outings, asked->minutes);
  LoomRota *rota = loom_rota_new(&day);
  loom_rota_day_clear(&day);
  return rota;
}

static void
list_sentences(LoomMaking *m, char **sentences, const char *mark)
{
  for (char **s = sentences; s && *s; s++)
    loom_scroll_item(m->scroll, mark, *s);
}

static void
event_day(LoomMaking *m)
{
  if (m->options->day.n_outings == 0)
    return;
  g_autoptr(LoomRota) rota = plan_day(m, day_pair(m));
  g_autofree char *first = loom_rota_clock(m->options->day.first_min);
  g_autofree char *text =
      g_strdup_printf(_("For %u outings, the first at %s, then every %u minutes. All packs are "
                        "full in the morning. "
                        "Print these pages anew when the event's times are known."),
                      m->options->day.n_outings, first, m->options->day.every_min);
  loom_scroll_section(m->scroll, _("Rota of the day"));
  loom_scroll_text(m->scroll, LOOM_TEXT_BODY, text);
  if (rota->conflicts && *rota->conflicts) {
    loom_scroll_frame_begin(m->scroll, true);
    list_sentences(m, rota->conflicts, "•");
    loom_scroll_frame_end(m->scroll);
  }
  loom_scroll_figure(m->scroll, loom_chart_rota(rota, loom_scroll_width_mm(m->scroll)));
  list_sentences(m, rota->notes, "•");
  g_auto(GStrv) sentences = loom_rota_sentences(rota);
  list_sentences(m, sentences, NULL);
}

static void
log_sheet(LoomMaking *m)
{
  LoomColumn columns[] = {{"", 9, 0, true},
                          {_("pack"), 18, 0, false},
                          {_("outing"), 20, 0, false},
                          {_("volts before"), 24, 0, false},
                          {_("volts after"), 24, 0, false},
                          {_("on charger from, to"), 0, 1, false},
                          {_("warm, swollen, damaged?"), 0, 1, false},
                          {_("who"), 17, 0, false}};
  loom_scroll_section(m->scroll, _("Pack log"));
  loom_scroll_text(
      m->scroll, LOOM_TEXT_BODY,
      _("One line each time a pack comes off the charger. Volts after a rest of ten minutes."));
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  loom_table_least_height(table, 26);
  for (guint i = 0; i < LOG_ROWS; i++)
    for (guint c = 0; c < G_N_ELEMENTS(columns); c++)
      if (c == 0)
        loom_table_textf(table, "%u", i + 1);
      else
        loom_table_blank(table);
  loom_table_end(table);
}

void
loom_book_charging(LoomMaking *m)
{
  cautions(m);
  for (guint i = 0; i < m->charging->len; i++)
    if (is_first_of_scene(m, i))
      charging_scene(m, g_array_index(m->charging, LoomCharging, i).scene);
  charge_times(m);
  event_day(m);
  log_sheet(m);
}
