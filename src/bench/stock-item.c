#include "stock-item.h"

#include <string.h>

struct _LoomStockItem {
  GObject parent;
  LoomStockRow *row;
  LoomKind *kind;
};

G_DEFINE_FINAL_TYPE(LoomStockItem, loom_stock_item, G_TYPE_OBJECT)

static guint signal_changed;

static void
loom_stock_item_finalize(GObject *object)
{
  LoomStockItem *self = LOOM_STOCK_ITEM(object);
  loom_stock_row_free(self->row);
  g_clear_pointer(&self->kind, loom_kind_unref);
  G_OBJECT_CLASS(loom_stock_item_parent_class)->finalize(object);
}

static void
loom_stock_item_class_init(LoomStockItemClass *class)
{
  G_OBJECT_CLASS(class)->finalize = loom_stock_item_finalize;
  signal_changed = g_signal_new("changed", LOOM_TYPE_STOCK_ITEM, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                NULL, G_TYPE_NONE, 0);
}

static void
loom_stock_item_init(LoomStockItem *self)
{
  (void)self;
}

LoomStockItem *
loom_stock_item_new(const LoomStockRow *row, const LoomKind *kind)
{
  LoomStockItem *self = g_object_new(LOOM_TYPE_STOCK_ITEM, NULL);
  self->row = loom_stock_row_copy(row);
  self->kind = kind ? loom_kind_ref(kind) : NULL;
  return self;
}

const LoomStockRow *
loom_stock_item_row(LoomStockItem *self)
{
  return self->row;
}

const LoomKind *
loom_stock_item_kind(LoomStockItem *self)
{
  return self->kind;
}

const char *
loom_stock_item_name(LoomStockItem *self)
{
  return self->kind ? self->kind->name : self->row->kind;
}

void
loom_stock_item_set_row(LoomStockItem *self, const LoomStockRow *row)
{
  if (loom_stock_row_equal(self->row, row))
    return;
  loom_stock_row_free(self->row);
  self->row = loom_stock_row_copy(row);
  g_signal_emit(self, signal_changed, 0);
}

bool
loom_stock_item_matches(LoomStockItem *self, const char *words)
{
  if (self->kind && loom_kind_matches(self->kind, words))
    return true;
  g_autofree char *all = g_strdup_printf("%s %s %s", self->row->kind, self->row->where,
                                         self->row->note ? self->row->note : "");
  g_autofree char *here = g_utf8_casefold(all, -1);
  g_autofree char *wanted = g_utf8_casefold(words, -1);
  return strstr(here, wanted) != NULL;
}
