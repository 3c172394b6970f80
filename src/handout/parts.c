#include "parts.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

/* What makes two parts the same line of a list. */
typedef struct {
  const LoomKind *kind;
  double length_mm, rated_A; /* NAN: of the kind */
  GString *designations;
  guint count;
} Line;

static void
free_line(gpointer data)
{
  Line *line = data;
  g_string_free(line->designations, TRUE);
  g_free(line);
}

static char *
line_key(const LoomKind *kind, double length_mm, double rated_A)
{
  return g_strdup_printf("%s|%.3f|%.3f", kind->id, isnan(length_mm) ? -1 : length_mm,
                         isnan(rated_A) ? -1 : rated_A);
}

static void
count_part(GHashTable *lines, const LoomKind *kind, double length_mm, double rated_A,
           const char *designation)
{
  char *key = line_key(kind, length_mm, rated_A);
  Line *line = g_hash_table_lookup(lines, key);
  if (!line) {
    line = g_new0(Line, 1);
    *line = (Line){kind, length_mm, rated_A, g_string_new(NULL), 0};
    g_hash_table_insert(lines, key, line);
  } else {
    g_free(key);
  }
  if (line->count++ > 0)
    g_string_append(line->designations, ", ");
  g_string_append(line->designations, designation);
}

static int
compare_numbers(double a, double b)
{
  if (isnan(a) || isnan(b))
    return (int)isnan(b) - (int)isnan(a);
  return (a > b) - (a < b);
}

static int
by_shelf(gconstpointer a, gconstpointer b)
{
  const Line *x = *(const Line *const *)a, *y = *(const Line *const *)b;
  if (x->kind->group != y->kind->group)
    return x->kind->group < y->kind->group ? -1 : 1;
  if (x->kind->rank != y->kind->rank)
    return x->kind->rank < y->kind->rank ? -1 : 1;
  int by_id = strcmp(x->kind->id, y->kind->id);
  int by_length = compare_numbers(x->length_mm, y->length_mm);
  return by_id ? by_id : by_length ? by_length : compare_numbers(x->rated_A, y->rated_A);
}

static double
thickest_mm2(const LoomKind *kind)
{
  double mm2 = NAN;
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_WIRE)
      mm2 = isnan(mm2) ? kind->elements[i].mm2 : MAX(mm2, kind->elements[i].mm2);
  return mm2;
}

static char *
describe(const Line *line)
{
  GString *text = g_string_new(line->kind->name);
  if (!isnan(line->rated_A))
    g_string_append_printf(text, _(", with a fuse of %g A"), line->rated_A);
  return g_string_free(text, FALSE);
}

static double
price_of(const LoomKind *kind, const LoomStock *stock)
{
  double own = stock ? loom_stock_price(stock, kind->id) : NAN;
  return isnan(own) ? kind->price : own;
}

/* `used` counts what earlier rows of the same kind have taken from the stock. */
static LoomPartsRow
make_row(const Line *line, const LoomStock *stock, GHashTable *used)
{
  LoomPartsRow row = {.count = line->count,
                      .kind = g_strdup(line->kind->id),
                      .description = describe(line),
                      .designations = g_strdup(line->designations->str),
                      .length_mm = line->length_mm,
                      .mm2 = line->kind->lead ? thickest_mm2(line->kind) : NAN,
                      .have = -1,
                      .missing = -1,
                      .price = price_of(line->kind, stock) * line->count};
  if (!stock)
    return row;
  guint taken = GPOINTER_TO_UINT(g_hash_table_lookup(used, line->kind->id));
  guint there = loom_stock_count(stock, line->kind->id);
  guint have = MIN(there - MIN(taken, there), line->count);
  g_hash_table_insert(used, line->kind->id, GUINT_TO_POINTER(taken + have));
  row.have = (int)have;
  row.missing = (int)(line->count - have);
  return row;
}

/* Whether a part of its own is plugged where `held` would lie. */
static bool
is_drawn(const LoomDesign *design, guint part, const LoomKind *held)
{
  const LoomKind *holder = loom_design_part(design, part)->kind;
  for (guint e = 0; e < holder->n_ends && held->n_ends > 0; e++)
    if (loom_mate(&holder->ends[e], &held->ends[0]) == LOOM_MATE_YES &&
        loom_design_joints_at(design, part, e, NULL, 0) > 0)
      return true;
  return false;
}

static GHashTable *
count_parts(const LoomDesign *design, const LoomCatalogue *catalogue)
{
  GHashTable *lines = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, free_line);
  for (guint i = 0; i < loom_design_n_parts(design); i++) {
    const LoomPart *part = loom_design_part(design, i);
    double length_mm = part->kind->lead ? loom_part_length_mm(part) : NAN;
    count_part(lines, part->kind, length_mm, part->rated_A, part->designation);
    const LoomKind *held =
        part->kind->holds && catalogue ? loom_catalogue_kind(catalogue, part->kind->holds) : NULL;
    if (held && !is_drawn(design, i, held))
      count_part(lines, held, NAN, NAN, part->designation);
  }
  return lines;
}

LoomPartsList *
loom_parts_list_new(const LoomDesign *design, const LoomCatalogue *catalogue,
                    const LoomStock *stock)
{
  g_autoptr(GHashTable) lines = count_parts(design, catalogue);
  g_autoptr(GHashTable) used = g_hash_table_new(g_str_hash, g_str_equal);
  g_autoptr(GPtrArray) sorted = g_ptr_array_new();
  GHashTableIter iter;
  gpointer line;
  g_hash_table_iter_init(&iter, lines);
  while (g_hash_table_iter_next(&iter, NULL, &line))
    g_ptr_array_add(sorted, line);
  g_ptr_array_sort(sorted, by_shelf);
  LoomPartsList *list = g_new0(LoomPartsList, 1);
  list->n_rows = sorted->len;
  list->rows = g_new0(LoomPartsRow, sorted->len);
  for (guint i = 0; i < sorted->len; i++)
    list->rows[i] = make_row(sorted->pdata[i], stock, used);
  return list;
}

void
loom_parts_list_free(LoomPartsList *list)
{
  if (!list)
    return;
  for (guint i = 0; i < list->n_rows; i++) {
    g_free(list->rows[i].kind);
    g_free(list->rows[i].description);
    g_free(list->rows[i].designations);
  }
  g_free(list->rows);
  g_free(list);
}

static void
put_count(LoomCsv *csv, int count)
{
  if (count >= 0)
    loom_csv_whole(csv, count);
  else
    loom_csv_text(csv, NULL);
}

char *
loom_parts_list_csv(const LoomPartsList *list)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "count", "kind", "description", "designations", "length_mm", "have", "short",
               "price", NULL);
  for (guint i = 0; i < list->n_rows; i++) {
    const LoomPartsRow *row = &list->rows[i];
    loom_csv_whole(csv, row->count);
    loom_csv_text(csv, row->kind);
    loom_csv_text(csv, row->description);
    loom_csv_text(csv, row->designations);
    loom_csv_number(csv, row->length_mm);
    put_count(csv, row->have);
    put_count(csv, row->missing);
    loom_csv_rounded(csv, row->price, 2);
    loom_csv_end_row(csv);
  }
  return g_strdup(loom_csv_bytes(csv));
}
