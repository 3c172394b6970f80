#include "command.h"
#include "handout/book.h"
#include "handout/labels.h"
#include "planning/steps.h"

#include <glib/gi18n-lib.h>
#include <stdio.h>

static bool
read_options(const Call *call, LoomBookOptions *options, GError **error)
{
  if (call->paper && g_ascii_strcasecmp(call->paper, "a4") == 0)
    options->paper = LOOM_PAPER_A4;
  else if (call->paper && g_ascii_strcasecmp(call->paper, "letter") == 0)
    options->paper = LOOM_PAPER_LETTER;
  else if (call->paper) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_CONTENT, _("--paper takes a4 or letter."));
    return false;
  }
  options->grey = call->grey;
  return (!call->pages || loom_chapters_parse(call->pages, &options->chapters, error)) &&
         (!call->day || loom_event_day_parse(call->day, &options->day, error));
}

int
command_handout(const Call *call)
{
  GError *error = NULL;
  LoomBookOptions options;
  if (!call->output)
    return command_wrong(_("handout needs -o FILE.pdf."));
  loom_book_options_init(&options);
  if (!read_options(call, &options, &error)) {
    g_autoptr(GError) wrong = error;
    return command_wrong("%s", wrong->message);
  }
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  options.scene = design ? command_scene(call, design, &error) : 0;
  g_autoptr(LoomCatalogue) catalogue = error ? NULL : command_catalogue(call, &error);
  g_autoptr(LoomStock) stock = error ? NULL : command_open_stock(call, &error);
  if (error)
    return command_fail(error);
  options.catalogue = catalogue;
  options.stock = stock;
  g_autoptr(LoomBook) book = loom_book_new(design, &options, NULL, NULL, NULL, &error);
  if (!book || !loom_book_write_pdf(book, call->output, NULL, NULL, NULL, &error))
    return command_fail(error);
  return 0;
}

static void
print_labels(const LoomLabels *labels)
{
  static const char *const columns[] = {N_("end"), N_("goes to"), N_("other end"), N_("wire")};
  Table *table = table_new(columns, G_N_ELEMENTS(columns));
  for (guint i = 0; i < labels->n_labels; i++) {
    table_cell(table, labels->labels[i].end);
    table_cell(table, labels->labels[i].to);
    table_cell(table, labels->labels[i].other);
    table_cell(table, labels->labels[i].detail);
  }
  table_print(table);
}

static int
write_labels(const Call *call, LoomLabels *labels, const char *title)
{
  g_autoptr(LoomLabels) own = labels;
  GError *error = NULL;
  guint64 skip = 0;
  const char *plain = loom_paper_of_locale() == LOOM_PAPER_LETTER ? "plain-letter" : "plain-a4";
  const LoomLabelSheet *sheet = loom_label_sheet(call->size ? call->size : plain);
  if (!sheet)
    return command_wrong(_("There is no label of that size; there are 70x37, 63.5x38.1, 48.5x25.4, "
                           "38.1x21.2 (A4), 66.7x25.4, 44.5x12.7 (Letter), plain-a4 and "
                           "plain-letter."));
  if (call->skip && !g_ascii_string_to_unsigned(call->skip, 10, 0, 200, &skip, NULL))
    return command_wrong(_("--skip takes a number of labels."));
  g_autoptr(LoomLabelPages) pages =
      loom_label_pages_new(g_steal_pointer(&own), title, sheet, call->flags, (guint)skip);
  if (!loom_label_pages_write_pdf(pages, call->output, NULL, NULL, NULL, &error))
    return command_fail(error);
  return 0;
}

int
command_labels(const Call *call)
{
  GError *error = NULL;
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  guint scene = design ? command_scene(call, design, &error) : 0;
  if (error)
    return command_fail(error);
  g_autoptr(LoomLabels) labels = loom_labels_new(design, scene);
  if (call->output)
    return write_labels(call, g_steal_pointer(&labels), loom_design_title(design)->name);
  if (call->csv) {
    g_autofree char *csv = loom_labels_csv(labels);
    fputs(csv, stdout);
  } else {
    print_labels(labels);
  }
  return 0;
}

static void
print_steps(const LoomSteps *steps)
{
  for (char **note = steps->notes; note && *note; note++)
    printf("%s\n", *note);
  for (guint g = 0; g < steps->n_groups; g++) {
    const LoomStepGroup *group = &steps->groups[g];
    if (g == 0 || group->stage != steps->groups[g - 1].stage)
      printf(_("\nStage %s: %s\n"), loom_stage_word(group->stage),
             _(loom_stage_label(group->stage)));
    if (group->place)
      printf("%s:\n", group->place);
    for (guint i = group->first; i < group->first + group->n; i++)
      printf("%4u  %s%s%s\n", i + 1, steps->steps[i].sentence, steps->steps[i].home ? " " : "",
             steps->steps[i].home ? steps->steps[i].home : "");
  }
}

int
command_steps(const Call *call)
{
  GError *error = NULL;
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  guint scene = design ? command_scene(call, design, &error) : 0;
  if (error)
    return command_fail(error);
  g_autoptr(LoomSteps) steps = loom_steps_new(design, scene);
  if (call->csv) {
    g_autofree char *csv = loom_steps_to_csv(steps);
    fputs(csv, stdout);
  } else {
    print_steps(steps);
  }
  return 0;
}
