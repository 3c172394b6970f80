#include "sheet-difference.h"

/* Sums are commutative, so the order in which things are added does not matter. */

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

guint64 *
loom_sheet_sums(const LoomSheet *sheet)
{
  guint64 *sums = g_new0(guint64, sheet->n_parts + 1);
  for (guint i = 0; i < sheet->n_parts; i++)
    sums[i] = mix(1, GPOINTER_TO_SIZE(loom_design_part(sheet->design, i)));
  for (guint i = 0; i < sheet->n_ends; i++) {
    const LoomPlacedEnd *end = &sheet->ends[i];
    guint64 hash = mix_points(mix(mix(2, end->end), end->plugged), &end->at, 1);
    sums[end->part] += mix(mix(hash, (guint64)end->dx), (guint64)end->dy);
  }
  for (guint i = 0; i < sheet->n_leads; i++) {
    const LoomLaidLead *lead = &sheet->leads[i];
    sums[lead->part] += mix_points(mix(4, lead->end_a), lead->points, lead->n_points);
  }
  for (guint i = 0; i < sheet->n_joints; i++)
    add_joint(sheet, &sheet->joints[i], sums);
  return sums;
}
