/* The command: takes the call apart, looks the subcommand up and runs it. */
#include "command/command.h"
#include "handout/language.h"

#include <glib/gi18n-lib.h>
#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const Command *
find_command(const char *name)
{
  for (const Command *c = command_list; c->name; c++)
    if (g_str_equal(c->name, name))
      return c;
  return NULL;
}

static bool
any_seen(const Seen *s)
{
  return s->works || s->dead || s->wrong || s->backwards || s->instead || s->volts || s->found ||
         s->cannot_tell || s->resets || s->steady;
}

static void
clear_seen(Seen *s)
{
  char **all[] = {s->works,   s->dead,  s->wrong, s->backwards,
                  s->instead, s->volts, s->found, s->cannot_tell};
  for (guint i = 0; i < G_N_ELEMENTS(all); i++)
    g_strfreev(all[i]);
}

/* Everything any subcommand understands; which were given is noted in call->given. */
static bool
parse(int *argc, char ***argv, Call *call, GError **error)
{
  gboolean csv = FALSE, margins = FALSE, all = FALSE, anyway = FALSE, readings = FALSE,
           flags = FALSE, resets = FALSE, steady = FALSE, grey = FALSE;
  char *charge = NULL;
  const GOptionEntry entries[] = {
      {"csv", 0, 0, G_OPTION_ARG_NONE, &csv, NULL, NULL},
      {"margins", 0, 0, G_OPTION_ARG_NONE, &margins, NULL, NULL},
      {"all", 0, 0, G_OPTION_ARG_NONE, &all, NULL, NULL},
      {"anyway", 0, 0, G_OPTION_ARG_NONE, &anyway, NULL, NULL},
      {"readings", 0, 0, G_OPTION_ARG_NONE, &readings, NULL, NULL},
      {"flags", 0, 0, G_OPTION_ARG_NONE, &flags, NULL, NULL},
      {"catalogue", 0, 0, G_OPTION_ARG_FILENAME_ARRAY, &call->catalogues, NULL, NULL},
      {"scene", 0, 0, G_OPTION_ARG_STRING_ARRAY, &call->scenes, NULL, NULL},
      {"state", 0, 0, G_OPTION_ARG_STRING, &call->state, NULL, NULL},
      {"outing", 0, 0, G_OPTION_ARG_STRING, &call->outing, NULL, NULL},
      {"charge", 0, 0, G_OPTION_ARG_STRING, &charge, NULL, NULL},
      {"output", 'o', 0, G_OPTION_ARG_FILENAME, &call->output, NULL, NULL},
      {"at", 0, 0, G_OPTION_ARG_STRING, &call->at, NULL, NULL},
      {"name", 0, 0, G_OPTION_ARG_STRING, &call->name, NULL, NULL},
      {"stock", 0, 0, G_OPTION_ARG_FILENAME, &call->stock, NULL, NULL},
      {"fit", 0, 0, G_OPTION_ARG_STRING, &call->fit, NULL, NULL},
      {"paper", 0, 0, G_OPTION_ARG_STRING, &call->paper, NULL, NULL},
      {"pages", 0, 0, G_OPTION_ARG_STRING, &call->pages, NULL, NULL},
      {"day", 0, 0, G_OPTION_ARG_STRING, &call->day, NULL, NULL},
      {"size", 0, 0, G_OPTION_ARG_STRING, &call->size, NULL, NULL},
      {"skip", 0, 0, G_OPTION_ARG_STRING, &call->skip, NULL, NULL},
      {"works", 0, 0, G_OPTION_ARG_STRING_ARRAY, &call->seen.works, NULL, NULL},
      {"dead", 0, 0, G_OPTION_ARG_STRING_ARRAY, &call->seen.dead, NULL, NULL},
      {"wrong", 0, 0, G_OPTION_ARG_STRING_ARRAY, &call->seen.wrong, NULL, NULL},
      {"backwards", 0, 0, G_OPTION_ARG_STRING_ARRAY, &call->seen.backwards, NULL, NULL},
      {"instead", 0, 0, G_OPTION_ARG_STRING_ARRAY, &call->seen.instead, NULL, NULL},
      {"volts", 0, 0, G_OPTION_ARG_STRING_ARRAY, &call->seen.volts, NULL, NULL},
      {"found", 0, 0, G_OPTION_ARG_STRING_ARRAY, &call->seen.found, NULL, NULL},
      {"cannot-tell", 0, 0, G_OPTION_ARG_STRING_ARRAY, &call->seen.cannot_tell, NULL, NULL},
      {"resets", 0, 0, G_OPTION_ARG_NONE, &resets, NULL, NULL},
      {"steady", 0, 0, G_OPTION_ARG_NONE, &steady, NULL, NULL},
      {"grey", 0, 0, G_OPTION_ARG_NONE, &grey, NULL, NULL},
      {NULL, 0, 0, 0, NULL, NULL, NULL}};
  g_autoptr(GOptionContext) context = g_option_context_new(NULL);
  g_option_context_add_main_entries(context, entries, NULL);
  g_option_context_set_help_enabled(context, FALSE);
  if (!g_option_context_parse(context, argc, argv, error))
    return false;
  call->charge_pct = NAN;
  if (charge && !(loom_number_from_text(charge, &call->charge_pct) && call->charge_pct >= 0 &&
                  call->charge_pct <= 100)) {
    g_set_error(error, G_OPTION_ERROR, G_OPTION_ERROR_BAD_VALUE,
                _("--charge takes percent, 0 to 100"));
    g_free(charge);
    return false;
  }
  call->csv = csv;
  call->margins = margins;
  call->all = all;
  call->anyway = anyway;
  call->readings = readings;
  call->flags = flags;
  call->grey = grey;
  call->seen.resets = resets;
  call->seen.steady = steady;
  const bool given[] = {csv,          call->catalogues,
                        call->scenes, call->state,
                        charge,       margins,
                        call->output, call->at,
                        call->name,   call->stock,
                        all,          anyway,
                        call->fit,    readings,
                        call->outing, call->paper,
                        call->pages,  call->day,
                        call->size,   flags,
                        call->skip,   any_seen(&call->seen),
                        grey}; /* in the order of OptionMask */
  for (guint i = 0; i < G_N_ELEMENTS(given); i++)
    call->given |= given[i] ? 1u << i : 0;
  g_free(charge);
  return true;
}

static int
run(const Command *command, int argc, char **argv)
{
  Call call = {0};
  g_autoptr(GError) error = NULL;
  int status;
  if (!parse(&argc, &argv, &call, &error))
    status = command_wrong("%s.", error->message);
  else {
    char **words = argv + 1;
    if (*words && g_str_equal(*words, "--"))
      words++;
    call.words = words;
    call.n_words = g_strv_length(words);
    if (call.csv)
      setlocale(LC_NUMERIC, "C");                            /* a table can be read back anywhere */
    if (call.given & ~(command->options | OPTION_CATALOGUE)) /* that one goes with all of them */
      status = command_wrong(
          _("%s does not understand one of these options; \"loom help %s\" lists its own."),
          command->name, command->name);
    else if (call.n_words < command->least || call.n_words > command->most)
      status = command_wrong(_("It is called: loom %s %s."), command->name, command->arguments);
    else
      status = command->run(&call);
  }
  char *owned[] = {call.state,  call.output, call.at,    call.name, call.stock, call.fit,
                   call.outing, call.paper,  call.pages, call.day,  call.size,  call.skip};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    g_free(owned[i]);
  g_strfreev(call.catalogues);
  g_strfreev(call.scenes);
  clear_seen(&call.seen);
  return status;
}

/* "loom --help", "loom help", "loom help draw", "loom draw --help". */
static bool
asks_for_help(int argc, char **argv)
{
  for (int i = 1; i < argc && !g_str_equal(argv[i], "--"); i++)
    if (g_str_equal(argv[i], "--help"))
      return true;
  return g_str_equal(argv[1], "help");
}

static int
help(int argc, char **argv)
{
  const char *topic = NULL;
  for (int i = 1; i < argc && !topic; i++)
    if (!g_str_equal(argv[i], "--help") && !g_str_equal(argv[i], "help"))
      topic = argv[i];
  const Command *command = topic ? find_command(topic) : NULL;
  if (topic && !command)
    return command_wrong(_("There is no command %s; \"loom --help\" lists them."), topic);
  if (command)
    command_help_one(stdout, command);
  else
    command_help_all(stdout);
  return 0;
}

int
main(int argc, char **argv)
{
  setlocale(LC_ALL, "");

  loom_language_init();
  if (argc < 2) {
    command_help_all(stderr);
    return EXIT_WRONG_CALL;
  }
  if (asks_for_help(argc, argv))
    return help(argc, argv);
  if (g_str_equal(argv[1], "--version")) {
    printf("loom %s\n", LOOM_VERSION);
    return 0;
  }
  const Command *command = find_command(argv[1]);
  if (!command)
    return command_wrong(_("There is no command %s; \"loom --help\" lists them."), argv[1]);
  g_auto(GStrv) words = g_new0(char *, argc);
  for (int i = 1; i < argc; i++)
    words[i - 1] = g_strdup(argv[i]);
  g_autofree char **copy = g_memdup2(words, sizeof *words * (gsize)argc); /* parsing reorders it */
  int status = run(command, argc - 1, copy);
  if (fflush(stdout) != 0 || ferror(stdout)) {
    fputs(_("loom: Standard output cannot be written.\n"), stderr);
    return EXIT_WRONG_FILE;
  }
  return status;
}
