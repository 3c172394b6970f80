#include "rules-private.h"

#include <glib/gi18n-lib.h>

/* UM10204 section 3.1.12 table 3: these seven-bit addresses are reserved. */
static bool
reserved(int address)
{
  return address <= 0x07 || address >= 0x78;
}

typedef struct {
  guint circuit;
  int address;
  guint node;
} Listener;

static int
by_bus(gconstpointer a, gconstpointer b)
{
  const Listener *x = a, *y = b;
  if (x->circuit != y->circuit)
    return x->circuit < y->circuit ? -1 : 1;
  if (x->address != y->address)
    return x->address - y->address;
  return x->node < y->node ? -1 : x->node > y->node;
}

/* Parts with an address on each data line. New. */
static GArray *
listeners(const LoomScenery *s)
{
  GArray *all = g_array_new(FALSE, FALSE, sizeof(Listener));
  for (guint node = 0; node < s->wiring->n_nodes; node++) {
    const LoomContact *c = loom_scenery_contact(s, node);
    int address =
        c && c->signal == LOOM_SIGNAL_SDA ? loom_part_address(loom_scenery_part(s, node)) : -1;
    Listener l = {s->wired->circuit[node], address, node};
    if (address >= 0 && loom_scenery_plugged(s, node))
      g_array_append_val(all, l);
  }
  g_array_sort(all, by_bus);
  return all;
}

/* An address of the part's own range that nobody on the bus has; -1 where there is none. */
static int
free_address(const LoomPart *part, const Listener *bus, guint n)
{
  for (int address = part->kind->address_min; address >= 0 && address <= part->kind->address_max;
       address++) {
    bool taken = reserved(address);
    for (guint i = 0; i < n; i++)
      taken |= bus[i].address == address;
    if (!taken)
      return address;
  }
  return -1;
}

static void
offer_address(const LoomScenery *s, LoomFinding *f, const Listener *same, guint n_same,
              const Listener *bus, guint n_bus)
{
  for (guint i = n_same; i-- > 0 && !f->mend;) {
    const LoomPart *part = loom_scenery_part(s, same[i].node);
    int address = free_address(part, bus, n_bus);
    if (address < 0)
      continue;
    g_free(f->remedy);
    f->remedy =
        g_strdup_printf(_("Set %s to 0x%02X, on the part and here."), part->designation, address);
    loom_finding_mend_with(f, "set %s address=0x%02X", part->designation, address);
  }
}

static void
report_same_address(LoomScenery *s, const Listener *same, guint n_same, const Listener *bus,
                    guint n_bus)
{
  LoomFinding *f = loom_scenery_find(
      s, LOOM_CARE, "address-twice", _("Both answer at once, and neither is understood."),
      _("Put one of them on another bus, or choose one whose address can be set."));
  for (guint i = 0; i < n_same; i++)
    loom_scenery_place(s, f, same[i].node);
  loom_finding_where(f, n_same);
  f->message =
      g_strdup_printf(_("%s have the same address, 0x%02X, on one bus."), f->where, same->address);
  offer_address(s, f, same, n_same, bus, n_bus);
}

static void
address_twice_in(LoomScenery *s)
{
  GArray *all = listeners(s);
  const Listener *l = (const Listener *)all->data;
  for (guint first = 0, n; first < all->len; first += n) {
    for (n = 1; first + n < all->len && l[first + n].circuit == l[first].circuit;)
      n++;
    for (guint i = first, same; i < first + n; i += same) {
      for (same = 1; i + same < first + n && l[i + same].address == l[i].address;)
        same++;
      if (same > 1)
        report_same_address(s, &l[i], same, &l[first], n);
    }
  }
  g_array_free(all, TRUE);
}

void
loom_rule_address_twice(LoomDesk *desk)
{
  loom_desk_each_scene(desk, address_twice_in);
}

/* Takes the message. */
static void
report_address(LoomDesk *desk, const LoomPart *part, char *message, const char *why)
{
  LoomFinding *f =
      loom_desk_find(desk, LOOM_CARE, "address", why,
                     _("Choose an address of the part's own range that is not reserved."));
  loom_finding_place(f, part, LOOM_NONE);
  loom_finding_where(f, 1);
  f->message = message;
  int other = free_address(part, NULL, 0);
  if (other >= 0)
    loom_finding_mend_with(f, "set %s address=0x%02X", part->designation, other);
}

void
loom_rule_address(LoomDesk *desk)
{
  for (guint p = 0; p < desk->n_parts; p++) {
    const LoomPart *part = loom_design_part(desk->design, p);
    int address = loom_part_address(part);
    if (address < 0)
      continue;
    if (reserved(address))
      report_address(desk, part,
                     g_strdup_printf(_("The address 0x%02X of %s is reserved."), (guint)address,
                                     part->designation),
                     _("The bus itself uses the addresses 0x00 to 0x07 and 0x78 to 0x7F."));
    else if (part->kind->address >= 0 &&
             (address < part->kind->address_min || address > part->kind->address_max))
      report_address(desk, part,
                     g_strdup_printf(_("The address 0x%02X of %s cannot be set on it."),
                                     (guint)address, part->designation),
                     _("A part answers only to the addresses that it can be set to."));
  }
}
