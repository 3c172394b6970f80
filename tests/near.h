/* cmocka 1.1 compares floats only; this compares doubles. Include after cmocka.h. */
#pragma once

#include <math.h>

#define assert_double_equal(a, b, tolerance)                                                       \
  do {                                                                                             \
    double near_a = (a), near_b = (b);                                                             \
    if (!(fabs(near_a - near_b) <= (tolerance)))                                                   \
      fail_msg("%s = %.17g, expected %.17g", #a, near_a, near_b);                                  \
  } while (0)
