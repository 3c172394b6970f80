/* When it stays dark: which single fault explains what is seen, and which one test to do next.
 *
 *   g_autoptr(LoomFaultModel) m = loom_fault_model_new(design, scene);
 *   LoomEvidence seen[] = {...};                       // loom_fault_evidence(m, "dead", "M1", ...)
 *   g_autoptr(LoomDiagnosis) d = loom_diagnosis_new(m, seen, n);
 *   d->suspects[0]..., m->tests[d->next_test].todo
 *
 * Every fault is put into the network of the scene and solved at rest and in the state that asks
 * most of the controller; a graph of signals, with the same fault in it, says who answers on which
 * channel. That gives for each fault what every test would show; nothing is said by rules made by
 * hand.
 *
 *   behaviour  lamps, the roll-call, restarting: to be seen at once
 *   look       at a joint, a fuse, a switch, an address
 *   measure    volts at free ends, at the pack, at an end that is opened for it (pack off, unplug,
 *              pack on: nothing live is opened); a lead through and through, unplugged, without
 *              power
 *   move       a plug into another port of the same kind
 *   exchange   a part for another that is known to work
 *
 * Likelihoods before any test are weights from common practice (no source), those of joints times
 * what the family and a tie say. An answer multiplies them by Bayes' rule, an answer that
 * contradicts the model by LOOM_FAULT_SLIP rather than 0: nobody reads without error. The next test
 * is the one that leads to the end at least trouble: worked out in full where few suspects are
 * left, otherwise the greatest expected information for its trouble. */
#pragma once

#include "design/design.h"

G_BEGIN_DECLS

#define LOOM_FAULT_SLIP 0.02 /* share of answers that are wrong; common practice, no source */

typedef enum {
  LOOM_FAULT_OUT,     /* a joint is not home */
  LOOM_FAULT_CONTACT, /* one contact of a joint does not touch */
  LOOM_FAULT_LOOSE,   /* a joint touches badly: LOOM_FAULT_LOOSE_OHM more at each contact */
  LOOM_FAULT_TURNED,
  LOOM_FAULT_SHIFTED,
  LOOM_FAULT_PORT,     /* plugged at the neighbour of the same kind, or the two exchanged */
  LOOM_FAULT_WIRE,     /* one wire of a lead is broken */
  LOOM_FAULT_SHORT,    /* two neighbours of a lead are joined */
  LOOM_FAULT_REVERSED, /* a lead is made with its first two wires swapped */
  LOOM_FAULT_BLOWN,    /* a fuse */
  LOOM_FAULT_OFF,      /* a switch of the supply is off */
  LOOM_FAULT_SWITCH,   /* it is on, and does not conduct */
  LOOM_FAULT_FLAT,     /* a pack is empty: at no charge, LOOM_FAULT_FLAT_OHM times its resistance */
  LOOM_FAULT_PACK,     /* a pack gives nothing */
  LOOM_FAULT_PART,     /* a part is dead */
  LOOM_FAULT_ADDRESS,  /* two parts on one bus answer to one address */
  LOOM_FAULT_BACKWARDS, /* a motor runs backwards: its poles, or what the program holds of it */
  LOOM_FAULT_DEAD_PORT, /* one channel of a controller gives and reads nothing, the rest lives */
} LoomFaultType;

#define LOOM_FAULT_LOOSE_OHM 1.0
#define LOOM_FAULT_FLAT_OHM 3.0 /* common practice, no source */

typedef struct {
  LoomFaultType type;
  guint joint;     /* index in the design: OUT ... PORT; otherwise LOOM_NONE */
  guint part, end; /* the part in question; PORT: with the end where it ought to be */
  guint a, b;    /* CONTACT: a contact of the joint's first end; WIRE: the element; SHORT, REVERSED:
                    contacts of the end; BLOWN, SWITCH: the element; PORT: a is the other end;
                    ADDRESS: a is the other part; DEAD_PORT: a is the channel, b the element that
                    drives it, or LOOM_NONE */
  double prior;  /* before any test; they add up to 1 */
  char *suspect; /* "W1:a and Q1:in", "F1" */
  char *where;   /* the same with labels: "F1 (Main fuse)" */
  char *which;   /* CONTACT, WIRE: which one of them; otherwise NULL */
  char *sentence; /* "The fuse in F1 is blown." */
} LoomFault;

typedef enum {
  LOOM_TEST_LAMP,     /* does the part show that it is awake */
  LOOM_TEST_ROLL,     /* what answers on the channel of this part */
  LOOM_TEST_RESTART,  /* does a controller start again when the robot works hard */
  LOOM_TEST_LOOK,     /* at a joint */
  LOOM_TEST_WIGGLE,   /* a joint, while watching */
  LOOM_TEST_FUSE,     /* look at it */
  LOOM_TEST_SWITCH,   /* look at it */
  LOOM_TEST_ADDRESS,  /* of a part on a bus */
  LOOM_TEST_FREE,     /* volts at a free end */
  LOOM_TEST_PACK,     /* volts of a pack, unplugged */
  LOOM_TEST_OPENED,   /* volts at an end of the supply that is unplugged for it */
  LOOM_TEST_LEAD,     /* a lead through and through, without power */
  LOOM_TEST_EXCHANGE, /* a part */
  LOOM_TEST_PORT,     /* a plug moved into another port like its own */
} LoomTestType;

/* Outcome 0 is always what a sound robot shows. */
typedef struct {
  LoomTestType type;
  guint part, end;   /* what it is done to; `end` LOOM_NONE where it is the whole part */
  guint device;      /* ROLL, PORT: index in the kind's devices */
  guint joint;       /* LOOK, WIGGLE, OPENED, PORT: index in the design; otherwise LOOM_NONE */
  guint mover, from; /* PORT: the part that is asked, and the end of `part` where its plug sits;
                        `end` is the other port */
  guint plus, minus; /* volts: contacts of the end for the red and the black probe */
  double expected_V; /* volts: of a sound robot, packs half full */
  double trouble;    /* 1 a glance ... 10 an exchange; common practice, no source */
  bool power;        /* done with the pack on */
  char *key;         /* "volts-W2:b": unique, the same in every language, for the command */
  char *name;        /* "volts at W2:b", for lists and tables */
  char *todo;        /* what to do, and where the probes go */
  guint n_outcomes;  /* at most 32 */
  char **outcomes;   /* [n_outcomes], NULL-terminated: "12.2 V, as it should", "nothing", ... */
  guint *answers;    /* ROLL: [n_outcomes] part that answers instead, LOOM_NONE; otherwise NULL */
} LoomTest;

typedef struct {
  guint n_faults, n_tests;
  LoomFault *faults;
  LoomTest *tests;
  guint8 *shows; /* [n_faults][n_tests] outcome of each test where that fault is there */
} LoomFaultModel;

/* `scene` is an index. New; stands on its own. */
LoomFaultModel *loom_fault_model_new(const LoomDesign *design, guint scene);
void loom_fault_model_free(LoomFaultModel *model);

static inline guint
loom_fault_shows(const LoomFaultModel *model, guint fault, guint test)
{
  return model->shows[fault * model->n_tests + test];
}

/* One answer: the outcomes that it may mean, as a bit set; 0: cannot tell. */
typedef struct {
  guint test;
  guint32 outcomes;
} LoomEvidence;

/* An answer in the words of the command; `design` is the one that the model was made of.
 *
 *   works, dead, wrong, backwards   M1: as it should; dark, or does not answer; turns the other way
 *                                   or another one moves; turns the other way
 *   instead                         M2=M1: M2 was told to move, and M1 did
 *   resets, steady                  no name: a controller starts again under load, or does not
 *   volts                           W2:b=0
 *   found                           fuse-F1=b: the second outcome of the test with that key
 *   cannot-tell                     fuse-F1
 *
 * false with `error` where there is no such part, end, test or outcome. */
bool loom_fault_evidence(const LoomFaultModel *model, const LoomDesign *design, const char *word,
                         const char *what, LoomEvidence *evidence, GError **error);
/* Index of a test; LOOM_NONE. */
guint loom_fault_find_test(const LoomFaultModel *model, const char *key);
guint loom_fault_find_volts(const LoomFaultModel *model, guint part, guint end);
bool loom_fault_reads_volts(const LoomTest *test);
/* Outcome that a reading of so many volts at that test means. */
guint loom_fault_volts_outcome(const LoomTest *test, double volts);

/* Faults that no test left can tell apart. */
typedef struct {
  guint n_faults;
  guint *faults;     /* [n_faults] the likeliest first */
  double likelihood; /* of all of them together, 0 ... 1 */
} LoomSuspects;

typedef struct {
  guint n_suspects;
  LoomSuspects *suspects; /* [n_suspects] the likeliest first; those that more answers speak
                           against than against the best are left out */
  guint next_test;        /* LOOM_NONE: no test tells them any further apart */
  double bits;            /* entropy of what is left */
  guint unexplained; /* answers that speak against even the best suspect: more than one thing is
                        wrong, or an answer is */
  bool amiss;        /* some answer is not what a sound robot shows */
} LoomDiagnosis;

/* New; stands on its own. */
LoomDiagnosis *loom_diagnosis_new(const LoomFaultModel *model, const LoomEvidence *evidence,
                                  guint n);
void loom_diagnosis_free(LoomDiagnosis *diagnosis);

/* The first levels of what to do from here. */
typedef struct LoomFaultTree LoomFaultTree;
struct LoomFaultTree {
  LoomDiagnosis *diagnosis; /* at this point */
  guint n_branches;
  guint *outcomes;          /* [n_branches] of diagnosis->next_test that can still come */
  LoomFaultTree **branches; /* [n_branches]; NULL below `depth` */
};
LoomFaultTree *loom_fault_tree_new(const LoomFaultModel *model, const LoomEvidence *evidence,
                                   guint n, guint depth);
void loom_fault_tree_free(LoomFaultTree *tree);

/* One sentence for each of the suspects; contacts of one joint, wires of one lead share one. New,
 * NULL-terminated. */
char **loom_suspects_sentences(const LoomFaultModel *model, const LoomSuspects *suspects);

/* "almost certain" ... "unlikely". Borrowed, translated. */
const char *loom_likelihood_words(double likelihood);
/* "12 %", "< 1 %". New. */
char *loom_likelihood_percent(double likelihood);

/* CSV with the columns rank, suspect, fault, likelihood, next_test, expected_if_so,
 * expected_if_not. New. */
char *loom_diagnosis_to_csv(const LoomFaultModel *model, const LoomDiagnosis *diagnosis);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomFaultModel, loom_fault_model_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomDiagnosis, loom_diagnosis_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomFaultTree, loom_fault_tree_free)

G_END_DECLS
