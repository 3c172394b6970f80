#include "family.h"

LoomFamily *
loom_family_ref(const LoomFamily *family)
{
  return g_atomic_rc_box_acquire((LoomFamily *)family);
}

static void
clear(gpointer data)
{
  LoomFamily *family = data;
  g_free(family->id);
  g_free(family->name);
  g_free(family->standard);
  g_free(family->note);
  g_free(family->written);
  g_free(family->source);
  g_strfreev(family->accepts);
  g_free(family->xml);
}

void
loom_family_unref(LoomFamily *family)
{
  if (family)
    g_atomic_rc_box_release_full(family, clear);
}

const char *
loom_gender_word(LoomGender gender)
{
  static const char *const words[] = {"pins", "sockets", "genderless", "terminal"};
  return words[gender];
}

const char *
loom_gender_label(LoomGender gender)
{
  static const char *const labels[] = {"pins (male)", "sockets (female)", "genderless", "terminal"};
  return labels[gender];
}

const char *
loom_fit_word(LoomFit fit)
{
  static const char *const words[] = {"normal", "turned", "shifted"};
  return words[fit];
}
