#include "read-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <string.h>

/* Number of child elements of that name. */
static guint
count(const LoomXmlNode *node, const char *name)
{
  guint n = 0;
  for (LoomXmlNode *c = loom_xml_child(node, name); c; c = loom_xml_next(c, name))
    n++;
  return n;
}

static void
read_contact(LoomXml *xml, LoomXmlNode *node, LoomContact *contact)
{
  static const char *const known[] = {"way",     "name",        "role",   "signal", "flow",
                                      "level_V", "tolerates_V", "colour", NULL};
  static const char *const roles[] = {"none", "plus", "minus", "pole", "signal", "pass", NULL};
  static const char *const signals[] = {"none",   "servo", "digital",   "analogue",
                                        "sda",    "scl",   "encoder-a", "encoder-b",
                                        "serial", "usb",   "network",   NULL};
  static const char *const flows[] = {"none", "in", "out", "both", NULL};
  loom_xml_only(xml, node, known);
  contact->way = (guint)loom_xml_integer(xml, node, "way", 1, 64, 1);
  contact->name = loom_xml_required(xml, node, "name");
  contact->role = (LoomRole)loom_xml_word(xml, node, "role", roles, 0);
  contact->signal = (LoomSignal)loom_xml_word(xml, node, "signal", signals, 0);
  contact->flow = (LoomFlow)loom_xml_word(xml, node, "flow", flows, 0);
  contact->level_V = loom_xml_number(xml, node, "level_V", 0, 1000, NAN);
  contact->tolerates_V = loom_xml_number(xml, node, "tolerates_V", 0, 1000, NAN);
  contact->colour = loom_xml_text(xml, node, "colour");
  if (contact->colour && !loom_colour_valid(contact->colour))
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("colour=\"%s\" is no IEC 60757 code."),
                  contact->colour);
}

static int
by_way(const void *a, const void *b)
{
  return (int)((const LoomContact *)a)->way - (int)((const LoomContact *)b)->way;
}

static void
read_contacts(LoomXml *xml, LoomXmlNode *node, LoomEnd *end)
{
  end->n_contacts = count(node, "contact");
  end->contacts = g_new0(LoomContact, end->n_contacts);
  guint i = 0;
  for (LoomXmlNode *c = loom_xml_child(node, "contact"); c; c = loom_xml_next(c, "contact")) {
    read_contact(xml, c, &end->contacts[i++]);
    if (loom_xml_failed(xml))
      return;
  }
  if (end->n_contacts > 1)
    qsort(end->contacts, end->n_contacts, sizeof *end->contacts, by_way);
  for (i = 0; i < end->n_contacts; i++) {
    const LoomContact *contact = &end->contacts[i];
    if (contact->way > end->family->ways)
      loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("End %s has a contact on way %u, %s has %u."),
                    end->id, contact->way, end->family->id, end->family->ways);
    if (i > 0 && contact->way == contact[-1].way)
      loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("End %s has two contacts on way %u."), end->id,
                    contact->way);
    if (loom_end_find_contact(end, contact->name) != i)
      loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("End %s has two contacts called %s."), end->id,
                    contact->name);
  }
}

static void
read_end(LoomXml *xml, LoomXmlNode *node, const LoomCatalogue *catalogue, LoomEnd *end)
{
  static const char *const known[] = {"id",       "family",  "gender",     "side",
                                      "at_mm",    "label",   "pigtail_mm", "pigtail_mm2",
                                      "wire_mm2", "limit_A", "charge",     NULL};
  static const char *const genders[] = {"pins", "sockets", "genderless", "terminal", NULL};
  static const char *const sides[] = {"left", "right", "top", "bottom", NULL};
  loom_xml_only(xml, node, known);
  end->id = loom_xml_required(xml, node, "id");
  g_autofree char *family = loom_xml_required(xml, node, "family");
  const LoomFamily *found = loom_catalogue_family(catalogue, family);
  if (!found) {
    loom_xml_fail(xml, node, LOOM_ERROR_REFERENCE, _("There is no connector family %s."), family);
    return;
  }
  end->family = loom_family_ref(found);
  end->gender = (LoomGender)loom_xml_word(xml, node, "gender", genders, 0);
  end->side = (LoomSide)loom_xml_word(xml, node, "side", sides, 0);
  end->at_mm = loom_xml_number(xml, node, "at_mm", 0, 2000, 0);
  end->label = loom_xml_text(xml, node, "label");
  if (!end->label)
    end->label = g_strdup(end->id);
  end->pigtail_mm = loom_xml_number(xml, node, "pigtail_mm", 0, 5000, 0);
  end->pigtail_mm2 = loom_xml_number(xml, node, "pigtail_mm2", 0.01, 1000, NAN);
  end->wire_mm2 = loom_xml_number(xml, node, "wire_mm2", 0.01, 1000, NAN);
  end->limit_A = loom_xml_number(xml, node, "limit_A", 0, 10000, NAN);
  end->charge = loom_xml_yes(xml, node, "charge", false);
  read_contacts(xml, node, end);
}

/* Ends first: everything after names their contacts. */
static void
read_nodes(LoomXml *xml, LoomXmlNode *node, const LoomCatalogue *catalogue, LoomKind *kind)
{
  kind->n_ends = count(node, "end");
  kind->ends = g_new0(LoomEnd, kind->n_ends);
  guint i = 0;
  for (LoomXmlNode *e = loom_xml_child(node, "end"); e; e = loom_xml_next(e, "end"), i++) {
    LoomEnd *end = &kind->ends[i];
    read_end(xml, e, catalogue, end);
    if (loom_xml_failed(xml)) {
      kind->n_ends = i + 1;
      return;
    }
    if (loom_kind_find_end(kind, end->id) != i)
      loom_xml_fail(xml, e, LOOM_ERROR_CONTENT, _("There are two ends called %s."), end->id);
    end->first_node = kind->n_nodes;
    kind->n_nodes += end->n_contacts;
  }
  GPtrArray *inner = g_ptr_array_new();
  for (LoomXmlNode *n = loom_xml_child(node, "node"); n; n = loom_xml_next(n, "node")) {
    g_ptr_array_add(inner, loom_xml_required(xml, n, "id"));
    kind->n_nodes++;
  }
  g_ptr_array_add(inner, NULL);
  kind->inner = (char **)g_ptr_array_free(inner, FALSE);
}

/* "out:+" or the name of an inner node; fails and gives LOOM_NONE otherwise. */
static guint
find_node(LoomXml *xml, const LoomXmlNode *at, const LoomKind *kind, const char *text)
{
  const char *colon = strchr(text, ':');
  if (colon) {
    g_autofree char *id = g_strndup(text, (gsize)(colon - text));
    guint end = loom_kind_find_end(kind, id);
    guint contact =
        end == LOOM_NONE ? LOOM_NONE : loom_end_find_contact(&kind->ends[end], colon + 1);
    if (contact != LOOM_NONE)
      return kind->ends[end].first_node + contact;
  } else {
    guint n_inner = g_strv_length(kind->inner);
    for (guint i = 0; i < n_inner; i++)
      if (g_str_equal(kind->inner[i], text))
        return kind->n_nodes - n_inner + i;
  }
  loom_xml_fail(xml, at, LOOM_ERROR_REFERENCE, _("Kind %s has no contact or node %s."), kind->id,
                text);
  return LOOM_NONE;
}

static guint
node_attribute(LoomXml *xml, const LoomXmlNode *at, const LoomKind *kind, const char *attribute)
{
  g_autofree char *text = loom_xml_text(xml, at, attribute);
  return text ? find_node(xml, at, kind, text) : LOOM_NONE;
}

/* Blank-separated nodes, at most four. */
static guint
node_list(LoomXml *xml, const LoomXmlNode *at, const LoomKind *kind, guint nodes[4])
{
  g_autofree char *text = loom_xml_required(xml, at, "nodes");
  g_auto(GStrv) words = g_strsplit(text, " ", -1);
  guint n = 0;
  for (char **w = words; *w; w++) {
    if (!**w)
      continue;
    if (n == 4) {
      loom_xml_fail(xml, at, LOOM_ERROR_CONTENT, _("More than four nodes."));
      return n;
    }
    nodes[n++] = find_node(xml, at, kind, *w);
  }
  return n;
}

/* Element attributes that are plain numbers, in the units of the file. */
static const struct {
  const char *name;
  gsize offset;
  double low, high;
} numbers[] = {
    {"mm2", offsetof(LoomElement, mm2), 0.01, 1000},
    {"length_mm", offsetof(LoomElement, length_mm), 0.1, 1e6},
    {"ohm", offsetof(LoomElement, ohm), 0, 1e15},
    {"rated_A", offsetof(LoomElement, rated_A), 0.001, 10000},
    {"rated_V", offsetof(LoomElement, rated_V), 0.1, 10000},
    {"limit_A", offsetof(LoomElement, limit_A), 0.001, 10000},
    {"emf_V", offsetof(LoomElement, emf_V), 0, 1000},
    {"emf_full_V", offsetof(LoomElement, emf_full_V), 0, 1000},
    {"emf_empty_V", offsetof(LoomElement, emf_empty_V), 0, 1000},
    {"capacity_Ah", offsetof(LoomElement, capacity_Ah), 0.001, 10000},
    {"peukert", offsetof(LoomElement, peukert), 1, 2},
    {"current_A", offsetof(LoomElement, current_A), -10000, 10000},
    {"power_W", offsetof(LoomElement, power_W), 0, 1e6},
    {"lockout_V", offsetof(LoomElement, lockout_V), 0, 1000},
    {"release_V", offsetof(LoomElement, release_V), 0, 1000},
    {"min_V", offsetof(LoomElement, min_V), 0, 1000},
    {"max_V", offsetof(LoomElement, max_V), 0, 1000},
    {"volt_s_per_rad", offsetof(LoomElement, volt_s_per_rad), 1e-6, 1000},
    {"no_load_A", offsetof(LoomElement, no_load_A), 0, 1000},
    {"torque_Nm", offsetof(LoomElement, torque_Nm), 0, 10000},
    {"idle_A", offsetof(LoomElement, idle_A), 0, 1000},
    {"moving_A", offsetof(LoomElement, moving_A), 0, 1000},
    {"stall_A", offsetof(LoomElement, stall_A), 0, 1000},
    {"output_V", offsetof(LoomElement, output_V), 0.1, 1000},
    {"efficiency", offsetof(LoomElement, efficiency), 0.01, 1},
    {"quiescent_A", offsetof(LoomElement, quiescent_A), 0, 1000},
};

static void
read_element(LoomXml *xml, LoomXmlNode *node, const LoomKind *kind, LoomElement *element)
{
  static const char *const known[] = {
      "a",           "b",           "c",           "d",         "colour",
      "reverse",     "channel",     "mm2",         "length_mm", "ohm",
      "rated_A",     "rated_V",     "limit_A",     "emf_V",     "emf_full_V",
      "emf_empty_V", "capacity_Ah", "peukert",     "current_A", "power_W",
      "lockout_V",   "release_V",   "min_V",       "max_V",     "volt_s_per_rad",
      "no_load_A",   "torque_Nm",   "idle_A",      "moving_A",  "stall_A",
      "output_V",    "efficiency",  "quiescent_A", NULL};
  static const char *const reverses[] = {"harms", "survives", NULL};
  loom_xml_only(xml, node, known);
  element->a = node_attribute(xml, node, kind, "a");
  element->b = node_attribute(xml, node, kind, "b");
  element->c = node_attribute(xml, node, kind, "c");
  element->d = node_attribute(xml, node, kind, "d");
  element->channel = LOOM_NONE;
  element->colour = loom_xml_text(xml, node, "colour");
  element->reverse_survives = loom_xml_word(xml, node, "reverse", reverses, 0) == 1;
  for (guint i = 0; i < G_N_ELEMENTS(numbers); i++)
    *(double *)((char *)element + numbers[i].offset) =
        loom_xml_number(xml, node, numbers[i].name, numbers[i].low, numbers[i].high, NAN);
  if (element->colour && !loom_colour_valid(element->colour))
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("colour=\"%s\" is no IEC 60757 code."),
                  element->colour);
}

static void
need(LoomXml *xml, const LoomXmlNode *node, double value, const char *attribute)
{
  if (isnan(value))
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("<%s> lacks %s."), loom_xml_element(node),
                  attribute);
}

/* Figures without which an element of the type means nothing, and defaults for the others. */
static void
complete_element(LoomXml *xml, const LoomXmlNode *node, LoomElement *e)
{
  bool four = e->type == LOOM_ELEMENT_DRIVER || e->type == LOOM_ELEMENT_CONVERTER;
  if (e->a == LOOM_NONE || e->b == LOOM_NONE || (four && (e->c == LOOM_NONE || e->d == LOOM_NONE)))
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("<%s> lacks one of its nodes."),
                  loom_xml_element(node));
  switch (e->type) {
  case LOOM_ELEMENT_WIRE:
    need(xml, node, e->mm2, "mm2");
    break;
  case LOOM_ELEMENT_FUSE:
  case LOOM_ELEMENT_SWITCH:
    need(xml, node, e->rated_A, "rated_A");
    break;
  case LOOM_ELEMENT_SOURCE:
    need(xml, node, e->emf_V, "emf_V");
    e->emf_full_V = isnan(e->emf_full_V) ? e->emf_V : e->emf_full_V;
    e->emf_empty_V = isnan(e->emf_empty_V) ? e->emf_V : e->emf_empty_V;
    e->peukert = isnan(e->peukert) ? 1 : e->peukert;
    break;
  case LOOM_ELEMENT_RESISTOR:
    need(xml, node, e->ohm, "ohm");
    break;
  case LOOM_ELEMENT_CURRENT:
    need(xml, node, e->current_A, "current_A");
    break;
  case LOOM_ELEMENT_POWER:
    need(xml, node, e->power_W, "power_W");
    break;
  case LOOM_ELEMENT_MOTOR:
    need(xml, node, e->ohm, "ohm");
    need(xml, node, e->volt_s_per_rad, "volt_s_per_rad");
    e->no_load_A = isnan(e->no_load_A) ? 0 : e->no_load_A;
    e->torque_Nm = isnan(e->torque_Nm) ? 0 : e->torque_Nm;
    break;
  case LOOM_ELEMENT_SERVO:
    need(xml, node, e->stall_A, "stall_A");
    need(xml, node, e->moving_A, "moving_A");
    need(xml, node, e->idle_A, "idle_A");
    break;
  case LOOM_ELEMENT_CONVERTER:
    need(xml, node, e->output_V, "output_V");
    need(xml, node, e->efficiency, "efficiency");
    break;
  default:
    break;
  }
  if (e->type != LOOM_ELEMENT_RESISTOR && e->type != LOOM_ELEMENT_MOTOR && isnan(e->ohm))
    e->ohm = 0;
}

static guint
element_type(const LoomXmlNode *node)
{
  for (guint t = 0; t < LOOM_N_ELEMENTS; t++)
    if (g_str_equal(loom_xml_element(node), loom_element_word((LoomElementType)t)))
      return t;
  return LOOM_NONE;
}

static void
read_elements(LoomXml *xml, LoomXmlNode *node, LoomKind *kind)
{
  GArray *elements = g_array_new(FALSE, TRUE, sizeof(LoomElement));
  for (LoomXmlNode *c = loom_xml_child(node, NULL); c; c = loom_xml_next(c, NULL)) {
    guint type = element_type(c);
    if (type == LOOM_NONE)
      continue;
    LoomElement element = {.type = (LoomElementType)type};
    read_element(xml, c, kind, &element);
    complete_element(xml, c, &element);
    g_array_append_val(elements, element);
    g_autofree char *channel = loom_xml_text(xml, c, "channel");
    for (guint i = 0; channel && i < kind->n_channels; i++)
      if (g_str_equal(kind->channels[i].id, channel))
        g_array_index(elements, LoomElement, elements->len - 1).channel = i;
    if (channel && g_array_index(elements, LoomElement, elements->len - 1).channel == LOOM_NONE)
      loom_xml_fail(xml, c, LOOM_ERROR_REFERENCE, _("There is no channel %s."), channel);
  }
  kind->n_elements = elements->len;
  kind->elements = (LoomElement *)g_array_free(elements, FALSE);
}

static void
read_limits(LoomXml *xml, LoomXmlNode *node, LoomKind *kind)
{
  kind->n_limits = count(node, "limit");
  kind->limits = g_new0(LoomLimit, kind->n_limits);
  guint i = 0;
  for (LoomXmlNode *c = loom_xml_child(node, "limit"); c; c = loom_xml_next(c, "limit"), i++) {
    LoomLimit *limit = &kind->limits[i];
    limit->id = loom_xml_required(xml, c, "id");
    limit->label = loom_read_words(loom_xml_required(xml, c, "label"));
    limit->limit_A = loom_xml_number(xml, c, "limit_A", 0.001, 10000, NAN);
    limit->acts = loom_xml_yes(xml, c, "acts", false);
    need(xml, c, limit->limit_A, "limit_A");
    g_autofree char *text = loom_xml_required(xml, c, "ends");
    g_auto(GStrv) words = g_strsplit(text, " ", -1);
    limit->ends = g_new0(guint, g_strv_length(words) + 1);
    for (char **w = words; *w; w++) {
      guint end = **w ? loom_kind_find_end(kind, *w) : LOOM_NONE;
      if (end != LOOM_NONE)
        limit->ends[limit->n_ends++] = end;
      else if (**w)
        loom_xml_fail(xml, c, LOOM_ERROR_REFERENCE, _("Kind %s has no end %s."), kind->id, *w);
    }
  }
}

static void
read_channels(LoomXml *xml, LoomXmlNode *node, LoomKind *kind)
{
  kind->n_channels = count(node, "channel");
  kind->channels = g_new0(LoomChannel, kind->n_channels);
  guint i = 0;
  for (LoomXmlNode *c = loom_xml_child(node, "channel"); c; c = loom_xml_next(c, "channel"), i++) {
    LoomChannel *channel = &kind->channels[i];
    channel->id = loom_xml_required(xml, c, "id");
    channel->type = loom_xml_required(xml, c, "type");
    channel->number = (guint)loom_xml_integer(xml, c, "number", 1, 1000, 1);
    channel->module = loom_xml_text(xml, c, "module");
    channel->n_nodes = node_list(xml, c, kind, channel->nodes);
    channel->end = channel->n_nodes && channel->nodes[0] != LOOM_NONE
                       ? loom_kind_end_of_node(kind, channel->nodes[0])
                       : LOOM_NONE;
    if (channel->end == LOOM_NONE)
      loom_xml_fail(xml, c, LOOM_ERROR_CONTENT, _("Channel %s is on no end."), channel->id);
  }
}

static void
read_devices(LoomXml *xml, LoomXmlNode *node, LoomKind *kind)
{
  kind->n_devices = count(node, "device");
  kind->devices = g_new0(LoomDevice, kind->n_devices);
  guint i = 0;
  for (LoomXmlNode *c = loom_xml_child(node, "device"); c; c = loom_xml_next(c, "device"), i++) {
    kind->devices[i].type = loom_xml_required(xml, c, "type");
    kind->devices[i].channel = loom_xml_required(xml, c, "channel");
    kind->devices[i].n_nodes = node_list(xml, c, kind, kind->devices[i].nodes);
  }
}

static void
read_advice(LoomXml *xml, LoomXmlNode *node, LoomKind *kind)
{
  kind->n_advice = count(node, "advice");
  kind->advice = g_new0(LoomAdvice, kind->n_advice);
  guint i = 0;
  for (LoomXmlNode *c = loom_xml_child(node, "advice"); c; c = loom_xml_next(c, "advice"), i++) {
    kind->advice[i].step = loom_xml_required(xml, c, "step");
    kind->advice[i].seconds = loom_xml_number(xml, c, "seconds", 0, 3600, NAN);
    kind->advice[i].text = loom_read_words(loom_xml_content(c));
  }
}

/* Charger settings, blank-separated. */
static void
read_currents(LoomXml *xml, LoomXmlNode *node, LoomChemistry *chemistry)
{
  g_autofree char *text = loom_xml_text(xml, node, "currents_A");
  if (!text)
    return;
  chemistry->charger = true;
  g_auto(GStrv) words = g_strsplit(text, " ", -1);
  guint n = 0;
  for (char **w = words; *w; w++) {
    if (!**w)
      continue;
    if (n == G_N_ELEMENTS(chemistry->currents_A) ||
        !loom_number_from_text(*w, &chemistry->currents_A[n]) || chemistry->currents_A[n] <= 0) {
      loom_xml_fail(xml, node, LOOM_ERROR_CONTENT,
                    _("currents_A takes up to four positive numbers."));
      return;
    }
    n++;
  }
}

static void
read_chemistry(LoomXml *xml, LoomXmlNode *parent, LoomKind *kind)
{
  LoomChemistry *chemistry = &kind->chemistry;
  for (guint i = 0; i < G_N_ELEMENTS(chemistry->currents_A); i++)
    chemistry->currents_A[i] = NAN;
  chemistry->charge_max_A = chemistry->charge_slow_A = chemistry->discharge_max_A = NAN;
  LoomXmlNode *node = loom_xml_child(parent, "chemistry");
  if (!node)
    return;
  chemistry->chemistry = loom_xml_required(xml, node, "name");
  g_autofree char *cells = loom_xml_required(xml, node, "cells");
  char *rest = cells;
  chemistry->cells_min = (guint)g_ascii_strtoull(cells, &rest, 10);
  chemistry->cells_max =
      *rest == '-' ? (guint)g_ascii_strtoull(rest + 1, &rest, 10) : chemistry->cells_min;
  if (*rest || chemistry->cells_min == 0 || chemistry->cells_max < chemistry->cells_min)
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("cells=\"%s\" is neither a number nor a range."),
                  cells);
  chemistry->charge_max_A = loom_xml_number(xml, node, "charge_max_A", 0.001, 1000, NAN);
  chemistry->charge_slow_A = loom_xml_number(xml, node, "charge_slow_A", 0.001, 1000, NAN);
  chemistry->discharge_max_A = loom_xml_number(xml, node, "discharge_max_A", 0.001, 10000, NAN);
  read_currents(xml, node, chemistry);
}

static void
read_mark(LoomXml *xml, LoomXmlNode *node, LoomMark *mark)
{
  const char *element = loom_xml_element(node);
  mark->fill = loom_xml_text(xml, node, "fill");
  mark->line_mm = loom_xml_number(xml, node, "line", 0, 20, 0);
  mark->x_mm = loom_xml_number(xml, node, "x", -2000, 2000, 0);
  mark->y_mm = loom_xml_number(xml, node, "y", -2000, 2000, 0);
  if (g_str_equal(element, "path")) {
    mark->type = LOOM_MARK_PATH;
    mark->path = loom_xml_required(xml, node, "d");
  } else if (g_str_equal(element, "circle")) {
    mark->type = LOOM_MARK_CIRCLE;
    mark->size_mm = loom_xml_number(xml, node, "r", 0.01, 1000, 1);
  } else if (g_str_equal(element, "text")) {
    mark->type = LOOM_MARK_TEXT;
    mark->size_mm = loom_xml_number(xml, node, "size", 0.1, 100, 3);
    mark->path = loom_xml_content(node);
  } else {
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("A picture has no <%s>."), element);
  }
}

static void
read_picture(LoomXml *xml, LoomXmlNode *node, LoomKind *kind)
{
  LoomXmlNode *picture = loom_xml_child(node, "picture");
  GArray *marks = g_array_new(FALSE, TRUE, sizeof(LoomMark));
  for (LoomXmlNode *c = loom_xml_child(picture, NULL); c; c = loom_xml_next(c, NULL)) {
    LoomMark mark = {0};
    read_mark(xml, c, &mark);
    g_array_append_val(marks, mark);
  }
  kind->n_marks = marks->len;
  kind->marks = (LoomMark *)g_array_free(marks, FALSE);
}

/* "0x29" or "0x29-0x2C". */
static void
read_address(LoomXml *xml, LoomXmlNode *node, LoomKind *kind)
{
  kind->address = kind->address_min = kind->address_max = -1;
  g_autofree char *text = loom_xml_text(xml, node, "address");
  if (!text)
    return;
  char *rest;
  guint64 first = g_ascii_strtoull(text, &rest, 16);
  guint64 last = *rest == '-' ? g_ascii_strtoull(rest + 1, &rest, 16) : first;
  if (rest == text || *rest || first > 0x7f || last > 0x7f || last < first) {
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("address=\"%s\" is no 7-bit address like 0x29."),
                  text);
    return;
  }
  kind->address = kind->address_min = (int)first;
  kind->address_max = (int)last;
}

/* The name in the user's language; a translated one is found by the written one too. */
static void
read_name(LoomXml *xml, const LoomXmlNode *node, LoomKind *kind)
{
  char *written = loom_xml_required(xml, node, "name");
  kind->name = loom_read_words(g_strdup(written));
  kind->words = loom_xml_text(xml, node, "words");
  if (g_strcmp0(kind->name, written) != 0) {
    char *words = g_strjoin(" ", written, kind->words, NULL);
    g_free(kind->words);
    kind->words = words;
  }
  g_free(written);
}

static void
read_header(LoomXml *xml, LoomXmlNode *node, LoomKind *kind)
{
  static const char *const known[] = {
      "id",       "name",      "letter",    "group", "source", "words",   "rank",  "lead", "metal",
      "width_mm", "height_mm", "length_mm", "price", "switch", "address", "holds", NULL};
  static const char *const switches[] = {"off", "on", NULL};
  const char *groups[LOOM_N_GROUPS + 1] = {0};
  for (guint g = 0; g < LOOM_N_GROUPS; g++)
    groups[g] = loom_group_word((LoomGroup)g);
  loom_xml_only(xml, node, known);
  kind->id = loom_xml_required(xml, node, "id");
  read_name(xml, node, kind);
  kind->letter = loom_xml_required(xml, node, "letter");
  kind->source = loom_xml_required(xml, node, "source");
  kind->group = (LoomGroup)loom_xml_word(xml, node, "group", groups, LOOM_GROUP_STRUCTURE);
  kind->rank = (guint)loom_xml_integer(xml, node, "rank", 1, 9, 5);
  kind->lead = loom_xml_yes(xml, node, "lead", false);
  kind->metal = loom_xml_yes(xml, node, "metal", false);
  kind->width_mm = loom_xml_number(xml, node, "width_mm", 0, 2000, kind->lead ? 0 : 30);
  kind->height_mm = loom_xml_number(xml, node, "height_mm", 0, 2000, kind->lead ? 0 : 20);
  kind->length_mm = loom_xml_number(xml, node, "length_mm", 1, 100000, NAN);
  kind->price = loom_xml_number(xml, node, "price", 0, 1e6, NAN);
  kind->has_switch = loom_xml_has(node, "switch");
  kind->on_at_first = loom_xml_word(xml, node, "switch", switches, 0) == 1;
  kind->holds = loom_xml_text(xml, node, "holds");
  if (strlen(kind->letter) != 1 || !g_ascii_isupper(*kind->letter))
    loom_xml_fail(xml, node, LOOM_ERROR_CONTENT, _("letter=\"%s\" is not one capital letter."),
                  kind->letter);
  read_address(xml, node, kind);
  LoomXmlNode *about = loom_xml_child(node, "about");
  kind->about = about ? loom_read_words(loom_xml_content(about)) : NULL;
}

static void
check_children(LoomXml *xml, LoomXmlNode *node)
{
  static const char *const known[] = {"about",  "end",    "node",      "limit",   "channel",
                                      "device", "advice", "chemistry", "picture", NULL};
  for (LoomXmlNode *c = loom_xml_child(node, NULL); c; c = loom_xml_next(c, NULL))
    if (!g_strv_contains(known, loom_xml_element(c)) && element_type(c) == LOOM_NONE)
      loom_xml_fail(xml, c, LOOM_ERROR_CONTENT, _("A kind has no <%s>."), loom_xml_element(c));
}

LoomKind *
loom_kind_read(LoomXml *xml, LoomXmlNode *node, const LoomCatalogue *catalogue)
{
  g_autoptr(LoomKind) kind = g_atomic_rc_box_new0(LoomKind);
  check_children(xml, node);
  read_header(xml, node, kind);
  read_nodes(xml, node, catalogue, kind);
  if (loom_xml_failed(xml))
    return NULL;
  read_channels(xml, node, kind);
  read_limits(xml, node, kind);
  read_devices(xml, node, kind);
  read_elements(xml, node, kind);
  read_advice(xml, node, kind);
  read_chemistry(xml, node, kind);
  read_picture(xml, node, kind);
  kind->xml = loom_xml_dump(xml, node, 2);
  return loom_xml_failed(xml) ? NULL : g_steal_pointer(&kind);
}
