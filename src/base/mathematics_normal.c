/* mathematics_normal.c: error function and normal distribution; see mathematics.h.
 *
 * Near 0 the series of erf (Abramowitz and Stegun 7.1.5); from 1/2 on, erfc(x) = e^(-x^2) w(x) / (1 + 2 x),
 * where w is smooth and nearly constant over the whole half-line, so one Chebyshev series in
 * u = (x - 4) / (x + 3) serves it. Its coefficients were computed in 200-bit arithmetic from the definition;
 * the idea is M. M. Shepherd and J. G. Laframboise, Mathematics of Computation 36 (1981), 249 to 253. */
#include "base/mathematics.h"

#include <assert.h>
#include <math.h>

static const double ONE_BY_SQRT2 = 0x1.6a09e667f3bcdp-1;
static const double ONE_BY_SQRT_2PI = 0x1.9884533d43651p-2;

/* erf(x) for |x| <= 1/2. 2/sqrt(pi) - 1 is used, so that x itself carries most of the result. */
static double erf_near_zero(double x)
{
    static const double two_by_sqrt_pi = 0x1.20dd750429b6dp+0, less_one = 0x1.06eba8214db69p-3;
    assert(fabs(x) <= 0.5);
    const double z = x * x;
    static const double term[] = {-1.0 / 3,       1.0 / 10,       -1.0 / 42,        1.0 / 216,
                                  -1.0 / 1320,    1.0 / 9360,     -1.0 / 75600,     1.0 / 685440,
                                  -1.0 / 6894720, 1.0 / 76204800, -1.0 / 918086400, 1.0 / 11975040000.0};
    double sum = 0;
    for (int i = 11; i >= 0; i--) sum = sum * z + term[i];
    return x + (x * less_one + two_by_sqrt_pi * (x * z * sum));
}

/* e^(x^2) erfc(x) for x >= 1/2: falls slowly, from 0.62 to 0. */
static double scaled_erfc(double x)
{
    static const double chebyshev[] = {
        2.4262354418543497,      -0.07225473646563542,    -0.02632189276459184,    0.019186588533428105,
        -0.006682350310928109,   0.0015522847050575515,   -0.00023571658348154882, 1.5690562205135226e-05,
        2.153875719667181e-06,   -6.012574627859283e-07,  1.3854950123746626e-08,  1.3575814484993745e-08,
        -1.3070972098097831e-09, -3.06373327557849e-10,   5.062873791614194e-11,   8.050230187118965e-12,
        -1.74987484220058e-12,   -2.6365750400882025e-13, 5.909950702659242e-14,   1.0548914766564293e-14,
        -1.9235530211488676e-15, -4.764157943707682e-16,  5.502036001020429e-17,   2.2407847347890268e-17};
    assert(x >= 0.5);
    const double u = (x - 4) / (x + 3);
    /* The series is in T_i(u), |u| <= 1; half of the first coefficient, as the convention has it. */
    double next = 0, after = 0;
    for (int i = 23; i >= 1; i--) { /* Clenshaw's recurrence; the bracket need not wait for the product */
        const double here = 2 * u * next + (chebyshev[i] - after);
        after = next;
        next = here;
    }
    return ((u * next - after) + 0.5 * chebyshev[0]) / (1 + 2 * x);
}

/* e^(-factor x^2), factor 1 or 1/2, with the rounding error of x^2 carried along: without it the far tail
 * would lose three digits. */
static double exp_minus_square(double x, double factor)
{
    const double cut = x * 134217729; /* 2^27 + 1: the upper half has 26 bits, its square is exact */
    const double high = cut - (cut - x), low = x - high;
    const double small = factor * (low * (x + high));
    const double e = math_exp(-factor * (high * high));
    /* e^-small - 1 to the third power: |small| is at most 39 x 39 / 2^27, its fourth is nothing beside 1. */
    return e - e * (small * (1 - small * (0.5 - small * (1.0 / 6))));
}

/* Above 28 the result is below the smallest double. */
double math_erfc(double x)
{
    if (isnan(x)) return x;
    if (fabs(x) < 0.5) return 1 - erf_near_zero(x);
    const double size = fabs(x);
    const double tail = size > 28 ? 0 : exp_minus_square(size, 1) * scaled_erfc(size);
    return x > 0 ? tail : 2 - tail;
}

/* From 1/2 on erfc is below 0.48, so the subtraction from 1 loses nothing. */
double math_erf(double x)
{
    if (isnan(x)) return x;
    if (fabs(x) < 0.5) return erf_near_zero(x);
    return x > 0 ? 1 - math_erfc(x) : math_erfc(-x) - 1;
}

/* Not by math_erfc(-z / sqrt 2): the rounding of that quotient would be squared in the exponent. */
double math_normal_cdf(double z)
{
    if (isnan(z)) return z;
    const double x = fabs(z) * ONE_BY_SQRT2;
    if (x < 0.5) return 0.5 + (z < 0 ? -0.5 : 0.5) * erf_near_zero(x);
    const double tail = fabs(z) > 39 ? 0 : 0.5 * exp_minus_square(fabs(z), 0.5) * scaled_erfc(x);
    return z < 0 ? tail : 1 - tail;
}

/* Bisection between the ends of what a double can tell, then Newton's steps on the cdf. Not fast: quantiles
 * are asked for once in a while, by a decision rule. */
double math_normal_quantile(double p)
{
    if (!(p >= 0 && p <= 1)) return NAN;
    if (p == 0 || p == 1) return p == 0 ? -INFINITY : INFINITY;
    if (p > 0.5 && 1 - p < 0.5) return -math_normal_quantile(1 - p); /* 1 - p is exact here */
    double low = -39, high = 0.1;
    /* 20 halvings of 39 leave 4e-5, from where four Newton steps double the digits to the last one. */
    for (int i = 0; i < 20; i++) {
        const double middle = 0.5 * (low + high);
        if (math_normal_cdf(middle) < p)
            low = middle;
        else
            high = middle;
    }
    double z = 0.5 * (low + high);
    for (int i = 0; i < 4; i++) {
        const double density = ONE_BY_SQRT_2PI * exp_minus_square(fabs(z), 0.5);
        if (density > 0) z -= (math_normal_cdf(z) - p) / density;
    }
    return z;
}
