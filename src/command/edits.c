#include "command.h"
#include "design/edit.h"
#include "sheet/tidy.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Every command here opens a file, makes one edit and saves; nothing is saved if the edit fails. */
typedef bool (*Change)(const Call *call, LoomEdit *edit, GError **error);

static int
change_file(const Call *call, const char *label, Change change)
{
  GError *error = NULL;
  const char *path = call->words[0];
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  if (!design)
    return command_fail(error);
  g_autoptr(LoomEdit) edit = loom_edit_new(design, label);
  if (!change(call, edit, &error)) {
    g_prefix_error(&error, "%s: ", path);
    return command_fail(error);
  }
  if (!loom_design_apply(design, g_steal_pointer(&edit)))
    return 0;
  return loom_design_save(design, path, &error) ? 0 : command_fail(error);
}

int
command_new(const Call *call)
{
  GError *error = NULL;
  const char *path = call->words[0];
  if (g_file_test(path, G_FILE_TEST_EXISTS)) {
    g_set_error(&error, LOOM_ERROR, LOOM_ERROR_FILE,
                _("%s:0: There is a file of that name already."), path);
    return command_fail(error);
  }
  g_autofree char *base = g_path_get_basename(path);
  char *dot = strrchr(base, '.');
  if (dot && dot != base)
    *dot = '\0';
  g_autoptr(LoomDesign) design = loom_design_new(call->name ? call->name : base);
  return loom_design_save(design, path, &error) ? 0 : command_fail(error);
}

/* --- add --- */

static bool
read_place(const Call *call, double *x_mm, double *y_mm, GError **error)
{
  *x_mm = *y_mm = NAN;
  if (!call->at)
    return true;
  g_auto(GStrv) both = g_strsplit(call->at, ",", 2);
  if (both[0] && both[1] && loom_number_from_text(both[0], x_mm) &&
      loom_number_from_text(both[1], y_mm))
    return true;
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("--at takes X,Y in millimetres, not \"%s\"."),
              call->at);
  return false;
}

static const LoomKind *
find_kind(const LoomDesign *design, const LoomCatalogue *catalogue, const char *id, GError **error)
{
  const LoomKind *kind = loom_design_kind(design, id);
  if (!kind)
    kind = loom_catalogue_kind(catalogue, id);
  if (!kind)
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE,
                _("The catalogue has no kind %s; \"loom kinds WORD\" searches it."), id);
  return kind;
}

static bool
add(const Call *call, LoomEdit *edit, GError **error)
{
  const char *what = call->words[1];
  if (g_str_has_prefix(what, "scene:") || g_str_has_prefix(what, "state:") ||
      g_str_has_prefix(what, "outing:"))
    return loom_edit_add_target(edit, what, error);
  double x_mm, y_mm;
  if (!read_place(call, &x_mm, &y_mm, error))
    return false;
  g_autoptr(LoomCatalogue) catalogue = command_catalogue(call, error);
  const LoomKind *kind =
      catalogue ? find_kind(loom_edit_design(edit), catalogue, what, error) : NULL;
  if (!kind)
    return false;
  if (isnan(x_mm)) {
    LoomPoint place = loom_tidy_free_place(loom_edit_design(edit), kind, 20, 20);
    x_mm = place.x;
    y_mm = place.y;
  }
  const char *given = loom_edit_add(edit, kind, call->words[2], x_mm, y_mm, error);
  if (given)
    printf("%s\n", given);
  return given != NULL;
}

int
command_add(const Call *call)
{
  return change_file(call, _("Add"), add);
}

/* --- plug --- */

static bool
read_fit(const Call *call, LoomFit *fit, GError **error)
{
  *fit = LOOM_FIT_NORMAL;
  if (!call->fit)
    return true;
  for (guint f = LOOM_FIT_NORMAL; f <= LOOM_FIT_SHIFTED; f++)
    if (g_str_equal(call->fit, loom_fit_word((LoomFit)f))) {
      *fit = (LoomFit)f;
      return true;
    }
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("--fit is normal, turned or shifted."));
  return false;
}

/* A joint that cannot be is refused unless --anyway says that the drawing should show it. */
static bool
mates(const LoomDesign *design, const char *a, const char *b, LoomFit fit, GError **error)
{
  guint part_a, end_a, part_b, end_b;
  if (!loom_design_find_end(design, a, &part_a, &end_a, error) ||
      !loom_design_find_end(design, b, &part_b, &end_b, error))
    return false;
  const LoomEnd *x = &loom_design_part(design, part_a)->kind->ends[end_a];
  const LoomEnd *y = &loom_design_part(design, part_b)->kind->ends[end_b];
  LoomMate mate = loom_mate(x, y);
  if (mate != LOOM_MATE_YES) {
    g_autofree char *why = loom_mate_why(mate, x, y);
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("%s and %s do not mate. %s"), a, b, why);
    return false;
  }
  if (!loom_fit_possible(x, y, fit)) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("%s and %s cannot be plugged %s."), a, b,
                _(loom_fit_word(fit)));
    return false;
  }
  return true;
}

static bool
plug(const Call *call, LoomEdit *edit, GError **error)
{
  LoomFit fit;
  const char *a = call->words[1], *b = call->words[2];
  if (!read_fit(call, &fit, error))
    return false;
  if (!call->anyway && !mates(loom_edit_design(edit), a, b, fit, error))
    return false;
  return loom_edit_plug(edit, a, b, fit, (const char *const *)call->scenes, error);
}

int
command_plug(const Call *call)
{
  return change_file(call, _("Plug"), plug);
}

static bool
unplug(const Call *call, LoomEdit *edit, GError **error)
{
  if (!call->scenes)
    return loom_edit_unplug(edit, call->words[1], NULL, error);
  for (char **scene = call->scenes; *scene; scene++)
    if (!loom_edit_unplug(edit, call->words[1], *scene, error))
      return false;
  return true;
}

int
command_unplug(const Call *call)
{
  return change_file(call, _("Unplug"), unplug);
}

/* --- set, remove, tidy --- */

static bool
set(const Call *call, LoomEdit *edit, GError **error)
{
  for (guint i = 2; i < call->n_words; i++) {
    const char *equals = strchr(call->words[i], '=');
    if (!equals || equals == call->words[i]) {
      g_set_error(error, LOOM_ERROR, LOOM_ERROR_EDIT, _("\"%s\" is not KEY=VALUE."),
                  call->words[i]);
      return false;
    }
    g_autofree char *key = g_strndup(call->words[i], (gsize)(equals - call->words[i]));
    if (!loom_edit_set(edit, call->words[1], key, equals + 1, error))
      return false;
  }
  return true;
}

int
command_set(const Call *call)
{
  return change_file(call, _("Set"), set);
}

static bool
remove_all(const Call *call, LoomEdit *edit, GError **error)
{
  for (guint i = 1; i < call->n_words; i++) {
    const char *word = call->words[i];
    bool done = strchr(word, ':') ? loom_edit_remove_target(edit, word, error)
                                  : loom_edit_remove(edit, word, error);
    if (!done)
      return false;
  }
  return true;
}

int
command_remove(const Call *call)
{
  return change_file(call, _("Remove"), remove_all);
}

static bool
tidy(const Call *call, LoomEdit *edit, GError **error)
{
  guint scene = command_scene(call, loom_edit_design(edit), error);
  if (scene == LOOM_NONE)
    return false;
  loom_tidy(edit, scene);
  return true;
}

int
command_tidy(const Call *call)
{
  return change_file(call, _("Tidy"), tidy);
}
