#include "canvas-private.h"

#include "beside.h"
#include "describe.h"
#include "scenes.h"

#include <glib/gi18n-lib.h>

#define MOST_ON_BENCH 6

/* What the popover shows: ends of the bench that mate (keys 0 ... n - 1), then offers of the
 * catalogue; or the answers of a link-up. */
struct LoomOffering {
  guint64 revision; /* of the design when it was opened */
  guint part, end;
  char *name;       /* "G1:out" */
  GPtrArray *bench; /* names of ends */
  LoomOffers *offers;
  LoomLinkup *linkup;
  guint part_b, end_b;
  GPtrArray *kinds; /* LoomKind that may take the part's place */
  bool in_open;     /* put where the pointer was, not beside the end */
  LoomPoint at;
};

void
loom_offering_free(LoomOffering *offering)
{
  if (!offering)
    return;
  g_free(offering->name);
  g_clear_pointer(&offering->bench, g_ptr_array_unref);
  g_clear_pointer(&offering->offers, loom_offers_free);
  g_clear_pointer(&offering->linkup, loom_linkup_free);
  g_clear_pointer(&offering->kinds, g_ptr_array_unref);
  g_free(offering);
}

static LoomOffering *
renew_offering(LoomCanvas *self, guint part, guint end)
{
  g_clear_pointer(&self->offering, loom_offering_free);
  LoomOffering *offering = g_new0(LoomOffering, 1);
  offering->revision = loom_design_revision(loom_document_design(self->document));
  offering->part = part;
  offering->end = end;
  offering->name = loom_canvas_part(self, part)->kind->n_ends
                       ? loom_canvas_end_name(self, part, end)
                       : g_strdup(loom_canvas_part(self, part)->designation);
  offering->bench = g_ptr_array_new_with_free_func(g_free);
  self->offering = offering;
  return offering;
}

/* Free ends of the bench that mate, nearest first. */

typedef struct {
  const LoomPlacedEnd *end;
  double distance;
} Near;

static int
compare_near(gconstpointer a, gconstpointer b)
{
  double x = ((const Near *)a)->distance, y = ((const Near *)b)->distance;
  return (x > y) - (x < y);
}

static void
add_bench_ends(LoomCanvas *self, LoomOffering *offering)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  const LoomPlacedEnd *from = loom_sheet_end(sheet, offering->part, offering->end);
  g_autoptr(LoomRings) rings =
      loom_linkup_rings(loom_document_pieces(self->document), sheet->design,
                        loom_document_scene(self->document), offering->part, offering->end);
  g_autoptr(GArray) near = g_array_new(FALSE, FALSE, sizeof(Near));
  for (guint i = 0; i < sheet->n_ends; i++) {
    const LoomPlacedEnd *e = &sheet->ends[i];
    Near n = {e, hypot(e->at.x - from->at.x, e->at.y - from->at.y)};
    if (rings->ends[rings->part_end[e->part] + e->end].answer == LOOM_RING_MATES &&
        e->part != offering->part)
      g_array_append_val(near, n);
  }
  g_array_sort(near, compare_near);
  for (guint i = 0; i < MIN(near->len, MOST_ON_BENCH); i++) {
    const LoomPlacedEnd *e = g_array_index(near, Near, i).end;
    const LoomPart *part = loom_canvas_part(self, e->part);
    char *name = loom_canvas_end_name(self, e->part, e->end);
    loom_offers_popover_add(self->popover, offering->bench->len, _("On the bench"), part->kind,
                            name, part->label ? part->label : part->kind->name);
    g_ptr_array_add(offering->bench, name);
  }
}

static const char *
offer_heading(LoomSuits suits)
{
  return suits == LOOM_SUITS_WELL    ? _("From the shelf")
         : suits == LOOM_SUITS_MATES ? _("Also mates")
                                     : _("Would join two supplies");
}

static void
add_offers(LoomCanvas *self, LoomOffering *offering, LoomOfferWhat what)
{
  offering->offers =
      loom_offers_new(loom_document_catalogue(self->document), loom_document_design(self->document),
                      loom_document_scene(self->document), offering->part, offering->end, what);
  for (guint i = 0; i < offering->offers->n_offers; i++) {
    const LoomOffer *offer = &offering->offers->offers[i];
    loom_offers_popover_add(self->popover, offering->bench->len + i, offer_heading(offer->suits),
                            offer->kind, offer->label, NULL);
  }
}

static void
open_at(LoomCanvas *self, LoomRect rect_mm)
{
  LoomPoint corner = loom_canvas_from_sheet(self, (LoomPoint){rect_mm.x, rect_mm.y});
  GdkRectangle at = {(int)corner.x, (int)corner.y, MAX(1, (int)(rect_mm.width * self->scale)),
                     MAX(1, (int)(rect_mm.height * self->scale))};
  loom_offers_popover_open(self->popover, &at);
  loom_events_say(loom_document_events(self->document), "offers %s %u", self->offering->name,
                  loom_offers_popover_n_rows(self->popover));
}

static void
offer_at(LoomCanvas *self, LoomOffering *offering, LoomOfferWhat what, LoomRect rect)
{
  g_autofree char *title = g_strdup_printf(_("What plugs into %s"), offering->name);
  const LoomEnd *end = &loom_canvas_part(self, offering->part)->kind->ends[offering->end];
  g_autofree char *about =
      g_strdup_printf(_("It has %s: %s."), _(loom_gender_label(end->gender)), end->family->name);
  loom_offers_popover_begin(self->popover, title, about);
  add_bench_ends(self, offering);
  add_offers(self, offering, what);
  if (loom_offers_popover_n_rows(self->popover) == 0)
    loom_offers_popover_begin(self->popover, title,
                              _("The catalogue has nothing that plugs in here. Your team's own "
                                "catalogue can add it."));
  open_at(self, rect);
}

void
loom_canvas_offer(LoomCanvas *self, const char *designation, const char *end_id)
{
  const LoomDesign *design = loom_document_design(self->document);
  guint part = loom_design_find_part(design, designation);
  guint end = part == LOOM_NONE ? LOOM_NONE
                                : loom_kind_find_end(loom_design_part(design, part)->kind, end_id);
  if (end == LOOM_NONE)
    return;
  guint scene = loom_document_scene(self->document);
  if (!loom_scenes_places_left(design, scene, part, end)) {
    g_autofree char *state = loom_describe_end_state(design, scene, part, end);
    g_autofree char *told = g_strdup_printf(_("%s:%s is %s."), designation, end_id, state);
    loom_canvas_tell(self, told);
    return;
  }
  loom_canvas_reveal(self, designation, end_id);
  LoomOffering *offering = renew_offering(self, part, end);
  offer_at(self, offering, LOOM_OFFER_ALL,
           loom_sheet_end(loom_document_sheet(self->document), part, end)->box);
}

void
loom_canvas_offer_in_open(LoomCanvas *self, guint part, guint end, LoomPoint at)
{
  LoomOffering *offering = renew_offering(self, part, end);
  offering->in_open = true;
  offering->at = at;
  offer_at(self, offering, LOOM_OFFER_LEADS, (LoomRect){at.x, at.y, 0, 0});
}

/* Ends that do not mate: why, and what would join them. */

/* "Adaptor ..., then Extension ...": shorter than the sentence, which names both ends again. */
static char *
answer_label(const LoomLinkupAnswer *answer)
{
  if (answer->type != LOOM_ANSWER_CHAIN)
    return g_strdup(answer->sentence);
  g_autoptr(GString) text = g_string_new(NULL);
  for (guint i = 0; i < answer->n_pieces; i++)
    g_string_append_printf(text, "%s%s", i ? _(", then ") : "", answer->pieces[i].kind->name);
  return g_strdup(text->str);
}

static char *
answer_detail(const LoomLinkupAnswer *answer, bool has_stock)
{
  g_autoptr(GString) text = g_string_new(answer->caution);
  if (answer->enough && !isinf(answer->rating_A)) {
    g_autofree char *carries = isnan(answer->current_A)
                                   ? g_strdup_printf(_("Carries %.3g A."), answer->rating_A)
                                   : g_strdup_printf(_("Carries %.3g A; %.3g A are to flow."),
                                                     answer->rating_A, answer->current_A);
    g_string_append_printf(text, "%s%s", text->len ? " " : "", carries);
  }
  if (answer->type == LOOM_ANSWER_CHAIN && has_stock) {
    g_autofree char *buy = answer->to_buy ? g_strdup_printf(_("%u to buy."), answer->to_buy)
                                          : g_strdup(_("All in your boxes."));
    g_string_append_printf(text, "%s%s", text->len ? " " : "", buy);
  }
  for (guint i = 0; i < answer->n_crimps; i++)
    g_string_append_printf(text, "\n%u. %s", i + 1, answer->crimps[i]);
  return text->len ? g_strdup(text->str) : NULL;
}

static void
add_answers(LoomCanvas *self, const LoomLinkup *linkup, bool has_stock)
{
  for (guint i = 0; i < linkup->n_answers; i++) {
    const LoomLinkupAnswer *answer = &linkup->answers[i];
    g_autofree char *label = answer_label(answer);
    g_autofree char *detail = answer_detail(answer, has_stock);
    loom_offers_popover_add(self->popover, i, _("Links them up"),
                            answer->n_pieces ? answer->pieces[0].kind : NULL, label, detail);
  }
}

/* The team's boxes; NULL where nobody has counted any. */
static LoomStock *
read_stock(void)
{
  g_autofree char *path = loom_stock_default_path();
  g_autoptr(LoomStock) stock = loom_stock_open(path, NULL);
  return stock && loom_stock_n_rows(stock) ? g_steal_pointer(&stock) : NULL;
}

void
loom_canvas_explain(LoomCanvas *self, guint part_a, guint end_a, guint part_b, guint end_b)
{
  const LoomDesign *design = loom_document_design(self->document);
  guint scene = loom_document_scene(self->document);
  LoomOffering *offering = renew_offering(self, part_a, end_a);
  offering->part_b = part_b;
  offering->end_b = end_b;
  g_autofree char *other = loom_canvas_end_name(self, part_b, end_b);
  g_autofree char *title = g_strdup_printf(_("%s and %s"), offering->name, other);
  g_autofree char *why = loom_linkup_why(design, scene, part_a, end_a, part_b, end_b);
  bool both_free = loom_scenes_places_left(design, scene, part_a, end_a) &&
                   loom_scenes_places_left(design, scene, part_b, end_b);
  LoomLinkupQuestion question = {scene, part_a, end_a, part_b, end_b, NAN};
  g_autoptr(LoomStock) stock = read_stock();
  if (both_free)
    offering->linkup =
        loom_linkup_solved_new(loom_document_pieces(self->document), design, stock, &question);
  const char *nothing = offering->linkup ? offering->linkup->nothing : NULL;
  g_autofree char *sentence =
      g_strdup_printf("%s%s%s", why ? why : "", nothing ? " " : "", nothing ? nothing : "");
  loom_offers_popover_begin(self->popover, title, sentence);
  if (offering->linkup)
    add_answers(self, offering->linkup, stock != NULL);
  loom_events_say(loom_document_events(self->document), "explained %s", sentence);
  open_at(self, loom_sheet_end(loom_document_sheet(self->document), part_b, end_b)->box);
}

/* Another kind for a part: those for the same purpose. */

void
loom_canvas_offer_swap(LoomCanvas *self, const char *designation)
{
  guint n, part = loom_design_find_part(loom_document_design(self->document), designation);
  if (part == LOOM_NONE)
    return;
  const LoomKind *own = loom_canvas_part(self, part)->kind;
  const LoomKind *const *kinds = loom_catalogue_kinds(loom_document_catalogue(self->document), &n);
  LoomOffering *offering = renew_offering(self, part, 0);
  offering->kinds = g_ptr_array_new_with_free_func((GDestroyNotify)loom_kind_unref);
  g_autofree char *title = g_strdup_printf(_("In place of %s"), designation);
  loom_offers_popover_begin(self->popover, title,
                            _("Joints stay where the other kind has the same end."));
  for (guint i = 0; i < n; i++) {
    if (kinds[i]->group != own->group || g_str_equal(kinds[i]->id, own->id))
      continue;
    loom_offers_popover_add(self->popover, offering->kinds->len, NULL, kinds[i], kinds[i]->name,
                            NULL);
    g_ptr_array_add(offering->kinds, loom_kind_ref(kinds[i]));
  }
  loom_canvas_reveal(self, designation, NULL);
  open_at(self, loom_document_sheet(self->document)->parts[part].outline);
}

/* Taking a row. */

static void
choose_next_free_end(LoomCanvas *self, const char *designation)
{
  const LoomDesign *design = loom_document_design(self->document);
  guint part = loom_design_find_part(design, designation);
  const LoomKind *kind = loom_design_part(design, part)->kind;
  guint free_end = LOOM_NONE;
  for (guint i = kind->n_ends; i-- > 0;)
    if (loom_scenes_places_left(design, loom_document_scene(self->document), part, i))
      free_end = i;
  loom_choice_set_part(self->choice, designation,
                       free_end == LOOM_NONE ? NULL : kind->ends[free_end].id);
  loom_canvas_show_new(self, designation);
  loom_canvas_take_focus(self);
}

/* What taking a row does, and what is said of it. Strings are owned. */
typedef struct {
  LoomEdit *edit; /* NULL: it cannot be done, `told` says why */
  char *told;
  char *placed; /* designation whose next free end is chosen afterwards, or NULL */
} Taking;

static void
refuse(Taking *taking, LoomEdit *edit, const GError *error)
{
  loom_edit_free(edit);
  taking->told = g_strdup(error->message);
}

static void
edit_kind(LoomCanvas *self, const LoomOffering *offering, const LoomKind *kind, Taking *taking)
{
  const char *designation = loom_canvas_part(self, offering->part)->designation;
  g_autofree char *label = g_strdup_printf(_("Swap %s"), designation);
  LoomEdit *edit = loom_document_edit(self->document, label);
  g_autoptr(GError) error = NULL;
  taking->edit = loom_edit_set_kind(edit, designation, kind, &error) ? edit : NULL;
  if (taking->edit)
    taking->told = g_strdup_printf(_("%s is now: %s."), designation, kind->name);
  else
    refuse(taking, edit, error);
}

static void
edit_offer(LoomCanvas *self, const LoomOffering *offering, const LoomOffer *offer, Taking *taking)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  const LoomPlacedEnd *end = loom_sheet_end(sheet, offering->part, offering->end);
  LoomPlacing at = offering->in_open
                       ? loom_beside_point(sheet, offer, offering->at, end->dx, end->dy)
                       : loom_beside_end(sheet, offering->part, offering->end, offer);
  g_autofree char *label = g_strdup_printf(_("Add %s to %s"), offer->kind->name, offering->name);
  LoomEdit *edit = loom_document_edit(self->document, label);
  const char *room[2];
  const char *const *scenes =
      loom_scenes_for(sheet->design, loom_document_scene(self->document), room);
  g_autoptr(GError) error = NULL;
  taking->placed = g_strdup(loom_offer_place(edit, offer, offering->name, &at, scenes, &error));
  taking->edit = taking->placed ? edit : NULL;
  if (taking->placed)
    taking->told =
        g_strdup_printf(_("Placed %s, plugged into %s."), taking->placed, offering->name);
  else
    refuse(taking, edit, error);
}

static void
edit_bench_end(LoomCanvas *self, const LoomOffering *offering, const char *other, Taking *taking)
{
  g_autofree char *label = g_strdup_printf(_("Plug %s into %s"), offering->name, other);
  LoomEdit *edit = loom_document_edit(self->document, label);
  guint scene = loom_document_scene(self->document);
  g_autoptr(GError) error = NULL;
  taking->edit = loom_scenes_plug(edit, scene, offering->name, other, &error) ? edit : NULL;
  if (taking->edit)
    taking->told = g_strdup_printf(_("Plugged %s into %s."), offering->name, other);
  else
    refuse(taking, edit, error);
}

static void
edit_answer(LoomCanvas *self, const LoomOffering *offering, guint index, Taking *taking)
{
  const LoomSheet *sheet = loom_document_sheet(self->document);
  const LoomLinkupAnswer *answer = &offering->linkup->answers[index];
  g_autofree char *label =
      g_strdup_printf(_("Link up %s and %s"), offering->linkup->end_a, offering->linkup->end_b);
  LoomEdit *edit = loom_document_edit(self->document, label);
  g_autofree LoomPlacing *at = loom_beside_chain(sheet, answer, offering->part, offering->end,
                                                 offering->part_b, offering->end_b);
  const char *room[2];
  const char *const *scenes =
      loom_scenes_for(sheet->design, loom_document_scene(self->document), room);
  g_autoptr(GError) error = NULL;
  bool done = loom_linkup_place(edit, offering->linkup, index, at, scenes, &error);
  taking->edit = done ? edit : NULL;
  if (done)
    taking->told = g_strdup(answer->sentence);
  else
    refuse(taking, edit, error);
}

/* The row as it is in the design that it was offered for; an empty taking where that has changed.
 */
static Taking
taking_of(LoomCanvas *self, const LoomOffering *offering, guint key)
{
  Taking taking = {NULL, NULL, NULL};
  if (offering->revision != loom_design_revision(loom_document_design(self->document)))
    return taking;
  if (offering->kinds)
    edit_kind(self, offering, g_ptr_array_index(offering->kinds, key), &taking);
  else if (offering->linkup)
    edit_answer(self, offering, key, &taking);
  else if (key < offering->bench->len)
    edit_bench_end(self, offering, g_ptr_array_index(offering->bench, key), &taking);
  else
    edit_offer(self, offering, &offering->offers->offers[key - offering->bench->len], &taking);
  return taking;
}

void
loom_canvas_take(LoomCanvas *self, guint key)
{
  g_autoptr(LoomOffering) offering = g_steal_pointer(&self->offering);
  loom_canvas_show_ghost(self, NULL);
  if (!offering)
    return;
  Taking taking = taking_of(self, offering, key);
  if (taking.edit)
    loom_canvas_apply(self, taking.edit, g_steal_pointer(&taking.told));
  else if (taking.told)
    loom_canvas_tell(self, taking.told);
  if (taking.edit && taking.placed)
    choose_next_free_end(self, taking.placed);
  else
    loom_canvas_take_focus(self);
  g_free(taking.told);
  g_free(taking.placed);
}

void
loom_canvas_point_at(LoomCanvas *self, guint key)
{
  Taking taking = {NULL, NULL, NULL};
  if (key != LOOM_NONE && self->offering)
    taking = taking_of(self, self->offering, key);
  bool shown = taking.edit != NULL;
  if (shown || self->ghost)
    loom_canvas_show_ghost(self, taking.edit);
  if (shown)
    loom_events_say(loom_document_events(self->document), "ghost %u", self->drag.moving->len);
  g_free(taking.told);
  g_free(taking.placed);
}
