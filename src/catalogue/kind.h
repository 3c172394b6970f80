/* Part kinds: what can be placed, down to contacts and what lies between them.
 *
 * A kind is an immutable, counted record. Its *nodes* are the contacts of its ends, end by end in
 * order, followed by inner nodes that no end shows (a rail on a board). Elements join nodes; every
 * index into `nodes` below is < n_nodes, every end's contacts are the nodes
 * first_node ... first_node + n_contacts - 1. A node that no element touches is a contact that
 * leads nowhere, which is legal.
 *
 * Lengths are millimetres of drawing where they describe the outline, millimetres of robot where
 * they describe wire; all else is SI. Unknown numbers are NAN unless said otherwise. */
#pragma once

#include "family.h"

G_BEGIN_DECLS

#define LOOM_NONE G_MAXUINT

/* What a part is for: the shelf's groups and the quiet fill of the drawing. */
typedef enum {
  LOOM_GROUP_SUPPLY,     /* packs */
  LOOM_GROUP_CHARGING,   /* chargers */
  LOOM_GROUP_PROTECTION, /* fuses */
  LOOM_GROUP_SWITCHING,
  LOOM_GROUP_LEAD,
  LOOM_GROUP_DISTRIBUTION,
  LOOM_GROUP_CONTROLLER,
  LOOM_GROUP_CONVERTER, /* speed controllers, step-down converters */
  LOOM_GROUP_MOTOR,
  LOOM_GROUP_SERVO,
  LOOM_GROUP_SENSOR,
  LOOM_GROUP_LAMP,
  LOOM_GROUP_STRUCTURE, /* frame */
  LOOM_GROUP_COMPUTER,  /* radio, hand control, programming computer */
  LOOM_N_GROUPS
} LoomGroup;

typedef enum { LOOM_SIDE_LEFT, LOOM_SIDE_RIGHT, LOOM_SIDE_TOP, LOOM_SIDE_BOTTOM } LoomSide;

/* What a contact is, seen from its own part. */
typedef enum {
  LOOM_ROLE_NONE,   /* nothing electrical: shield, not used */
  LOOM_ROLE_PLUS,   /* supply: must be the positive side */
  LOOM_ROLE_MINUS,  /* supply: must be the negative side */
  LOOM_ROLE_POLE,   /* may be driven either way: motors and motor outputs */
  LOOM_ROLE_SIGNAL, /* see signal */
  LOOM_ROLE_PASS,   /* carries whatever is put on it: leads, switches, terminals */
} LoomRole;

typedef enum {
  LOOM_SIGNAL_NONE,
  LOOM_SIGNAL_SERVO,    /* servo pulses, 50 Hz */
  LOOM_SIGNAL_DIGITAL,  /* one level */
  LOOM_SIGNAL_ANALOGUE, /* a voltage */
  LOOM_SIGNAL_SDA,      /* I2C data */
  LOOM_SIGNAL_SCL,      /* I2C clock */
  LOOM_SIGNAL_ENCODER_A,
  LOOM_SIGNAL_ENCODER_B,
  LOOM_SIGNAL_SERIAL, /* serial lines and field buses, one pair */
  LOOM_SIGNAL_USB,
  LOOM_SIGNAL_NETWORK,
} LoomSignal;

typedef enum { LOOM_FLOW_NONE, LOOM_FLOW_IN, LOOM_FLOW_OUT, LOOM_FLOW_BOTH } LoomFlow;

typedef struct {
  guint way;  /* 1 ... ways of the family */
  char *name; /* "+", "-", "signal"; unique within the end */
  LoomRole role;
  LoomSignal signal;
  LoomFlow flow;      /* of the signal: IN the part listens, OUT it speaks */
  double level_V;     /* high level that it speaks, or that it expects */
  double tolerates_V; /* highest that a listening contact survives */
  char *colour;       /* IEC 60757 letters of the wire behind it, or NULL */
} LoomContact;

typedef struct {
  char *id;                 /* "out"; unique within the kind */
  char *label;              /* "motor 1"; falls back to id */
  const LoomFamily *family; /* owned reference */
  LoomGender gender;
  LoomSide side;
  double at_mm;       /* along the side, from its left or upper corner, to the middle of the end */
  double pigtail_mm;  /* wire between outline and connector; 0 where it sits on the edge */
  double pigtail_mm2; /* size of that wire, NAN without */
  double wire_mm2;    /* of a conductor end (ring, ferrule, bare wire, crimped plug); NAN unknown */
  double limit_A;     /* what the end's own electronics let through; NAN none */
  bool charge;        /* meant for a charger (a pack's charge lead) */
  guint first_node, n_contacts;
  LoomContact *contacts; /* [n_contacts], ascending by way */
} LoomEnd;

typedef enum {
  LOOM_ELEMENT_WIRE,     /* a -> b: conductor of size mm2 and length mm, or the part's own length */
  LOOM_ELEMENT_THROUGH,  /* a -> b: a joint inside, `ohm` (may be 0) */
  LOOM_ELEMENT_SWITCH,   /* a -> b: pole of the part's switch */
  LOOM_ELEMENT_FUSE,     /* a -> b */
  LOOM_ELEMENT_SOURCE,   /* a = +, b = -: EMF by charge, inner resistance */
  LOOM_ELEMENT_RESISTOR, /* a -> b */
  LOOM_ELEMENT_CURRENT,  /* a = +, b = -: constant current */
  LOOM_ELEMENT_POWER,    /* a = +, b = -: constant power with low-voltage lock-out */
  LOOM_ELEMENT_MOTOR,    /* a, b: permanent-magnet DC motor, turns forward when a is above b */
  LOOM_ELEMENT_SERVO,    /* a = +, b = -: idle, moving or stalled current */
  LOOM_ELEMENT_DRIVER,   /* a = supply +, b = supply -, c, d: driven outputs */
  LOOM_ELEMENT_CONVERTER, /* a = in +, b = in -, c = out +, d = out - */
  LOOM_N_ELEMENTS
} LoomElementType;

/* Every field is NAN or LOOM_NONE where the type has no use for it. */
typedef struct {
  LoomElementType type;
  guint a, b, c, d;      /* nodes */
  double mm2, length_mm; /* WIRE; length NAN: the length of the part */
  char *colour;          /* WIRE: IEC 60757 letters, or NULL */
  double ohm;     /* THROUGH, SWITCH, FUSE cold, SOURCE inner, RESISTOR, MOTOR winding, DRIVER on */
  double rated_A; /* SWITCH, FUSE (rating), THROUGH: continuous */
  double rated_V; /* SWITCH, FUSE */
  double limit_A; /* SOURCE, DRIVER, CONVERTER: electronic limit of the output */
  double emf_full_V, emf_V, emf_empty_V; /* SOURCE: at 100, 50 and 0 % of charge */
  double capacity_Ah;                    /* SOURCE; NAN: a supply that does not run down */
  double peukert;                        /* SOURCE: exponent, 1 none */
  double current_A;                      /* CURRENT */
  double power_W;                        /* POWER */
  double lockout_V, release_V;      /* POWER, CONVERTER, DRIVER: goes dead below, wakes above */
  double min_V, max_V;              /* loads, DRIVER and CONVERTER inputs, RESISTOR */
  double volt_s_per_rad;            /* MOTOR: k in V = I R + k w and T = k I */
  double no_load_A, torque_Nm;      /* MOTOR: free running; rated (loaded) torque */
  double idle_A, moving_A, stall_A; /* SERVO */
  double output_V, efficiency, quiescent_A; /* CONVERTER; quiescent also DRIVER */
  bool reverse_survives; /* loads: wrong polarity does no harm (protected, or no polarity) */
  guint channel;         /* DRIVER: index in channels that commands it, or LOOM_NONE */
} LoomElement;

/* A common limit of several ends: a servo rail, a bank of motor outputs, a controller in all. */
typedef struct {
  char *id, *label;
  double limit_A;
  bool acts;   /* shuts off or folds back by itself; false: a rating only */
  guint *ends; /* [n_ends] indices */
  guint n_ends;
} LoomLimit;

/* A numbered input or output that software addresses. */
typedef struct {
  char *id; /* "motor-1" */
  char *
      type; /* "motor", "servo", "digital", "analogue", "i2c", "encoder", ...: matches a device's */
  guint number; /* from 1 within type and module */
  char *module; /* or NULL */
  guint end;
  guint nodes[4]; /* its signal or driven contacts */
  guint n_nodes;
} LoomChannel;

/* What software talks to in this part: listed in a controller's set-up. */
typedef struct {
  char *type;     /* to be chosen in the set-up, e.g. "DC motor, medium" */
  char *channel;  /* type of channel that it belongs on */
  guint nodes[4]; /* contacts that must reach the channel */
  guint n_nodes;
} LoomDevice;

/* Chemistry of packs, and what a charger can do. */
typedef struct {
  char *chemistry; /* "NiMH", "Li-ion", "LiFePO4", "lead-acid"; NULL: neither pack nor charger */
  guint cells_min, cells_max;         /* equal for packs */
  double charge_max_A, charge_slow_A; /* packs: highest, and gentle rate */
  double discharge_max_A;             /* packs: continuous */
  double currents_A[4];               /* chargers: settings, NAN after the last */
  bool charger;
} LoomChemistry;

typedef struct {
  char *step;     /* "before" plugging, "wake": what it shows on power-up, "after": what to set,
                     "caution" */
  double seconds; /* wake: how long it takes; NAN */
  char *text;
} LoomAdvice;

/* Strokes of the picture, in millimetres from the upper left corner of the outline. */
typedef struct {
  enum { LOOM_MARK_PATH, LOOM_MARK_CIRCLE, LOOM_MARK_TEXT } type;
  char *path;                 /* PATH: SVG path data, absolute M L C Z only; TEXT: the words */
  double x_mm, y_mm, size_mm; /* CIRCLE: centre, radius; TEXT: middle of base line, height */
  char *fill; /* NULL none, "ink", "paper", "metal", "shade", "tint", "lamp" or IEC 60757 letters */
  double line_mm; /* stroke width, 0 none */
} LoomMark;

typedef struct {
  char *id, *name;
  char *letter; /* IEC 81346-2 */
  char *about;  /* a sentence: what it is and what it is used for */
  char *words;  /* more words that search finds, or NULL */
  char *source; /* of its figures, or "typical" */
  LoomGroup group;
  guint rank;                   /* 1 commonest ... 9; offers are sorted by it */
  bool lead;                    /* flexible: drawn as a line between its ends */
  double width_mm, height_mm;   /* of the outline; leads: of nothing, 0 */
  double length_mm;             /* leads: default length of wire; NAN */
  double price;                 /* typical, in any currency; NAN */
  bool metal;                   /* a frame: conducts, other parts bond to it */
  bool has_switch, on_at_first; /* a switch, and where it stands when placed */
  int address;                  /* I2C, or -1 */
  int address_min, address_max; /* settable range; equal to address where fixed */
  char *holds;                  /* id of a kind that lies in it (the fuse of a holder), or NULL */
  char **inner; /* names of the inner nodes, [n_nodes - contacts], NULL-terminated */
  guint n_ends, n_nodes, n_elements, n_limits, n_channels, n_devices, n_advice, n_marks;
  LoomEnd *ends;
  LoomElement *elements;
  LoomLimit *limits;
  LoomChannel *channels;
  LoomDevice *devices;
  LoomAdvice *advice;
  LoomMark *marks;
  LoomChemistry chemistry;
  char *xml; /* the entry as written; level 2 */
} LoomKind;

LoomKind *loom_kind_ref(const LoomKind *kind);
void loom_kind_unref(LoomKind *kind);

/* Index of the end called `id`, or LOOM_NONE. */
guint loom_kind_find_end(const LoomKind *kind, const char *id);
/* Index of the contact called `name` within `end`, or LOOM_NONE. "−" (U+2212) is taken for "-". */
guint loom_end_find_contact(const LoomEnd *end, const char *name);
/* Index of the contact on `way` within `end`, or LOOM_NONE where that way is not filled. */
guint loom_end_contact_at(const LoomEnd *end, guint way);
/* End that shows `node`, or LOOM_NONE for an inner node. */
guint loom_kind_end_of_node(const LoomKind *kind, guint node);

const char *loom_group_word(LoomGroup group);  /* "supply" */
const char *loom_group_label(LoomGroup group); /* "Packs" */
const char *loom_signal_word(LoomSignal signal);
const char *loom_signal_label(LoomSignal signal);
const char *loom_role_word(LoomRole role);
const char *loom_element_word(LoomElementType type);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomKind, loom_kind_unref)

G_END_DECLS
