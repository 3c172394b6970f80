#include "command.h"
#include "handout/parts.h"
#include "handout/ports.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdio.h>

/* --- parts --- */

static void
print_parts(const LoomPartsList *list)
{
  static const char *const columns[] = {"",         N_("part"),  N_("what"), N_("length"),
                                        N_("have"), N_("short"), N_("price")};
  Table *table = table_new(columns, G_N_ELEMENTS(columns));
  static const guint right[] = {0, 3, 4, 5, 6};
  for (guint i = 0; i < G_N_ELEMENTS(right); i++)
    table_flush_right(table, right[i]);
  double sum = 0;
  for (guint i = 0; i < list->n_rows; i++) {
    const LoomPartsRow *row = &list->rows[i];
    table_cellf(table, "%u", row->count);
    table_cell(table, row->designations);
    table_cell(table, row->description);
    table_cellf(table, isnan(row->length_mm) ? "" : "%g mm", row->length_mm);
    table_cellf(table, row->have < 0 ? "" : "%d", row->have);
    table_cellf(table, row->missing < 0 ? "" : "%d", row->missing);
    table_cellf(table, isnan(row->price) ? "" : "%.2f", row->price);
    sum += isnan(row->price) ? 0 : row->price;
  }
  table_print(table);
  printf(_("Prices known add up to %.2f.\n"), sum);
}

int
command_parts(const Call *call)
{
  GError *error = NULL;
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  g_autoptr(LoomCatalogue) catalogue = design ? command_catalogue(call, &error) : NULL;
  g_autoptr(LoomStock) stock = catalogue ? command_open_stock(call, &error) : NULL;
  if (error)
    return command_fail(error);
  g_autoptr(LoomPartsList) list = loom_parts_list_new(design, catalogue, stock);
  if (!call->csv) {
    print_parts(list);
    return 0;
  }
  g_autofree char *csv = loom_parts_list_csv(list);
  fputs(csv, stdout);
  return 0;
}

/* --- ports --- */

static void
print_ports(const LoomPortMap *map)
{
  static const char *const columns[] = {N_("controller"), N_("module"), N_("port"), N_("end"),
                                        N_("choose"),     N_("part"),   N_("name"), N_("settings")};
  Table *table = table_new(columns, G_N_ELEMENTS(columns));
  for (guint i = 0; i < map->n_rows; i++) {
    const LoomPortRow *row = &map->rows[i];
    table_cell(table, row->controller);
    table_cell(table, row->module);
    table_cellf(table, "%s %u", row->type, row->channel);
    table_cell(table, row->end);
    table_cell(table, row->device_type ? row->device_type : "free");
    table_cell(table, row->part);
    table_cell(table, row->name);
    table_cell(table, row->settings);
  }
  table_print(table);
}

int
command_ports(const Call *call)
{
  GError *error = NULL;
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  guint scene = design ? command_scene(call, design, &error) : LOOM_NONE;
  if (error)
    return command_fail(error);
  g_autoptr(LoomPortMap) map = loom_port_map_new(design, scene, call->all);
  if (!call->csv) {
    print_ports(map);
    return 0;
  }
  g_autofree char *csv = loom_port_map_csv(map);
  fputs(csv, stdout);
  return 0;
}

/* --- kinds --- */

static char *
ends_of(const LoomKind *kind)
{
  GString *text = g_string_new(NULL);
  for (guint i = 0; i < kind->n_ends; i++)
    g_string_append_printf(text, "%s%s (%s, %s)", i ? "; " : "", kind->ends[i].id,
                           kind->ends[i].family->id, loom_gender_word(kind->ends[i].gender));
  return g_string_free(text, FALSE);
}

static void
print_kinds_csv(const LoomKind *const *kinds, guint n, const char *words)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "kind", "letter", "name", "ends", NULL);
  for (guint i = 0; i < n; i++) {
    if (!loom_kind_matches(kinds[i], words))
      continue;
    g_autofree char *ends = ends_of(kinds[i]);
    loom_csv_text(csv, kinds[i]->id);
    loom_csv_text(csv, kinds[i]->letter);
    loom_csv_text(csv, kinds[i]->name);
    loom_csv_text(csv, ends);
    loom_csv_end_row(csv);
  }
  fputs(loom_csv_bytes(csv), stdout);
}

int
command_kinds(const Call *call)
{
  static const char *const columns[] = {N_("kind"), N_("letter"), N_("name")};
  GError *error = NULL;
  g_autoptr(LoomCatalogue) catalogue = command_catalogue(call, &error);
  if (error)
    return command_fail(error);
  g_autofree char *words = g_strjoinv(" ", call->words);
  guint n;
  const LoomKind *const *kinds = loom_catalogue_kinds(catalogue, &n);
  if (call->csv) {
    print_kinds_csv(kinds, n, words);
    return 0;
  }
  Table *table = table_new(columns, G_N_ELEMENTS(columns));
  for (guint i = 0; i < n; i++) {
    if (!loom_kind_matches(kinds[i], words))
      continue;
    table_cell(table, kinds[i]->id);
    table_cell(table, kinds[i]->letter);
    table_cell(table, kinds[i]->name);
  }
  table_print(table);
  return 0;
}

/* --- kind --- */

static void
print_contact(const LoomContact *contact)
{
  printf("      %u  %-8s %s", contact->way, contact->name, _(loom_role_word(contact->role)));
  if (contact->signal)
    printf(", %s", _(loom_signal_label(contact->signal)));
  if (contact->colour)
    printf(", %s", contact->colour);
  putchar('\n');
}

static void
print_end(const LoomEnd *end)
{
  printf("  %s: %s, %s", end->id, end->family->name, _(loom_gender_label(end->gender)));
  if (!isnan(end->family->rated_A))
    printf(_(", %g A a contact"), end->family->rated_A);
  if (!isnan(end->limit_A))
    printf(_(", limited to %g A"), end->limit_A);
  putchar('\n');
  for (guint i = 0; i < end->n_contacts; i++)
    print_contact(&end->contacts[i]);
}

static void
print_kind(const LoomKind *kind)
{
  printf("%s: %s\n", kind->id, kind->name);
  if (kind->about)
    printf("%s\n", kind->about);
  printf(_("Letter %s, %s. Figures: %s\n"), kind->letter, _(loom_group_label(kind->group)),
         kind->source);
  if (!isnan(kind->length_mm))
    printf(_("Length %g mm.\n"), kind->length_mm);
  if (kind->address >= 0)
    printf(_("I²C address 0x%02X.\n"), (guint)kind->address);
  for (guint i = 0; i < kind->n_ends; i++)
    print_end(&kind->ends[i]);
  for (guint i = 0; i < kind->n_limits; i++)
    printf(_("  %s: %g A together%s\n"), kind->limits[i].label, kind->limits[i].limit_A,
           kind->limits[i].acts ? _(", shuts off by itself") : "");
  for (guint i = 0; i < kind->n_advice; i++)
    printf("  %s: %s\n", kind->advice[i].step, kind->advice[i].text);
}

static void
print_kind_csv(const LoomKind *kind)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "end", "family", "gender", "way", "contact", "role", "signal", "colour", NULL);
  for (guint e = 0; e < kind->n_ends; e++)
    for (guint c = 0; c < kind->ends[e].n_contacts; c++) {
      const LoomContact *contact = &kind->ends[e].contacts[c];
      loom_csv_text(csv, kind->ends[e].id);
      loom_csv_text(csv, kind->ends[e].family->id);
      loom_csv_text(csv, loom_gender_word(kind->ends[e].gender));
      loom_csv_whole(csv, contact->way);
      loom_csv_text(csv, contact->name);
      loom_csv_text(csv, loom_role_word(contact->role));
      loom_csv_text(csv, contact->signal ? loom_signal_word(contact->signal) : NULL);
      loom_csv_text(csv, contact->colour);
      loom_csv_end_row(csv);
    }
  fputs(loom_csv_bytes(csv), stdout);
}

int
command_kind(const Call *call)
{
  GError *error = NULL;
  g_autoptr(LoomCatalogue) catalogue = command_catalogue(call, &error);
  if (error)
    return command_fail(error);
  const LoomKind *kind = loom_catalogue_kind(catalogue, call->words[0]);
  if (!kind) {
    g_set_error(&error, LOOM_ERROR, LOOM_ERROR_REFERENCE,
                _("The catalogue has no kind %s; \"loom kinds WORD\" searches it."),
                call->words[0]);
    return command_fail(error);
  }
  if (call->csv)
    print_kind_csv(kind);
  else
    print_kind(kind);
  return 0;
}
