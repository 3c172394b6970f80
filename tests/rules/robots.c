#include "robots.h"

#include <math.h>
#include <string.h>

/* What is known while a script runs. */
typedef struct {
  LoomDesign *design;
  LoomCatalogue *catalogue;
  const char *name;
  guint line;
} Script;

/* A line in words, its options taken out. */
typedef struct {
  char **words;
  guint n;
  const char *at, *fit, *title;
  char *scenes[16];
  guint n_scenes;
} Line;

G_NORETURN static void
give_up(const Script *script, const char *why)
{
  g_error("%s:%u: %s", script->name, script->line, why);
}

static void
take_options(const Script *script, char **argv, Line *line)
{
  line->words = argv;
  for (char **word = argv; *word; word++) {
    if (!g_str_has_prefix(*word, "--")) {
      line->words[line->n++] = *word;
      continue;
    }
    if (g_str_equal(*word, "--anyway"))
      continue;
    const char *value = word[1];
    if (!value || line->n_scenes + 1 == G_N_ELEMENTS(line->scenes))
      give_up(script, "an option without a value");
    if (g_str_equal(*word, "--at"))
      line->at = value;
    else if (g_str_equal(*word, "--fit"))
      line->fit = value;
    else if (g_str_equal(*word, "--name"))
      line->title = value;
    else if (g_str_equal(*word, "--scene"))
      line->scenes[line->n_scenes++] = (char *)value;
    else
      give_up(script, "an unknown option");
    word++;
  }
}

static bool
run_add(const Script *script, const Line *line, LoomEdit *edit, GError **error)
{
  const char *what = line->words[1];
  if (strchr(what, ':'))
    return loom_edit_add_target(edit, what, error);
  const LoomKind *kind = loom_catalogue_kind(script->catalogue, what);
  double x_mm = NAN, y_mm = NAN;
  if (!kind)
    give_up(script, what);
  if (line->at) {
    g_auto(GStrv) both = g_strsplit(line->at, ",", 2);
    if (!both[1] || !loom_number_from_text(both[0], &x_mm) ||
        !loom_number_from_text(both[1], &y_mm))
      give_up(script, "--at takes X,Y");
  }
  return loom_edit_add(edit, kind, line->n > 2 ? line->words[2] : NULL, x_mm, y_mm, error) != NULL;
}

static bool
run_plug(const Script *script, const Line *line, LoomEdit *edit, GError **error)
{
  LoomFit fit = LOOM_FIT_NORMAL;
  while (line->fit && fit < LOOM_FIT_SHIFTED && !g_str_equal(line->fit, loom_fit_word(fit)))
    fit++;
  if (line->n != 3)
    give_up(script, "plug takes two ends");
  return loom_edit_plug(edit, line->words[1], line->words[2], fit,
                        line->n_scenes ? (const char *const *)line->scenes : NULL, error);
}

static bool
run_unplug(const Line *line, LoomEdit *edit, GError **error)
{
  if (!line->n_scenes)
    return loom_edit_unplug(edit, line->words[1], NULL, error);
  for (guint i = 0; i < line->n_scenes; i++)
    if (!loom_edit_unplug(edit, line->words[1], line->scenes[i], error))
      return false;
  return true;
}

static bool
run_set(const Script *script, const Line *line, LoomEdit *edit, GError **error)
{
  for (guint i = 2; i < line->n; i++) {
    char *equals = strchr(line->words[i], '=');
    if (!equals)
      give_up(script, line->words[i]);
    g_autofree char *key = g_strndup(line->words[i], (gsize)(equals - line->words[i]));
    if (!loom_edit_set(edit, line->words[1], key, equals + 1, error))
      return false;
  }
  return true;
}

static bool
run_remove(const Line *line, LoomEdit *edit, GError **error)
{
  for (guint i = 1; i < line->n; i++)
    if (!(strchr(line->words[i], ':') ? loom_edit_remove_target(edit, line->words[i], error)
                                      : loom_edit_remove(edit, line->words[i], error)))
      return false;
  return true;
}

static bool
run(const Script *script, const Line *line, LoomEdit *edit, GError **error)
{
  const char *word = line->words[0];
  if (g_str_equal(word, "new"))
    return !line->title || loom_edit_set(edit, "design", "name", line->title, error);
  if (g_str_equal(word, "tidy"))
    return true;
  if (line->n < 2)
    give_up(script, "too few words");
  if (g_str_equal(word, "add"))
    return run_add(script, line, edit, error);
  if (g_str_equal(word, "plug"))
    return run_plug(script, line, edit, error);
  if (g_str_equal(word, "unplug"))
    return run_unplug(line, edit, error);
  if (g_str_equal(word, "set"))
    return run_set(script, line, edit, error);
  if (g_str_equal(word, "remove"))
    return run_remove(line, edit, error);
  give_up(script, "an unknown word");
}

static void
run_line(const Script *script, const char *text)
{
  g_auto(GStrv) argv = NULL;
  g_autoptr(GError) error = NULL;
  if (!*text || *text == '#')
    return;
  if (!g_shell_parse_argv(text, NULL, &argv, &error))
    give_up(script, error->message);
  char **words = g_strdupv(argv);
  char **all = g_memdup2(words, (g_strv_length(words) + 1) * sizeof(char *));
  Line line = {0};
  take_options(script, words, &line);
  LoomEdit *edit = loom_edit_new(script->design, text);
  if (!run(script, &line, edit, &error))
    give_up(script, error->message);
  loom_design_apply(script->design, edit);
  g_strfreev(all);
  g_free(words);
}

LoomDesign *
robots_parse(const char *text, const char *name)
{
  Script script = {loom_design_new(name), robots_catalogue(), name, 0};
  g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
  for (char **line = lines; *line; line++) {
    script.line++;
    run_line(&script, g_strstrip(*line));
  }
  return script.design;
}

void
robots_do(LoomDesign *design, const char *line)
{
  Script script = {design, robots_catalogue(), line, 1};
  run_line(&script, line);
}

LoomCatalogue *
robots_catalogue(void)
{
  static LoomCatalogue *catalogue; /* of the test program */
  g_autoptr(GError) error = NULL;
  if (!catalogue && (!(catalogue = loom_catalogue_built_in(&error)) ||
                     !loom_catalogue_layer(catalogue, LOOM_TEST_FILES "/rules/more.xml", &error)))
    g_error("%s", error->message);
  return catalogue;
}

LoomDesign *
robots_load(const char *name)
{
  g_autofree char *path = g_strdup_printf("%s/robots/%s.txt", LOOM_TEST_FILES, name);
  g_autofree char *text = NULL;
  g_autoptr(GError) error = NULL;
  if (!g_file_get_contents(path, &text, NULL, &error))
    g_error("%s", error->message);
  return robots_parse(text, path);
}

const char *const *
robots_ordinary(void)
{
  static const char *const names[] = {
      "sandpiper",      "two-packs",  "servo-rail", "second-controller", "step-down", "two-pole",
      "genderless",     "bare-posts", "charging",   "metal-frame",       "lead-acid", "power-bank",
      "terminal-block", "four-cells", "fuse-block", "small-motors",      "studs",     NULL};
  return names;
}
