/* A crowd: rectangles on paper that one can ask for by place. Never leaves this room. */
#pragma once

#include "place.h"

G_BEGIN_DECLS

typedef struct {
  LoomRect rect;
  guint type, index; /* whatever the owner means by them */
} LoomCrowded;

typedef struct LoomCrowd LoomCrowd;

LoomCrowd *loom_crowd_new(void);
void loom_crowd_free(LoomCrowd *crowd);
void loom_crowd_add(LoomCrowd *crowd, LoomRect rect, guint type, guint index);

/* Calls `see` once for each rectangle that meets `rect`, in the order they were added, until it
 * returns false. Safe to ask from several threads once everything is in. */
typedef bool (*LoomCrowdSee)(const LoomCrowded *one, gpointer data);
void loom_crowd_each(const LoomCrowd *crowd, LoomRect rect, LoomCrowdSee see, gpointer data);

G_END_DECLS
