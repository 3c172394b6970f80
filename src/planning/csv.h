/* Comma-separated values by RFC 4180: records end in CRLF, fields with a comma, quote or line break
 * are quoted, quotes doubled.
 *
 *   g_autoptr(LoomCsv) csv = loom_csv_new();
 *   loom_csv_row(csv, "count", "kind", NULL);
 *   loom_csv_text(csv, "2"); loom_csv_text(csv, "fuse-blade-20"); loom_csv_end_row(csv);
 *   puts(loom_csv_bytes(csv)); */
#pragma once

#include "catalogue/error.h"

#include <stdbool.h>

G_BEGIN_DECLS

typedef struct LoomCsv LoomCsv;

LoomCsv *loom_csv_new(void);
void loom_csv_free(LoomCsv *csv);

/* One field of the present record. NULL and NAN are the empty field, which has no quotes. */
void loom_csv_text(LoomCsv *csv, const char *field);
/* Shortest decimal text that reads back, in no locale. */
void loom_csv_number(LoomCsv *csv, double number);
/* Rounded to `decimals` places, zeros at the end left out. */
void loom_csv_rounded(LoomCsv *csv, double number, int decimals);
void loom_csv_whole(LoomCsv *csv, gint64 number);
void loom_csv_end_row(LoomCsv *csv);
/* A whole record of texts, NULL-terminated: for headers. */
void loom_csv_row(LoomCsv *csv, ...) G_GNUC_NULL_TERMINATED;

/* What has been written so far, borrowed until the next call. Records only; an open one is not
 * ended. */
const char *loom_csv_bytes(const LoomCsv *csv);

/* A table that was read. Records may have different numbers of fields. */
typedef struct {
  guint n_rows;
  struct LoomCsvRow {
    guint line; /* of the file, where the record begins, from 1 */
    guint n_fields;
    char **fields; /* [n_fields], NULL-terminated */
  } * rows;        /* [n_rows] */
} LoomCsvTable;

/* Reads UTF-8 text, with or without byte order mark; LF is taken for CRLF; empty lines are skipped.
 * `name` stands in errors, which begin with it and the line. New, or NULL with `error`. */
LoomCsvTable *loom_csv_parse(const char *bytes, gsize length, const char *name, GError **error);
void loom_csv_table_free(LoomCsvTable *table);
/* Index of the column called `name` in the first record (any case), or G_MAXUINT. */
guint loom_csv_column(const LoomCsvTable *table, const char *name);
/* The field, or "" where the record is too short or `column` is G_MAXUINT. Borrowed. */
const char *loom_csv_field(const LoomCsvTable *table, guint row, guint column);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomCsv, loom_csv_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LoomCsvTable, loom_csv_table_free)

G_END_DECLS
