#include "command.h"

#define ROW(command, arguments, about, least, most, options)                                       \
  {                                                                                                \
#command, arguments, about, least, most, options, command_##command                            \
  }

const Command command_list[] = {
    ROW(check, "FILE", "findings, one a line; status 0 nothing above note, 1 care, 2 stop", 1, 1,
        OPTION_CSV),
    ROW(draw, "FILE -o X.svg", "the diagram (.svg, .pdf, .png)", 1, 1,
        OPTION_OUTPUT | OPTION_SCENE),
    ROW(parts, "FILE", "parts list", 1, 1, OPTION_CSV | OPTION_STOCK | OPTION_CATALOGUE),
    ROW(ports, "FILE", "port map; --all lists free ports too", 1, 1,
        OPTION_CSV | OPTION_SCENE | OPTION_ALL),
    ROW(kinds, "[WORD...]", "what the catalogue holds", 0, 20, OPTION_CSV | OPTION_CATALOGUE),
    ROW(kind, "KIND", "one entry, with its ends", 1, 1, OPTION_CSV | OPTION_CATALOGUE),
    ROW(new, "FILE", "an empty design; --name NAME", 1, 1, OPTION_NAME),
    ROW(add, "FILE KIND [DESIGNATION]",
        "a part (prints its designation), or scene:NAME, state:SCENE/NAME, outing:SCENE/NAME", 2, 3,
        OPTION_CATALOGUE | OPTION_AT),
    ROW(plug, "FILE END END",
        "a joint; --scene NAME (repeatable), --fit turned, --anyway where they do not mate", 3, 3,
        OPTION_SCENE | OPTION_FIT | OPTION_ANYWAY),
    ROW(unplug, "FILE END", "takes the joint apart, with --scene NAME in that scene only", 2, 2,
        OPTION_SCENE),
    ROW(set, "FILE TARGET KEY=VALUE...",
        "a property of a part, joint (G1:out), scene:, state:, outing: or the design", 3, 200, 0),
    ROW(remove, "FILE NAME...", "parts, scenes, states, outings", 2, 1000, 0),
    ROW(tidy, "FILE", "lays the bench out anew", 1, 1, OPTION_SCENE),
    {0},
};
