/* Ratings at an operating point: how near each contact, wire, fuse, ... comes to what it stands.
 *
 * margin_pct is 100 (limit - load) / limit, for a lowest limit 100 (load - limit) / limit. Only
 * what carries something, or has a voltage at all, is listed. */
#pragma once

#include "point.h"

G_BEGIN_DECLS

typedef enum {
  LOOM_RATING_CONTACT, /* index: touch of the wiring */
  LOOM_RATING_WIRE,    /* index: element of the part; so below unless said */
  LOOM_RATING_INNER,   /* a joint inside a part */
  LOOM_RATING_SWITCH,
  LOOM_RATING_FUSE,        /* its rating */
  LOOM_RATING_FUSE_STEADY, /* 75 % of it: for what goes on for minutes */
  LOOM_RATING_OUTPUT,      /* electronic limit of a source, driver or converter */
  LOOM_RATING_END,         /* index: end; what its electronics let through */
  LOOM_RATING_GROUP,       /* index: limit of the kind; its ends together */
  LOOM_RATING_PACK,        /* continuous discharge of its chemistry */
  LOOM_RATING_CHARGE,      /* highest charging rate of it */
  LOOM_RATING_LOWEST_V,    /* least voltage at which it works; the worst element of each part */
  LOOM_RATING_HIGHEST_V,   /* voltage that it survives; likewise */
} LoomRating;

typedef struct {
  LoomRating what;
  guint part, index; /* part: of a contact that of its first end */
  double load, limit;
  const char *unit; /* "A" or "V" */
  double margin_pct;
  const char *table; /* WIRE: where its ampacity is from; NULL otherwise */
} LoomMargin;

typedef struct {
  guint n_margins;
  LoomMargin *margins; /* [n_margins] worst first */
} LoomMargins;

/* Of a solved point. New; empty for one that has no operating point. */
LoomMargins *loom_margins_new(const LoomNetwork *network, const LoomOperatingPoint *point);
void loom_margins_free(LoomMargins *margins);

/* "W3", "G1:out:+ and F1:in:+", "K1 servo rail, 5 V". New. */
char *loom_margin_where(const LoomMargin *margin, const LoomNetwork *network);
/* "contact", "wire 1.5 mm² (AWG 15), ISO 10133 table A.1, 70 °C, 25 °C around". New. */
char *loom_margin_what(const LoomMargin *margin, const LoomNetwork *network);
/* The same in the user's language. New. */
char *loom_margin_words(const LoomMargin *margin, const LoomNetwork *network);

/* Least voltage at which the element works: its min_V, otherwise its lock-out; NAN where it has
 * none. What gets less than this share of it in a state is not supplied in that state, not browned
 * out. */
double loom_lowest_V(const LoomElement *element);
#define LOOM_UNSUPPLIED 0.05

/* Ampacity of a wire of the part where it lies: its table's, at `ambient_C`, with as many circuits
 * in one lead as carry current. A circuit (pair) that carries less than 30 % does not count (IEC
 * 60364-5-52, 523.5). `point` NULL: every circuit counts. */
double loom_wire_ampacity_A(const LoomNetwork *network, const LoomOperatingPoint *point, guint part,
                            guint element, const char **table);

/* Current through an end: of its positive contacts together, of poles the greatest. */
double loom_end_current_A(const LoomNetwork *network, const LoomOperatingPoint *point, guint part,
                          guint end);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomMargins, loom_margins_free)

G_END_DECLS
