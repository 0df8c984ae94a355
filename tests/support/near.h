/* near.h: comparing numbers in tests. cmocka 1.1.5 compares floats, and lets NaN pass; this does neither. */
#ifndef SUPPORT_NEAR_H
#define SUPPORT_NEAR_H

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* Fails unless |got - want| <= tolerance; written so that NaN fails. */
#define assert_near(got, want, tolerance)                                                                    \
    support_assert_near((got), (want), (tolerance), #got, __FILE__, __LINE__)

void support_assert_near(double got, double want, double tolerance, const char *what, const char *file,
                         int line);

#endif
