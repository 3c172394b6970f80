/* Reads the tables of tests/reference: comma-separated values by RFC 4180 with a header row. */
#pragma once

#include <glib.h>
#include <stdbool.h>

typedef struct {
  guint n_rows, n_columns;
  char **header; /* [n_columns] */
  char ***rows;  /* [n_rows][n_columns] */
} Table;

/* Fails the test where the file cannot be read. New. */
Table *table_read(const char *name);
void table_free(Table *table);
/* The field, "" where the row has none; fails the test where no column is called so. */
const char *table_text(const Table *table, guint row, const char *column);
/* As a number; NAN where it is none. */
double table_number(const Table *table, guint row, const char *column);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(Table, table_free)
