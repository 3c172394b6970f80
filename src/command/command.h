/* The command `loom`: what every subcommand gets and gives.
 *
 * A subcommand is one row of a table (list.c): its name, arguments, the options it understands and
 * the function that runs it. Exit statuses: what the function returns, EXIT_WRONG_FILE (3) after an
 * error that was told in one sentence, EXIT_WRONG_CALL (64) after a wrong call. */
#pragma once

#include "design/file.h"
#include "planning/stock.h"

#include <stdio.h>

G_BEGIN_DECLS

enum { EXIT_WRONG_FILE = 3, EXIT_WRONG_CALL = 64 };

typedef enum {
  OPTION_CSV = 1 << 0,
  OPTION_CATALOGUE = 1 << 1,
  OPTION_SCENE = 1 << 2,
  OPTION_STATE = 1 << 3,
  OPTION_CHARGE = 1 << 4,
  OPTION_MARGINS = 1 << 5,
  OPTION_OUTPUT = 1 << 6,
  OPTION_AT = 1 << 7,
  OPTION_NAME = 1 << 8,
  OPTION_STOCK = 1 << 9,
  OPTION_ALL = 1 << 10,
  OPTION_ANYWAY = 1 << 11,
  OPTION_FIT = 1 << 12,
  OPTION_READINGS = 1 << 13,
  OPTION_OUTING = 1 << 14,
  OPTION_PAPER = 1 << 15,
  OPTION_PAGES = 1 << 16,
  OPTION_DAY = 1 << 17,
  OPTION_SIZE = 1 << 18,
  OPTION_FLAGS = 1 << 19,
  OPTION_SKIP = 1 << 20,
  OPTION_SEEN = 1 << 21, /* all answers of fault finding */
  OPTION_GREY = 1 << 22,
} OptionMask;

/* What was seen of a robot that does not work: arrays that end with NULL, or NULL. */
typedef struct {
  char **works, **dead, **wrong, **backwards, **instead, **volts, **found, **cannot_tell;
  bool resets, steady;
} Seen;

/* One call, taken apart. Strings are borrowed from the command line. */
typedef struct {
  char **words; /* arguments without options, NULL-terminated */
  guint n_words;
  guint given; /* OptionMask */
  bool csv, margins, all, anyway, readings, flags, grey;
  char **catalogues, **scenes; /* NULL-terminated, or NULL */
  char *state, *output, *at, *name, *stock, *fit, *outing, *paper, *pages, *day, *size, *skip;
  double charge_pct; /* NAN: not given */
  Seen seen;
} Call;

typedef struct {
  const char *name, *arguments, *about;
  guint least, most; /* number of words */
  guint options;     /* OptionMask */
  int (*run)(const Call *call);
} Command;

/* Every subcommand, ending with a NULL name. */
extern const Command command_list[];

int command_check(const Call *call);
int command_compare(const Call *call);
int command_solve(const Call *call);
int command_outing(const Call *call);
int command_fuses(const Call *call);
int command_shorts(const Call *call);
int command_draw(const Call *call);
int command_parts(const Call *call);
int command_ports(const Call *call);
int command_kinds(const Call *call);
int command_kind(const Call *call);
int command_new(const Call *call);
int command_add(const Call *call);
int command_plug(const Call *call);
int command_unplug(const Call *call);
int command_set(const Call *call);
int command_remove(const Call *call);
int command_tidy(const Call *call);
int command_linkup(const Call *call);
int command_stock(const Call *call);
int command_handout(const Call *call);
int command_labels(const Call *call);
int command_steps(const Call *call);
int command_meter(const Call *call);
int command_faults(const Call *call);

/* Tells the error and returns EXIT_WRONG_FILE; takes `error`. */
int command_fail(GError *error);
/* Tells a wrong call in one sentence and returns EXIT_WRONG_CALL. */
int command_wrong(const char *format, ...) G_GNUC_PRINTF(1, 2);

/* The built-in catalogue with the layers of --catalogue. New, or NULL with `error`. */
LoomCatalogue *command_catalogue(const Call *call, GError **error);
/* help.c: every subcommand, or one with its options. */
void command_help_all(FILE *out);
void command_help_one(FILE *out, const Command *command);

/* The design in the file that a word names. Kinds that the file does not embed are taken from the
 * catalogue, which is read only then, or where --catalogue asks for it. New, or NULL. */
LoomDesign *command_open(const Call *call, guint word, GError **error);
/* Index of the scene of --scene, otherwise 0; LOOM_NONE with `error` where there is none such. */
guint command_scene(const Call *call, const LoomDesign *design, GError **error);
/* Whether the scene has the state of --state; true where none was asked for. */
bool command_state_exists(const Call *call, const LoomDesign *design, guint scene, GError **error);
/* The stock of --stock, otherwise the default one if it is there, otherwise NULL. */
LoomStock *command_open_stock(const Call *call, GError **error);

/* A table for people: columns aligned, two blanks between. Cells are copied; NULL is empty. */
typedef struct Table Table;
Table *table_new(const char *const *columns, guint n);
/* Columns of numbers are set flush right. */
void table_flush_right(Table *table, guint column);
void table_cell(Table *table, const char *text);
void table_cellf(Table *table, const char *format, ...) G_GNUC_PRINTF(2, 3);
/* Prints to standard output and frees. */
void table_print(Table *table);

G_END_DECLS
