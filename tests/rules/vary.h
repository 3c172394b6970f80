/* Part kinds with one thing changed, made from the kind's own entry. */
#pragma once

#include "design/edit.h"

#include <libxml/tree.h>

/* `edit` changes the element <kind>; returns false where there is nothing to change. */
typedef bool (*VaryEdit)(xmlNode *kind, const void *data);

/* The kind so changed, under another id. New; NULL where `edit` returned false or the entry no
 * longer makes sense. */
LoomKind *vary(const LoomKind *kind, VaryEdit edit, const void *data);

/* The design with the kind of one part so changed. New; NULL as above. */
LoomDesign *vary_part(const LoomDesign *design, guint part, VaryEdit edit, const void *data);

/* Inside <kind>: the end of that id, the n-th electrical element (as LoomKind counts them); NULL.
 */
xmlNode *vary_end(xmlNode *kind, const char *id);
xmlNode *vary_element(xmlNode *kind, guint index);
void vary_set(xmlNode *node, const char *attribute, const char *value);
/* Attribute as text, to be freed with xmlFree; NULL where there is none. */
char *vary_get(xmlNode *node, const char *attribute);
