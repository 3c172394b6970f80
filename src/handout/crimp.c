#include "crimp.h"

#include "catalogue/wire.h"

#include <math.h>

typedef struct {
  double size; /* mm² or AWG */
  double pull_N;
} Pull;

/* Values from memory. */
static const Pull IEC[] = {{0.05, 6},  {0.08, 11}, {0.12, 15}, {0.14, 18}, {0.22, 28}, {0.25, 32},
                           {0.32, 40}, {0.5, 60},  {0.75, 85}, {0.82, 90}, {1, 108},   {1.3, 135},
                           {1.5, 150}, {2.1, 200}, {2.5, 230}, {3.3, 275}, {4, 310},   {5.3, 355},
                           {6, 360},   {8.4, 370}, {10, 380}};

static const Pull UL[] = {{28, 8.9},  {26, 13.4},  {24, 22.3},  {22, 35.6},  {20, 57.9},
                          {18, 89.0}, {16, 133.5}, {14, 222.5}, {12, 311.5}, {10, 356.0},
                          {8, 400.5}, {6, 445.0},  {4, 623.0},  {2, 801.0}};

static double
on_line(double mm2, const double *sizes, const Pull *pulls, guint n)
{
  double slack = 0.01; /* 0.326 mm² is listed as 0.32 */
  if (!(mm2 >= sizes[0] * (1 - slack)) || mm2 > sizes[n - 1] * (1 + slack))
    return NAN;
  for (guint i = 0; i < n; i++)
    if (fabs(mm2 - sizes[i]) <= slack * sizes[i])
      return pulls[i].pull_N;
  guint i = 1;
  while (sizes[i] < mm2)
    i++;
  double share = (mm2 - sizes[i - 1]) / (sizes[i] - sizes[i - 1]);
  return pulls[i - 1].pull_N + share * (pulls[i].pull_N - pulls[i - 1].pull_N);
}

double
loom_crimp_pull_iec_N(double mm2)
{
  double sizes[G_N_ELEMENTS(IEC)];
  for (guint i = 0; i < G_N_ELEMENTS(IEC); i++)
    sizes[i] = IEC[i].size;
  return on_line(mm2, sizes, IEC, G_N_ELEMENTS(IEC));
}

double
loom_crimp_pull_ul_N(double mm2)
{
  double sizes[G_N_ELEMENTS(UL)];
  for (guint i = 0; i < G_N_ELEMENTS(UL); i++)
    sizes[i] = loom_awg_area_mm2((int)UL[i].size);
  return on_line(mm2, sizes, UL, G_N_ELEMENTS(UL));
}
