/* Connector families: which contacts an end has, which ends mate, and what a contact stands.
 *
 * A family is an immutable, counted record. Contacts are numbered by *way*, 1 ... ways, as seen on
 * the mating face of the end with pins, left to right; way w of one end meets way w of the other.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>

G_BEGIN_DECLS

/* Gender of the contacts, never of the shell. */
typedef enum {
  LOOM_GENDER_PINS,
  LOOM_GENDER_SOCKETS,
  LOOM_GENDER_GENDERLESS,
  LOOM_GENDER_TERMINAL, /* studs, screws and what goes under them: rings, ferrules, bare wire */
} LoomGender;

/* How the contacts look; the ink draws by it. */
typedef enum {
  LOOM_SHAPE_ROUND,     /* round pin and tube */
  LOOM_SHAPE_BLADE,     /* flat blade and spring */
  LOOM_SHAPE_FLAT,      /* genderless wiping contact: drawn as a step */
  LOOM_SHAPE_POST,      /* square post on 2.54 mm and its housing */
  LOOM_SHAPE_LOCKED,    /* small wire-to-board with a latch */
  LOOM_SHAPE_COAX,      /* barrel */
  LOOM_SHAPE_RING,      /* ring lug and stud */
  LOOM_SHAPE_SCREW,     /* screw or spring clamp */
  LOOM_SHAPE_CONDUCTOR, /* ferrule or bare wire */
  LOOM_SHAPE_USB,
  LOOM_SHAPE_MODULAR, /* 8P8C */
  LOOM_SHAPE_CIRCULAR,
  LOOM_SHAPE_RADIO, /* no contacts at all */
} LoomShape;

/* How two ends may sit in each other. Turned and shifted exist only where the family says so. */
typedef enum {
  LOOM_FIT_NORMAL,
  LOOM_FIT_TURNED,  /* way w meets way ways + 1 - w */
  LOOM_FIT_SHIFTED, /* way w of the first end meets way w + 1 of the second; the last one hangs free
                     */
} LoomFit;

typedef struct {
  char *id;       /* "keyed-round-30" */
  char *name;     /* "keyed pair of round contacts, 30 A class" */
  char *standard; /* open standard or NULL */
  char *note;     /* or NULL: shell gender, traps */
  char *source;   /* where the figures come from; "typical" where nobody published them */
  guint ways;     /* 0 for radio */
  LoomShape shape;
  bool keyed;
  bool turnable;  /* can be plugged turned by mistake */
  bool shiftable; /* can be plugged one way off by mistake */
  bool latches;   /* holds by a latch, thread or screw */
  bool pins_touchable,
      sockets_touchable; /* a finger or a washer reaches the contact of an open end */
  guint places;          /* joints that an end takes: 1 for plugs, 2 for studs */
  double pitch_mm;       /* between contacts as drawn */
  double rated_A;        /* continuous, per contact */
  double rated_V;
  double contact_ohm;                /* of one mated contact, typical */
  guint cycles;                      /* matings, 0 unknown */
  double wire_min_mm2, wire_max_mm2; /* conductor that the contact takes; 0, 0 unknown */
  double strip_mm;                   /* insulation to strip, 0 unknown */
  double loose_likelihood;           /* prior of a bad joint against others, 1 ordinary */
  char **accepts; /* families that this terminal takes; NULL-terminated, empty for plugs */
  char *written;  /* the name as written, in no language but the catalogue's */
  char *xml;      /* the entry as written, see loom_xml_dump; level 2 */
} LoomFamily;

LoomFamily *loom_family_ref(const LoomFamily *family);
void loom_family_unref(LoomFamily *family);

/* "pins", "sockets", "genderless", "terminal": as files have it. */
const char *loom_gender_word(LoomGender gender);
/* "pins (male)", "sockets (female)", ...: as people read it. */
const char *loom_gender_label(LoomGender gender);
const char *loom_fit_word(LoomFit fit);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomFamily, loom_family_unref)

G_END_DECLS
