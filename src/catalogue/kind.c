#include "kind.h"

#include <glib/gi18n-lib.h>
#include <string.h>

LoomKind *
loom_kind_ref(const LoomKind *kind)
{
  return g_atomic_rc_box_acquire((LoomKind *)kind);
}

static void
clear_end(LoomEnd *end)
{
  g_free(end->id);
  g_free(end->label);
  loom_family_unref((LoomFamily *)end->family);
  for (guint i = 0; i < end->n_contacts; i++) {
    g_free(end->contacts[i].name);
    g_free(end->contacts[i].colour);
  }
  g_free(end->contacts);
}

static void
clear_ports(LoomKind *kind)
{
  for (guint i = 0; i < kind->n_limits; i++) {
    g_free(kind->limits[i].id);
    g_free(kind->limits[i].label);
    g_free(kind->limits[i].ends);
  }
  for (guint i = 0; i < kind->n_channels; i++) {
    g_free(kind->channels[i].id);
    g_free(kind->channels[i].type);
    g_free(kind->channels[i].module);
  }
  for (guint i = 0; i < kind->n_devices; i++) {
    g_free(kind->devices[i].type);
    g_free(kind->devices[i].channel);
  }
}

static void
clear_words(LoomKind *kind)
{
  for (guint i = 0; i < kind->n_advice; i++) {
    g_free(kind->advice[i].step);
    g_free(kind->advice[i].text);
  }
  for (guint i = 0; i < kind->n_marks; i++) {
    g_free(kind->marks[i].path);
    g_free(kind->marks[i].fill);
  }
}

static void
clear(gpointer data)
{
  LoomKind *kind = data;
  for (guint i = 0; i < kind->n_ends; i++)
    clear_end(&kind->ends[i]);
  for (guint i = 0; i < kind->n_elements; i++)
    g_free(kind->elements[i].colour);
  clear_ports(kind);
  clear_words(kind);
  g_strfreev(kind->inner);
  gpointer owned[] = {
      kind->id,       kind->name,    kind->letter, kind->about,    kind->words,
      kind->source,   kind->holds,   kind->ends,   kind->elements, kind->limits,
      kind->channels, kind->devices, kind->advice, kind->marks,    kind->chemistry.chemistry,
      kind->xml};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    g_free(owned[i]);
}

void
loom_kind_unref(LoomKind *kind)
{
  if (kind)
    g_atomic_rc_box_release_full(kind, clear);
}

guint
loom_kind_find_end(const LoomKind *kind, const char *id)
{
  for (guint i = 0; i < kind->n_ends; i++)
    if (g_str_equal(kind->ends[i].id, id))
      return i;
  return LOOM_NONE;
}

guint
loom_end_find_contact(const LoomEnd *end, const char *name)
{
  if (g_str_equal(name, "−"))
    name = "-";
  for (guint i = 0; i < end->n_contacts; i++)
    if (g_str_equal(end->contacts[i].name, name))
      return i;
  return LOOM_NONE;
}

guint
loom_end_contact_at(const LoomEnd *end, guint way)
{
  for (guint i = 0; i < end->n_contacts; i++)
    if (end->contacts[i].way == way)
      return i;
  return LOOM_NONE;
}

guint
loom_kind_end_of_node(const LoomKind *kind, guint node)
{
  for (guint i = 0; i < kind->n_ends; i++)
    if (node - kind->ends[i].first_node < kind->ends[i].n_contacts)
      return i;
  return LOOM_NONE;
}

const char *
loom_group_word(LoomGroup group)
{
  static const char *const words[LOOM_N_GROUPS] = {
      "supply",    "charging", "protection", "switching", "lead", "distribution", "controller",
      "converter", "motor",    "servo",      "sensor",    "lamp", "structure",    "computer"};
  return words[group];
}

const char *
loom_group_label(LoomGroup group)
{
  static const char *const labels[LOOM_N_GROUPS] = {N_("Packs"),
                                                    N_("Chargers"),
                                                    N_("Fuses"),
                                                    N_("Switches"),
                                                    N_("Leads and adaptors"),
                                                    N_("Distribution"),
                                                    N_("Controllers"),
                                                    N_("Speed controllers and converters"),
                                                    N_("Motors"),
                                                    N_("Servos"),
                                                    N_("Sensors"),
                                                    N_("Lamps"),
                                                    N_("Frame"),
                                                    N_("Radio and computers")};
  return labels[group];
}

const char *
loom_signal_word(LoomSignal signal)
{
  static const char *const words[] = {"",       "servo", "digital",   "analogue",
                                      "sda",    "scl",   "encoder-a", "encoder-b",
                                      "serial", "usb",   "network"};
  return words[signal];
}

const char *
loom_signal_label(LoomSignal signal)
{
  static const char *const labels[] = {
      N_("no signal"),   N_("servo pulses"), N_("on-off signal"),   N_("analogue voltage"),
      N_("I²C data"),    N_("I²C clock"),    N_("encoder track A"), N_("encoder track B"),
      N_("serial line"), N_("USB"),          N_("network")};
  return labels[signal];
}

const char *
loom_role_word(LoomRole role)
{
  static const char *const words[] = {"none", "plus", "minus", "pole", "signal", "pass"};
  return words[role];
}

const char *
loom_element_word(LoomElementType type)
{
  static const char *const words[LOOM_N_ELEMENTS] = {"wire",   "through",  "switch",  "fuse",
                                                     "source", "resistor", "current", "power",
                                                     "motor",  "servo",    "driver",  "converter"};
  return words[type];
}
