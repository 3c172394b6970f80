#include "command.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>

int
command_fail(GError *error)
{
  fprintf(stderr, "loom: %s\n", error->message);
  g_error_free(error);
  return EXIT_WRONG_FILE;
}

int
command_wrong(const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_autofree char *sentence = g_strdup_vprintf(format, arguments);
  va_end(arguments);
  fprintf(stderr, "loom: %s\n", sentence);
  return EXIT_WRONG_CALL;
}

LoomCatalogue *
command_catalogue(const Call *call, GError **error)
{
  g_autoptr(LoomCatalogue) catalogue = loom_catalogue_built_in(error);
  if (!catalogue)
    return NULL;
  for (char **path = call->catalogues; path && *path; path++)
    if (!loom_catalogue_layer(catalogue, *path, error))
      return NULL;
  return g_steal_pointer(&catalogue);
}

LoomDesign *
command_open(const Call *call, guint word, GError **error)
{
  GError *cause = NULL;
  LoomDesign *design = call->catalogues ? NULL : loom_design_open(call->words[word], &cause);
  bool lacks_kinds =
      !design && (!cause || g_error_matches(cause, LOOM_ERROR, LOOM_ERROR_REFERENCE));
  if (!lacks_kinds) {
    if (cause)
      g_propagate_error(error, cause);
    return design;
  }
  g_clear_error(&cause);
  g_autoptr(LoomCatalogue) catalogue = command_catalogue(call, error);
  return catalogue ? loom_design_open_with(call->words[word], catalogue, error) : NULL;
}

guint
command_scene(const Call *call, const LoomDesign *design, GError **error)
{
  if (!call->scenes)
    return 0;
  guint scene = loom_design_find_scene(design, call->scenes[0]);
  if (scene == LOOM_NONE)
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("There is no scene %s."),
                call->scenes[0]);
  return scene;
}

bool
command_state_exists(const Call *call, const LoomDesign *design, guint scene, GError **error)
{
  const LoomScene *record = loom_design_scene(design, scene);
  if (!call->state || loom_scene_find_state(record, call->state) != LOOM_NONE)
    return true;
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_REFERENCE, _("Scene %s has no state %s."), record->name,
              call->state);
  return false;
}

LoomStock *
command_open_stock(const Call *call, GError **error)
{
  g_autofree char *path = call->stock ? g_strdup(call->stock) : loom_stock_default_path();
  if (!call->stock && !g_file_test(path, G_FILE_TEST_EXISTS))
    return NULL;
  if (!g_file_test(path, G_FILE_TEST_EXISTS)) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE, _("%s:0: There is no such stock."), path);
    return NULL;
  }
  return loom_stock_open(path, error);
}
