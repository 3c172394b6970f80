/* The catalogue: everything that exists. This header lists the room.
 *
 *   g_autoptr(LoomCatalogue) c = loom_catalogue_built_in(&error);
 *   loom_catalogue_layer(c, "ours.xml", &error);          // our own entries go before
 *   const LoomKind *k = loom_catalogue_kind(c, "pack-nimh-12v-3ah");
 *
 * Entries are immutable and counted, so a kind taken from a catalogue outlives it if referenced. */
#pragma once

#include "colour.h"
#include "error.h"
#include "family.h"
#include "kind.h"
#include "mating.h"
#include "wire.h"
#include "xml.h"

G_BEGIN_DECLS

#define LOOM_CATALOGUE_NS "urn:loombook:catalogue:1"

typedef struct LoomCatalogue LoomCatalogue;

LoomCatalogue *loom_catalogue_new(void);
LoomCatalogue *loom_catalogue_ref(LoomCatalogue *catalogue);
void loom_catalogue_unref(LoomCatalogue *catalogue);

/* Every *.xml of `data/catalogue`, in the order of their names. New, or NULL with `error`.
 * Looked for in $LOOMBOOK_DATA, then beside the sources if built there, then where it was
 * installed. */
LoomCatalogue *loom_catalogue_built_in(GError **error);

/* Path of a file below the data folder ("demo/sandpiper.loom"). New; NULL where there is none. */
char *loom_data_path(const char *relative);

/* Adds the entries of `path`; an entry with the id of an older one takes its place. Families that
 * the file does not hold may lie in older layers. On error the catalogue is what it was. */
bool loom_catalogue_layer(LoomCatalogue *catalogue, const char *path, GError **error);

/* The same for the element `root` (<catalogue>) of a document already read: how a design reads the
 * entries that it embeds. Failures are recorded in `xml`. */
bool loom_catalogue_layer_node(LoomCatalogue *catalogue, LoomXml *xml, LoomXmlNode *root);

/* Borrowed; NULL where there is none. */
const LoomKind *loom_catalogue_kind(const LoomCatalogue *catalogue, const char *id);
const LoomFamily *loom_catalogue_family(const LoomCatalogue *catalogue, const char *id);

/* All entries, kinds by group, rank and id, families by id. Arrays of borrowed pointers, [n];
 * borrowed, valid until the next layer. */
const LoomKind *const *loom_catalogue_kinds(const LoomCatalogue *catalogue, guint *n);
const LoomFamily *const *loom_catalogue_families(const LoomCatalogue *catalogue, guint *n);

/* Puts a single entry in (takes a reference of its own). */
void loom_catalogue_add_kind(LoomCatalogue *catalogue, const LoomKind *kind);
void loom_catalogue_add_family(LoomCatalogue *catalogue, const LoomFamily *family);

/* Whether every word of `words` is found in the kind's id, name, words, group, description or in
 * the gender and family of an end ("male" finds pins, "female" sockets). NULL or "" finds all. */
bool loom_kind_matches(const LoomKind *kind, const char *words);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomCatalogue, loom_catalogue_unref)

G_END_DECLS
