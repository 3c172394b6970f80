#include "labels.h"

#include "electric/wiring.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* --- the list --- */

static bool
is_loose(const LoomKind *kind, guint end)
{
  const LoomEnd *e = &kind->ends[end];
  return e->family->shape != LOOM_SHAPE_RADIO && (kind->lead || e->pigtail_mm > 0);
}

static char *
end_name(const LoomPart *part, guint end)
{
  return g_strdup_printf("%s:%s", part->designation, part->kind->ends[end].id);
}

/* What the end goes into in that wiring. New, or NULL. */
static char *
goes_to(const LoomWiring *wiring, guint part, guint end)
{
  guint number = loom_wiring_end(wiring, part, end);
  if (wiring->end_first[number] == wiring->end_first[number + 1])
    return NULL;
  const LoomWiredJoint *joint = &wiring->joints[wiring->end_joints[wiring->end_first[number]]];
  bool first = joint->part_a == part && joint->end_a == end;
  return first ? loom_wiring_end_name(wiring, joint->part_b, joint->end_b)
               : loom_wiring_end_name(wiring, joint->part_a, joint->end_a);
}

/* The same in the first of the wirings [n] where it goes anywhere. */
static char *
goes_to_first(LoomWiring **wirings, guint n, guint part, guint end)
{
  char *to = NULL;
  for (guint i = 0; i < n && !to; i++)
    to = goes_to(wirings[i], part, end);
  return to;
}

static char *
other_ends(LoomWiring **wirings, guint n, guint part, guint end)
{
  const LoomPart *p = loom_wiring_part(wirings[0], part);
  if (!p->kind->lead)
    return NULL;
  GString *text = g_string_new(NULL);
  for (guint e = 0; e < p->kind->n_ends; e++) {
    if (e == end)
      continue;
    g_autofree char *to = goes_to_first(wirings, n, part, e);
    g_autofree char *own = end_name(p, e);
    g_string_append_printf(text, "%s%s", text->len ? ", " : "", to ? to : own);
  }
  return g_string_free(text, text->len == 0);
}

static void
append(GString *text, const char *separator, const char *more)
{
  g_string_append_printf(text, "%s%s", text->len ? separator : "", more);
}

static char *
detail_of(const LoomPart *part, guint end)
{
  const LoomEnd *e = &part->kind->ends[end];
  GString *text = g_string_new(NULL);
  double length_mm = part->kind->lead ? loom_part_length_mm(part) : e->pigtail_mm,
         mm2 = e->pigtail_mm2;
  for (guint i = 0; i < part->kind->n_elements && part->kind->lead; i++)
    if (part->kind->elements[i].type == LOOM_ELEMENT_WIRE)
      mm2 = isnan(mm2) ? part->kind->elements[i].mm2 : fmax(mm2, part->kind->elements[i].mm2);
  if (length_mm > 0)
    g_string_append_printf(text, "%g mm", length_mm);
  if (mm2 > 0) {
    g_autofree char *size = g_strdup_printf("%g mm²", mm2);
    append(text, ", ", size);
  }
  GString *colours = g_string_new(NULL);
  for (guint c = 0; c < e->n_contacts; c++)
    if (e->contacts[c].colour)
      append(colours, " ", e->contacts[c].colour);
  if (colours->len)
    append(text, ", ", colours->str);
  g_string_free(colours, TRUE);
  return g_string_free(text, text->len == 0);
}

static GPtrArray *
all_wirings(const LoomDesign *design, guint scene)
{
  GPtrArray *wirings = g_ptr_array_new_with_free_func((GDestroyNotify)loom_wiring_free);
  g_ptr_array_add(wirings, loom_wiring_new(design, scene));
  for (guint s = 0; s < loom_design_n_scenes(design); s++)
    if (s != scene)
      g_ptr_array_add(wirings, loom_wiring_new(design, s));
  return wirings;
}

LoomLabels *
loom_labels_new(const LoomDesign *design, guint scene)
{
  g_autoptr(GPtrArray) all = all_wirings(design, scene);
  LoomWiring **wirings = (LoomWiring **)all->pdata;
  GArray *labels = g_array_new(FALSE, TRUE, sizeof(LoomLabel));
  for (guint p = 0; p < loom_design_n_parts(design); p++) {
    const LoomPart *part = loom_design_part(design, p);
    for (guint e = 0; e < part->kind->n_ends; e++) {
      if (!is_loose(part->kind, e))
        continue;
      LoomLabel label = {.part = g_strdup(part->designation),
                         .end = end_name(part, e),
                         .to = goes_to_first(wirings, all->len, p, e),
                         .other = other_ends(wirings, all->len, p, e),
                         .detail = detail_of(part, e)};
      g_array_append_val(labels, label);
    }
  }
  LoomLabels *list = g_new0(LoomLabels, 1);
  list->n_labels = labels->len;
  list->labels = (LoomLabel *)g_array_free(labels, FALSE);
  return list;
}

void
loom_labels_free(LoomLabels *labels)
{
  if (!labels)
    return;
  for (guint i = 0; i < labels->n_labels; i++) {
    LoomLabel *l = &labels->labels[i];
    char *owned[] = {l->part, l->end, l->to, l->other, l->detail};
    for (guint k = 0; k < G_N_ELEMENTS(owned); k++)
      g_free(owned[k]);
  }
  g_free(labels->labels);
  g_free(labels);
}

char *
loom_labels_csv(const LoomLabels *labels)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "part", "end", "to", "other_end", "detail", NULL);
  for (guint i = 0; i < labels->n_labels; i++) {
    const LoomLabel *l = &labels->labels[i];
    loom_csv_text(csv, l->part);
    loom_csv_text(csv, l->end);
    loom_csv_text(csv, l->to);
    loom_csv_text(csv, l->other);
    loom_csv_text(csv, l->detail);
    loom_csv_end_row(csv);
  }
  return g_strdup(loom_csv_bytes(csv));
}

/* --- sheets --- */

/* Steps and margins as such sheets commonly have them, from memory; in whole sizes they follow from
 * the paper. */
static const LoomLabelSheet SHEETS[] = {
    {"70x37", LOOM_PAPER_A4, 3, 8, 70, 37, 0, 0.5, 70, 37, false},
    {"63.5x38.1", LOOM_PAPER_A4, 3, 7, 63.5, 38.1, 7.2, 15.15, 66.04, 38.1, false},
    {"48.5x25.4", LOOM_PAPER_A4, 4, 11, 48.5, 25.4, 8, 8.8, 48.5, 25.4, false},
    {"38.1x21.2", LOOM_PAPER_A4, 5, 13, 38.1, 21.2, 4.75, 10.7, 40.6, 21.2, false},
    {"66.7x25.4", LOOM_PAPER_LETTER, 3, 10, 66.675, 25.4, 4.76, 12.7, 69.85, 25.4, false},
    {"44.5x12.7", LOOM_PAPER_LETTER, 4, 20, 44.45, 12.7, 7.62, 12.7, 52.07, 12.7, false},
    {"plain-a4", LOOM_PAPER_A4, 2, 16, 90, 17, 15, 12.5, 90, 17, true},
    {"plain-letter", LOOM_PAPER_LETTER, 2, 15, 90, 17, 17.95, 12.2, 90, 17, true},
};

const LoomLabelSheet *
loom_label_sheets(guint *n)
{
  *n = G_N_ELEMENTS(SHEETS);
  return SHEETS;
}

const LoomLabelSheet *
loom_label_sheet(const char *id)
{
  for (guint i = 0; i < G_N_ELEMENTS(SHEETS); i++)
    if (g_str_equal(SHEETS[i].id, id))
      return &SHEETS[i];
  return NULL;
}
