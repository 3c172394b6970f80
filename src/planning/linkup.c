#include "linkup-private.h"

#include "electric/conductor.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

char *
loom_linkup_sentence(const char *name_a, const char *name_b, const char *reason)
{
  return g_strdup_printf(_("%s and %s do not mate. %s"), name_a, name_b, reason);
}

char *
loom_linkup_counterpart(const LoomEnd *end)
{
  LoomGender gender = end->gender;
  if (gender == LOOM_GENDER_PINS)
    gender = LOOM_GENDER_SOCKETS;
  else if (gender == LOOM_GENDER_SOCKETS)
    gender = LOOM_GENDER_PINS;
  if (gender == LOOM_GENDER_TERMINAL)
    return g_strdup_printf(_("what goes with “%s”"), end->family->name);
  return g_strdup_printf(_("“%s” with %s"), end->family->name, _(loom_gender_label(gender)));
}

static LoomEnd *
end_of(const LoomDesign *design, guint part, guint end)
{
  return &loom_design_part(design, part)->kind->ends[end];
}

static char *
name_of(const LoomDesign *design, guint part, guint end)
{
  const LoomPart *p = loom_design_part(design, part);
  return g_strdup_printf("%s:%s", p->designation, p->kind->ends[end].id);
}

static LoomMate
mate_of(const LoomEnd *a, const LoomEnd *b, bool same)
{
  LoomEnd twin = *b; /* two parts of one kind share the record of their end */
  return same ? LOOM_MATE_SAME_END : loom_mate(a, &twin);
}

/* Contacts of the two ends as they would meet when plugged directly. */
static LoomFitting
meet(const LoomLinkupCase *c)
{
  guint64 ways[LOOM_MOST_WAYS];
  guint n = MIN(c->a->n_contacts, LOOM_MOST_WAYS);
  for (guint i = 0; i < n; i++)
    ways[i] = G_GUINT64_CONSTANT(1) << (c->a->contacts[i].way - 1);
  return loom_meanings_compare(c->means_a, ways, n, c->b, c->means_b);
}

static char *
why_not(const LoomLinkupCase *c)
{
  const LoomLinkupQuestion *q = c->question;
  LoomMate mate = mate_of(c->a, c->b, q->part_a == q->part_b && q->end_a == q->end_b);
  if (mate != LOOM_MATE_YES) {
    g_autofree char *reason = loom_mate_why(mate, c->a, c->b);
    return loom_linkup_sentence(c->name_a, c->name_b, reason);
  }
  LoomFitting fitting = meet(c);
  if (fitting == LOOM_CLASHES)
    return g_strdup_printf(
        _("%s and %s fit into each other, but their contacts must not meet: plus, "
          "minus and signals do not lie at the same places."),
        c->name_a, c->name_b);
  if (fitting == LOOM_FITS_PARTLY)
    return g_strdup_printf(_("%s and %s fit into each other, but something that both need is not "
                             "joined that way."),
                           c->name_a, c->name_b);
  return NULL;
}

static void
find_live_side(LoomLinkupCase *c)
{
  const LoomLinkupQuestion *q = c->question;
  LoomFed a = loom_meanings_fed(c->meanings, q->part_a, q->end_a);
  LoomFed b = loom_meanings_fed(c->meanings, q->part_b, q->end_b);
  bool live_a = a.live && !(a.charger && b.live), live_b = b.live && !(b.charger && a.live);
  c->both_supply = a.fed && b.fed && a.charger == b.charger;
  c->live = LOOM_LIVE_NEITHER;
  if (live_a != live_b)
    c->live = live_a ? LOOM_LIVE_FIRST : LOOM_LIVE_SECOND;
}

static GHashTable *
count_used(const LoomDesign *design)
{
  GHashTable *used = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint i = 0; i < loom_design_n_parts(design); i++) {
    char *id = loom_design_part(design, i)->kind->id;
    guint n = GPOINTER_TO_UINT(g_hash_table_lookup(used, id));
    g_hash_table_insert(used, id, GUINT_TO_POINTER(n + 1));
  }
  return used;
}

static void
case_init(LoomLinkupCase *c, const LoomPieces *pieces, const LoomDesign *design,
          const LoomStock *stock, const LoomLinkupQuestion *q)
{
  *c = (LoomLinkupCase){.pieces = pieces, .design = design, .stock = stock, .question = q};
  c->meanings = loom_meanings_new(design, q->scene);
  c->a = end_of(design, q->part_a, q->end_a);
  c->b = end_of(design, q->part_b, q->end_b);
  loom_meanings_of_end(c->meanings, q->part_a, q->end_a, c->means_a);
  loom_meanings_of_end(c->meanings, q->part_b, q->end_b, c->means_b);
  find_live_side(c);
  c->used = count_used(design);
  c->name_a = name_of(design, q->part_a, q->end_a);
  c->name_b = name_of(design, q->part_b, q->end_b);
}

static void
case_clear(LoomLinkupCase *c)
{
  loom_meanings_free(c->meanings);
  g_hash_table_unref(c->used);
  g_free(c->name_a);
  g_free(c->name_b);
}

static void append_caution(GString *text, const char *format, ...) G_GNUC_PRINTF(2, 3);

static void
append_caution(GString *text, const char *format, ...)
{
  if (text->len > 0)
    g_string_append_c(text, ' ');
  va_list arguments;
  va_start(arguments, format);
  g_string_append_vprintf(text, format, arguments);
  va_end(arguments);
}

static char *
caution_of(const LoomLinkupCase *c, const LoomLinkupAnswer *answer)
{
  g_autoptr(GString) text = g_string_new(NULL);
  if (c->both_supply)
    append_caution(text, _("Both sides supply: joined, they work against each other."));
  if (answer->live_pins > 0)
    append_caution(text,
                   _("Live pins at %u of its joints when open: unplug at the pack first, and "
                     "plug there last."),
                   answer->live_pins);
  if (answer->open_ends > 0)
    append_caution(
        text,
        ngettext("%u end stays open: cap it.", "%u ends stay open: cap them.", answer->open_ends),
        answer->open_ends);
  if (!answer->enough) {
    append_caution(text, _("Too weak: it carries %.3g A, and %.3g A are to flow."),
                   answer->rating_A, c->question->current_A);
    append_caution(text, "%s", _("Take it only for want of a stronger one."));
  }
  if (answer->type == LOOM_ANSWER_MAKE)
    append_caution(text, _("Have a second person look at + and − before it is plugged."));
  return text->len > 0 ? g_string_free(g_steal_pointer(&text), FALSE) : NULL;
}

/* Counts the joint between two ends of the answer. */
static double
add_joint(const LoomLinkupCase *c, LoomLinkupAnswer *answer, const LoomEnd *first,
          const LoomEnd *second)
{
  answer->n_joints++;
  answer->live_pins += loom_link_live_pins(first, second, c->live);
  answer->resistance_ohm += loom_link_joint_ohm(first, second);
  double rated_A = loom_joint_rated_A(first, second);
  answer->rating_A = fmin(answer->rating_A, rated_A > 0 ? rated_A : INFINITY);
  return rated_A;
}

void
loom_linkup_sum_up(const LoomLinkupCase *c, LoomLinkupAnswer *answer)
{
  answer->rating_A = INFINITY;
  const LoomEnd *open = c->a;
  for (guint i = 0; i < answer->n_pieces; i++) {
    LoomLinkupPiece *piece = &answer->pieces[i];
    const LoomEnd *in = &piece->kind->ends[piece->in];
    double rated_A = add_joint(c, answer, open, in);
    answer->rating_A = fmin(answer->rating_A, piece->rating_A);
    answer->resistance_ohm += piece->resistance_ohm;
    piece->rating_A = fmin(piece->rating_A, rated_A > 0 ? rated_A : NAN);
    piece->resistance_ohm += loom_link_joint_ohm(open, in);
    answer->open_ends += piece->kind->n_ends - 2;
    answer->to_buy += !piece->in_stock;
    answer->price += piece->in_stock || isnan(piece->price) ? 0 : piece->price;
    open = &piece->kind->ends[piece->out];
  }
  add_joint(c, answer, open, c->b);
  loom_linkup_finish(c, answer);
}

void
loom_linkup_finish(const LoomLinkupCase *c, LoomLinkupAnswer *answer)
{
  double current_A = fabs(c->question->current_A);
  answer->current_A = current_A;
  answer->enough = isnan(current_A) || current_A <= answer->rating_A;
  answer->caution = caution_of(c, answer);
}

static char *
chain_sentence(const LoomLinkupCase *c, const LoomLinkupAnswer *answer)
{
  g_autoptr(GString) text = g_string_new(NULL);
  g_string_printf(text, _("From %s to %s:"), c->name_a, c->name_b);
  for (guint i = 0; i < answer->n_pieces; i++) {
    const LoomLinkupPiece *piece = &answer->pieces[i];
    g_string_append_printf(text, _("%s %s (%s, end %s first)"), i ? _(", then") : "",
                           piece->kind->name, piece->in_stock ? _("in stock") : _("to buy"),
                           piece->kind->ends[piece->in].id);
  }
  g_string_append_c(text, '.');
  return g_string_free(g_steal_pointer(&text), FALSE);
}

/* What is left of a wire's rating at the ambient temperature of the design. */
static double
heat_factor(const LoomLinkupCase *c)
{
  double hot = loom_ambient_factor(loom_design_title(c->design)->ambient_C);
  return isnan(hot) ? 1 : hot;
}

static LoomLinkupAnswer
chain_answer(const LoomLinkupCase *c, const LoomChain *chain)
{
  LoomLinkupAnswer answer = {.type = LOOM_ANSWER_CHAIN, .n_pieces = chain->n_pieces};
  answer.pieces = g_new0(LoomLinkupPiece, chain->n_pieces);
  for (guint i = 0; i < chain->n_pieces; i++) {
    const LoomPiece *piece = chain->pieces[i];
    answer.pieces[i] = (LoomLinkupPiece){.kind = loom_kind_ref(piece->kind),
                                         .in = piece->in,
                                         .out = piece->out,
                                         .turned = piece->in > piece->out,
                                         .in_stock = chain->in_stock[i],
                                         .rating_A = piece->rating_A * heat_factor(c),
                                         .resistance_ohm = 2 * piece->ohm,
                                         .price = loom_piece_price(c->stock, piece->kind)};
  }
  loom_linkup_sum_up(c, &answer);
  answer.sentence = chain_sentence(c, &answer);
  return answer;
}

static guint
add_chains(const LoomLinkupCase *c, GArray *answers)
{
  LoomChain chains[LOOM_LINKUP_BEST];
  g_autoptr(LoomSearch) search = loom_search_new(c->pieces, c->a, c->means_a);
  LoomSearchGoal goal = {
      c->b, c->means_b, c->live, c->stock, c->used, fabs(c->question->current_A), heat_factor(c)};
  guint n = loom_search_best(search, &goal, chains, LOOM_LINKUP_BEST);
  for (guint i = 0; i < n; i++) {
    LoomLinkupAnswer answer = chain_answer(c, &chains[i]);
    g_array_append_val(answers, answer);
  }
  return n;
}

static void
add_plug(const LoomLinkupCase *c, GArray *answers)
{
  LoomLinkupAnswer answer = {.type = LOOM_ANSWER_PLUG};
  loom_linkup_sum_up(c, &answer);
  answer.sentence = g_strdup_printf(_("Plug %s into %s: they mate."), c->name_a, c->name_b);
  g_array_append_val(answers, answer);
}

/* What would have to exist, and what can be done instead. */
static char *
nothing_sentence(const LoomLinkupCase *c, bool made)
{
  g_autofree char *a = loom_linkup_counterpart(c->a), *b = loom_linkup_counterpart(c->b);
  return g_strdup_printf(
      _("No leads and adaptors of the catalogue join %s and %s: there would have to "
        "be a lead with %s at one end and %s at the other%s."),
      c->name_a, c->name_b, a, b, made ? _("; it can be made up") : "");
}

/* What is too weak goes behind everything that is strong enough. */
static void
strong_first(GArray *answers)
{
  guint at = 0;
  for (guint i = 0; i < answers->len; i++) {
    LoomLinkupAnswer answer = g_array_index(answers, LoomLinkupAnswer, i);
    if (!answer.enough)
      continue;
    g_array_remove_index(answers, i);
    g_array_insert_val(answers, at++, answer);
  }
}

static void
find_answers(const LoomLinkupCase *c, LoomLinkup *linkup, GArray *answers)
{
  const LoomLinkupQuestion *q = c->question;
  if (q->part_a == q->part_b && q->end_a == q->end_b)
    return;
  if (!linkup->why) {
    add_plug(c, answers);
    return;
  }
  LoomLinkupAnswer answer;
  if (loom_linkup_turn(c, &answer))
    g_array_append_val(answers, answer);
  guint chains = add_chains(c, answers);
  bool made = loom_linkup_make(c, &answer);
  if (made)
    g_array_append_val(answers, answer);
  strong_first(answers);
  if (chains == 0)
    linkup->nothing = nothing_sentence(c, made);
}

LoomLinkup *
loom_linkup_new(const LoomPieces *pieces, const LoomDesign *design, const LoomStock *stock,
                const LoomLinkupQuestion *question)
{
  LoomLinkupCase c;
  case_init(&c, pieces, design, stock, question);
  LoomLinkup *linkup = g_new0(LoomLinkup, 1);
  linkup->end_a = g_strdup(c.name_a);
  linkup->end_b = g_strdup(c.name_b);
  linkup->why = why_not(&c);
  GArray *answers = g_array_new(FALSE, FALSE, sizeof(LoomLinkupAnswer));
  find_answers(&c, linkup, answers);
  linkup->n_answers = answers->len;
  linkup->answers = (LoomLinkupAnswer *)g_array_free(answers, FALSE);
  case_clear(&c);
  return linkup;
}

static void
answer_clear(LoomLinkupAnswer *answer)
{
  for (guint i = 0; i < answer->n_pieces; i++)
    loom_kind_unref(answer->pieces[i].kind);
  g_free(answer->pieces);
  g_free(answer->lead);
  g_free(answer->sentence);
  g_free(answer->caution);
  g_strfreev(answer->crimps);
}

void
loom_linkup_free(LoomLinkup *linkup)
{
  if (!linkup)
    return;
  for (guint i = 0; i < linkup->n_answers; i++)
    answer_clear(&linkup->answers[i]);
  g_free(linkup->answers);
  g_free(linkup->end_a);
  g_free(linkup->end_b);
  g_free(linkup->why);
  g_free(linkup->nothing);
  g_free(linkup);
}

/* Why an end takes nothing more in the scene, or NULL. New. */
static char *
taken_sentence(const LoomMeanings *m, guint part, guint end)
{
  const LoomWiring *w = loom_meanings_wiring(m);
  const LoomEnd *e = &loom_wiring_part(w, part)->kind->ends[end];
  if (loom_wiring_n_joints_at(w, part, end) < MAX(e->family->places, 1))
    return NULL;
  guint at = loom_wiring_end(w, part, end);
  const LoomWiredJoint *j = &w->joints[w->end_joints[w->end_first[at]]];
  bool first = j->part_a == part && j->end_a == end;
  g_autofree char *name = loom_wiring_end_name(w, part, end);
  g_autofree char *other = first ? loom_wiring_end_name(w, j->part_b, j->end_b)
                                 : loom_wiring_end_name(w, j->part_a, j->end_a);
  return g_strdup_printf(_("%s is taken: %s is plugged there."), name, other);
}

char *
loom_linkup_why(const LoomDesign *design, guint scene, guint part_a, guint end_a, guint part_b,
                guint end_b)
{
  LoomLinkupQuestion q = {scene, part_a, end_a, part_b, end_b, NAN};
  LoomLinkupCase c;
  case_init(&c, NULL, design, NULL, &q);
  char *why = why_not(&c);
  if (!why)
    why = taken_sentence(c.meanings, part_a, end_a);
  if (!why)
    why = taken_sentence(c.meanings, part_b, end_b);
  case_clear(&c);
  return why;
}
