#include "design-private.h"
#include "file.h"

#include <errno.h>
#include <fcntl.h>
#include <glib/gi18n-lib.h>
#include <glib/gstdio.h>
#include <math.h>
#include <string.h>
#include <unistd.h>

static void
write_title(LoomXmlWriter *out, const LoomTitle *title)
{
  loom_xml_start(out, "title");
  loom_xml_put_text(out, "name", title->name);
  loom_xml_put_text(out, "revision", title->revision);
  loom_xml_put_text(out, "date", title->date);
  loom_xml_put_text(out, "drawn-by", title->drawn_by);
  loom_xml_put_text(out, "checked-by", title->checked_by);
  loom_xml_put_number(out, "ambient_C", title->ambient_C);
  loom_xml_put_text(out, "note", title->note);
  loom_xml_put_text(out, "before", title->before);
  loom_xml_put_text(out, "after", title->after);
  loom_xml_end(out);
}

static void
write_state(LoomXmlWriter *out, const LoomState *state)
{
  loom_xml_start(out, "state");
  loom_xml_put_text(out, "name", state->name);
  for (guint i = 0; i < state->n_settings; i++) {
    loom_xml_start(out, "set");
    loom_xml_put_text(out, "part", state->settings[i].part);
    loom_xml_put_text(out, "key", state->settings[i].key);
    loom_xml_put_text(out, "value", state->settings[i].value);
    loom_xml_end(out);
  }
  loom_xml_end(out);
}

static void
write_outing(LoomXmlWriter *out, const LoomOuting *outing)
{
  loom_xml_start(out, "outing");
  loom_xml_put_text(out, "name", outing->name);
  for (guint i = 0; i < outing->n_legs; i++) {
    loom_xml_start(out, "leg");
    loom_xml_put_text(out, "state", outing->legs[i].state);
    loom_xml_put_number(out, "seconds", outing->legs[i].seconds);
    loom_xml_end(out);
  }
  loom_xml_end(out);
}

static void
write_scene(LoomXmlWriter *out, const LoomScene *scene)
{
  loom_xml_start(out, "scene");
  loom_xml_put_text(out, "name", scene->name);
  loom_xml_put_text(out, "note", scene->note);
  for (guint i = 0; i < scene->n_states; i++)
    write_state(out, &scene->states[i]);
  for (guint i = 0; i < scene->n_outings; i++)
    write_outing(out, &scene->outings[i]);
  loom_xml_end(out);
}

static void
write_part(LoomXmlWriter *out, const LoomPart *part)
{
  static const char *const turns[] = {NULL, "90", "180", "270"};
  loom_xml_start(out, "part");
  loom_xml_put_text(out, "designation", part->designation);
  loom_xml_put_text(out, "kind", part->kind->id);
  loom_xml_put_number(out, "x_mm", part->x_mm);
  loom_xml_put_number(out, "y_mm", part->y_mm);
  loom_xml_put_text(out, "turn", turns[part->turn]);
  if (part->flip)
    loom_xml_put_yes(out, "flip", true);
  if (part->kind->has_switch)
    loom_xml_put_yes(out, "on", part->on);
  loom_xml_put_number(out, "length_mm", part->length_mm);
  loom_xml_put_number(out, "reach_mm", part->reach_mm);
  loom_xml_put_number(out, "rated_A", part->rated_A);
  if (part->address >= 0)
    loom_xml_put_number(out, "address", part->address);
  loom_xml_put_text(out, "label", part->label);
  loom_xml_put_text(out, "name", part->name);
  loom_xml_put_text(out, "place", part->place);
  loom_xml_put_text(out, "settings", part->settings);
  loom_xml_put_text(out, "note", part->note);
  loom_xml_end(out);
}

static void
write_joint(LoomXmlWriter *out, const LoomJoint *joint)
{
  g_autofree char *a = g_strdup_printf("%s:%s", joint->a.part, joint->a.end);
  g_autofree char *b = g_strdup_printf("%s:%s", joint->b.part, joint->b.end);
  loom_xml_start(out, "joint");
  loom_xml_put_text(out, "a", a);
  loom_xml_put_text(out, "b", b);
  if (joint->fit != LOOM_FIT_NORMAL)
    loom_xml_put_text(out, "fit", loom_fit_word(joint->fit));
  if (joint->tied)
    loom_xml_put_yes(out, "tied", true);
  loom_xml_put_text(out, "network", joint->network);
  loom_xml_put_text(out, "note", joint->note);
  for (char **s = joint->scenes; s && *s; s++) {
    loom_xml_start(out, "in");
    loom_xml_put_text(out, "scene", *s);
    loom_xml_end(out);
  }
  loom_xml_end(out);
}

/* Kinds that parts use and families that those use, by id; `take` tells which designations count
 * (NULL: all). */
static LoomCatalogue *
used_entries(const LoomDesign *design, GHashTable *take)
{
  LoomCatalogue *used = loom_catalogue_new();
  for (guint i = 0; i < design->parts->len; i++) {
    const LoomPart *part = loom_design_part(design, i);
    if ((take && !g_hash_table_contains(take, part->designation)) ||
        loom_catalogue_kind(used, part->kind->id))
      continue;
    loom_catalogue_add_kind(used, part->kind);
    for (guint e = 0; e < part->kind->n_ends; e++) {
      const char *id = part->kind->ends[e].family->id;
      loom_catalogue_add_family(used, loom_catalogue_family(design->own, id));
    }
  }
  return used;
}

static void
write_entries(LoomXmlWriter *out, const LoomDesign *design, GHashTable *take)
{
  g_autoptr(LoomCatalogue) used = used_entries(design, take);
  loom_xml_start(out, "catalogue");
  loom_xml_put_text(out, "xmlns", LOOM_CATALOGUE_NS);
  loom_xml_put_text(out, "version", "1.0");
  guint n;
  const LoomFamily *const *families = loom_catalogue_families(used, &n);
  for (guint i = 0; i < n; i++)
    loom_xml_put_dump(out, families[i]->xml);
  const LoomKind *const *kinds = loom_catalogue_kinds(used, &n);
  for (guint i = 0; i < n; i++)
    loom_xml_put_dump(out, kinds[i]->xml);
  loom_xml_end(out);
}

static bool
taken(GHashTable *take, const LoomJoint *joint)
{
  return !take ||
         (g_hash_table_contains(take, joint->a.part) && g_hash_table_contains(take, joint->b.part));
}

static char *
to_text(const LoomDesign *design, GHashTable *take)
{
  LoomXmlWriter *out = loom_xml_writer_new();
  loom_xml_start(out, "design");
  loom_xml_put_text(out, "xmlns", LOOM_DESIGN_NS);
  loom_xml_put_text(out, "version", "1.0");
  write_title(out, design->title);
  for (guint i = 0; i < design->scenes->len; i++) {
    if (take) {
      loom_xml_start(out, "scene");
      loom_xml_put_text(out, "name", loom_design_scene(design, i)->name);
      loom_xml_end(out);
    } else {
      write_scene(out, loom_design_scene(design, i));
    }
  }
  for (guint i = 0; i < design->parts->len; i++)
    if (!take || g_hash_table_contains(take, loom_design_part(design, i)->designation))
      write_part(out, loom_design_part(design, i));
  for (guint i = 0; i < design->joints->len; i++)
    if (taken(take, loom_design_joint(design, i)))
      write_joint(out, loom_design_joint(design, i));
  write_entries(out, design, take);
  return loom_xml_writer_free_to_text(out);
}

char *
loom_design_to_text(const LoomDesign *design)
{
  return to_text(design, NULL);
}

char *
loom_design_extract(const LoomDesign *design, const char *const *designations, guint n)
{
  g_autoptr(GHashTable) take = g_hash_table_new(g_str_hash, g_str_equal);
  for (guint i = 0; i < n; i++)
    g_hash_table_add(take, (char *)designations[i]);
  return to_text(design, take);
}

static bool
write_failed(const char *path, GError **error)
{
  g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE, _("%s:0: Cannot be written: %s."), path,
              g_strerror(errno));
  return false;
}

/* Where `path` is a link, what it points to is replaced, not the link. */
static char *
real_target(const char *path)
{
  char *resolved = realpath(path, NULL);
  char *target = g_strdup(resolved ? resolved : path);
  free(resolved);
  return target;
}

static bool
write_and_sync(int fd, const char *bytes, gsize left)
{
  while (left > 0) {
    gssize n = write(fd, bytes, left);
    if (n < 0 && errno == EINTR)
      continue;
    if (n <= 0)
      return false;
    bytes += n;
    left -= (gsize)n;
  }
  return fsync(fd) == 0;
}

bool
loom_write_atomically(const char *path, const void *bytes, gsize length, GError **error)
{
  g_autofree char *target = real_target(path);
  g_autofree char *temporary = g_strdup_printf("%s.XXXXXX", target);
  GStatBuf old;
  int mode = g_stat(target, &old) == 0 ? (int)(old.st_mode & 0777) : 0644;
  if (g_file_test(target, G_FILE_TEST_IS_DIR)) {
    errno = EISDIR;
    return write_failed(path, error);
  }
  int fd = g_mkstemp_full(temporary, O_RDWR | O_CLOEXEC, mode);
  if (fd < 0)
    return write_failed(path, error);
  bool written = write_and_sync(fd, bytes, length);
  written = close(fd) == 0 && written;
  if (written && g_rename(temporary, target) == 0)
    return true;
  int cause = errno;
  g_unlink(temporary);
  errno = cause;
  return write_failed(path, error);
}

bool
loom_design_write(const LoomDesign *design, const char *path, GError **error)
{
  g_autofree char *text = loom_design_to_text(design);
  return loom_write_atomically(path, text, strlen(text), error);
}

bool
loom_design_save(LoomDesign *design, const char *path, GError **error)
{
  if (!loom_design_write(design, path, error))
    return false;
  loom_design_mark_saved(design);
  return true;
}
