#include "random-design.h"

#include "robots.h"

#include <math.h>
#include <string.h>

/* An attribute: what the reader takes, and what is ordinary. Where `signs`, either sign. */
typedef struct {
  const char *name;
  double low, high, usual_low, usual_high;
  bool signs;
} Figure;

static const Figure figures[] = {
    {"mm2", 0.01, 1000, 0.2, 6, false},
    {"length_mm", 0.1, 1e6, 50, 2000, false},
    {"ohm", 0, 1e15, 1e-3, 1e3, false},
    {"rated_A", 0.001, 10000, 1, 40, false},
    {"limit_A", 0.001, 10000, 0.5, 40, false},
    {"emf_V", 0, 1000, 3, 24, false},
    {"emf_full_V", 0, 1000, 5, 26, false},
    {"emf_empty_V", 0, 1000, 2, 20, false},
    {"capacity_Ah", 0.001, 10000, 0.5, 10, false},
    {"peukert", 1, 2, 1, 1.3, false},
    {"current_A", 1e-9, 10000, 0.01, 5, true},
    {"power_W", 0, 1e6, 0.1, 60, false},
    {"lockout_V", 0, 1000, 2, 10, false},
    {"release_V", 0, 1000, 3, 12, false},
    {"min_V", 0, 1000, 2, 11, false},
    {"max_V", 0, 1000, 5, 30, false},
    {"volt_s_per_rad", 1e-6, 1000, 0.005, 0.1, false},
    {"no_load_A", 0, 1000, 0.05, 1, false},
    {"torque_Nm", 0, 10000, 0.01, 1, false},
    {"idle_A", 0, 1000, 0.005, 0.05, false},
    {"moving_A", 0, 1000, 0.1, 0.5, false},
    {"stall_A", 0, 1000, 0.5, 3, false},
    {"output_V", 0.1, 1000, 3, 12, false},
    {"efficiency", 0.01, 1, 0.7, 0.95, false},
    {"quiescent_A", 0, 1000, 0.001, 0.1, false},
};

/* An element: its attributes, those that it needs before the bar. */
typedef struct {
  const char *name, *attributes, *letter, *group;
  guint poles;
} Shape;

static const Shape shapes[] = {
    {"source", "emf_V | emf_full_V emf_empty_V ohm capacity_Ah peukert limit_A", "G", "supply", 2},
    {"wire", "mm2 | length_mm", "W", "lead", 2},
    {"through", "| ohm rated_A", "X", "distribution", 2},
    {"switch", "rated_A | ohm", "Q", "switching", 2},
    {"fuse", "rated_A | ohm", "F", "protection", 2},
    {"resistor", "ohm | min_V max_V", "R", "lamp", 2},
    {"current", "current_A | min_V max_V", "B", "sensor", 2},
    {"power", "power_W | lockout_V release_V min_V max_V", "K", "controller", 2},
    {"motor", "ohm volt_s_per_rad | no_load_A torque_Nm min_V max_V", "M", "motor", 2},
    {"servo", "idle_A moving_A stall_A | min_V max_V", "M", "servo", 2},
    {"driver", "| ohm limit_A quiescent_A lockout_V release_V min_V max_V", "K", "controller", 4},
    {"converter", "output_V efficiency | quiescent_A limit_A lockout_V release_V min_V max_V", "T",
     "converter", 4},
};

/* --- figures --- */

static bool
one_in(GRand *rand, guint n)
{
  return g_rand_int_range(rand, 0, (gint32)n) == 0;
}

static guint
below(GRand *rand, guint n)
{
  return (guint)g_rand_int_range(rand, 0, (gint32)n);
}

static double
by_logarithm(GRand *rand, double low, double high)
{
  return high > low ? low * pow(high / low, g_rand_double(rand)) : low;
}

/* `wild`: one figure in so many is anything that the reader takes, its ends above all. */
static double
some_figure(GRand *rand, const Figure *f, guint wild)
{
  double value = by_logarithm(rand, f->usual_low, f->usual_high);
  if (one_in(rand, wild))
    switch (below(rand, 3)) {
    case 0:
      value = f->low;
      break;
    case 1:
      value = f->high;
      break;
    default:
      value = by_logarithm(rand, fmax(f->low, 1e-9 * f->high), f->high);
    }
  return f->signs && one_in(rand, 4) ? -value : value;
}

static void
put_figure(GString *text, GRand *rand, const char *name, guint wild)
{
  for (guint i = 0; i < G_N_ELEMENTS(figures); i++)
    if (g_str_equal(figures[i].name, name)) {
      char number[G_ASCII_DTOSTR_BUF_SIZE];
      g_ascii_formatd(number, sizeof number, "%.9g", some_figure(rand, &figures[i], wild));
      g_string_append_printf(text, " %s=\"%s\"", name, number);
    }
}

/* --- bare kinds --- */

static void
put_element(GString *text, GRand *rand, const Shape *shape, guint wild)
{
  static const char *const nodes[] = {"a:x", "b:x", "c:x", "d:x", "inside"};
  g_auto(GStrv) words = g_strsplit(shape->attributes, " ", -1);
  bool needed = true;
  g_string_append_printf(text, "<%s", shape->name);
  for (guint i = 0; i < shape->poles; i++) /* mostly straight across */
    g_string_append_printf(text, " %c=\"%s\"", 'a' + i,
                           nodes[one_in(rand, 12) ? below(rand, G_N_ELEMENTS(nodes)) : i]);
  for (char **w = words; *w; w++) {
    if (g_str_equal(*w, "|"))
      needed = false;
    else if (needed || one_in(rand, 2))
      put_figure(text, rand, *w, wild);
  }
  g_string_append(text, one_in(rand, 6) ? " />" : "/>");
}

static void
put_ends(GString *text, GRand *rand, guint wild)
{
  static const char *const roles[] = {"plus", "minus", "pole", "pass", "pass", "none"};
  for (guint i = 0; i < 4; i++) {
    g_string_append_printf(text, "<end id=\"%c\" family=\"%s\" gender=\"genderless\" side=\"%s\"",
                           'a' + i, one_in(rand, 8) ? "poor" : "post", i % 2 ? "right" : "left");
    if (one_in(rand, 10))
      put_figure(text, rand, "limit_A", wild);
    g_string_append_printf(text, "><contact way=\"1\" name=\"x\" role=\"%s\"/></end>",
                           roles[one_in(rand, 2) ? i % 2 : below(rand, G_N_ELEMENTS(roles))]);
  }
}

static void
put_kind(GString *text, GRand *rand, guint serial, const Shape *shape, guint wild)
{
  bool switched = g_str_equal(shape->name, "switch"), lead = g_str_equal(shape->name, "wire");
  g_string_append_printf(text,
                         "<kind id=\"k%u\" name=\"kind %u\" letter=\"%s\" group=\"%s\" "
                         "source=\"test\"%s%s>",
                         serial, serial, shape->letter, shape->group,
                         switched ? " switch=\"on\"" : "",
                         lead ? " lead=\"yes\" length_mm=\"300\"" : "");
  put_ends(text, rand, wild);
  g_string_append(text, "<node id=\"inside\"/>");
  put_element(text, rand, shape, wild);
  while (one_in(rand, 3))
    put_element(text, rand, &shapes[below(rand, G_N_ELEMENTS(shapes))], wild);
  if (one_in(rand, 5)) {
    g_string_append(text, "<limit id=\"all\" label=\"all\" ends=\"a c\"");
    put_figure(text, rand, "limit_A", wild);
    g_string_append(text, one_in(rand, 2) ? " acts=\"yes\"/>" : "/>");
  }
  if (g_str_equal(shape->name, "source") && one_in(rand, 2))
    g_string_append(text, "<chemistry name=\"NiMH\" cells=\"10\"/>");
  g_string_append(text, "</kind>");
}

/* One kind of every shape, and as many again of any. */
static LoomCatalogue *
bare_catalogue(GRand *rand, guint wild, guint *n_kinds)
{
  g_autoptr(GString) text = g_string_new(NULL);
  g_autoptr(GError) error = NULL;
  g_string_append_printf(text,
                         "<catalogue xmlns=\"%s\" version=\"1.0\">"
                         "<family id=\"post\" name=\"post\" ways=\"1\" shape=\"flat\" "
                         "source=\"test\" places=\"64\" contact_mohm=\"0\" rated_A=\"30\"/>"
                         "<family id=\"poor\" name=\"poor\" ways=\"1\" shape=\"flat\" "
                         "source=\"test\" places=\"64\" contact_mohm=\"20\" accepts=\"post\"/>",
                         LOOM_CATALOGUE_NS);
  *n_kinds = 2 * G_N_ELEMENTS(shapes);
  for (guint i = 0; i < *n_kinds; i++)
    put_kind(text, rand, i,
             &shapes[i < G_N_ELEMENTS(shapes) ? i : below(rand, G_N_ELEMENTS(shapes))], wild);
  g_string_append(text, "</catalogue>");
  g_autoptr(LoomXml) xml =
      loom_xml_parse(text->str, text->len, "bare", "catalogue", LOOM_CATALOGUE_NS, &error);
  LoomCatalogue *catalogue = loom_catalogue_new();
  if (!xml || !loom_catalogue_layer_node(catalogue, xml, loom_xml_root(xml)) ||
      !loom_xml_finish(xml, &error))
    g_error("%s", error ? error->message : "no reason given");
  return catalogue;
}

/* --- drawing --- */

static char *
some_end(GRand *rand, const LoomDesign *design, guint part)
{
  const LoomPart *p = loom_design_part(design, part);
  return p->kind->n_ends ? g_strconcat(p->designation, ":",
                                       p->kind->ends[below(rand, p->kind->n_ends)].id, NULL)
                         : NULL;
}

/* Whether it was plugged. Where `fitting`, only ends that mate. */
static bool
plug(GRand *rand, LoomEdit *edit, guint part, guint end, bool fitting)
{
  const LoomDesign *design = loom_edit_design(edit);
  const LoomPart *p = loom_design_part(design, part);
  guint to = below(rand, loom_design_n_parts(design)), other, at;
  g_autofree char *from = g_strconcat(p->designation, ":", p->kind->ends[end].id, NULL);
  g_autofree char *into = some_end(rand, design, to);
  if (!into || !loom_design_find_end(design, into, &other, &at, NULL))
    return false;
  const LoomEnd *a = &p->kind->ends[end], *b = &loom_design_part(design, other)->kind->ends[at];
  if (fitting && (other == part || loom_mate(a, b) != LOOM_MATE_YES))
    return false;
  LoomFit fit = one_in(rand, 12) ? (LoomFit)below(rand, 3) : LOOM_FIT_NORMAL;
  return loom_edit_plug(edit, from, into, fit, NULL, NULL);
}

static void
plug_all(GRand *rand, LoomEdit *edit, guint part)
{
  guint n = loom_design_part(loom_edit_design(edit), part)->kind->n_ends;
  for (guint end = 0; end < n; end++) {
    if (one_in(rand, 6))
      continue;
    bool fitting = !one_in(rand, 40);
    for (guint i = 0; i < 60 && !plug(rand, edit, part, end, fitting); i++)
      ;
  }
}

static void
add_part(GRand *rand, LoomEdit *edit, const LoomKind *kind)
{
  const char *given = loom_edit_add(edit, kind, NULL, below(rand, 500), below(rand, 300), NULL);
  if (!given)
    return;
  g_autofree char *name = g_strdup(given);
  g_autofree char *length =
      g_strdup_printf("%.4g", by_logarithm(rand, 1, one_in(rand, 4) ? 1e5 : 2000));
  g_autofree char *rated = g_strdup_printf("%.4g", by_logarithm(rand, 0.05, 1000));
  if (one_in(rand, 3))
    loom_edit_set(edit, name, "length_mm", length, NULL);
  if (one_in(rand, 6))
    loom_edit_set(edit, name, "rated_A", rated, NULL);
  if (one_in(rand, 12))
    loom_edit_set(edit, name, "on", "no", NULL);
  plug_all(rand, edit, loom_design_find_part(loom_edit_design(edit), name));
}

static void
set_state(GRand *rand, LoomEdit *edit, const char *target)
{
  static const char *const loads[] = {"idle", "free", "moving", "loaded", "stalled"};
  for (guint i = 0; i < loom_design_n_parts(loom_edit_design(edit)); i++) {
    const char *part = loom_design_part(loom_edit_design(edit), i)->designation;
    g_autofree char *name = g_strdup(part);
    const char *const keys[] = {"load", "duty", "on", "torque_Nm"};
    for (guint k = 0; k < G_N_ELEMENTS(keys); k++) {
      g_autofree char *key = g_strconcat(name, ".", keys[k], NULL);
      g_autofree char *number =
          k == 1 ? g_strdup_printf("%.3g", g_rand_double_range(rand, -1, 1))
                 : g_strdup_printf("%.3g", by_logarithm(rand, 1e-3, one_in(rand, 9) ? 1e4 : 1));
      const char *value = k == 0   ? loads[below(rand, G_N_ELEMENTS(loads))]
                          : k == 2 ? (one_in(rand, 4) ? "no" : "yes")
                                   : number;
      if (one_in(rand, k == 3 ? 8 : 2))
        loom_edit_set(edit, target, key, value, NULL);
    }
  }
}

static void
add_states(GRand *rand, LoomEdit *edit)
{
  g_autofree char *legs = g_strdup_printf("resting %.3g, busy %.3g", by_logarithm(rand, 1e-3, 100),
                                          by_logarithm(rand, 1e-3, one_in(rand, 8) ? 1e5 : 300));
  loom_edit_add_target(edit, "state:driving/busy", NULL);
  set_state(rand, edit, "state:driving/resting");
  set_state(rand, edit, "state:driving/busy");
  loom_edit_add_target(edit, "outing:driving/out", NULL);
  loom_edit_set(edit, "outing:driving/out", "legs", legs, NULL);
  g_autofree char *ambient = g_strdup_printf("%d", g_rand_int_range(rand, -40, 101));
  if (one_in(rand, 4))
    loom_edit_set(edit, "design", "ambient_C", ambient, NULL);
}

LoomDesign *
random_design_new(GRand *rand, RandomSort sort)
{
  static const char *const first[] = {"pack-nimh-12v-3ah", "fuse-lead-20", "switch-main-20",
                                      "controller-rover"};
  LoomDesign *design = loom_design_new("random");
  LoomEdit *edit = loom_edit_new(design, "random");
  guint n_kinds, wild = 3 + 12 * below(rand, 3), n_parts = 2 + below(rand, 14);
  g_autoptr(LoomCatalogue) bare = sort == RANDOM_BARE ? bare_catalogue(rand, wild, &n_kinds) : NULL;
  const LoomCatalogue *catalogue = bare ? bare : robots_catalogue();
  const LoomKind *const *kinds = loom_catalogue_kinds(catalogue, &n_kinds);
  for (guint i = 0; i < n_parts; i++) {
    const LoomKind *kind = kinds[below(rand, n_kinds)];
    if (bare && i == 0)
      kind = loom_catalogue_kind(bare, "k0"); /* something has to make it flow */
    if (!bare && i < G_N_ELEMENTS(first) && !one_in(rand, 8))
      kind = loom_catalogue_kind(catalogue, first[i]);
    add_part(rand, edit, kind);
  }
  add_states(rand, edit);
  loom_design_apply(design, edit);
  return design;
}
