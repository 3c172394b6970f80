#include "sheet-difference.h"

/* Each part gets a sum over everything that is drawn for it; equal sums are taken for equal
 * drawings (64 bits: a collision is out of the question). Sums are commutative, so order does not
 * matter. */

static guint64
mix(guint64 hash, guint64 value)
{
  hash = (hash ^ value) * G_GUINT64_CONSTANT(0x9E3779B97F4A7C15);
  return hash ^ hash >> 29;
}

static guint64
mix_number(guint64 hash, double number)
{
  union {
    double number;
    guint64 bits;
  } u = {.number = number};
  return mix(hash, u.bits);
}

static guint64
mix_points(guint64 hash, const LoomPoint *points, guint n)
{
  for (guint i = 0; i < n; i++)
    hash = mix_number(mix_number(hash, points[i].x), points[i].y);
  return hash;
}

static void
add_joint(const LoomSheet *sheet, const LoomLaidJoint *laid, guint64 *sums)
{
  const LoomJoint *joint = loom_design_joint(sheet->design, laid->joint);
  guint a = loom_design_find_part(sheet->design, joint->a.part);
  guint b = loom_design_find_part(sheet->design, joint->b.part);
  guint64 hash = mix_points(mix(3, GPOINTER_TO_SIZE(joint)), &laid->at, 1);
  hash = mix_points(mix(hash, laid->apart), laid->points, laid->n_points);
  if (a != LOOM_NONE)
    sums[a] += hash;
  if (b != LOOM_NONE)
    sums[b] += hash;
}

static guint64 *
sums_of(const LoomSheet *sheet)
{
  guint64 *sums = g_new0(guint64, sheet->n_parts + 1);
  for (guint i = 0; i < sheet->n_parts; i++)
    sums[i] = mix(1, GPOINTER_TO_SIZE(loom_design_part(sheet->design, i)));
  for (guint i = 0; i < sheet->n_ends; i++) {
    const LoomPlacedEnd *end = &sheet->ends[i];
    guint64 hash = mix_points(mix(mix(2, end->end), end->plugged), &end->at, 1);
    sums[end->part] += mix(mix(hash, (guint64)(end->dx + 1)), (guint64)(end->dy + 1));
  }
  for (guint i = 0; i < sheet->n_leads; i++) {
    const LoomLaidLead *lead = &sheet->leads[i];
    sums[lead->part] += mix_points(mix(4, lead->end_a), lead->points, lead->n_points);
  }
  for (guint i = 0; i < sheet->n_joints; i++)
    add_joint(sheet, &sheet->joints[i], sums);
  return sums;
}

GArray *
loom_sheet_difference(const LoomSheet *old, const LoomSheet *new)
{
  g_autofree guint64 *before = sums_of(old);
  g_autofree guint64 *after = sums_of(new);
  GArray *parts = g_array_new(FALSE, FALSE, sizeof(guint));
  for (guint i = 0; i < new->n_parts; i++)
    if (i >= old->n_parts || before[i] != after[i])
      g_array_append_val(parts, i);
  return parts;
}

GArray *
loom_indices_union(const GArray *a, const GArray *b)
{
  GArray *both = g_array_new(FALSE, FALSE, sizeof(guint));
  guint i = 0, j = 0, n_a = a ? a->len : 0, n_b = b ? b->len : 0;
  while (i < n_a || j < n_b) {
    guint x = i < n_a ? g_array_index(a, guint, i) : LOOM_NONE;
    guint y = j < n_b ? g_array_index(b, guint, j) : LOOM_NONE;
    guint least = MIN(x, y);
    i += x == least;
    j += y == least;
    g_array_append_val(both, least);
  }
  return both;
}
