#include "rules-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* Loads that lack the same thing: what they wait for lies in one circuit. */
typedef struct {
  LoomScenery *s;
  guint node; /* one of the nodes that nothing comes to */
  bool lacks_plus;
  GPtrArray *loads; /* const LoomLoad * */
} Lack;

static void
lack_free(gpointer data)
{
  Lack *lack = data;
  g_ptr_array_free(lack->loads, TRUE);
  g_free(lack);
}

static LoomRole
role_at(const LoomScenery *s, guint node, LoomRole wanted)
{
  guint at = loom_scenery_shown(s, node, wanted);
  return at == LOOM_NONE ? LOOM_ROLE_NONE : loom_scenery_contact(s, at)->role;
}

/* Whether the load is one that its part shows to the world as a supply, and not, say, a resistor
 * between a rail and a signal. */
static bool
wants_supply(const LoomScenery *s, const LoomLoad *load)
{
  LoomRole a = role_at(s, load->a, LOOM_ROLE_PLUS), b = role_at(s, load->b, LOOM_ROLE_MINUS);
  if (load->e->type == LOOM_ELEMENT_MOTOR)
    return (a == LOOM_ROLE_POLE || a == LOOM_ROLE_PLUS) &&
           (b == LOOM_ROLE_POLE || b == LOOM_ROLE_MINUS);
  return a == LOOM_ROLE_PLUS && b == LOOM_ROLE_MINUS;
}

/* Whether the end has contacts of both sides of the load. */
static bool
end_has_both(const LoomScenery *s, guint node, const LoomLoad *load)
{
  const LoomEnd *end = loom_scenery_end(s, node);
  guint first = s->wiring->part_node[s->wiring->node_part[node]] + end->first_node;
  bool a = false, b = false;
  for (guint c = 0; c < end->n_contacts; c++) {
    a |= s->inside->circuit[first + c] == s->inside->circuit[load->a];
    b |= s->inside->circuit[first + c] == s->inside->circuit[load->b];
  }
  return a && b;
}

/* An input that is simply not used: the end for it hangs free as a whole. */
static bool
unused_input(const LoomScenery *s, const LoomLoad *load, guint missing)
{
  guint circuit = s->inside->circuit[missing];
  bool whole = false;
  for (guint i = s->inside->first[circuit]; i < s->inside->first[circuit + 1]; i++) {
    guint node = s->inside->nodes[i];
    if (s->node_end[node] == LOOM_NONE)
      continue;
    if (loom_scenery_plugged(s, node))
      return false;
    whole |= end_has_both(s, node, load);
  }
  return whole;
}

/* A joint that does not mate is why: that is said elsewhere. */
static bool
explained(const LoomScenery *s, guint missing)
{
  guint seems = s->seemingly[loom_supply_circuits(s->closed)->circuit[missing]];
  return s->patched[seems] && s->seemingly_fed[seems];
}

static void
add_to_lack(GHashTable *lacks, LoomScenery *s, const LoomLoad *load, guint missing, bool plus)
{
  guint key = 2 * loom_supply_circuits(s->closed)->circuit[missing] + plus;
  Lack *lack = g_hash_table_lookup(lacks, GUINT_TO_POINTER(key));
  if (!lack) {
    lack = g_new0(Lack, 1);
    *lack = (Lack){s, missing, plus, g_ptr_array_new()};
    g_hash_table_insert(lacks, GUINT_TO_POINTER(key), lack);
  }
  g_ptr_array_add(lack->loads, (gpointer)load);
}

static int
rank_loose(const LoomScenery *s, guint node)
{
  if (s->node_end[node] == LOOM_NONE || loom_scenery_plugged(s, node))
    return 0;
  return loom_scenery_end(s, node)->n_contacts == 1 ? 1 : 2;
}

/* The circuit ends at whole plugs that are simply not plugged: taken apart on purpose in this
 * scene. */
static bool
taken_apart(const LoomScenery *s, guint missing)
{
  GArray *loose = loom_trace_loose_ends(s, missing);
  bool on_purpose = true;
  for (guint i = 0; i < loose->len; i++)
    on_purpose &= rank_loose(s, g_array_index(loose, guint, i)) == 2;
  g_array_free(loose, TRUE);
  return on_purpose;
}

static void
place_loose(const LoomScenery *s, LoomFinding *f, const GArray *loose, int rank)
{
  for (guint i = 0; i < loose->len && f->n_places < 12; i++)
    if (rank_loose(s, g_array_index(loose, guint, i)) == rank)
      loom_scenery_place(s, f, g_array_index(loose, guint, i));
}

/* Where the way ends in the air, likeliest first: a wire that is missing in a plug, a single
 * connector left open; then the loads; last whole plugs that hang free, of which there may be many.
 */
static void
place_lack(const Lack *lack, LoomFinding *f)
{
  GArray *loose = loom_trace_loose_ends(lack->s, lack->node);
  place_loose(lack->s, f, loose, 0);
  place_loose(lack->s, f, loose, 1);
  for (guint i = 0; i < MIN(lack->loads->len, 12u); i++) {
    const LoomLoad *load = lack->loads->pdata[i];
    guint at = loom_scenery_shown(lack->s, lack->lacks_plus ? load->a : load->b,
                                  lack->lacks_plus ? LOOM_ROLE_PLUS : LOOM_ROLE_MINUS);
    loom_scenery_place(lack->s, f, at);
  }
  place_loose(lack->s, f, loose, 2);
  g_array_free(loose, TRUE);
}

/* The ends of the loads, each once: "K1:power, T1:in". New. */
static char *
load_names(const Lack *lack)
{
  g_autoptr(GPtrArray) names = g_ptr_array_new_with_free_func(g_free);
  g_autoptr(GHashTable) seen = g_hash_table_new(g_direct_hash, g_direct_equal);
  for (guint i = 0; i < lack->loads->len; i++) {
    const LoomLoad *load = lack->loads->pdata[i];
    if (!g_hash_table_add(seen, GUINT_TO_POINTER(load->part)))
      continue;
    guint at = loom_scenery_shown(lack->s, load->a, LOOM_ROLE_PLUS);
    g_ptr_array_add(names, loom_scenery_name(lack->s, at));
  }
  return loom_words_list(names, 4);
}

static LoomFinding *
report_lack(const Lack *lack, const char *rule, const char *why, const char *remedy)
{
  LoomFinding *f = loom_scenery_find(lack->s, LOOM_CARE, rule, why, remedy);
  place_lack(lack, f);
  loom_finding_where(f, 1);
  return f;
}

static void
report_half(gpointer key, gpointer value, gpointer data)
{
  (void)key;
  (void)data;
  const Lack *lack = value;
  LoomFinding *f = report_lack(
      lack, "no-return",
      _("Current needs a way there and a way back. With one of them open the part is dead, and the "
        "current may look for a way back through a signal wire."),
      lack->lacks_plus ? _("Join its + to the + of the supply.")
                       : _("Join its - to the - of the supply."));
  g_autofree char *names = load_names(lack);
  f->message =
      lack->lacks_plus
          ? g_strdup_printf(_("The - of the supply reaches %s, and the + does not."), names)
          : g_strdup_printf(_("The + of the supply reaches %s, and there is no way back to -."),
                            names);
}

static void
place_loose_around(const LoomScenery *s, LoomFinding *f, guint from)
{
  GArray *loose = loom_trace_loose_ends(s, from);
  place_loose(s, f, loose, 0);
  place_loose(s, f, loose, 1);
  g_array_free(loose, TRUE);
}

static void
report_apart(LoomScenery *s, const LoomLoad *load)
{
  LoomFinding *f =
      loom_scenery_find(s, LOOM_CARE, "no-return",
                        _("Current needs a way back to the pack it came from. Between two packs "
                          "that nothing joins it "
                          "has none, and the part is dead."),
                        _("Join the - of the two supplies, or take + and - from the same one."));
  loom_scenery_place(s, f, loom_scenery_shown(s, load->a, LOOM_ROLE_PLUS));
  loom_scenery_place(s, f, loom_scenery_shown(s, load->b, LOOM_ROLE_MINUS));
  loom_finding_where(f, 1);
  place_loose_around(s, f, load->a);
  place_loose_around(s, f, load->b);
  f->message = g_strdup_printf(_("%s takes + from one supply and - from another."), f->where);
}

static void
half_in(LoomScenery *s)
{
  g_autoptr(GHashTable) lacks =
      g_hash_table_new_full(g_direct_hash, g_direct_equal, NULL, lack_free);
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    LoomStand stand = loom_scenery_stand(s, load);
    if (stand < LOOM_STANDS_ON_A || s->crossed[load->part] || !wants_supply(s, load))
      continue;
    if (stand == LOOM_STANDS_APART) {
      report_apart(s, load);
      continue;
    }
    bool plus = stand == LOOM_STANDS_ON_B;
    guint missing = plus ? load->a : load->b;
    if (unused_input(s, load, missing) || explained(s, missing) ||
        (plus && s->desk->fed[i] && taken_apart(s, missing)))
      continue;
    add_to_lack(lacks, s, load, missing, plus);
  }
  g_hash_table_foreach(lacks, report_half, NULL);
}

void
loom_rule_no_return(LoomDesk *desk)
{
  loom_desk_each_sound_scene(desk, half_in);
}

static bool
any_source(const LoomDesk *desk)
{
  guint n;
  const LoomFeed *feeds = loom_supply_feeds(desk->scenes[0]->closed, &n);
  for (guint i = 0; i < n; i++)
    if (!feeds[i].converter && !feeds[i].charger)
      return true;
  return false;
}

static void
report_nothing(gpointer key, gpointer value, gpointer data)
{
  (void)key;
  (void)data;
  LoomFinding *f = report_lack(value, "no-supply", _("A part without a supply does nothing."),
                               _("Follow its + back towards the pack and join what is open."));
  g_autofree char *names = load_names(value);
  f->message = g_strdup_printf(_("No supply reaches %s, in no scene."), names);
}

/* Both contacts on one side: it sees no voltage. */
static void
report_same_side(LoomScenery *s, const LoomLoad *load)
{
  LoomFinding *f =
      loom_scenery_find(s, LOOM_CARE, "no-supply", _("A part without a supply does nothing."),
                        _("Look for the lead or plug that takes both to one side."));
  loom_scenery_place(s, f, loom_scenery_shown(s, load->a, LOOM_ROLE_PLUS));
  loom_scenery_place(s, f, loom_scenery_shown(s, load->b, LOOM_ROLE_MINUS));
  loom_finding_where(f, 1);
  f->message =
      g_strdup_printf(_("Both contacts of %s are on the same side of the supply."), f->where);
}

static void
same_side_in(LoomScenery *s)
{
  const guint *circuit = loom_supply_circuits(s->closed)->circuit;
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    if (!s->crossed[load->part] && circuit[load->a] == circuit[load->b] &&
        loom_supply_n_reach(s->closed, load->a) > 0 && wants_supply(s, load) &&
        s->inside->circuit[load->a] != s->inside->circuit[load->b])
      report_same_side(s, load);
  }
}

static bool
plugged_somewhere(const LoomScenery *s, const LoomLoad *load)
{
  guint a = loom_scenery_shown(s, load->a, LOOM_ROLE_PLUS);
  guint b = loom_scenery_shown(s, load->b, LOOM_ROLE_MINUS);
  return loom_scenery_plugged(s, a) || loom_scenery_plugged(s, b);
}

static void
nothing_in(LoomScenery *s, bool *told)
{
  g_autoptr(GHashTable) lacks =
      g_hash_table_new_full(g_direct_hash, g_direct_equal, NULL, lack_free);
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    if (told[i] || s->desk->fed[i] || s->desk->half[i] || s->crossed[load->part] ||
        load->e->type == LOOM_ELEMENT_MOTOR || loom_scenery_stand(s, load) != LOOM_STANDS_DEAD ||
        !wants_supply(s, load) || !plugged_somewhere(s, load) || unused_input(s, load, load->a))
      continue;
    told[i] = true;
    if (!explained(s, load->a) && !explained(s, load->b))
      add_to_lack(lacks, s, load, load->a, true);
  }
  g_hash_table_foreach(lacks, report_nothing, NULL);
}

static bool
plus_plugged(const LoomScenery *s, const LoomLoad *load)
{
  return loom_scenery_plugged(s, loom_scenery_shown(s, load->a, LOOM_ROLE_PLUS));
}

/* A joint with contacts at some end of the part: more than a radio link. */
static bool
wired_up(const LoomDesk *desk, guint part)
{
  const LoomKind *kind = loom_design_part(desk->design, part)->kind;
  for (guint e = 0; e < kind->n_ends; e++)
    if (kind->ends[e].n_contacts && loom_design_joints_at(desk->design, part, e, NULL, 0))
      return true;
  return false;
}

static bool
has_source(const LoomKind *kind)
{
  for (guint i = 0; i < kind->n_elements; i++)
    if (kind->elements[i].type == LOOM_ELEMENT_SOURCE)
      return true;
  return false;
}

/* Nothing of the part is fed or driven in any scene, and no + of its supplies is plugged. Its loads
 * are those from `i` up to `beyond`; the first that counts is returned, NULL where it does not
 * starve. */
static const LoomLoad *
starves(const LoomDesk *desk, guint i, guint beyond)
{
  const LoomLoad *first = NULL;
  for (; i < beyond; i++) {
    const LoomLoad *load = &desk->scenes[0]->loads[i];
    if (load->e->type == LOOM_ELEMENT_MOTOR || !wants_supply(desk->scenes[0], load))
      continue;
    for (guint k = 0; k < desk->n_scenes; k++)
      if (desk->fed[i] || plus_plugged(desk->scenes[k], &desk->scenes[k]->loads[i]))
        return NULL;
    first = first ? first : load;
  }
  return first;
}

static void
report_starving(LoomDesk *desk, const LoomLoad *load)
{
  LoomFinding *f = loom_desk_find(
      desk, wired_up(desk, load->part) ? LOOM_CARE : LOOM_NOTE, "no-supply",
      _("Unless it has a battery of its own inside, it does nothing."), _("Plug its supply."));
  LoomScenery *s = desk->scenes[0];
  loom_scenery_place(s, f, loom_scenery_shown(s, load->a, LOOM_ROLE_PLUS));
  loom_finding_where(f, 1);
  f->message = g_strdup_printf(_("%s is not plugged: nothing feeds %s."), f->where,
                               loom_wiring_part(s->wiring, load->part)->designation);
}

/* Loads lie by part, so the loads of each part are a run. */
static void
starving(LoomDesk *desk)
{
  const LoomLoad *loads = desk->scenes[0]->loads;
  for (guint i = 0, n; i < desk->n_loads; i += n) {
    guint part = loads[i].part;
    for (n = 1; i + n < desk->n_loads && loads[i + n].part == part;)
      n++;
    bool asks = desk->plugged[part] && !has_source(loom_design_part(desk->design, part)->kind);
    const LoomLoad *first = asks ? starves(desk, i, i + n) : NULL;
    if (first)
      report_starving(desk, first);
  }
}

/* What would have to be fed for the load to work: its driver's supply, or its own. */
static void
supply_of(const LoomScenery *s, const LoomLoad *load, guint *a, guint *b)
{
  guint at = s->output_at[loom_supply_circuits(s->closed)->circuit[load->a]];
  *a = at == LOOM_NONE ? load->a : s->outputs[at / 2].a;
  *b = at == LOOM_NONE ? load->b : s->outputs[at / 2].b;
}

/* Designations of the parts that some state of the scene makes work. New set of borrowed strings.
 */
static GHashTable *
put_to_work(const LoomScenery *s)
{
  GHashTable *at_work = g_hash_table_new(g_str_hash, g_str_equal);
  const LoomScene *scene = loom_design_scene(s->wiring->design, s->scene);
  for (guint i = 0; i < scene->n_states; i++)
    for (guint k = 0; k < scene->states[i].n_settings; k++) {
      const LoomSetting *set = &scene->states[i].settings[k];
      if (g_str_equal(set->key, "duty") || g_str_equal(set->key, "load"))
        g_hash_table_add(at_work, set->part);
    }
  return at_work;
}

static void
report_idle(LoomScenery *s, guint plus, const LoomPart *part)
{
  const char *scene = loom_design_scene(s->wiring->design, s->scene)->name;
  LoomFinding *f =
      loom_scenery_find(s, LOOM_CARE, "no-supply", _("A part without a supply does nothing."),
                        _("Plug the supply in this scene too."));
  guint at = loom_scenery_shown(s, plus, LOOM_ROLE_PLUS);
  loom_scenery_place(s, f, at == LOOM_NONE ? plus : at);
  loom_finding_where(f, 1);
  GArray *loose = loom_trace_loose_ends(s, plus);
  for (guint i = 0; i < MIN(loose->len, 6u); i++)
    loom_scenery_place(s, f, g_array_index(loose, guint, i));
  g_array_free(loose, TRUE);
  f->message = g_strdup_printf(_("In the scene “%s” %s is to work, and no supply reaches %s."),
                               scene, part->designation, f->where);
}

/* Parts that a state puts to work in a scene in which nothing feeds them, but another scene does.
 */
static void
idle_in(LoomScenery *s)
{
  g_autoptr(GHashTable) at_work = put_to_work(s);
  for (guint i = 0; i < s->desk->n_loads; i++) {
    const LoomLoad *load = &s->loads[i];
    const LoomPart *part = loom_wiring_part(s->wiring, load->part);
    guint a, b;
    supply_of(s, load, &a, &b);
    if (load->e->type != LOOM_ELEMENT_MOTOR && load->e->type != LOOM_ELEMENT_SERVO)
      continue;
    if (s->crossed[load->part] || loom_supply_island(s->closed, a) != LOOM_NONE ||
        loom_scenery_waits(s, a) || explained(s, a) || !plugged_somewhere(s, load) ||
        !g_hash_table_contains(at_work, part->designation))
      continue;
    report_idle(s, a, part);
  }
}

void
loom_rule_no_supply(LoomDesk *desk)
{
  g_autofree bool *told = g_new0(bool, desk->n_loads + 1);
  if (!any_source(desk))
    return;
  for (guint i = 0; i < desk->n_scenes; i++)
    nothing_in(desk->scenes[i], told);
  loom_desk_each_sound_scene(desk, same_side_in);
  loom_desk_each_sound_scene(desk, idle_in);
  starving(desk);
}
