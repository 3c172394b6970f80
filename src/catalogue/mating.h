/* Whether two ends go together, and which contact then meets which. */
#pragma once

#include "kind.h"

G_BEGIN_DECLS

typedef enum {
  LOOM_MATE_YES,
  LOOM_MATE_BOTH_PINS,
  LOOM_MATE_BOTH_SOCKETS,
  LOOM_MATE_FAMILY,    /* different families */
  LOOM_MATE_WIRE_THIN, /* the wire is below what the terminal holds */
  LOOM_MATE_WIRE_THICK,
  LOOM_MATE_TERMINALS, /* two terminals, neither of which takes the other */
  LOOM_MATE_SAME_END,  /* an end with itself */
} LoomMate;

/* Pins take sockets of the same family, genderless ends take genderless ends of the same family, a
 * terminal takes the families in its `accepts` while the wire is within its range. */
LoomMate loom_mate(const LoomEnd *a, const LoomEnd *b);

/* Why not, as one sentence without designations ("Both ends have pins: one of the two must have
 * sockets."). New; NULL for LOOM_MATE_YES. */
char *loom_mate_why(LoomMate mate, const LoomEnd *a, const LoomEnd *b);

/* Whether the pair, which mates, can sit so. */
bool loom_fit_possible(const LoomEnd *a, const LoomEnd *b, LoomFit fit);

/* Contact index within `b` that contact `contact` of `a` touches, or LOOM_NONE. */
guint loom_fit_meets(const LoomEnd *a, guint contact, const LoomEnd *b, LoomFit fit);

/* What one contact of the joint stands and adds: the lesser rating, the greater resistance. */
double loom_joint_rated_A(const LoomEnd *a, const LoomEnd *b);
double loom_joint_ohm(const LoomEnd *a, const LoomEnd *b);

/* Whether the open end has contacts that a finger or a tool can touch. */
bool loom_end_touchable(const LoomEnd *end);

G_END_DECLS
