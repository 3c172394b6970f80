/* Hostile designs: whatever the bytes, reading gives a design or one sentence, and what was read can
 * be checked, written and read again to the same bytes.
 *
 * LLVMFuzzerTestOneInput is what a coverage-guided fuzzer calls (build with -fsanitize=fuzzer and
 * -DLOOM_FUZZER). Without one, main mutates the seeds given as arguments with a fixed random seed, so
 * that a run in CI is the same every time. */
#include "design/file.h"
#include "rules/rules.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void must(bool condition, const char *what)
{
  if (condition)
    return;
  fprintf(stderr, "fuzz: %s\n", what);
  abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomDesign) design = loom_design_parse((const char *)data, size, "fuzz", &error);
  must((design == NULL) == (error != NULL), "a design or an error, never both or neither");
  if (error) {
    must(g_str_has_prefix(error->message, "fuzz:"), "an error begins with file and line");
    must(strchr(error->message, '\n') == NULL, "an error is one sentence");
    return 0;
  }
  g_autoptr(LoomFindings) findings = loom_check(design);
  must(findings->n_stop + findings->n_care + findings->n_note == findings->n_findings, "counts");
  g_autofree char *text = loom_design_to_text(design);
  g_autoptr(LoomDesign) again = loom_design_parse(text, strlen(text), "again", NULL);
  must(again != NULL, "what was written can be read");
  g_autofree char *same = loom_design_to_text(again);
  must(g_str_equal(text, same), "writing what was read gives the same bytes");
  return 0;
}

#ifndef LOOM_FUZZER

/* Tokens that matter to the reader: a mutation that puts one in reaches deeper than a flipped bit. */
static const char *const tokens[] = {
    "<part", "<joint", "/>", "\"", "NaN", "1e308", "-1", "0", "&lt;", "&#0;", "<!DOCTYPE x>", "<![CDATA[",
    "]]>", "<!--", "version=\"2.0\"", "kind=\"\"", "fit=\"shifted\"", "G1:out", ":", "urn:x", "\xff",
    "yes", "9999999999", "mm2=\"0\"", "way=\"64\"", "ways=\"0\"", "genderless", "<in scene=\"\"/>"};

static void mutate(GRand *random, GByteArray *bytes)
{
  guint at = bytes->len ? (guint)g_rand_int_range(random, 0, (int)bytes->len) : 0;
  guint length = MIN((guint)g_rand_int_range(random, 1, 200), bytes->len - at);
  switch (g_rand_int_range(random, 0, 5)) {
  case 0:
    if (bytes->len)
      bytes->data[at] ^= (guint8)(1 << g_rand_int_range(random, 0, 8));
    break;
  case 1:
    if (length)
      g_byte_array_remove_range(bytes, at, length);
    break;
  case 2: { /* repeat a stretch */
    g_autofree guint8 *copy = g_memdup2(bytes->data + at, length);
    g_byte_array_append(bytes, copy, length);
    break;
  }
  case 3:
    g_byte_array_set_size(bytes, at);
    break;
  default: {
    const char *token = tokens[g_rand_int_range(random, 0, G_N_ELEMENTS(tokens))];
    guint n = MIN((guint)strlen(token), bytes->len - at);
    memcpy(bytes->data + at, token, n);
  }
  }
}

static void fuzz_seed(const char *path, guint rounds)
{
  g_autofree char *text = NULL;
  gsize length;
  must(g_file_get_contents(path, &text, &length, NULL), "a seed can be read");
  LLVMFuzzerTestOneInput((const uint8_t *)text, length);
  g_autoptr(GRand) random = g_rand_new_with_seed(7);
  for (guint i = 0; i < rounds; i++) {
    g_autoptr(GByteArray) bytes = g_byte_array_new();
    g_byte_array_append(bytes, (const guint8 *)text, (guint)length);
    for (int k = g_rand_int_range(random, 1, 4); k > 0; k--)
      mutate(random, bytes);
    LLVMFuzzerTestOneInput(bytes->data, bytes->len);
  }
}

int main(int argc, char **argv)
{
  for (int i = 2; i < argc; i++)
    fuzz_seed(argv[i], (guint)atoi(argv[1]));
  printf("%d seeds survived %s mutations each\n", argc - 2, argc > 1 ? argv[1] : "no");
  return argc > 2 ? 0 : 1;
}

#endif
