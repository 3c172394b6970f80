#include "rota-private.h"

#include <glib/gi18n-lib.h>
#include <math.h>

char *
loom_rota_clock(guint minutes)
{
  return g_strdup_printf("%u:%02u", minutes / 60 % 24, minutes % 60);
}

static void say(GPtrArray *sentences, const char *format, ...) G_GNUC_PRINTF(2, 3);

static void
say(GPtrArray *sentences, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_ptr_array_add(sentences, g_strdup_vprintf(format, arguments));
  va_end(arguments);
}

static char **
finish(GPtrArray *sentences)
{
  g_ptr_array_add(sentences, NULL);
  return (char **)g_ptr_array_free(sentences, FALSE);
}

/* "Pack 2": at the head of a sentence. New. */
static char *
capital(const char *name)
{
  gunichar first = g_utf8_get_char_validated(name, -1);
  if (!*name || first == (gunichar)-1 || first == (gunichar)-2)
    return g_strdup(name);
  char upper[7] = "";
  g_unichar_to_utf8(g_unichar_toupper(first), upper);
  return g_strconcat(upper, g_utf8_next_char(name), NULL);
}

static double
percent(double share)
{
  return floor(share * 100 + 1e-6);
}

/* ---- conflicts ---- */

static void
tell_packs(const LoomRota *rota, GPtrArray *out)
{
  const char *full = rota->more_packs == 1 ? _("pack that is full") : _("packs that are full");
  if (rota->more_packs > 0)
    say(out,
        _("There are not enough packs: bring %u more %s in the morning, and every outing starts on "
          "a "
          "full one."),
        rota->more_packs, full);
  if (rota->more_packs > 0 && rota->more_chargers == 1)
    say(out, _("Or bring one more charger: that does it too."));
  else if (rota->more_packs > 0 && rota->more_chargers != LOOM_NONE)
    say(out, _("Or bring %u more chargers: that does it too."), rota->more_chargers);
  else if (rota->more_packs > 0 && rota->n_chargers > 0)
    say(out, _("More chargers of the same kind would not help."));
}

static void
tell_use(const LoomRotaDesk *desk, const LoomRota *rota, const LoomRotaUse *use, GPtrArray *out)
{
  g_autofree char *clock = loom_rota_clock(use->start_min);
  if (use->pack == LOOM_NONE) {
    say(out, _("At %s there is no pack for %s."), clock, use->name);
    return;
  }
  if (use->charge >= 1)
    return;
  if (desk->used < 1 && use->charge < desk->used)
    say(out, _("At %s %s has to go out with %s at %.0f %%; it takes %.0f %%, so it stops early."),
        clock, use->name, rota->packs[use->pack], percent(use->charge), percent(desk->used));
  else
    say(out, _("At %s %s has to go out with %s at %.0f %%, because no pack is full."), clock,
        use->name, rota->packs[use->pack], percent(use->charge));
}

/* ---- notes ---- */

static void
tell_chargers(const LoomRotaDesk *desk, const LoomRota *rota, GPtrArray *out)
{
  for (guint i = 0; i < desk->day->n_chargers; i++) {
    g_autoptr(LoomCharge) charge = loom_charge_new(desk->day->pack, desk->day->chargers[i]);
    if (!charge->wrong)
      continue;
    g_autofree char *name = capital(rota->chargers[i]);
    say(out, _("%s is left out. %s"), name, charge->wrong);
  }
  if (desk->n_types == 0)
    say(out, _("Nothing can be charged on this day, so every outing takes a pack of its own."));
}

static void
tell_assumptions(const LoomRotaDesk *desk, const LoomRota *rota, GPtrArray *out)
{
  if (desk->n_types > 0 && desk->used >= 1)
    say(out,
        _("Every outing is taken to use up the whole pack. If it uses less, charging is shorter."));
  guint spare = 0;
  for (guint i = 0; i < rota->n_spans; i++) {
    bool last = i + 1 == rota->n_spans || rota->spans[i + 1].pack != rota->spans[i].pack;
    spare += last && rota->spans[i].what != LOOM_SPAN_READY;
  }
  if (spare > 0)
    say(out,
        spare == 1
            ? _("%u pack is not full at the end of the day: charge it while someone is there.")
            : _("%u packs are not full at the end of the day: charge them while someone is "
                "there."),
        spare);
  if (!rota->proven)
    say(out,
        _("The chargers are too many and too unlike to try everything: fewer packs might do."));
}

void
loom_rota_tell(const LoomRotaDesk *desk, LoomRota *rota)
{
  GPtrArray *conflicts = g_ptr_array_new(), *notes = g_ptr_array_new();
  tell_packs(rota, conflicts);
  for (guint i = 0; i < rota->n_uses; i++)
    tell_use(desk, rota, &rota->uses[i], conflicts);
  tell_chargers(desk, rota, notes);
  tell_assumptions(desk, rota, notes);
  rota->conflicts = finish(conflicts);
  rota->notes = finish(notes);
}

/* ---- the day in sentences ---- */

typedef struct {
  guint at_min, order;
  char *sentence;
} Line;

static void add_line(GArray *lines, guint at_min, const char *format, ...) G_GNUC_PRINTF(3, 4);

static void
add_line(GArray *lines, guint at_min, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  g_autofree char *text = g_strdup_vprintf(format, arguments);
  va_end(arguments);
  g_autofree char *clock = loom_rota_clock(at_min);
  Line line = {at_min, lines->len, g_strdup_printf("%s %s", clock, text)};
  g_array_append_val(lines, line);
}

static int
by_time(gconstpointer a, gconstpointer b)
{
  const Line *x = a, *y = b;
  if (x->at_min != y->at_min)
    return x->at_min < y->at_min ? -1 : 1;
  return x->order < y->order ? -1 : 1;
}

static void
use_line(const LoomRota *rota, const LoomRotaUse *use, GArray *lines)
{
  g_autofree char *name = capital(use->name);
  if (use->pack == LOOM_NONE)
    add_line(lines, use->start_min, _("%s has no pack."), name);
  else if (use->charge >= 1)
    add_line(lines, use->start_min, _("%s goes out with %s."), name, rota->packs[use->pack]);
  else
    add_line(lines, use->start_min, _("%s goes out with %s, at %.0f %% only."), name,
             rota->packs[use->pack], percent(use->charge));
}

static void
cooling_line(const LoomRota *rota, const LoomRotaSpan *span, GArray *lines)
{
  g_autofree char *clock = loom_rota_clock(span->to_min);
  g_autofree char *name = capital(rota->packs[span->pack]);
  add_line(lines, span->from_min, _("%s is back: let it cool until %s."), name, clock);
}

static void
charge_lines(const LoomRota *rota, const LoomRotaCharge *charge, GArray *lines)
{
  const char *pack = rota->packs[charge->pack], *charger = rota->chargers[charge->charger];
  g_autofree char *clock = loom_rota_clock(charge->end_min);
  g_autofree char *name = capital(pack);
  if (charge->to >= 1) {
    add_line(lines, charge->start_min, _("Put %s on %s at %g A; it is full at about %s."), pack,
             charger, charge->current_A, clock);
    add_line(lines, charge->end_min, _("%s should be full: take it off %s."), name, charger);
    return;
  }
  add_line(lines, charge->start_min, _("Put %s on %s at %g A."), pack, charger, charge->current_A);
  add_line(lines, charge->end_min, _("Take %s off %s early, at about %.0f %%."), pack, charger,
           percent(charge->to));
}

char **
loom_rota_sentences(const LoomRota *rota)
{
  g_autoptr(GArray) lines = g_array_new(FALSE, FALSE, sizeof(Line));
  for (guint i = 0; i < rota->n_uses; i++)
    use_line(rota, &rota->uses[i], lines);
  for (guint i = 0; i < rota->n_spans; i++)
    if (rota->spans[i].what == LOOM_SPAN_COOLING)
      cooling_line(rota, &rota->spans[i], lines);
  for (guint i = 0; i < rota->n_charges; i++)
    charge_lines(rota, &rota->charges[i], lines);
  g_array_sort(lines, by_time);
  GPtrArray *sentences = g_ptr_array_new();
  for (guint i = 0; i < lines->len; i++)
    g_ptr_array_add(sentences, g_array_index(lines, Line, i).sentence);
  return finish(sentences);
}
