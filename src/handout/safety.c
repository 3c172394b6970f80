#include "safety.h"

#include <glib/gi18n-lib.h>

static const char *const WORKING[] = {
    N_("Plug the pack in last and unplug it first. The main switch stays off until a step says "
       "on."),
    N_("The fuse sits close to the pack. Replace it by the same rating only, never by a larger "
       "one."),
    N_("Wheels off the ground whenever the robot has power on the bench."),
    N_("Rings, bracelets and watches off; no loose metal on the bench."),
    N_("Never work on live wiring: switch off, unplug the pack, then touch."),
    N_("Feel for warm joints only after switching off."),
    N_("No reversed or home-made adaptor without a second pair of eyes."),
    N_("Smoke or a burnt smell: switch off if that is safe, step back, call the adult."),
    N_("The event's rules, local codes and a qualified person come before this book."),
};

static const char *const CHARGING[] = {
    N_("Somebody stays with a pack that is charging, for the whole time."),
    N_("Charge on a surface that cannot burn, with nothing that burns around it."),
    N_("Use only a charger made for this chemistry and this number of cells, within the pack's "
       "stated "
       "rate. Take the slower setting when time allows and the pack's data permit it."),
    N_("Let a hot pack cool before you charge it."),
    N_("A swollen, damp, dropped or damaged pack is out of use: show it to the adult, do not "
       "charge it."),
};

const char *
loom_safety_sentence(LoomSafety about, guint i)
{
  guint n = about == LOOM_SAFETY_WORKING ? G_N_ELEMENTS(WORKING) : G_N_ELEMENTS(CHARGING);
  return i < n ? _(about == LOOM_SAFETY_WORKING ? WORKING[i] : CHARGING[i]) : NULL;
}
