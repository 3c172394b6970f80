/* The port map: what to enter in each controller's set-up, read off the wiring.
 *
 * A device is on a channel where one of its contacts and one of the channel's are one circuit
 * through leads and joints of the scene. Rows by controller (in the design's order), type of
 * channel in the kind's order, number, device. */
#pragma once

#include "design/design.h"
#include "planning/csv.h"

G_BEGIN_DECLS

typedef struct {
  char *controller;  /* designation */
  char *module;      /* or NULL */
  char *type;        /* of channel: "motor" */
  guint channel;     /* number */
  char *end;         /* "K1:motor-1" */
  char *device_type; /* to be chosen in the set-up; NULL on a free channel */
  char *part;        /* designation; NULL */
  char *name;        /* what software calls it; NULL where it has none yet */
  char *settings;    /* the part's own, and its I²C address; NULL */
} LoomPortRow;

typedef struct {
  guint n_rows;
  LoomPortRow *rows; /* [n_rows] */
} LoomPortMap;

/* `scene` is an index; `free_too` lists channels that nothing is on. New. */
LoomPortMap *loom_port_map_new(const LoomDesign *design, guint scene, bool free_too);
void loom_port_map_free(LoomPortMap *map);

/* controller,module,type,channel,end,device_type,part,name,settings. New. */
char *loom_port_map_csv(const LoomPortMap *map);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomPortMap, loom_port_map_free)

G_END_DECLS
