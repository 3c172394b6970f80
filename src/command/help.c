/* What the command says of itself: all subcommands, or one with its options. */
#include "command.h"

#include <glib/gi18n-lib.h>

static const struct {
  guint option;
  const char *written, *about;
} options[] = {
    {OPTION_CSV, "--csv", N_("RFC 4180 with a header row, for a spreadsheet")},
    {OPTION_SCENE, "--scene NAME", N_("a scene; without it the first (of plug: every)")},
    {OPTION_STATE, "--state NAME", N_("one state of the scene; without it all")},
    {OPTION_CHARGE, "--charge PERCENT", N_("how full the packs are, 0 to 100")},
    {OPTION_MARGINS, "--margins", N_("how near each rating is, worst first")},
    {OPTION_OUTPUT, "-o FILE", N_("where it goes; the ending says what it becomes")},
    {OPTION_AT, "--at X,Y", N_("where on the sheet, in millimetres; without it a free place")},
    {OPTION_NAME, "--name NAME", N_("of the robot")},
    {OPTION_STOCK, "--stock FILE", N_("boxes other than the team's usual ones")},
    {OPTION_ALL, "--all", N_("nothing left out: free ports, unlikely suspects")},
    {OPTION_ANYWAY, "--anyway", N_("even where they do not mate")},
    {OPTION_FIT, "--fit turned|shifted", N_("how it sits, where the connectors are not keyed")},
    {OPTION_READINGS, "--readings", N_("volts and amps written on the diagram")},
    {OPTION_OUTING, "--outing NAME", N_("an outing of the scene; without it the first")},
    {OPTION_PAPER, "--paper a4|letter", N_("without it what is usual where you are")},
    {OPTION_PAGES, "--pages NAME,...", N_("chapters of the book")},
    {OPTION_GREY, "--grey", N_("as a printer without colours has it")},
    {OPTION_DAY, "--day N,HH:MM,MINUTES", N_("outings of the day, the first, minutes apart")},
    {OPTION_SIZE, "--size WxH", N_("of one label, in millimetres")},
    {OPTION_FLAGS, "--flags", N_("labels to fold around the wire")},
    {OPTION_SKIP, "--skip N", N_("labels of the sheet that are used up")},
    {OPTION_SEEN, "--works PART",
     N_("seen: it moves or reads as it should, or is lit (all of these repeatable)")},
    {OPTION_SEEN, "--dead PART", N_("seen: it does nothing, or is dark")},
    {OPTION_SEEN, "--backwards PART", N_("seen: it turns the wrong way")},
    {OPTION_SEEN, "--instead M2=M1", N_("seen: M2 was told to move, and M1 did")},
    {OPTION_SEEN, "--wrong PART", N_("seen: it turns the wrong way, or another one moves instead")},
    {OPTION_SEEN, "--resets, --steady",
     N_("seen: the controller starts again under load, or does not")},
    {OPTION_SEEN, "--volts END=VOLTS", N_("read on a meter")},
    {OPTION_SEEN, "--found TEST=LETTER", N_("the answer to a test that was asked for")},
    {OPTION_SEEN, "--cannot-tell TEST", N_("a test that cannot be done, or shows nothing clear")},
    {OPTION_CATALOGUE, "--catalogue FILE", N_("layers a catalogue of your own (repeatable)")},
};

void
command_help_all(FILE *out)
{
  fputs(_("loom: the wiring of a robot, drawn once and everything else computed from it.\n\n"),
        out);
  for (const Command *c = command_list; c->name; c++)
    fprintf(out, "  loom %s %s\n        %s\n", c->name, c->arguments, _(c->about));
  fputs(
      _("\nAn end is written G1:out, a contact G1:out:+. \"loom help COMMAND\" lists its options.\n"
        "Exit status: 0 done, 3 a file or a change was refused, 64 a wrong call.\n"),
      out);
}

void
command_help_one(FILE *out, const Command *command)
{
  fprintf(out, "loom %s %s\n  %s\n\n", command->name, command->arguments, _(command->about));
  for (guint i = 0; i < G_N_ELEMENTS(options); i++)
    if (options[i].option & (command->options | OPTION_CATALOGUE))
      fprintf(out, "  %-22s %s\n", options[i].written, _(options[i].about));
}
