#include "draft.h"

#include "design/file.h"

#include <fcntl.h>
#include <glib/gstdio.h>
#include <sys/file.h>
#include <unistd.h>

#define GROUP "draft"

struct LoomDrafts {
  char *folder;
  int lock; /* file descriptor, -1 where another program holds it */
};

static int
take_lock(const char *folder)
{
  g_autofree char *path = g_build_filename(folder, "lock", NULL);
  int fd = open(path, O_CREAT | O_RDWR | O_CLOEXEC, 0600);
  if (fd >= 0 && flock(fd, LOCK_EX | LOCK_NB) != 0) {
    close(fd);
    return -1;
  }
  return fd;
}

LoomDrafts *
loom_drafts_new(void)
{
  LoomDrafts *drafts = g_new0(LoomDrafts, 1);
  drafts->folder = g_build_filename(g_get_user_state_dir(), "loombook", "drafts", NULL);
  g_mkdir_with_parents(drafts->folder, 0700);
  drafts->lock = take_lock(drafts->folder);
  return drafts;
}

void
loom_drafts_free(LoomDrafts *drafts)
{
  if (!drafts)
    return;
  if (drafts->lock >= 0)
    close(drafts->lock);
  g_free(drafts->folder);
  g_free(drafts);
}

static char *
file_of(LoomDrafts *drafts, const char *id, const char *suffix)
{
  g_autofree char *name = g_strconcat(id, suffix, NULL);
  return g_build_filename(drafts->folder, name, NULL);
}

static LoomDraft *
read_draft(LoomDrafts *drafts, const char *id)
{
  g_autofree char *file = file_of(drafts, id, ".loom");
  g_autofree char *notes = file_of(drafts, id, ".ini");
  g_autoptr(GKeyFile) keys = g_key_file_new();
  if (!g_file_test(file, G_FILE_TEST_IS_REGULAR) ||
      !g_key_file_load_from_file(keys, notes, G_KEY_FILE_NONE, NULL))
    return NULL;
  LoomDraft *draft = g_new0(LoomDraft, 1);
  draft->id = g_strdup(id);
  draft->file = g_steal_pointer(&file);
  draft->original = g_key_file_get_string(keys, GROUP, "original", NULL);
  draft->time = g_key_file_get_int64(keys, GROUP, "time", NULL);
  return draft;
}

GPtrArray *
loom_drafts_left(LoomDrafts *drafts)
{
  GPtrArray *left = g_ptr_array_new_with_free_func((GDestroyNotify)loom_draft_free);
  g_autoptr(GDir) folder = drafts->lock >= 0 ? g_dir_open(drafts->folder, 0, NULL) : NULL;
  const char *name;
  while (folder && (name = g_dir_read_name(folder))) {
    if (!g_str_has_suffix(name, ".ini"))
      continue;
    g_autofree char *id = g_strndup(name, strlen(name) - strlen(".ini"));
    LoomDraft *draft = read_draft(drafts, id);
    if (draft)
      g_ptr_array_add(left, draft);
  }
  return left;
}

char *
loom_drafts_new_id(LoomDrafts *drafts)
{
  (void)drafts;
  return g_uuid_string_random();
}

bool
loom_drafts_write(LoomDrafts *drafts, const char *id, const LoomDesign *design,
                  const char *original, GError **error)
{
  g_autofree char *file = file_of(drafts, id, ".loom");
  g_autofree char *notes = file_of(drafts, id, ".ini");
  if (!loom_design_write(design, file, error))
    return false;
  g_autoptr(GKeyFile) keys = g_key_file_new();
  if (original)
    g_key_file_set_string(keys, GROUP, "original", original);
  g_key_file_set_int64(keys, GROUP, "time", g_get_real_time() / G_USEC_PER_SEC);
  return g_key_file_save_to_file(keys, notes, error);
}

void
loom_drafts_discard(LoomDrafts *drafts, const char *id)
{
  g_autofree char *file = file_of(drafts, id, ".loom");
  g_autofree char *notes = file_of(drafts, id, ".ini");
  g_unlink(notes);
  g_unlink(file);
}

void
loom_draft_free(LoomDraft *draft)
{
  g_free(draft->id);
  g_free(draft->file);
  g_free(draft->original);
  g_free(draft);
}
