/* Robots for tests, as scripts in tests/files/robots: the lines of the command `loom`, without the
 * word loom and without the file.
 *
 *   new --name "Two packs"
 *   add pack-nimh-12v-3ah G1 --at 20,20
 *   add scene:charging
 *   plug G1:out F1:in --scene driving --fit normal --anyway
 *   unplug G1:out --scene charging
 *   set Q1 on=no label="Main switch"
 *   remove W1
 *   # a comment; empty lines and `tidy` do nothing here
 *
 * A script that cannot be carried out ends the test with file and line. */
#pragma once

#include "design/edit.h"

/* The robot of tests/files/robots/NAME.txt. New. */
LoomDesign *robots_load(const char *name);
/* The same from text; `name` stands in messages. New. */
LoomDesign *robots_parse(const char *text, const char *name);
/* One line applied to a design. */
void robots_do(LoomDesign *design, const char *line);

/* Names of the ordinary robots, which yield nothing above note; NULL-terminated. */
const char *const *robots_ordinary(void);

/* The built-in catalogue with tests/files/rules/more.xml over it, read once a process; borrowed. */
LoomCatalogue *robots_catalogue(void);
