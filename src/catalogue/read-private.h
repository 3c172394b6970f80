/* Reading single entries of a catalogue file. Failures are recorded in the LoomXml; the result is
 * then NULL or must be thrown away. */
#pragma once

#include "catalogue.h"

LoomFamily *loom_family_read(LoomXml *xml, LoomXmlNode *node);

/* Families are looked up in `catalogue`, which holds those of older layers and of this file. */
LoomKind *loom_kind_read(LoomXml *xml, LoomXmlNode *node, const LoomCatalogue *catalogue);

/* What a user reads of an entry, in the user's language where the translations have it. Takes the
 * text, which may be NULL. New. */
char *loom_read_words(char *text);
