/* The XML that is read and written: what is refused, and numbers. */
#include "catalogue/catalogue.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "near.h"

#define NS "urn:test:1"

static void
refused(const char *text, gsize length, const char *says)
{
  g_autoptr(GError) error = NULL;
  LoomXml *xml = loom_xml_parse(text, length, "f.xml", "a", NS, &error);
  assert_null(xml);
  assert_non_null(error);
  if (!strstr(error->message, says) || !g_str_has_prefix(error->message, "f.xml:"))
    fail_msg("%s", error->message);
}

static void
bad_files_are_refused_in_one_sentence(void **state G_GNUC_UNUSED)
{
  static const struct {
    const char *text, *says;
  } cases[] = {
      {"", "empty"},
      {"hello", "not well-formed"},
      {"<a xmlns='" NS "' version='1.0'>", "not well-formed"},
      {"<a xmlns='" NS "' version='1.0'><b></a>", "not well-formed"},
      {"<b xmlns='" NS "' version='1.0'/>", "<a> is expected"},
      {"<a version='1.0'/>", "lacks xmlns"},
      {"<x:a xmlns:x='" NS "' version='1.0'/>", "lacks xmlns"},
      {"<a xmlns='" NS "'/>", "lacks version"},
      {"<a xmlns='" NS "' version='2.0'/>", "reads version 1"},
      {"<a xmlns='" NS "' version='one'/>", "no version"},
      {"<!DOCTYPE a [<!ENTITY e 'x'>]><a xmlns='" NS "' version='1.0'>&e;</a>", "refused"},
      {"<!DOCTYPE a SYSTEM 'file:///etc/hostname'><a xmlns='" NS "' version='1.0'/>", "refused"},
      {"<a xmlns='" NS "' version='1.0'>&undefined;</a>", "not well-formed"},
      {"<a xmlns='" NS "' version='1.0' n='\xff'/>", "not UTF-8"},
  };
  for (guint i = 0; i < G_N_ELEMENTS(cases); i++)
    refused(cases[i].text, strlen(cases[i].text), cases[i].says);
}

static void
wide_encodings_cannot_smuggle_a_doctype(void **state G_GNUC_UNUSED)
{
  static const char text[] = "<?xml version='1.0' encoding='UTF-16'?><!DOCTYPE a []>"
                             "<a xmlns='" NS "' version='1.0'/>";
  gsize length;
  g_autofree char *wide = g_convert(text, -1, "UTF-16", "UTF-8", NULL, &length, NULL);
  refused(wide, length, "UTF-8");
}

static void
a_file_of_a_hundred_megabytes_is_refused(void **state G_GNUC_UNUSED)
{
  gsize length = 100u << 20;
  g_autofree char *text = g_malloc(length);
  memset(text, ' ', length);
  refused(text, length, "larger than");
}

static void
deep_nesting_is_an_error_not_a_crash(void **state G_GNUC_UNUSED)
{
  GString *text = g_string_new("<a xmlns='" NS "' version='1.0'>");
  for (guint i = 0; i < 200000; i++)
    g_string_append(text, "<a>");
  refused(text->str, text->len, "not well-formed");
  g_string_free(text, TRUE);
}

static void
the_first_failure_is_kept(void **state G_GNUC_UNUSED)
{
  static const char text[] = "<a xmlns='" NS "' version='1.0'>\n<b n='x'/>\n<b m='2'/>\n</a>";
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomXml) xml = loom_xml_parse(text, strlen(text), "f.xml", "a", NS, &error);
  LoomXmlNode *first = loom_xml_child(loom_xml_root(xml), "b"), *second = loom_xml_next(first, "b");
  assert_true(isnan(loom_xml_number(xml, first, "n", 0, 1, NAN)));
  loom_xml_fail(xml, second, LOOM_ERROR_CONTENT, "later");
  assert_false(loom_xml_finish(xml, &error));
  assert_string_equal(error->message, "f.xml:2: n=\"x\" is not a number.");
}

static void
numbers_survive_a_round_trip(void **state G_GNUC_UNUSED)
{
  static const double numbers[] = {0, 1, -1, 0.1, 1.0 / 3, 12.5, 1e-9, 123456.789, 5e-324, 1.7e308};
  for (guint i = 0; i < G_N_ELEMENTS(numbers); i++) {
    double back = 0;
    g_autofree char *text = loom_number_to_text(numbers[i]);
    assert_true(loom_number_from_text(text, &back));
    assert_memory_equal(&back, &numbers[i], sizeof back);
  }
  g_autofree char *tenth = loom_number_to_text(0.1);
  assert_string_equal(tenth, "0.1");
}

static void
what_is_no_number_is_refused(void **state G_GNUC_UNUSED)
{
  static const char *const texts[] = {"",    " 1",   "1 ",    "1,5", "NaN",
                                      "inf", "0x10", "1e999", "--1", "1V"};
  double number = 7;
  for (guint i = 0; i < G_N_ELEMENTS(texts); i++)
    assert_false(loom_number_from_text(texts[i], &number));
  assert_double_equal(number, 7, 0);
}

static void
written_text_reads_back(void **state G_GNUC_UNUSED)
{
  static const char words[] = "a<b>&\"quoted\"\nsecond line\tå ²";
  LoomXmlWriter *writer = loom_xml_writer_new();
  loom_xml_start(writer, "a");
  loom_xml_put_text(writer, "xmlns", NS);
  loom_xml_put_text(writer, "version", "1.0");
  loom_xml_put_text(writer, "words", words);
  loom_xml_start(writer, "b");
  loom_xml_put_content(writer, "x < y");
  loom_xml_end(writer);
  g_autofree char *text = loom_xml_writer_free_to_text(writer);
  g_autoptr(GError) error = NULL;
  g_autoptr(LoomXml) xml = loom_xml_parse(text, strlen(text), "f.xml", "a", NS, &error);
  assert_null(error);
  g_autofree char *back = loom_xml_text(xml, loom_xml_root(xml), "words");
  assert_string_equal(back, words);
  g_autofree char *content = loom_xml_content(loom_xml_child(loom_xml_root(xml), "b"));
  assert_string_equal(content, "x < y");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(bad_files_are_refused_in_one_sentence),
      cmocka_unit_test(wide_encodings_cannot_smuggle_a_doctype),
      cmocka_unit_test(a_file_of_a_hundred_megabytes_is_refused),
      cmocka_unit_test(deep_nesting_is_an_error_not_a_crash),
      cmocka_unit_test(the_first_failure_is_kept),
      cmocka_unit_test(numbers_survive_a_round_trip),
      cmocka_unit_test(what_is_no_number_is_refused),
      cmocka_unit_test(written_text_reads_back),
  };
  return cmocka_run_group_tests_name("xml", tests, NULL, NULL);
}
