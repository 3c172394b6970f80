#include "read-private.h"

#include <gio/gio.h>
#include <glib/gi18n-lib.h>
#include <string.h>

struct LoomCatalogue {
  gatomicrefcount references;
  GHashTable *kinds;                  /* id -> LoomKind, both owned by the value */
  GHashTable *families;               /* id -> LoomFamily */
  GPtrArray *kind_list, *family_list; /* sorted, borrowed; NULL until asked for */
};

static void
drop_lists(LoomCatalogue *catalogue)
{
  g_clear_pointer(&catalogue->kind_list, g_ptr_array_unref);
  g_clear_pointer(&catalogue->family_list, g_ptr_array_unref);
}

LoomCatalogue *
loom_catalogue_new(void)
{
  LoomCatalogue *catalogue = g_new0(LoomCatalogue, 1);
  g_atomic_ref_count_init(&catalogue->references);
  catalogue->kinds =
      g_hash_table_new_full(g_str_hash, g_str_equal, NULL, (GDestroyNotify)loom_kind_unref);
  catalogue->families =
      g_hash_table_new_full(g_str_hash, g_str_equal, NULL, (GDestroyNotify)loom_family_unref);
  return catalogue;
}

LoomCatalogue *
loom_catalogue_ref(LoomCatalogue *catalogue)
{
  g_atomic_ref_count_inc(&catalogue->references);
  return catalogue;
}

void
loom_catalogue_unref(LoomCatalogue *catalogue)
{
  if (!catalogue || !g_atomic_ref_count_dec(&catalogue->references))
    return;
  drop_lists(catalogue);
  g_hash_table_unref(catalogue->kinds);
  g_hash_table_unref(catalogue->families);
  g_free(catalogue);
}

const LoomKind *
loom_catalogue_kind(const LoomCatalogue *catalogue, const char *id)
{
  return g_hash_table_lookup(catalogue->kinds, id);
}

const LoomFamily *
loom_catalogue_family(const LoomCatalogue *catalogue, const char *id)
{
  return g_hash_table_lookup(catalogue->families, id);
}

void
loom_catalogue_add_kind(LoomCatalogue *catalogue, const LoomKind *kind)
{
  drop_lists(catalogue);
  g_hash_table_replace(catalogue->kinds, kind->id, loom_kind_ref(kind));
}

void
loom_catalogue_add_family(LoomCatalogue *catalogue, const LoomFamily *family)
{
  drop_lists(catalogue);
  g_hash_table_replace(catalogue->families, family->id, loom_family_ref(family));
}

static int
by_group_rank_id(gconstpointer a, gconstpointer b)
{
  const LoomKind *x = *(const LoomKind *const *)a, *y = *(const LoomKind *const *)b;
  if (x->group != y->group)
    return x->group < y->group ? -1 : 1;
  if (x->rank != y->rank)
    return x->rank < y->rank ? -1 : 1;
  return strcmp(x->id, y->id);
}

static int
by_id(gconstpointer a, gconstpointer b)
{
  return strcmp((*(const LoomFamily *const *)a)->id, (*(const LoomFamily *const *)b)->id);
}

static GPtrArray *
sorted_values(GHashTable *table, GCompareFunc compare)
{
  GPtrArray *list = g_ptr_array_sized_new(g_hash_table_size(table));
  GHashTableIter iter;
  gpointer entry;
  g_hash_table_iter_init(&iter, table);
  while (g_hash_table_iter_next(&iter, NULL, &entry))
    g_ptr_array_add(list, entry);
  g_ptr_array_sort(list, compare);
  return list;
}

const LoomKind *const *
loom_catalogue_kinds(const LoomCatalogue *catalogue, guint *n)
{
  LoomCatalogue *cache = (LoomCatalogue *)catalogue;
  if (!cache->kind_list)
    cache->kind_list = sorted_values(catalogue->kinds, by_group_rank_id);
  *n = cache->kind_list->len;
  return (const LoomKind *const *)cache->kind_list->pdata;
}

const LoomFamily *const *
loom_catalogue_families(const LoomCatalogue *catalogue, guint *n)
{
  LoomCatalogue *cache = (LoomCatalogue *)catalogue;
  if (!cache->family_list)
    cache->family_list = sorted_values(catalogue->families, by_id);
  *n = cache->family_list->len;
  return (const LoomFamily *const *)cache->family_list->pdata;
}

/* Everything that a layer would change is read into a catalogue of its own first, which sees the
 * families of the older layers; only then is anything put in. */
static void
read_families(LoomCatalogue *layer, LoomXml *xml, LoomXmlNode *root)
{
  for (LoomXmlNode *n = loom_xml_child(root, "family"); n && !loom_xml_failed(xml);
       n = loom_xml_next(n, "family")) {
    g_autoptr(LoomFamily) family = loom_family_read(xml, n);
    if (loom_catalogue_family(layer, family->id) && !loom_xml_failed(xml))
      loom_xml_fail(xml, n, LOOM_ERROR_CONTENT, _("There are two families %s in this file."),
                    family->id);
    loom_catalogue_add_family(layer, family);
  }
}

static void
read_kinds(LoomCatalogue *layer, const LoomCatalogue *all, LoomXml *xml, LoomXmlNode *root)
{
  for (LoomXmlNode *n = loom_xml_child(root, "kind"); n && !loom_xml_failed(xml);
       n = loom_xml_next(n, "kind")) {
    g_autoptr(LoomKind) kind = loom_kind_read(xml, n, all);
    if (!kind)
      return;
    if (loom_catalogue_kind(layer, kind->id))
      loom_xml_fail(xml, n, LOOM_ERROR_CONTENT, _("There are two kinds %s in this file."),
                    kind->id);
    loom_catalogue_add_kind(layer, kind);
  }
}

static void
add_all(LoomCatalogue *to, const LoomCatalogue *from)
{
  GHashTableIter iter;
  gpointer entry;
  g_hash_table_iter_init(&iter, from->families);
  while (g_hash_table_iter_next(&iter, NULL, &entry))
    loom_catalogue_add_family(to, entry);
  g_hash_table_iter_init(&iter, from->kinds);
  while (g_hash_table_iter_next(&iter, NULL, &entry))
    loom_catalogue_add_kind(to, entry);
}

static void
check_elements(LoomXml *xml, LoomXmlNode *root)
{
  for (LoomXmlNode *n = loom_xml_child(root, NULL); n; n = loom_xml_next(n, NULL))
    if (!g_str_equal(loom_xml_element(n), "family") && !g_str_equal(loom_xml_element(n), "kind"))
      loom_xml_fail(xml, n, LOOM_ERROR_CONTENT, _("A catalogue has no <%s>."), loom_xml_element(n));
}

bool
loom_catalogue_layer_node(LoomCatalogue *catalogue, LoomXml *xml, LoomXmlNode *root)
{
  g_autoptr(LoomCatalogue) layer = loom_catalogue_new();
  check_elements(xml, root);
  read_families(layer, xml, root);
  g_autoptr(LoomCatalogue) all = loom_catalogue_new();
  add_all(all, catalogue);
  add_all(all, layer);
  read_kinds(layer, all, xml, root);
  if (loom_xml_failed(xml))
    return false;
  add_all(catalogue, layer);
  return true;
}

bool
loom_catalogue_layer(LoomCatalogue *catalogue, const char *path, GError **error)
{
  g_autoptr(LoomXml) xml = loom_xml_read(path, "catalogue", LOOM_CATALOGUE_NS, error);
  if (!xml)
    return false;
  loom_catalogue_layer_node(catalogue, xml, loom_xml_root(xml));
  return loom_xml_finish(xml, error);
}

char *
loom_data_path(const char *relative)
{
  const char *roots[] = {g_getenv("LOOMBOOK_DATA"), LOOM_SOURCE_DATA_DIR, LOOM_DATA_DIR};
  for (guint i = 0; i < G_N_ELEMENTS(roots); i++) {
    if (!roots[i])
      continue;
    g_autofree char *path = g_build_filename(roots[i], relative, NULL);
    if (g_file_test(path, G_FILE_TEST_EXISTS))
      return g_steal_pointer(&path);
  }
  return NULL;
}

static int
by_name(gconstpointer a, gconstpointer b)
{
  return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static GPtrArray *
xml_files(const char *folder, GError **error)
{
  g_autoptr(GError) cause = NULL;
  g_autoptr(GDir) dir = g_dir_open(folder, 0, &cause);
  if (!dir) {
    g_set_error(error, LOOM_ERROR, LOOM_ERROR_FILE, _("%s:0: Cannot be read: %s."), folder,
                cause->message);
    return NULL;
  }
  GPtrArray *paths = g_ptr_array_new_with_free_func(g_free);
  for (const char *name = g_dir_read_name(dir); name; name = g_dir_read_name(dir))
    if (g_str_has_suffix(name, ".xml"))
      g_ptr_array_add(paths, g_build_filename(folder, name, NULL));
  g_ptr_array_sort(paths, by_name);
  return paths;
}

LoomCatalogue *
loom_catalogue_built_in(GError **error)
{
  g_autofree char *folder = loom_data_path("catalogue");
  if (!folder) {
    g_set_error(
        error, LOOM_ERROR, LOOM_ERROR_FILE,
        _("%s/catalogue:0: The built-in catalogue is not there; is Loombook installed whole?"),
        LOOM_DATA_DIR);
    return NULL;
  }
  g_autoptr(GPtrArray) paths = xml_files(folder, error);
  if (!paths)
    return NULL;
  g_autoptr(LoomCatalogue) catalogue = loom_catalogue_new();
  for (guint i = 0; i < paths->len; i++)
    if (!loom_catalogue_layer(catalogue, paths->pdata[i], error))
      return NULL;
  return g_steal_pointer(&catalogue);
}

static void
append_word(GString *text, const char *word)
{
  if (word)
    g_string_append_printf(text, "%s ", word);
}

static char *
searchable(const LoomKind *kind)
{
  GString *text = g_string_new(NULL);
  append_word(text, kind->id);
  append_word(text, kind->name);
  append_word(text, kind->words);
  append_word(text, kind->about);
  append_word(text, loom_group_label(kind->group));
  for (guint i = 0; i < kind->n_ends; i++) {
    append_word(text, loom_gender_label(kind->ends[i].gender));
    append_word(text, kind->ends[i].family->name);
    append_word(text, kind->ends[i].family->id);
    append_word(text, kind->ends[i].family->standard);
  }
  g_autofree char *plain = g_string_free(text, FALSE);
  return g_utf8_casefold(plain, -1);
}

/* Whether `word` stands in `text` at the start of a word: "male" must not find "female". */
static bool
starts_a_word(const char *text, const char *word)
{
  for (const char *p = strstr(text, word); p; p = strstr(p + 1, word))
    if (p == text || !g_ascii_isalnum(p[-1]))
      return true;
  return false;
}

bool
loom_kind_matches(const LoomKind *kind, const char *words)
{
  if (!words)
    return true;
  g_autofree char *text = searchable(kind);
  g_autofree char *folded = g_utf8_casefold(words, -1);
  g_auto(GStrv) list = g_strsplit_set(folded, " \t", -1);
  for (char **w = list; *w; w++)
    if (**w && !starts_a_word(text, *w))
      return false;
  return true;
}
