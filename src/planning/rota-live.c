#include "rota-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

/* Where a pack is. */
typedef enum { AT_FULL, AT_OUT, AT_COOLING, AT_WAITING, AT_CHARGING } At;

typedef struct {
  At at;
  guint since, until; /* until: OUT, COOLING, CHARGING */
  double charge;      /* share; while CHARGING that at its start */
  guint index;        /* OUT: of the use; CHARGING: of the charge */
} Pack;

typedef struct {
  const LoomRotaDesk *desk;
  const GArray *planned;
  bool possible;
  guint now, next_due, next_planned;
  Pack *packs;
  GQueue queue;   /* packs that wait for a charger, by the time they came */
  guint *free_at; /* by charger of the day; G_MAXUINT for those that do not suit */
  GArray *uses, *charges, *spans;
} Live;

static void
add_span(Live *live, guint pack, LoomSpanKind what, guint to, guint use, guint charge)
{
  LoomRotaSpan span = {pack, what, live->packs[pack].since, to, use, charge};
  if (span.from_min < span.to_min)
    g_array_append_val(live->spans, span);
  live->packs[pack].since = to;
}

static LoomSpanKind
span_of(const Pack *pack)
{
  static const LoomSpanKind kinds[] = {LOOM_SPAN_READY, LOOM_SPAN_OUT, LOOM_SPAN_COOLING,
                                       LOOM_SPAN_WAITING, LOOM_SPAN_CHARGING};
  return kinds[pack->at];
}

/* Ends the pack's present span now. */
static void
close_span(Live *live, guint pack)
{
  const Pack *p = &live->packs[pack];
  add_span(live, pack, span_of(p), live->now, p->at == AT_OUT ? p->index : LOOM_NONE,
           p->at == AT_CHARGING ? p->index : LOOM_NONE);
}

static double
share_now(const Live *live, const Pack *p)
{
  if (p->at != AT_CHARGING)
    return p->charge;
  double part = (double)(live->now - p->since) / (double)(p->until - p->since);
  return p->charge + (1 - p->charge) * part;
}

static LoomRotaCharge *
charge_of(Live *live, const Pack *p)
{
  return &g_array_index(live->charges, LoomRotaCharge, p->index);
}

static void
start_waiting(Live *live, guint pack)
{
  live->packs[pack].at = AT_WAITING;
  g_queue_push_tail(&live->queue, GUINT_TO_POINTER(pack));
}

/* What comes to its end now, charging first; false where nothing does. */
static bool
move_on(Live *live, guint pack)
{
  Pack *p = &live->packs[pack];
  if ((p->at != AT_OUT && p->at != AT_COOLING && p->at != AT_CHARGING) || p->until > live->now)
    return false;
  close_span(live, pack);
  if (p->at == AT_CHARGING) {
    p->at = AT_FULL;
    p->charge = 1;
  } else if (p->at == AT_OUT) {
    p->at = AT_COOLING;
    p->until = live->now + live->desk->day->cool_min;
  } else {
    start_waiting(live, pack);
  }
  return true;
}

/* The full pack that has been full the longest; LOOM_NONE. */
static guint
longest_full(const Live *live)
{
  guint best = LOOM_NONE;
  for (guint i = 0; i < live->desk->n_packs; i++)
    if (live->packs[i].at == AT_FULL &&
        (best == LOOM_NONE || live->packs[i].since < live->packs[best].since))
      best = i;
  return best;
}

static guint
fullest(const Live *live)
{
  guint best = LOOM_NONE;
  double most = 0.005; /* less is as good as nothing */
  for (guint i = 0; i < live->desk->n_packs; i++) {
    const Pack *p = &live->packs[i];
    if (p->at != AT_OUT && share_now(live, p) > most) {
      most = share_now(live, p);
      best = i;
    }
  }
  return best;
}

/* Off the charger, out of the queue. */
static void
pick_up(Live *live, guint pack)
{
  Pack *p = &live->packs[pack];
  if (p->at == AT_WAITING)
    g_queue_remove(&live->queue, GUINT_TO_POINTER(pack));
  if (p->at != AT_CHARGING)
    return;
  double share = share_now(live, p);
  LoomRotaCharge *charge = charge_of(live, p);
  charge->end_min = live->now;
  charge->to = share;
  live->free_at[charge->charger] = live->now;
  close_span(live, pack);
  p->charge = share;
  p->at = AT_WAITING;
}

static void
send_out(Live *live, LoomRotaUse *use, guint index)
{
  Pack *p = &live->packs[use->pack];
  pick_up(live, use->pack);
  use->charge = p->charge;
  add_span(live, use->pack, span_of(p), use->start_min, LOOM_NONE, LOOM_NONE);
  p->at = AT_OUT;
  p->until = use->end_min;
  p->index = index;
  p->charge = MAX(0, p->charge - live->desk->used);
}

static void
serve(Live *live)
{
  const LoomRotaDesk *desk = live->desk;
  const LoomRotaOuting *outing = &desk->day->outings[desk->order[live->next_due]];
  LoomRotaUse use = {.outing = desk->order[live->next_due],
                     .start_min = outing->start_min,
                     .end_min = outing->start_min + MAX(outing->minutes, 1)};
  use.name =
      outing->name ? g_strdup(outing->name) : g_strdup_printf(_("outing %u"), live->next_due + 1);
  use.pack = longest_full(live);
  if (use.pack == LOOM_NONE)
    use.pack = fullest(live);
  if (use.pack != LOOM_NONE)
    send_out(live, &use, live->uses->len);
  g_array_append_val(live->uses, use);
  live->next_due++;
}

static void
plug_in(Live *live, const LoomRotaPlanned *planned)
{
  guint pack = GPOINTER_TO_UINT(g_queue_pop_head(&live->queue));
  Pack *p = &live->packs[pack];
  const LoomRotaType *type = &live->desk->types[planned->type];
  LoomRotaCharge charge = {pack,
                           planned->charger,
                           planned->start_min,
                           planned->end_min,
                           type->options[planned->option].current_A,
                           p->charge,
                           1,
                           planned->option == 0,
                           false};
  close_span(live, pack);
  p->at = AT_CHARGING;
  p->until = planned->end_min;
  p->index = live->charges->len;
  live->free_at[planned->charger] = planned->end_min;
  g_array_append_val(live->charges, charge);
}

static guint
minutes_for(const LoomRotaType *type, guint option, double share)
{
  double hours = loom_charge_setting_hours(type->charge, type->options[option].setting, share);
  return (guint)MAX(1, ceil(hours * 60 - 1e-6));
}

/* Whether `a` suits the next pack better than `b`: gentler as long as it ends in the day, or sooner
 * full. */
static bool
better(const Live *live, const LoomRotaPlanned *a, const LoomRotaPlanned *b)
{
  if (b->type == LOOM_NONE)
    return true;
  double x = live->desk->types[a->type].options[a->option].current_A;
  double y = live->desk->types[b->type].options[b->option].current_A;
  if (live->possible && (x < y || x > y))
    return x < y;
  return a->end_min < b->end_min;
}

/* The best way to charge the pack at the head of the queue; type LOOM_NONE: none. */
static LoomRotaPlanned
best_charge(const Live *live)
{
  LoomRotaPlanned best = {.type = LOOM_NONE};
  const LoomRotaDesk *desk = live->desk;
  const Pack *p = &live->packs[GPOINTER_TO_UINT(g_queue_peek_head((GQueue *)&live->queue))];
  for (guint t = 0; t < desk->n_types; t++)
    for (guint i = 0; i < desk->types[t].n_chargers; i++)
      for (guint o = 0; o < desk->types[t].n_options; o++) {
        guint charger = desk->types[t].chargers[i];
        guint start = MAX(live->now, live->free_at[charger]);
        LoomRotaPlanned c = {t, charger, o, start, start};
        c.end_min += minutes_for(&desk->types[t], o, 1 - p->charge);
        bool fits = !live->possible || (start == live->now && c.end_min <= desk->last_min);
        if (fits && better(live, &c, &best))
          best = c;
      }
  return best;
}

/* Charges that start now. */
static void
start_charges(Live *live)
{
  while (live->next_planned < live->planned->len) {
    const LoomRotaPlanned *planned =
        &g_array_index(live->planned, LoomRotaPlanned, live->next_planned);
    if (planned->start_min > live->now)
      return;
    if (live->queue.length == 0) { /* a plan that was cut short did not hold */
      live->next_planned = live->planned->len;
      return;
    }
    plug_in(live, planned);
    live->next_planned++;
  }
  bool worth_it = live->next_due < live->desk->day->n_outings;
  while (worth_it && live->now >= live->desk->day->opens_min && live->queue.length > 0) {
    LoomRotaPlanned best = best_charge(live);
    if (best.type == LOOM_NONE || best.start_min > live->now)
      return;
    plug_in(live, &best);
  }
}

/* When something happens next; G_MAXUINT: nothing does. */
static guint
next_time(const Live *live)
{
  const LoomRotaDesk *desk = live->desk;
  guint next = live->next_due < desk->day->n_outings ? desk->dues[live->next_due] : G_MAXUINT;
  if (live->now < desk->day->opens_min)
    next = MIN(next, desk->day->opens_min);
  if (live->next_planned < live->planned->len)
    next = MIN(next, g_array_index(live->planned, LoomRotaPlanned, live->next_planned).start_min);
  for (guint i = 0; i < desk->n_packs; i++) {
    const Pack *p = &live->packs[i];
    if (p->at == AT_OUT || p->at == AT_COOLING || p->at == AT_CHARGING)
      next = MIN(next, p->until);
  }
  return next;
}

static void
step(Live *live)
{
  const LoomRotaDesk *desk = live->desk;
  for (guint i = 0; i < desk->n_packs; i++)
    while (move_on(live, i))
      continue;
  while (live->next_due < desk->day->n_outings && desk->dues[live->next_due] <= live->now)
    serve(live);
  start_charges(live);
}

static void
begin(Live *live, guint from)
{
  const LoomRotaDesk *desk = live->desk;
  live->now = from;
  live->packs = g_new0(Pack, desk->n_packs + 1);
  live->free_at = g_new0(guint, desk->day->n_chargers + 1);
  live->uses = g_array_new(FALSE, FALSE, sizeof(LoomRotaUse));
  live->charges = g_array_new(FALSE, FALSE, sizeof(LoomRotaCharge));
  live->spans = g_array_new(FALSE, FALSE, sizeof(LoomRotaSpan));
  g_queue_init(&live->queue);
  for (guint i = 0; i < desk->n_packs; i++) {
    bool full = i < desk->n_full;
    live->packs[i] = (Pack){.since = from, .charge = full ? 1 : 1 - desk->used};
    if (!full)
      start_waiting(live, i);
  }
}

static int
by_pack(gconstpointer a, gconstpointer b)
{
  const LoomRotaSpan *x = a, *y = b;
  if (x->pack != y->pack)
    return x->pack < y->pack ? -1 : 1;
  return x->from_min < y->from_min ? -1 : 1;
}

/* The last spans run to the end of the chart; charges learn whether an outing waited for them. */
static void
end(Live *live, LoomRota *rota)
{
  g_autofree guint *last_use = g_new0(guint, live->desk->n_packs + 1);
  for (guint i = 0; i < live->uses->len; i++) {
    const LoomRotaUse *use = &g_array_index(live->uses, LoomRotaUse, i);
    if (use->pack != LOOM_NONE)
      last_use[use->pack] = use->start_min;
  }
  for (guint i = 0; i < live->charges->len; i++) {
    LoomRotaCharge *charge = &g_array_index(live->charges, LoomRotaCharge, i);
    charge->needed = last_use[charge->pack] >= charge->end_min;
  }
  live->now = rota->to_min = MAX(live->now, live->desk->last_min);
  for (guint i = 0; i < live->desk->n_packs; i++)
    close_span(live, i);
  g_array_sort(live->spans, by_pack);
  rota->n_uses = live->uses->len;
  rota->n_charges = live->charges->len;
  rota->n_spans = live->spans->len;
  rota->uses = (LoomRotaUse *)(gpointer)g_array_free(live->uses, FALSE);
  rota->charges = (LoomRotaCharge *)(gpointer)g_array_free(live->charges, FALSE);
  rota->spans = (LoomRotaSpan *)(gpointer)g_array_free(live->spans, FALSE);
}

void
loom_rota_live(const LoomRotaDesk *desk, const GArray *planned, bool possible, LoomRota *rota)
{
  Live live = {.desk = desk, .planned = planned, .possible = possible};
  guint from =
      desk->day->n_outings ? MIN(desk->dues[0], desk->day->opens_min) : desk->day->opens_min;
  rota->from_min = from;
  begin(&live, from);
  for (guint t = from; t != G_MAXUINT; t = next_time(&live)) {
    live.now = t;
    step(&live);
  }
  end(&live, rota);
  g_queue_clear(&live.queue);
  g_free(live.packs);
  g_free(live.free_at);
}
