/* Things of a design in words: for screen readers, hints, lists. Every string is new. */
#pragma once

#include "design/design.h"

G_BEGIN_DECLS

/* "G1, Drive pack, NiMH pack 12 V". */
char *loom_describe_part(const LoomDesign *design, guint part);
/* "out is plugged into F1:in; charge is free." */
char *loom_describe_joints(const LoomDesign *design, guint scene, guint part);
/* "G1:out, sockets (female)". */
char *loom_describe_end(const LoomDesign *design, guint part, guint end);
/* "plugged into F1:in" or "free"; several by "and". */
char *loom_describe_end_state(const LoomDesign *design, guint scene, guint part, guint end);
/* Name of the other end of a joint at this end: "F1:in". */
char *loom_describe_other_end(const LoomJoint *joint, const char *part, const char *end);

G_END_DECLS
