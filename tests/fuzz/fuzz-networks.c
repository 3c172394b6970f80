/* Random networks through everything that computes: each design of random-design.h is written to a
 * file, and the command is run on it as a user would. Nothing may crash, no text may hold a number
 * that is none, and where there is an operating point currents must add up.
 *
 *   fuzz-networks FIRST COUNT      seeds FIRST ... FIRST + COUNT - 1
 *
 * A design that fails stays where the message says. LOOM_TEST_TELL=1 tells each one's time. */
#include "command/command.h"
#include "electric/operation.h"
#include "random-design.h"

#include <glib/gstdio.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* No number, none that double precision could mean, an index of nothing. */
static const char no_number[] =
    "(?i)(?<![\\pL\\d_.-])[-+]?(nan|inf|infinity)(?![\\pL\\d_])|\\de\\+\\d{3}|4294967295";

typedef struct {
  const char *path;
  guint32 seed;
  guint n_wrong;
  GRegex *regex;
} Fuzz;

static void
wrong(Fuzz *fuzz, const char *where, const char *what)
{
  fuzz->n_wrong++;
  fprintf(stderr, "seed %u, %s: %s\n", fuzz->seed, where, what);
}

/* Both streams are the library's own, so that what a sanitizer says still reaches the terminal. */
static char *
run_captured(const Command *command, const Call *call, int *status)
{
  char *text = NULL;
  size_t length = 0;
  FILE *out = stdout, *err = stderr, *both = open_memstream(&text, &length);
  stdout = stderr = both;
  *status = command->run(call);
  stdout = out;
  stderr = err;
  fclose(both);
  return text;
}

static void
run_command(Fuzz *fuzz, const char *name, Call call)
{
  const Command *command = command_list;
  char *words[] = {(char *)fuzz->path, NULL};
  int status;
  while (!g_str_equal(command->name, name))
    command++;
  call.words = words;
  call.n_words = 1;
  char *text = run_captured(command, &call, &status);
  g_autoptr(GMatchInfo) match = NULL;
  if (status > 2) {
    wrong(fuzz, name, text);
  } else if (g_regex_match(fuzz->regex, text, 0, &match)) {
    int at;
    g_match_info_fetch_pos(match, 0, &at, NULL);
    const char *start = text + at;
    while (start > text && start[-1] != '\n')
      start--;
    g_autofree char *line = g_strndup(start, strcspn(start, "\n"));
    wrong(fuzz, name, line);
  }
  free(text);
}

static void
run_commands(Fuzz *fuzz, GRand *rand)
{
  for (guint csv = 0; csv < 2; csv++) {
    double charge = g_rand_boolean(rand) ? NAN : 25.0 * g_rand_int_range(rand, 0, 5);
    const Call plain = {.csv = csv, .charge_pct = NAN},
               charged = {.csv = csv, .charge_pct = charge},
               margins = {.csv = csv, .charge_pct = charge, .margins = true};
    run_command(fuzz, "check", plain);
    run_command(fuzz, "solve", charged);
    run_command(fuzz, "solve", margins);
    run_command(fuzz, "fuses", plain);
    run_command(fuzz, "shorts", plain);
    run_command(fuzz, "outing", charged);
    run_command(fuzz, "meter", plain);
  }
}

/* The greatest sum of currents at a node, added up anew. */
static double
left_over_A(const LoomNetwork *n, const LoomOperatingPoint *p)
{
  g_autofree double *sum = g_new0(double, p->n_nodes + 1);
  double most = 0;
  for (guint i = 0; i < n->n_branches; i++) {
    const LoomBranch *b = &n->branches[i];
    const guint nodes[4] = {b->a, b->b, b->c, b->d};
    const double into[4] = {p->flows[i].a_A, p->flows[i].b_A, p->flows[i].c_A, p->flows[i].d_A};
    for (guint k = 0; k < 4; k++)
      if (nodes[k] != LOOM_NONE)
        sum[nodes[k]] += into[k];
  }
  for (guint v = 0; v < p->n_nodes; v++)
    most = fmax(most, fabs(sum[v]));
  return most;
}

/* At the reference comes together what each other node may be off by. */
static void
check_points(Fuzz *fuzz, const LoomDesign *design)
{
  g_autoptr(LoomWiring) wiring = loom_wiring_new(design, 0);
  g_autoptr(LoomOperation) op = loom_operation_new(wiring, 0.5);
  for (guint i = 0; i < op->n_states; i++) {
    const LoomOperatingPoint *p = op->points[i];
    if (p->trouble != LOOM_TROUBLE_NONE)
      continue;
    double left_A = left_over_A(op->network, p), may_A = p->n_nodes * fmax(p->bound_A, 1e-12);
    g_autofree char *sums = g_strdup_printf("%g A left over at a node, %g A may be; %g W, %g W",
                                            left_A, may_A, p->given_W, p->taken_W);
    if (!(left_A <= may_A) || !(fabs(p->given_W - p->taken_W) <= 1e-3 * fmax(p->given_W, 1e-3)))
      wrong(fuzz, "solver", sums);
  }
}

static void
fuzz_one(Fuzz *fuzz)
{
  g_autoptr(GError) error = NULL;
  GRand *rand = g_rand_new_with_seed(fuzz->seed);
  guint before = fuzz->n_wrong;
  clock_t start = clock();
  g_autoptr(LoomDesign) design = random_design_new(rand, (RandomSort)(fuzz->seed % N_RANDOM_SORTS));
  if (!loom_design_write(design, fuzz->path, &error))
    g_error("%s", error->message);
  check_points(fuzz, design);
  run_commands(fuzz, rand);
  g_rand_free(rand);
  if (g_getenv("LOOM_TEST_TELL"))
    printf("seed %u: %u parts, %.0f ms\n", fuzz->seed, loom_design_n_parts(design),
           1e3 * (double)(clock() - start) / CLOCKS_PER_SEC);
  if (fuzz->n_wrong == before)
    return;
  g_autofree char *kept = g_strdup_printf("%s.%u.loom", fuzz->path, fuzz->seed);
  loom_design_write(design, kept, NULL);
  fprintf(stderr, "  the design is %s\n", kept);
}

int
main(int argc, char **argv)
{
  if (argc != 3)
    return EXIT_WRONG_CALL;
  guint32 first = (guint32)atoi(argv[1]), count = (guint32)atoi(argv[2]);
  const char *own = g_getenv("LOOM_SEED");
  if (own)
    first = (guint32)atoi(own);
  g_autofree char *path = g_strdup_printf("%s/loom-networks-%d", g_get_tmp_dir(), (int)getpid());
  Fuzz fuzz = {.path = path, .regex = g_regex_new(no_number, G_REGEX_OPTIMIZE, 0, NULL)};
  for (guint32 i = 0; i < count; i++) {
    fuzz.seed = first + i;
    fuzz_one(&fuzz);
  }
  g_unlink(path);
  g_regex_unref(fuzz.regex);
  printf("%u designs, %u things wrong\n", count, fuzz.n_wrong);
  return fuzz.n_wrong ? 1 : 0;
}
