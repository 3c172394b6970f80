#include "linkup-private.h"

#include "catalogue/colour.h"
#include "electric/conductor.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

#define MADE_LENGTH_MM 300 /* until somebody measures: the part's length can be set */

/* What is to be crimped on one end of the lead. */
typedef struct {
  const LoomFamily *family;
  LoomGender gender;
  double min_mm2, max_mm2;
} Crimp;

/* One wire of it. */
typedef struct {
  guint a, b; /* contacts of the two ends that it joins */
  const char *colour;
} MadeWire;

typedef struct {
  Crimp a, b;
  double mm2;
  guint n_wires;
  MadeWire wires[LOOM_MOST_WAYS];
} Made;

static bool
crimp_range(Crimp *crimp, const LoomFamily *terminal)
{
  crimp->min_mm2 = crimp->family->wire_min_mm2;
  crimp->max_mm2 = crimp->family->wire_max_mm2;
  if (terminal && terminal->wire_max_mm2 > 0) {
    bool known = crimp->max_mm2 > 0;
    crimp->min_mm2 = known ? MAX(crimp->min_mm2, terminal->wire_min_mm2) : terminal->wire_min_mm2;
    crimp->max_mm2 = known ? MIN(crimp->max_mm2, terminal->wire_max_mm2) : terminal->wire_max_mm2;
  }
  return crimp->max_mm2 > 0 && crimp->max_mm2 >= crimp->min_mm2;
}

/* What goes with the end and takes a wire; false where nobody crimps that by hand. */
static bool
find_crimp(const LoomLinkupCase *c, const LoomEnd *end, Crimp *crimp)
{
  *crimp = (Crimp){.family = end->family, .gender = end->gender};
  if (end->gender == LOOM_GENDER_PINS)
    crimp->gender = LOOM_GENDER_SOCKETS;
  else if (end->gender == LOOM_GENDER_SOCKETS)
    crimp->gender = LOOM_GENDER_PINS;
  if (end->gender != LOOM_GENDER_TERMINAL)
    return crimp_range(crimp, NULL);
  for (char **taken = end->family->accepts; taken && *taken; taken++) {
    crimp->family = g_hash_table_lookup(c->pieces->families, *taken);
    bool conductor = crimp->family && (crimp->family->shape == LOOM_SHAPE_RING ||
                                       crimp->family->shape == LOOM_SHAPE_CONDUCTOR);
    if (conductor && crimp_range(crimp, end->family))
      return true;
  }
  return false;
}

/* The thinnest size that carries what is asked, or else the thickest that goes in. 0: none. */
static double
choose_mm2(const LoomLinkupCase *c, const Made *made)
{
  double low = MAX(made->a.min_mm2, made->b.min_mm2), high = MIN(made->a.max_mm2, made->b.max_mm2);
  double need_A = fabs(c->question->current_A);
  if (isnan(need_A))
    need_A = fmin(loom_joint_rated_A(c->a, c->a), loom_joint_rated_A(c->b, c->b));
  double hot = loom_ambient_factor(loom_design_title(c->design)->ambient_C), chosen = 0;
  guint n;
  const double *sizes = loom_wire_sizes_mm2(&n);
  for (guint i = 0; i < n; i++) {
    if (sizes[i] < low * 0.999 || sizes[i] > high * 1.001)
      continue;
    chosen = sizes[i];
    if (loom_ampacity_A(chosen, NULL) * hot >= need_A)
      break;
  }
  return chosen;
}

static const char *
wire_colour(const LoomContact *contact, LoomMeaning means, guint index)
{
  static const char *const others[] = {"WH", "YE", "BU", "GN", "OG", "VT", "GY", "BN"};
  if (means == LOOM_MEANS_PLUS)
    return "RD";
  if (means == LOOM_MEANS_MINUS)
    return "BK";
  return contact->colour ? contact->colour : others[index % G_N_ELEMENTS(others)];
}

/* Joins contacts of equal meaning in order, then those that are left and may meet. */
static void
pair_contacts(const LoomLinkupCase *c, Made *made)
{
  bool done_a[LOOM_MOST_WAYS] = {false}, done_b[LOOM_MOST_WAYS] = {false};
  for (int pass = 0; pass < 2; pass++)
    for (guint i = 0; i < c->a->n_contacts; i++)
      for (guint j = 0; j < c->b->n_contacts && !done_a[i]; j++) {
        bool alike = c->means_a[i] == c->means_b[j] && c->means_a[i] != LOOM_MEANS_ANYTHING;
        bool may = !loom_meanings_clash(c->means_a[i], c->means_b[j]);
        if (done_b[j] || !(pass == 0 ? alike : may))
          continue;
        done_a[i] = done_b[j] = true;
        made->wires[made->n_wires] =
            (MadeWire){i, j, wire_colour(&c->a->contacts[i], c->means_a[i], made->n_wires)};
        made->n_wires++;
      }
}

static bool
wires_fit(const LoomLinkupCase *c, const Made *made)
{
  guint64 ways[LOOM_MOST_WAYS] = {0};
  for (guint i = 0; i < made->n_wires; i++)
    ways[made->wires[i].a] |= G_GUINT64_CONSTANT(1) << (c->b->contacts[made->wires[i].b].way - 1);
  return loom_meanings_compare(c->means_a, ways, c->a->n_contacts, c->b, c->means_b) == LOOM_FITS;
}

/* The id says everything, so that equal leads are of one kind. */
static char *
made_id(const LoomLinkupCase *c, const Made *made)
{
  g_autoptr(GString) id = g_string_new("made-");
  g_autofree char *mm2 = loom_number_to_text(made->mm2);
  g_string_append_printf(id, "%s-%s-%s-%s-%s", made->a.family->id, loom_gender_word(made->a.gender),
                         made->b.family->id, loom_gender_word(made->b.gender), mm2);
  for (guint i = 0; i < made->n_wires; i++)
    g_string_append_printf(id, "-%u.%u", c->a->contacts[made->wires[i].a].way,
                           c->b->contacts[made->wires[i].b].way);
  return g_string_free(g_steal_pointer(&id), FALSE);
}

static void
write_end(LoomXmlWriter *writer, const char *id, const Made *made, const Crimp *crimp,
          const LoomEnd *towards, const char *side)
{
  loom_xml_start(writer, "end");
  loom_xml_put_text(writer, "id", id);
  loom_xml_put_text(writer, "family", crimp->family->id);
  loom_xml_put_text(writer, "gender", loom_gender_word(crimp->gender));
  loom_xml_put_text(writer, "side", side);
  loom_xml_put_number(writer, "at_mm", 0);
  loom_xml_put_number(writer, "wire_mm2", made->mm2);
  for (guint i = 0; i < made->n_wires; i++) {
    const MadeWire *wire = &made->wires[i];
    const LoomContact *contact = &towards->contacts[*id == 'a' ? wire->a : wire->b];
    loom_xml_start(writer, "contact");
    loom_xml_put_number(writer, "way", contact->way);
    loom_xml_put_text(writer, "name", contact->name);
    loom_xml_put_text(writer, "role", "pass");
    loom_xml_put_text(writer, "colour", wire->colour);
    loom_xml_end(writer);
  }
  loom_xml_end(writer);
}

static void
write_wires(LoomXmlWriter *writer, const LoomLinkupCase *c, const Made *made)
{
  for (guint i = 0; i < made->n_wires; i++) {
    const MadeWire *wire = &made->wires[i];
    g_autofree char *a = g_strconcat("a:", c->a->contacts[wire->a].name, NULL);
    g_autofree char *b = g_strconcat("b:", c->b->contacts[wire->b].name, NULL);
    loom_xml_start(writer, "wire");
    loom_xml_put_text(writer, "a", a);
    loom_xml_put_text(writer, "b", b);
    loom_xml_put_number(writer, "mm2", made->mm2);
    loom_xml_put_text(writer, "colour", wire->colour);
    loom_xml_end(writer);
  }
}

static char *
write_kind(const LoomLinkupCase *c, const Made *made, const char *id)
{
  g_autofree char *size = loom_wire_size_text(made->mm2);
  g_autofree char *name = g_strdup_printf("Lead made to measure, %s to %s, %s",
                                          made->a.family->written, made->b.family->written, size);
  LoomXmlWriter *writer = loom_xml_writer_new();
  loom_xml_start(writer, "catalogue");
  loom_xml_put_text(writer, "xmlns", LOOM_CATALOGUE_NS);
  loom_xml_put_text(writer, "version", "1.0");
  loom_xml_start(writer, "kind");
  loom_xml_put_text(writer, "id", id);
  loom_xml_put_text(writer, "name", name);
  loom_xml_put_text(writer, "letter", "W");
  loom_xml_put_text(writer, "group", "lead");
  loom_xml_put_text(writer, "words", "made up crimp");
  loom_xml_put_number(writer, "rank", 9);
  loom_xml_put_text(writer, "lead", "yes");
  loom_xml_put_number(writer, "length_mm", MADE_LENGTH_MM);
  loom_xml_put_text(writer, "source", "made by the team");
  write_end(writer, "a", made, &made->a, c->a, "left");
  write_end(writer, "b", made, &made->b, c->b, "right");
  write_wires(writer, c, made);
  return loom_xml_writer_free_to_text(writer);
}

/* The kind of the lead, as a catalogue would have it. New. */
static LoomKind *
made_kind(const LoomLinkupCase *c, const Made *made)
{
  g_autofree char *id = made_id(c, made);
  g_autofree char *text = write_kind(c, made, id);
  g_autoptr(LoomCatalogue) shelf = loom_catalogue_new();
  loom_catalogue_add_family(shelf, made->a.family);
  loom_catalogue_add_family(shelf, made->b.family);
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomXml) xml =
      loom_xml_parse(text, strlen(text), "made", "catalogue", LOOM_CATALOGUE_NS, &error);
  if (!xml || !loom_catalogue_layer_node(shelf, xml, loom_xml_root(xml)))
    return NULL;
  return loom_kind_ref(loom_catalogue_kind(shelf, id));
}

static const char *
colour_name(const char *code)
{
  const LoomColour *colour = loom_colour(code);
  return colour ? _(colour->name) : code;
}

static char *
cut_sentence(const Made *made)
{
  g_autofree char *size = loom_wire_size_words(made->mm2);
  g_autoptr(GString) text = g_string_new(NULL);
  g_string_printf(
      text,
      ngettext("Cut %u wire of %s, as long as the way needs and a tenth more:",
               "Cut %u wires of %s, as long as the way needs and a tenth more:", made->n_wires),
      made->n_wires, size);
  for (guint i = 0; i < made->n_wires; i++)
    g_string_append_printf(text, "%s %s", i ? "," : "", colour_name(made->wires[i].colour));
  g_string_append_c(text, '.');
  return g_string_free(g_steal_pointer(&text), FALSE);
}

static char *
crimp_sentence(const Made *made, const Crimp *crimp, const LoomEnd *towards, bool first,
               const char *name)
{
  g_autoptr(GString) text = g_string_new(NULL);
  g_string_printf(text, _("At the end for %s: "), name);
  if (crimp->family->strip_mm > 0)
    g_string_append_printf(text, _("strip %g mm, "), crimp->family->strip_mm);
  g_string_append_printf(text, _("crimp “%s”"), crimp->family->name);
  if (crimp->gender != LOOM_GENDER_TERMINAL)
    g_string_append_printf(text, ", %s", _(loom_gender_label(crimp->gender)));
  for (guint i = 0; i < made->n_wires; i++) {
    const LoomContact *contact = &towards->contacts[first ? made->wires[i].a : made->wires[i].b];
    g_string_append_printf(text, _("%s %s on way %u (%s)"), i ? "," : ":",
                           colour_name(made->wires[i].colour), contact->way, contact->name);
  }
  g_string_append_c(text, '.');
  return g_string_free(g_steal_pointer(&text), FALSE);
}

static void
describe(const LoomLinkupCase *c, const Made *made, LoomKind *kind, LoomLinkupAnswer *answer)
{
  *answer = (LoomLinkupAnswer){.type = LOOM_ANSWER_MAKE, .n_pieces = 1, .n_crimps = 4};
  double hot = loom_ambient_factor(loom_design_title(c->design)->ambient_C);
  answer->pieces = g_new0(LoomLinkupPiece, 1);
  answer->pieces[0] =
      (LoomLinkupPiece){.kind = kind,
                        .out = 1,
                        .rating_A = loom_ampacity_A(made->mm2, NULL) * (isnan(hot) ? 1 : hot),
                        .resistance_ohm = 2 * loom_conductor_ohm(made->mm2, MADE_LENGTH_MM, 20),
                        .price = NAN};
  loom_linkup_sum_up(c, answer);
  answer->sentence =
      g_strdup_printf(_("Make up a lead to measure between %s and %s."), c->name_a, c->name_b);
  answer->crimps = g_new0(char *, answer->n_crimps + 1);
  answer->crimps[0] = cut_sentence(made);
  answer->crimps[1] = crimp_sentence(made, &made->a, c->a, true, c->name_a);
  answer->crimps[2] = crimp_sentence(made, &made->b, c->b, false, c->name_b);
  answer->crimps[3] =
      g_strdup(_("Pull at every wire, then measure: each wire through from end to end, "
                 "and no two of them joined."));
}

bool
loom_linkup_make(const LoomLinkupCase *c, LoomLinkupAnswer *answer)
{
  Made made = {.n_wires = 0};
  if (c->a->n_contacts > LOOM_MOST_WAYS || c->b->n_contacts > LOOM_MOST_WAYS ||
      !find_crimp(c, c->a, &made.a) || !find_crimp(c, c->b, &made.b))
    return false;
  made.mm2 = choose_mm2(c, &made);
  if (made.mm2 <= 0)
    return false;
  pair_contacts(c, &made);
  if (made.n_wires == 0 || !wires_fit(c, &made))
    return false;
  LoomKind *kind = made_kind(c, &made);
  if (kind)
    describe(c, &made, kind, answer);
  return kind != NULL;
}
