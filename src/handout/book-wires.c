/* Wires to make: what to cut, what to strip, how hard to pull. */
#include "book-private.h"
#include "crimp.h"

#include <math.h>

static char *
end_text(const LoomMaking *m, const LoomCut *cut, guint end, const char *contact)
{
  if (end == LOOM_NONE)
    return g_strdup(_("splice inside"));
  const LoomEnd *e = &cut->kind->ends[end];
  g_autofree char *strip = loom_book_number(m, e->family->strip_mm, 1);
  if (e->family->strip_mm > 0)
    return g_strdup_printf(_("end %s, contact %s: strip %s mm"), e->id, contact, strip);
  return g_strdup_printf(_("end %s, contact %s"), e->id, contact);
}

static void
wire_row(LoomMaking *m, LoomTable *table, const LoomCut *cut, const LoomCutWire *wire)
{
  g_autofree char *colour = loom_book_colour(wire->colour);
  g_autofree char *size = loom_book_size(m, wire->mm2);
  g_autofree char *length = loom_book_number(m, wire->cut_mm, 0);
  g_autofree char *a = end_text(m, cut, wire->end_a, wire->contact_a);
  g_autofree char *b = end_text(m, cut, wire->end_b, wire->contact_b);
  loom_table_tick(table);
  loom_table_textf(table, "%u × %s", cut->count, colour);
  loom_table_text(table, size);
  loom_table_textf(table, _("%s mm"), length);
  loom_table_text(table, a);
  loom_table_text(table, b);
}

static void
ends_lines(LoomMaking *m, const LoomCut *cut)
{
  GString *text = g_string_new(NULL);
  for (guint e = 0; e < cut->kind->n_ends; e++)
    g_string_append_printf(text, _("%sEnd %s: %s, %s."), e ? " " : "", cut->kind->ends[e].id,
                           cut->kind->ends[e].family->name,
                           _(loom_gender_label(cut->kind->ends[e].gender)));
  loom_scroll_text(m->scroll, LOOM_TEXT_BODY, text->str);
  loom_scroll_keep(m->scroll);
  g_string_free(text, TRUE);
}

static void
one_cut(LoomMaking *m, const LoomCut *cut)
{
  LoomColumn columns[] = {{"", 7, 0, false},           {_("wires"), 31, 0, false},
                          {_("size"), 42, 0, false},   {_("cut to"), 20, 0, false},
                          {_("one end"), 0, 1, false}, {_("other end"), 0, 1, false}};
  g_autofree char *heading =
      cut->count > 1
          ? g_strdup_printf(_("%s: %s (make %u)"), cut->designations, cut->kind->name, cut->count)
          : g_strdup_printf("%s: %s", cut->designations, cut->kind->name);
  loom_scroll_text(m->scroll, LOOM_TEXT_STRONG, heading);
  ends_lines(m, cut);
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  loom_table_together(table);
  for (guint i = 0; i < cut->n_wires; i++)
    wire_row(m, table, cut, &cut->wires[i]);
  loom_table_end(table);
}

static int
by_size(gconstpointer a, gconstpointer b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* Sizes that are cut, each once, ascending. New. */
static GArray *
sizes_of(const LoomCuts *cuts)
{
  GArray *all = g_array_new(FALSE, FALSE, sizeof(double)),
         *sizes = g_array_new(FALSE, FALSE, sizeof(double));
  for (guint i = 0; i < cuts->n_cuts; i++)
    for (guint k = 0; k < cuts->cuts[i].n_wires; k++)
      if (!isnan(cuts->cuts[i].wires[k].mm2))
        g_array_append_val(all, cuts->cuts[i].wires[k].mm2);
  g_array_sort(all, by_size);
  for (guint i = 0; i < all->len; i++) {
    double size = g_array_index(all, double, i);
    if (sizes->len == 0 || g_array_index(sizes, double, sizes->len - 1) != size)
      g_array_append_val(sizes, size);
  }
  g_array_unref(all);
  return sizes;
}

static void
pull_cell(LoomTable *table, double pull_N)
{
  if (isnan(pull_N))
    loom_table_text(table, _("not listed"));
  else
    loom_table_textf(table, "%.0f N", ceil(pull_N - 1e-9));
}

static void
pull_tests(LoomMaking *m)
{
  LoomColumn columns[] = {{_("size"), 42, 0, false},
                          {_("hang on it at least"), 40, 0, false},
                          {_("UL 486A"), 0, 1, false},
                          {_("IEC 60352-2"), 0, 1, false},
                          {_("pulled, held"), 0, 1, false}};
  g_autoptr(GArray) sizes = sizes_of(m->cuts);
  loom_scroll_section(m->scroll, _("Pull at one crimp of each size"));
  loom_scroll_text(
      m->scroll, LOOM_TEXT_BODY,
      _("Make one crimp more than you need, hang the weight on it for a minute, and cut it "
        "off afterwards. If the wire slips, change the tool or the contact before you "
        "make the rest. Tug at every crimp by hand."));
  LoomTable *table = loom_table_begin(m->scroll, columns, G_N_ELEMENTS(columns), true);
  loom_table_together(table);
  for (guint i = 0; i < sizes->len; i++) {
    double mm2 = g_array_index(sizes, double, i);
    double ul = loom_crimp_pull_ul_N(mm2), iec = loom_crimp_pull_iec_N(mm2);
    double most = fmax(isnan(ul) ? 0 : ul, isnan(iec) ? 0 : iec);
    g_autofree char *size = loom_book_size(m, mm2);
    g_autofree char *weight = loom_book_number(m, ceil(most / 9.81 * 10) / 10, 1);
    loom_table_text(table, size);
    loom_table_textf(table, most > 0 ? _("%s kg") : "", weight);
    pull_cell(table, ul);
    pull_cell(table, iec);
    loom_table_blank(table);
  }
  loom_table_end(table);
  g_autofree char *source = g_strdup_printf(
      "%s %s",
      _("Pull-out forces: UL 486A as printed by two terminal makers; IEC 60352-2 from "
        "memory; sizes between listed ones on the straight line. The weight follows the "
        "greater of the two."),
      _("Both are typical; the terminal maker's figure counts."));
  loom_scroll_text(m->scroll, LOOM_TEXT_SMALL, source);
}

void
loom_book_wires(LoomMaking *m)
{
  g_autofree char *allowance = loom_book_number(m, LOOM_CUT_ALLOWANCE_MM, 0);
  g_autofree char *text = g_strdup_printf(
      _("Lengths to cut have %s mm more at each end, for stripping and a second try, "
        "and are rounded up to 5 mm. Leave out what you have ready-made."),
      allowance);
  loom_scroll_text(m->scroll, LOOM_TEXT_BODY, text);
  for (guint i = 0; i < m->cuts->n_cuts; i++)
    one_cut(m, &m->cuts->cuts[i]);
  pull_tests(m);
}
