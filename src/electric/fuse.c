#include "fuse.h"

#include <math.h>

typedef struct {
  double x, y;
} Point;

/* Multiple of the rating, seconds. */
static const Point standard_holds[] = {{1.10, 360000}, {1.35, 0.75}, {1.60, 0.25},
                                       {2.00, 0.15},   {3.50, 0.04}, {6.00, 0.02}};
static const Point standard_opens[] = {
    {1.35, 1800}, {1.60, 50}, {2.00, 5}, {3.50, 0.5}, {6.00, 0.1}};
static const Point large_holds[] = {{1.10, 360000}, {1.35, 60}, {2.00, 2}, {3.50, 0.2}};
static const Point large_opens[] = {{1.35, 1800}, {2.00, 60}, {3.50, 7}};

/* Rating in A, cold milliohms. */
static const Point cold[] = {{1, 123},     {2, 53.5},  {3, 31.1}, {4, 22.8},  {5, 17.85},
                             {7.5, 10.91}, {10, 7.7},  {15, 4.8}, {20, 3.38}, {25, 2.52},
                             {30, 1.97},   {35, 1.61}, {40, 1.44}};

static const double largest_standard_A = 40;

const double *
loom_fuse_ratings_A(guint *n)
{
  static const double ratings[] = {1,  2,  3,  4,  5,  7.5, 10, 15,  20, 25,
                                   30, 35, 40, 50, 60, 70,  80, 100, 120};
  *n = G_N_ELEMENTS(ratings);
  return ratings;
}

double
loom_fuse_for_load_A(double load_A)
{
  guint n;
  const double *ratings = loom_fuse_ratings_A(&n);
  for (guint i = 0; i < n; i++)
    if (load_A <= LOOM_FUSE_CONTINUOUS * ratings[i])
      return ratings[i];
  return INFINITY;
}

/* Straight lines in log y over log x, carried on beyond both ends. */
static double
on_curve(const Point *points, guint n, double x)
{
  guint i = 1;
  while (i + 1 < n && points[i].x < x)
    i++;
  const Point *low = &points[i - 1], *high = &points[i];
  double power = log(high->y / low->y) / log(high->x / low->x);
  return low->y * pow(x / low->x, power);
}

static double
time_at(const Point *points, guint n, double rated_A, double current_A)
{
  if (!(rated_A > 0) || !(current_A > 0) || isinf(rated_A))
    return NAN;
  double multiple = current_A / rated_A;
  const Point *last = &points[n - 1];
  if (multiple < points[0].x * (1 - 1e-12))
    return INFINITY;
  if (multiple > last->x)
    return last->y * (last->x / multiple) * (last->x / multiple);
  return on_curve(points, n, multiple);
}

double
loom_fuse_holds_s(double rated_A, double current_A)
{
  if (current_A > 0 && current_A <= 1.1 * rated_A)
    return INFINITY;
  return rated_A <= largest_standard_A
             ? time_at(standard_holds, G_N_ELEMENTS(standard_holds), rated_A, current_A)
             : time_at(large_holds, G_N_ELEMENTS(large_holds), rated_A, current_A);
}

double
loom_fuse_opens_s(double rated_A, double current_A)
{
  return rated_A <= largest_standard_A
             ? time_at(standard_opens, G_N_ELEMENTS(standard_opens), rated_A, current_A)
             : time_at(large_opens, G_N_ELEMENTS(large_opens), rated_A, current_A);
}

double
loom_fuse_ohm(double rated_A)
{
  if (!(rated_A > 0) || isinf(rated_A))
    return NAN;
  return on_curve(cold, G_N_ELEMENTS(cold), rated_A) / 1000;
}
