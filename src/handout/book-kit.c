/* Kit check: everything laid out and counted, with pictures to know it by. */
#include "book-private.h"
#include "figure.h"
#include "labels.h"

#include <math.h>
#include <string.h>

#define PICTURE_MM 29.0
#define PICTURE_HIGH_MM 22.0
#define END_MM 15.0
#define MOST_ENDS 12

/* Ends of a kind that look alike. */
typedef struct {
  guint end, count;
} Alike;

static bool
look_alike(const LoomEnd *a, const LoomEnd *b)
{
  return a->family == b->family && a->gender == b->gender && a->n_contacts == b->n_contacts;
}

static guint
sort_ends(const LoomKind *kind, Alike *alike)
{
  guint n = 0;
  for (guint e = 0; e < kind->n_ends; e++) {
    guint i = 0;
    while (i < n && !look_alike(&kind->ends[alike[i].end], &kind->ends[e]))
      i++;
    if (i < n)
      alike[i].count++;
    else if (n < MOST_ENDS)
      alike[n++] = (Alike){e, 1};
  }
  return n;
}

static char *
describe_end(const LoomEnd *end, guint count)
{
  g_autofree char *times = count > 1 ? g_strdup_printf("%u × ", count) : g_strdup("");
  if (end->family->shape == LOOM_SHAPE_RADIO || end->gender == LOOM_GENDER_TERMINAL)
    return g_strdup_printf("%s%s", times, end->family->name);
  return g_strdup_printf("%s%s: %s", times, _(loom_gender_label(end->gender)), end->family->name);
}

static void
ends_cell(LoomTable *table, const LoomKind *kind)
{
  Alike alike[MOST_ENDS];
  LoomFigure figures[MOST_ENDS];
  char *texts[MOST_ENDS];
  guint n = sort_ends(kind, alike);
  for (guint i = 0; i < n; i++) {
    figures[i] = loom_figure_end(kind, alike[i].end, END_MM);
    texts[i] = describe_end(&kind->ends[alike[i].end], alike[i].count);
  }
  loom_table_pictured(table, figures, (const char *const *)texts, n, END_MM + 2);
  for (guint i = 0; i < n; i++)
    g_free(texts[i]);
}

/* Kind of the row, or NULL for what lies in a part and is in no catalogue. */
static const LoomKind *
kind_of(const LoomMaking *m, const LoomPartsRow *row)
{
  const LoomKind *kind = loom_design_kind(m->design, row->kind);
  return kind || !m->options->catalogue ? kind
                                        : loom_catalogue_kind(m->options->catalogue, row->kind);
}

static void
name_cell(const LoomMaking *m, LoomTable *table, const LoomPartsRow *row)
{
  g_autoptr(GString) text = g_string_new(row->description);
  if (!isnan(row->length_mm)) {
    g_autofree char *length = loom_book_number(m, row->length_mm, 0);
    g_autofree char *as_named = g_strdup_printf("%s mm", length);
    if (!strstr(row->description, as_named))
      g_string_append_printf(text, _(", %s mm"), length);
  }
  if (!isnan(row->mm2)) {
    g_autofree char *size = loom_book_size(m, row->mm2);
    g_string_append_printf(text, "\n%s", size);
  }
  g_auto(GStrv) names = g_strsplit(row->designations, ", ", -1);
  for (char **name = names; *name; name++) {
    guint part = loom_design_find_part(m->design, *name);
    const LoomPart *p = part == LOOM_NONE ? NULL : loom_design_part(m->design, part);
    bool own = p && p->label && g_str_equal(p->kind->id, row->kind);
    g_string_append_printf(text, "%s%s", name == names || own ? "\n" : ", ", *name);
    if (own)
      g_string_append_printf(text, " %s", p->label);
  }
  loom_table_text(table, text->str);
}

static void
stock_cell(LoomTable *table, const LoomPartsRow *row)
{
  if (row->missing > 0)
    loom_table_textf(table, _("%d\n%d short"), row->have, row->missing);
  else
    loom_table_textf(table, "%d", row->have);
}

static void
kit_row(LoomMaking *m, LoomTable *table, const LoomPartsRow *row)
{
  const LoomKind *kind = kind_of(m, row);
  loom_table_tick(table);
  loom_table_textf(table, "%u", row->count);
  if (kind)
    loom_table_figure(table, loom_figure_kind(kind, PICTURE_MM - 3, PICTURE_HIGH_MM));
  else
    loom_table_text(table, NULL);
  name_cell(m, table, row);
  if (kind)
    ends_cell(table, kind);
  else
    loom_table_text(table, NULL);
  if (m->options->stock)
    stock_cell(table, row);
}

static void
list_short(LoomMaking *m)
{
  bool any = false;
  for (guint i = 0; i < m->parts->n_rows && m->options->stock; i++) {
    const LoomPartsRow *row = &m->parts->rows[i];
    if (row->missing <= 0)
      continue;
    if (!any) {
      loom_scroll_frame_begin(m->scroll, false);
      loom_scroll_text(m->scroll, LOOM_TEXT_STRONG, _("The stock is short of"));
    }
    any = true;
    g_autofree char *text = g_strdup_printf("%d × %s", row->missing, row->description);
    loom_scroll_item(m->scroll, NULL, text);
  }
  if (any)
    loom_scroll_frame_end(m->scroll);
}

static void
labels_to_write(LoomMaking *m)
{
  static const LoomColumn COLUMNS[] = {{NULL, 8, 0, false}, {NULL, 0, 1, false},
                                       {NULL, 8, 0, false}, {NULL, 0, 1, false},
                                       {NULL, 8, 0, false}, {NULL, 0, 1, false}};
  g_autoptr(LoomLabels) labels = loom_labels_new(m->design, m->scene);
  LoomTable *table = NULL;
  guint n = 0;
  for (guint i = 0; i < labels->n_labels; i++) {
    if (!labels->labels[i].to)
      continue;
    if (!table) {
      loom_scroll_section(m->scroll, _("Labels"));
      loom_scroll_text(
          m->scroll, LOOM_TEXT_BODY,
          _("Every loose end carries its name and where it goes, close to the connector. The "
            "program prints these as labels or as flags to fold around the wire."));
      table = loom_table_begin(m->scroll, COLUMNS, G_N_ELEMENTS(COLUMNS), false);
    }
    loom_table_tick(table);
    loom_table_textf(table, _("%s to %s"), labels->labels[i].end, labels->labels[i].to);
    n++;
  }
  for (; n % 3; n++) {
    loom_table_text(table, NULL);
    loom_table_text(table, NULL);
  }
  if (table)
    loom_table_end(table);
}

void
loom_book_kit(LoomMaking *m)
{
  loom_scroll_text(
      m->scroll, LOOM_TEXT_BODY,
      _("Lay everything out, compare it with the pictures, and tick it off. The ends are "
        "drawn as they look: solid prongs are pins, hollow wells are sockets."));
  list_short(m);
  LoomColumn columns[] = {{"", 7, 0, false},
                          {_("n"), 9, 0, false},
                          {_("it looks like"), PICTURE_MM, 0, false},
                          {_("what it is"), 0, 1, false},
                          {_("its ends"), 0, 1.45, false},
                          {_("have"), 16, 0, false}};
  guint n = G_N_ELEMENTS(columns) - !m->options->stock;
  LoomTable *table = loom_table_begin(m->scroll, columns, n, true);
  for (guint i = 0; i < m->parts->n_rows; i++)
    kit_row(m, table, &m->parts->rows[i]);
  loom_table_end(table);
  labels_to_write(m);
}
