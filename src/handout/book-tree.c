/* What to test next when something does not work: the first levels of the computed fault trees, for
 * what goes wrong most often. */
#include "book-private.h"
#include "design/edit.h"
#include "planning/faults.h"

#define SUPPLY_LEVELS 4 /* tests one after the other */
#define LEVELS 3
#define MOST_SAID 2   /* suspects that a line names */
#define MOST_PARTS 60 /* more than that, and the supply and the examples stand for all */

/* Something that is seen, and the words for it. */
typedef struct {
  const char *word;  /* as the fault finder takes it */
  guint part;        /* index in the design, LOOM_NONE: no part */
  const char *title; /* with one %s for the part, in the user's language */
  bool awake;        /* the controller works meanwhile */
  guint levels;
} Symptom;

/* A tree on its way to paper: its nodes in the order in which they are numbered. */
typedef struct {
  const LoomFaultModel *model;
  GPtrArray *nodes; /* of LoomFaultTree, borrowed */
} Walk;

static bool
asks(const LoomFaultTree *tree)
{
  return tree->n_branches > 0;
}

/* "Go on with 3.", or what it probably is. */
static void
append_end(GString *text, Walk *walk, LoomFaultTree *branch)
{
  if (asks(branch)) {
    g_ptr_array_add(walk->nodes, branch);
    g_string_append_printf(text, _("go on with %u"), walk->nodes->len);
    return;
  }
  guint said = 0;
  if (branch->diagnosis->next_test != LOOM_NONE)
    g_string_append(text, _("likeliest now: "));
  for (guint i = 0; i < branch->diagnosis->n_suspects && said < MOST_SAID; i++) {
    g_auto(GStrv) sentences = loom_suspects_sentences(walk->model, &branch->diagnosis->suspects[i]);
    for (char **s = sentences; *s && said < MOST_SAID; s++, said++)
      g_string_append_printf(text, said ? _(" Or: %s") : "%s", *s);
  }
}

static void
node_row(LoomTable *table, Walk *walk, guint number)
{
  const LoomFaultTree *tree = g_ptr_array_index(walk->nodes, number);
  const LoomTest *test = &walk->model->tests[tree->diagnosis->next_test];
  g_autoptr(GString) text = g_string_new(NULL);
  for (guint i = 0; i < tree->n_branches; i++) {
    g_autofree char *outcome = loom_book_capital(test->outcomes[tree->outcomes[i]]);
    g_string_append_printf(text, "%s%s: ", i ? "\n" : "", outcome);
    append_end(text, walk, tree->branches[i]);
  }
  loom_table_textf(table, "%u", number + 1);
  loom_table_text(table, test->todo);
  loom_table_text(table, text->str);
  loom_table_tick(table);
}

static void
tree_table(LoomMaking *m, const LoomFaultModel *model, LoomFaultTree *tree)
{
  LoomColumn columns[] = {{"", 9, 0, true},
                          {_("do this"), 0, 1, false},
                          {_("what it shows, and where that leads"), 0, 1.25, false},
                          {"", 9, 0, false}};
  g_autoptr(GPtrArray) nodes = g_ptr_array_new();
  Walk walk = {model, nodes};
  g_ptr_array_add(nodes, tree);
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  for (guint i = 0; i < nodes->len; i++)
    node_row(table, &walk, i);
  loom_table_end(table);
}

/* --- which symptoms there are --- */

static guint
first_controller(const LoomMaking *m)
{
  for (guint i = 0; i < m->here->len; i++) {
    guint part = g_array_index(m->here, guint, i);
    if (loom_design_part(m->design, part)->kind->group == LOOM_GROUP_CONTROLLER)
      return part;
  }
  return LOOM_NONE;
}

/* The first part of the scene that is joined and has such a letter. */
static guint
first_with(const LoomMaking *m, const char *letter)
{
  for (guint i = 0; i < m->here->len; i++) {
    guint part = g_array_index(m->here, guint, i);
    if (g_str_equal(loom_design_part(m->design, part)->kind->letter, letter))
      return part;
  }
  return LOOM_NONE;
}

static guint
list_symptoms(const LoomMaking *m, Symptom symptoms[4])
{
  guint controller = first_controller(m), motor = first_with(m, "M"), sensor = first_with(m, "B");
  guint n = 0;
  if (controller == LOOM_NONE)
    return 0;
  symptoms[n++] = (Symptom){"dead", controller, _("%s stays dark"), false, SUPPLY_LEVELS};
  symptoms[n++] = (Symptom){"resets", LOOM_NONE, _("It starts again when the robot works hard"),
                            false, SUPPLY_LEVELS};
  if (motor != LOOM_NONE)
    symptoms[n++] =
        (Symptom){"dead", motor, _("All lamps are lit, but %s does not move"), true, LEVELS};
  if (sensor != LOOM_NONE)
    symptoms[n++] =
        (Symptom){"dead", sensor, _("All lamps are lit, but %s reads nothing"), true, LEVELS};
  return n;
}

/* --- the design that is searched --- */

/* Marks the part, and the leads that hang on it with what they go to. */
static void
keep(const LoomWiring *w, guint design_part, bool *kept)
{
  g_autoptr(GArray) queue = g_array_new(FALSE, FALSE, sizeof(guint));
  g_array_append_val(queue, design_part);
  for (guint i = 0; i < queue->len; i++) {
    guint part = g_array_index(queue, guint, i);
    kept[part] = true;
    if (i > 0 && !loom_wiring_part(w, part)->kind->lead)
      continue;
    for (guint e = w->end_first[w->part_end[part]]; e < w->end_first[w->part_end[part + 1]]; e++) {
      const LoomWiredJoint *j = &w->joints[w->end_joints[e]];
      guint far = j->part_a == part ? j->part_b : j->part_a;
      if (!kept[far])
        g_array_append_val(queue, far);
    }
  }
}

/* Without what is neither on the way of the supply nor an example. New. */
static LoomDesign *
reduced(LoomMaking *m, const Symptom *symptoms, guint n, const GArray *supply)
{
  LoomDesign *design = loom_design_snapshot(m->design);
  g_autofree bool *kept = g_new0(bool, loom_design_n_parts(m->design) + 1);
  for (guint i = 0; i < supply->len; i++)
    kept[g_array_index(supply, guint, i)] = true;
  for (guint i = 1; i < n; i++)
    if (symptoms[i].part != LOOM_NONE)
      keep(m->wiring, symptoms[i].part, kept);
  kept[symptoms[0].part] = true;
  LoomEdit *edit = loom_edit_new(design, "");
  for (guint p = 0; p < loom_design_n_parts(m->design); p++)
    if (!kept[p])
      loom_edit_remove(edit, loom_design_part(m->design, p)->designation, NULL);
  loom_design_apply(design, edit);
  return design;
}

static char *
title_of(const LoomMaking *m, const Symptom *s)
{
  if (s->part == LOOM_NONE)
    return g_strdup(s->title);
  const LoomPart *part = loom_design_part(m->design, s->part);
  g_autofree char *name = g_strdup_printf("%s (%s)", part->designation, loom_book_part_name(part));
  g_auto(GStrv) around = g_strsplit(s->title, "%s", 2);
  return g_strconcat(around[0], name, around[1], NULL);
}

static void
symptom(LoomMaking *m, const LoomFaultModel *model, const LoomDesign *design, const Symptom *s,
        const char *controller)
{
  LoomEvidence seen[2];
  guint n = 0;
  const char *what =
      s->part == LOOM_NONE ? NULL : loom_design_part(m->design, s->part)->designation;
  if (!loom_fault_evidence(model, design, s->word, what, &seen[n++], NULL) ||
      (s->awake && !loom_fault_evidence(model, design, "works", controller, &seen[n++], NULL)))
    return;
  g_autoptr(LoomFaultTree) tree = loom_fault_tree_new(model, seen, n, s->levels);
  if (!asks(tree) || tree->diagnosis->unexplained) /* this robot cannot show that */
    return;
  g_autofree char *title = title_of(m, s);
  loom_scroll_section(m->scroll, title);
  tree_table(m, model, tree);
}

void
loom_book_trees(LoomMaking *m, const GArray *supply)
{
  Symptom symptoms[4];
  guint n = list_symptoms(m, symptoms);
  if (n == 0)
    return;
  bool many = m->here->len > MOST_PARTS;
  g_autoptr(LoomDesign) design =
      many ? reduced(m, symptoms, n, supply) : loom_design_snapshot(m->design);
  g_autoptr(LoomFaultModel) model = loom_fault_model_new(design, m->scene);
  const char *controller = loom_design_part(m->design, symptoms[0].part)->designation;
  for (guint i = 0; i < n; i++)
    symptom(m, model, design, &symptoms[i], controller);
}
