#include "rules-private.h"

#include <glib/gi18n-lib.h>
#include <string.h>

/* How a device meets one channel of some part. */
typedef struct {
  guint part, channel;
  guint hits;     /* nodes of the device that touch nodes of the channel */
  bool straight;  /* each touches the one that it should */
  guint node, at; /* the first such pair: of the device, of the channel */
} Meeting;

typedef struct {
  LoomScenery *s;
  guint part, device;
  const LoomDevice *d;
  GHashTable *told; /* circuits of which something has been said, or NULL */
  guint n_meetings;
  Meeting meetings[16];
} Look;

static guint
device_node(const Look *look, guint index)
{
  return look->s->wiring->part_node[look->part] + look->d->nodes[index];
}

static const LoomChannel *
channel_of(const LoomScenery *s, guint part, guint channel)
{
  return &loom_wiring_part(s->wiring, part)->kind->channels[channel];
}

/* A node touches its like: the same signal, and of two alike the same one. */
static bool
right_one(const LoomScenery *s, guint node, guint index, const LoomChannelNode *c)
{
  const LoomContact *x = loom_scenery_contact(s, node), *y = loom_scenery_contact(s, c->node);
  if (!x || !y)
    return index == c->index;
  bool tells = x->signal == LOOM_SIGNAL_SDA || x->signal == LOOM_SIGNAL_SCL ||
               x->signal == LOOM_SIGNAL_ENCODER_A || x->signal == LOOM_SIGNAL_ENCODER_B;
  return tells ? x->signal == y->signal : index == c->index;
}

static void
note_meeting(Look *look, guint index, const LoomChannelNode *c)
{
  Meeting *m = NULL;
  for (guint i = 0; i < look->n_meetings && !m; i++)
    if (look->meetings[i].part == c->part && look->meetings[i].channel == c->channel)
      m = &look->meetings[i];
  if (!m && look->n_meetings == G_N_ELEMENTS(look->meetings))
    return;
  guint node = device_node(look, index);
  if (!m) {
    m = &look->meetings[look->n_meetings++];
    *m = (Meeting){c->part, c->channel, 0, true, node, c->node};
  }
  m->hits++;
  m->straight &= right_one(look->s, node, index, c);
}

static void
look_at(Look *look, LoomScenery *s, guint part, guint device)
{
  *look = (Look){.s = s,
                 .part = part,
                 .device = device,
                 .d = &loom_wiring_part(s->wiring, part)->kind->devices[device]};
  for (guint k = 0; k < look->d->n_nodes; k++) {
    guint circuit = s->wired->circuit[device_node(look, k)];
    for (guint i = s->channel_first[circuit]; i < s->channel_first[circuit + 1]; i++)
      if (s->channels[i].part != part)
        note_meeting(look, k, &s->channels[i]);
  }
}

/* The meeting with a channel of the device's own type that hits most; NULL where there is none. */
static const Meeting *
best_meeting(const Look *look)
{
  const Meeting *best = NULL;
  for (guint i = 0; i < look->n_meetings; i++) {
    const Meeting *m = &look->meetings[i];
    if (g_str_equal(channel_of(look->s, m->part, m->channel)->type, look->d->channel) &&
        (!best || m->hits > best->hits))
      best = m;
  }
  return best;
}

typedef void (*DeviceRule)(Look *look);

static void
each_device(LoomScenery *s, DeviceRule rule)
{
  Look look;
  g_autoptr(GHashTable) told = g_hash_table_new(g_direct_hash, g_direct_equal);
  for (guint p = 0; p < s->wiring->n_parts; p++)
    for (guint d = 0; d < loom_wiring_part(s->wiring, p)->kind->n_devices; d++) {
      look_at(&look, s, p, d);
      look.told = told;
      rule(&look);
    }
}

static void
place_meeting(const Look *look, LoomFinding *f, const Meeting *m)
{
  loom_scenery_place(look->s, f, m->node);
  loom_scenery_place(look->s, f, m->at);
  loom_finding_where(f, 2);
}

/* ---- another type ---- */

static void
wrong_port_of(Look *look)
{
  if (!look->n_meetings || best_meeting(look))
    return;
  const Meeting *m = &look->meetings[0];
  const LoomChannel *c = channel_of(look->s, m->part, m->channel);
  LoomFinding *f = loom_scenery_find(look->s, LOOM_CARE, "wrong-port",
                                     _("On a port of another kind the part does not work, and the "
                                       "program looks for it elsewhere."),
                                     _("Move it to a port of its own kind."));
  place_meeting(look, f, m);
  f->message =
      g_strdup_printf(_("%s (%s) belongs on a channel for %s, and is on %s channel %u of %s."),
                      loom_wiring_part(look->s->wiring, look->part)->designation, look->d->type,
                      _(look->d->channel), _(c->type), c->number,
                      loom_wiring_part(look->s->wiring, m->part)->designation);
}

static void
wrong_port_in(LoomScenery *s)
{
  each_device(s, wrong_port_of);
}

void
loom_rule_wrong_port(LoomDesk *desk)
{
  loom_desk_each_scene(desk, wrong_port_in);
}

/* ---- data contacts of computers, which are no devices of a channel ---- */

/* A contact of that name and signal on the node's own end. */
static bool
end_has(const LoomScenery *s, guint node, const LoomContact *like)
{
  const LoomEnd *end = loom_scenery_end(s, node);
  guint i = loom_end_find_contact(end, like->name);
  return i != LOOM_NONE && end->contacts[i].signal == like->signal;
}

static bool
is_device_node(const LoomScenery *s, guint node)
{
  guint part = s->wiring->node_part[node], local = node - s->wiring->part_node[part];
  const LoomKind *kind = loom_wiring_part(s->wiring, part)->kind;
  for (guint d = 0; d < kind->n_devices; d++)
    for (guint k = 0; k < kind->devices[d].n_nodes; k++)
      if (kind->devices[d].nodes[k] == local)
        return true;
  return false;
}

static bool
is_data(const LoomScenery *s, guint node)
{
  const LoomContact *c = loom_scenery_contact(s, node);
  return c && c->signal == LOOM_SIGNAL_USB && !is_device_node(s, node);
}

/* ---- no channel, or half of one ---- */

static bool
design_has_channel(const LoomDesk *desk, const char *type)
{
  for (guint p = 0; p < desk->n_parts; p++) {
    const LoomKind *kind = loom_design_part(desk->design, p)->kind;
    for (guint c = 0; c < kind->n_channels; c++)
      if (g_str_equal(kind->channels[c].type, type))
        return true;
  }
  return false;
}

/* Whether the node leads to a signal or motor contact of another part. */
static bool
meets_somebody(const LoomScenery *s, guint node)
{
  guint circuit = s->wired->circuit[node];
  for (guint i = s->wired->first[circuit]; i < s->wired->first[circuit + 1]; i++) {
    guint at = s->wired->nodes[i];
    const LoomContact *c = loom_scenery_contact(s, at);
    if (c && s->wiring->node_part[at] != s->wiring->node_part[node] && c->role != LOOM_ROLE_PASS &&
        c->role != LOOM_ROLE_NONE)
      return true;
  }
  return false;
}

/* Another data contact of the same end leads to somebody. */
static bool
data_in_use(const LoomScenery *s, guint node)
{
  const LoomEnd *end = loom_scenery_end(s, node);
  guint first = s->wiring->part_node[s->wiring->node_part[node]] + end->first_node;
  for (guint c = 0; c < end->n_contacts; c++)
    if (is_data(s, first + c) && meets_somebody(s, first + c))
      return true;
  return false;
}

/* A joint that does not mate lies on the way: that is said elsewhere. */
static bool
explained(const LoomScenery *s, guint node)
{
  guint circuit = loom_supply_circuits(s->closed)->circuit[node];
  return s->patched[s->seemingly[circuit]];
}

/* The part's end is joined to more than leads: some contact of it comes to another part's contact.
 */
static bool
end_in_use(const LoomScenery *s, guint node)
{
  const LoomEnd *end = loom_scenery_end(s, node);
  guint first = s->wiring->part_node[s->wiring->node_part[node]];
  for (guint c = 0; end && c < end->n_contacts; c++)
    if (meets_somebody(s, first + end->first_node + c))
      return true;
  return false;
}

static void
place_loose(const LoomScenery *s, LoomFinding *f, guint node)
{
  GArray *loose = loom_trace_loose_ends(s, node);
  for (guint i = 0; i < MIN(loose->len, 6u); i++)
    loom_scenery_place(s, f, g_array_index(loose, guint, i));
  g_array_free(loose, TRUE);
}

static void
report_no_channel(Look *look, guint node, const Meeting *m)
{
  LoomFinding *f = loom_scenery_find(
      look->s, LOOM_CARE, "no-channel",
      _("The program cannot reach a part whose signal wire ends in the air."),
      _("Follow the signal wire to the controller; a lead with too few wires does not do."));
  loom_scenery_place(look->s, f, node);
  loom_finding_where(f, 1);
  place_loose(look->s, f, node);
  if (m)
    loom_scenery_place(look->s, f, m->at);
  g_autofree char *name = loom_wiring_node_name(look->s->wiring, node);
  f->message = g_strdup_printf(m ? _("The signal %s does not reach the channel.")
                                 : _("The signal %s reaches no channel."),
                               name);
}

/* Whether the node is in one circuit with a node of the channel. */
static bool
reaches_channel(const Look *look, guint node, const Meeting *m)
{
  const LoomScenery *s = look->s;
  guint circuit = s->wired->circuit[node];
  for (guint i = s->channel_first[circuit]; i < s->channel_first[circuit + 1]; i++)
    if (s->channels[i].part == m->part && s->channels[i].channel == m->channel)
      return true;
  return false;
}

/* What is missing of the device's signals; several devices on one bus lack it together. */
static void
no_channel_of(Look *look)
{
  const Meeting *best = best_meeting(look);
  for (guint k = 0; k < look->d->n_nodes; k++) {
    guint node = device_node(look, k);
    const LoomContact *c = loom_scenery_contact(look->s, node);
    gpointer circuit = GUINT_TO_POINTER(look->s->wired->circuit[node]);
    if (!c || c->role != LOOM_ROLE_SIGNAL || explained(look->s, node) ||
        look->s->crossed[look->part] || g_hash_table_contains(look->told, circuit))
      continue;
    if (best ? !reaches_channel(look, node, best)
             : !look->n_meetings && !meets_somebody(look->s, node) && end_in_use(look->s, node) &&
                   design_has_channel(look->s->desk, look->d->channel)) {
      report_no_channel(look, node, best);
      g_hash_table_add(look->told, circuit);
    }
  }
}

/* One of two data wires of a computer is open, the other is not. */
static void
half_data_in(LoomScenery *s)
{
  for (guint node = 0; node < s->wiring->n_nodes; node++) {
    if (!is_data(s, node) || !loom_scenery_plugged(s, node) || meets_somebody(s, node) ||
        explained(s, node) || !data_in_use(s, node))
      continue;
    LoomFinding *f =
        loom_scenery_find(s, LOOM_CARE, "no-channel",
                          _("With one of its data wires open a connection does not come up."),
                          _("Use a lead with all its wires; some are for charging only."));
    loom_scenery_place(s, f, node);
    loom_finding_where(f, 1);
    place_loose(s, f, node);
    g_autofree char *name = loom_wiring_node_name(s->wiring, node);
    f->message = g_strdup_printf(_("The data contact %s is open, and its twin is not."), name);
  }
}

static void
no_channel_in(LoomScenery *s)
{
  each_device(s, no_channel_of);
  half_data_in(s);
}

void
loom_rule_no_channel(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, no_channel_in);
}

/* ---- crossed signals ---- */

static void
signal_swapped_of(Look *look)
{
  const Meeting *m = best_meeting(look);
  const LoomContact *c = m ? loom_scenery_contact(look->s, m->node) : NULL;
  if (!c || m->straight || c->role != LOOM_ROLE_SIGNAL || look->d->n_nodes < 2)
    return;
  bool counts_back = c->signal == LOOM_SIGNAL_ENCODER_A || c->signal == LOOM_SIGNAL_ENCODER_B;
  LoomFinding *f =
      loom_scenery_find(look->s, counts_back ? LOOM_NOTE : LOOM_CARE, "signal-swapped",
                        counts_back ? _("It counts backwards.")
                                    : _("With its signal wires swapped the part does not answer."),
                        _("Swap the two wires, or use a lead that does not cross them."));
  place_meeting(look, f, m);
  f->message = g_strdup_printf(_("The signal wires of %s are swapped on their way to %s."),
                               loom_wiring_part(look->s->wiring, look->part)->designation,
                               loom_wiring_part(look->s->wiring, m->part)->designation);
}

static void
report_pair(LoomScenery *s, guint a, guint b)
{
  LoomFinding *f =
      loom_scenery_find(s, LOOM_CARE, "signal-swapped",
                        _("With its data wires swapped a connection does not come up."),
                        _("Use a lead that does not cross its wires."));
  loom_scenery_place(s, f, a);
  loom_scenery_place(s, f, b);
  loom_finding_where(f, 2);
  GArray *way = loom_trace_way(s, a, b);
  if (way) {
    loom_trace_blame(s, f, a, way);
    g_array_free(way, TRUE);
  }
  f->message = g_strdup_printf(_("The data wires between %s are swapped."), f->where);
}

/* Data contacts of computers, which are no devices of a channel: each has the other's twin. */
static void
pairs_of(LoomScenery *s, guint circuit)
{
  guint first = LOOM_NONE;
  for (guint i = s->wired->first[circuit]; i < s->wired->first[circuit + 1]; i++) {
    guint node = s->wired->nodes[i];
    if (!is_data(s, node))
      continue;
    if (first == LOOM_NONE) {
      first = node;
      continue;
    }
    const LoomContact *x = loom_scenery_contact(s, first), *y = loom_scenery_contact(s, node);
    if (!g_str_equal(x->name, y->name) && end_has(s, first, y) && end_has(s, node, x))
      report_pair(s, first, node);
  }
}

static void
signal_swapped_in(LoomScenery *s)
{
  each_device(s, signal_swapped_of);
  for (guint k = 0; k < s->wired->n_circuits; k++)
    if (s->signals[k])
      pairs_of(s, k);
}

void
loom_rule_signal_swapped(LoomDesk *desk)
{
  loom_desk_each_scene(desk, signal_swapped_in);
}

/* ---- two on one channel ---- */

typedef struct {
  guint part, channel, at; /* of the channel; its node */
  guint device_part, node;
} User;

static int
by_channel(gconstpointer a, gconstpointer b)
{
  const User *x = a, *y = b;
  if (x->part != y->part)
    return x->part < y->part ? -1 : 1;
  if (x->channel != y->channel)
    return x->channel < y->channel ? -1 : 1;
  return x->device_part < y->device_part ? -1 : x->device_part > y->device_part;
}

static bool
is_bus(const LoomScenery *s, guint node)
{
  const LoomContact *c = loom_scenery_contact(s, node);
  return c && (c->signal == LOOM_SIGNAL_SDA || c->signal == LOOM_SIGNAL_SCL ||
               c->signal == LOOM_SIGNAL_SERIAL || c->signal == LOOM_SIGNAL_NETWORK);
}

static GArray *
users_of_channels(LoomScenery *s)
{
  GArray *users = g_array_new(FALSE, FALSE, sizeof(User));
  Look look;
  for (guint p = 0; p < s->wiring->n_parts; p++)
    for (guint d = 0; d < loom_wiring_part(s->wiring, p)->kind->n_devices; d++) {
      look_at(&look, s, p, d);
      for (guint i = 0; i < look.n_meetings; i++) {
        const Meeting *m = &look.meetings[i];
        User user = {m->part, m->channel, m->at, p, m->node};
        if (g_str_equal(channel_of(s, m->part, m->channel)->type, look.d->channel) &&
            !is_bus(s, m->at))
          g_array_append_val(users, user);
      }
    }
  g_array_sort(users, by_channel);
  return users;
}

static void
report_shared(LoomScenery *s, const User *users, guint n)
{
  const LoomChannel *c = channel_of(s, users[0].part, users[0].channel);
  const LoomContact *contact = loom_scenery_contact(s, users[0].at);
  bool together =
      contact && (contact->role == LOOM_ROLE_POLE || contact->signal == LOOM_SIGNAL_SERVO);
  LoomFinding *f = loom_scenery_find(
      s, together ? LOOM_NOTE : LOOM_CARE, "shared-channel",
      together ? _("They always move together, and the port carries the current of both.")
               : _("The program cannot tell which of them it hears."),
      together ? _("Leave it if that is meant; otherwise give each a channel of its own.")
               : _("Give each a channel of its own."));
  loom_scenery_place(s, f, users[0].at);
  loom_finding_where(f, 1);
  g_autoptr(GPtrArray) names = g_ptr_array_new();
  for (guint i = 0; i < n; i++) {
    loom_scenery_place(s, f, users[i].node);
    g_ptr_array_add(names, loom_wiring_part(s->wiring, users[i].device_part)->designation);
  }
  g_autofree char *list = loom_words_list(names, 6);
  f->message = g_strdup_printf(_("%s share %s channel %u of %s."), list, _(c->type), c->number,
                               loom_wiring_part(s->wiring, users[0].part)->designation);
}

static void
shared_channel_in(LoomScenery *s)
{
  GArray *all = users_of_channels(s);
  const User *users = (const User *)all->data;
  for (guint i = 0, n; i < all->len; i += n) {
    for (n = 1; i + n < all->len && users[i + n].part == users[i].part &&
                users[i + n].channel == users[i].channel;)
      n++;
    if (n > 1)
      report_shared(s, &users[i], n);
  }
  g_array_free(all, TRUE);
}

void
loom_rule_shared_channel(LoomDesk *desk)
{
  loom_desk_each_scene(desk, shared_channel_in);
}

/* ---- names ---- */

/* Parts with a device on a channel, in any scene. */
bool *
loom_desk_on_channel(const LoomDesk *desk)
{
  bool *on = g_new0(bool, desk->n_parts + 1);
  Look look;
  for (guint i = 0; i < desk->n_scenes; i++)
    for (guint p = 0; p < desk->n_parts; p++)
      for (guint d = 0; d < loom_design_part(desk->design, p)->kind->n_devices && !on[p]; d++) {
        look_at(&look, desk->scenes[i], p, d);
        on[p] = best_meeting(&look) != NULL;
      }
  return on;
}
