#include "design-private.h"

#include <string.h>

bool
loom_designation_valid(const char *text)
{
  const char *p = text;
  while (g_ascii_isupper(*p))
    p++;
  gsize letters = (gsize)(p - text);
  if (letters < 1 || letters > 3 || !g_ascii_isdigit(*p) || *p == '0')
    return false;
  gsize digits = strspn(p, "0123456789");
  return p[digits] == '\0' && digits <= 6;
}

/* Kinds have one capital letter (see kind-read.c), so the hint by letter is exact. */
char *
loom_design_free_designation(const LoomDesign *design, const char *letter)
{
  loom_design_reindex((LoomDesign *)design);
  guint *lowest = &((LoomDesign *)design)->lowest[(letter[0] - 'A') % 26];
  for (guint number = MAX(*lowest, 1);; number++) {
    g_autofree char *designation = g_strdup_printf("%s%u", letter, number);
    if (loom_design_find_part(design, designation) != LOOM_NONE)
      continue;
    *lowest = number;
    return g_steal_pointer(&designation);
  }
}

bool
loom_name_valid(const char *text)
{
  /* Keywords of ISO C17, of Java SE 17 (JLS 3.9) and of Python 3.11, as their references list them.
   */
  static const char *const keywords[] = {
      "abstract", "and",          "as",         "assert",  "async",    "auto",      "await",
      "boolean",  "break",        "byte",       "case",    "catch",    "char",      "class",
      "const",    "continue",     "def",        "default", "del",      "do",        "double",
      "elif",     "else",         "enum",       "except",  "extends",  "extern",    "False",
      "false",    "final",        "finally",    "float",   "for",      "from",      "global",
      "goto",     "if",           "implements", "import",  "in",       "inline",    "instanceof",
      "int",      "interface",    "is",         "lambda",  "long",     "native",    "new",
      "None",     "nonlocal",     "not",        "null",    "or",       "package",   "pass",
      "private",  "protected",    "public",     "raise",   "register", "restrict",  "return",
      "short",    "signed",       "sizeof",     "static",  "strictfp", "struct",    "super",
      "switch",   "synchronized", "this",       "throw",   "throws",   "transient", "True",
      "true",     "try",          "typedef",    "union",   "unsigned", "void",      "volatile",
      "while",    "with",         "yield",      NULL};
  if (!g_ascii_isalpha(text[0]) && text[0] != '_')
    return false;
  for (const char *p = text; *p; p++)
    if (!g_ascii_isalnum(*p) && *p != '_')
      return false;
  return !g_strv_contains(keywords, text);
}
