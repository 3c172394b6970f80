#include "choice.h"

struct _LoomChoice {
  GObject parent;
  GPtrArray *parts; /* designations, owned; the last is the cursor */
  GHashTable *set;  /* the same, borrowed from `parts` */
  char *end;        /* of the cursor, or NULL */
  char *joint_a, *joint_b;
};

G_DEFINE_FINAL_TYPE(LoomChoice, loom_choice, G_TYPE_OBJECT)

static guint signal_changed;

static void
loom_choice_finalize(GObject *object)
{
  LoomChoice *self = LOOM_CHOICE(object);
  g_hash_table_unref(self->set);
  g_ptr_array_unref(self->parts);
  g_free(self->end);
  g_free(self->joint_a);
  g_free(self->joint_b);
  G_OBJECT_CLASS(loom_choice_parent_class)->finalize(object);
}

static void
loom_choice_class_init(LoomChoiceClass *class)
{
  G_OBJECT_CLASS(class)->finalize = loom_choice_finalize;
  signal_changed = g_signal_new("changed", LOOM_TYPE_CHOICE, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                                G_TYPE_NONE, 0);
}

static void
loom_choice_init(LoomChoice *self)
{
  self->parts = g_ptr_array_new_with_free_func(g_free);
  self->set = g_hash_table_new(g_str_hash, g_str_equal);
}

LoomChoice *
loom_choice_new(void)
{
  return g_object_new(LOOM_TYPE_CHOICE, NULL);
}

static void
say_changed(LoomChoice *self)
{
  g_signal_emit(self, signal_changed, 0);
}

static void
empty(LoomChoice *self)
{
  g_hash_table_remove_all(self->set);
  g_ptr_array_set_size(self->parts, 0);
  g_clear_pointer(&self->end, g_free);
  g_clear_pointer(&self->joint_a, g_free);
  g_clear_pointer(&self->joint_b, g_free);
}

static void
add(LoomChoice *self, const char *designation)
{
  if (g_hash_table_contains(self->set, designation))
    return;
  char *copy = g_strdup(designation);
  g_ptr_array_add(self->parts, copy);
  g_hash_table_add(self->set, copy);
}

void
loom_choice_clear(LoomChoice *self)
{
  if (!self->parts->len && !self->joint_a)
    return;
  empty(self);
  say_changed(self);
}

void
loom_choice_set_part(LoomChoice *self, const char *designation, const char *end)
{
  if (self->parts->len == 1 && loom_choice_has(self, designation) && g_strcmp0(self->end, end) == 0)
    return;
  g_autofree char *part_copy = g_strdup(designation);
  g_autofree char *end_copy = g_strdup(end);
  empty(self);
  add(self, part_copy);
  self->end = g_steal_pointer(&end_copy);
  say_changed(self);
}

void
loom_choice_set_parts(LoomChoice *self, const char *const *designations, guint n)
{
  g_auto(GStrv) copies = g_new0(char *, n + 1);
  for (guint i = 0; i < n; i++)
    copies[i] = g_strdup(designations[i]);
  empty(self);
  for (guint i = 0; i < n; i++)
    add(self, copies[i]);
  say_changed(self);
}

void
loom_choice_toggle(LoomChoice *self, const char *designation)
{
  g_clear_pointer(&self->end, g_free);
  g_clear_pointer(&self->joint_a, g_free);
  g_clear_pointer(&self->joint_b, g_free);
  guint index;
  if (!loom_choice_has(self, designation)) {
    add(self, designation);
  } else if (g_ptr_array_find_with_equal_func(self->parts, designation, g_str_equal, &index)) {
    g_hash_table_remove(self->set, designation);
    g_ptr_array_remove_index(self->parts, index);
  }
  say_changed(self);
}

void
loom_choice_set_joint(LoomChoice *self, const char *a, const char *b)
{
  if (g_strcmp0(self->joint_a, a) == 0 && g_strcmp0(self->joint_b, b) == 0)
    return;
  empty(self);
  self->joint_a = g_strdup(a);
  self->joint_b = g_strdup(b);
  say_changed(self);
}

guint
loom_choice_n_parts(LoomChoice *self)
{
  return self->parts->len;
}

const char *
loom_choice_part(LoomChoice *self, guint index)
{
  return g_ptr_array_index(self->parts, index);
}

bool
loom_choice_has(LoomChoice *self, const char *designation)
{
  return g_hash_table_contains(self->set, designation);
}

const char *
loom_choice_cursor(LoomChoice *self)
{
  return self->parts->len ? g_ptr_array_index(self->parts, self->parts->len - 1) : NULL;
}

const char *
loom_choice_end(LoomChoice *self)
{
  return self->end;
}

static bool
is_end(const LoomEndName *name, const char *text)
{
  gsize n = strlen(name->part);
  return strncmp(text, name->part, n) == 0 && text[n] == ':' &&
         strcmp(text + n + 1, name->end) == 0;
}

guint
loom_choice_joint(LoomChoice *self, const LoomDesign *design)
{
  guint part, end, joints[16];
  if (!self->joint_a || !loom_design_find_end(design, self->joint_a, &part, &end, NULL))
    return LOOM_NONE;
  guint n = loom_design_joints_at(design, part, end, joints, G_N_ELEMENTS(joints));
  for (guint i = 0; i < MIN(n, G_N_ELEMENTS(joints)); i++) {
    const LoomJoint *joint = loom_design_joint(design, joints[i]);
    if (is_end(&joint->a, self->joint_b) || is_end(&joint->b, self->joint_b))
      return joints[i];
  }
  return LOOM_NONE;
}

bool
loom_choice_is_joint(LoomChoice *self)
{
  return self->joint_a != NULL;
}

static bool
end_is_gone(LoomChoice *self, const LoomDesign *design)
{
  const char *cursor = loom_choice_cursor(self);
  guint part = cursor ? loom_design_find_part(design, cursor) : LOOM_NONE;
  return self->end && (part == LOOM_NONE || loom_kind_find_end(loom_design_part(design, part)->kind,
                                                               self->end) == LOOM_NONE);
}

void
loom_choice_prune(LoomChoice *self, const LoomDesign *design)
{
  bool changed = false;
  for (guint i = self->parts->len; i-- > 0;) {
    if (loom_design_find_part(design, loom_choice_part(self, i)) != LOOM_NONE)
      continue;
    g_hash_table_remove(self->set, loom_choice_part(self, i));
    g_ptr_array_remove_index(self->parts, i);
    changed = true;
  }
  if (end_is_gone(self, design)) {
    g_clear_pointer(&self->end, g_free);
    changed = true;
  }
  if (self->joint_a && loom_choice_joint(self, design) == LOOM_NONE) {
    g_clear_pointer(&self->joint_a, g_free);
    g_clear_pointer(&self->joint_b, g_free);
    changed = true;
  }
  if (changed)
    say_changed(self);
}
