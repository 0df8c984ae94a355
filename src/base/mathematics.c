/* mathematics.c: exponential, logarithm and power; see mathematics.h. Circular functions live in
 * mathematics_circle.c, the normal distribution in mathematics_normal.c.
 *
 * The way of each function: bring the argument into a small interval by steps that are exact or carry their
 * rounding error along, sum a Taylor series there, undo the reduction. The series are those of any
 * textbook (Abramowitz and Stegun 4.2.1, 4.1.27); what takes care is the order of the additions.
 *
 * Not made for speed: no tables, no fused multiply-add. That is the price of the same bits everywhere. */
#include "base/mathematics.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

/* ln 2 = LN2_HIGH + LN2_LOW; the high part has 33 bits, so that k * LN2_HIGH is exact for |k| < 2^20. */
static const double LN2_HIGH = 0x1.62e42fefp-1, LN2_LOW = 0x1.473de6af278edp-34;
static const double ONE_BY_LN2 = 0x1.71547652b82fep+0;
static const double SQRT_HALF = 0x1.6a09e667f3bcdp-1;

/* 2^exponent, for a normal result: the exponent field of the double, nothing else. */
static double power_of_two(int exponent)
{
    assert(exponent >= -1022 && exponent <= 1023);
    const uint64_t bits = (uint64_t)(exponent + 1023) << 52;
    double value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

/* value * 2^exponent, in two steps where one would overflow or lose a subnormal's last bits twice. */
static double scale(double value, int exponent)
{
    if (exponent > 1023) return value * power_of_two(1023) * power_of_two(exponent - 1023);
    if (exponent < -1022) return value * power_of_two(exponent + 200) * power_of_two(-200);
    return value * power_of_two(exponent);
}

/* e^x = 2^exponent * (1 + less_one), with less_one between -0.3 and 0.42. */
typedef struct {
    double less_one;
    int exponent;
} SplitExp;

/* Series are summed in two halves, even and odd powers: each addition waits for the one before it, and two
 * chains wait at the same time. */

/* e^(x + x_low), |x| at most 750 and x_low below an ulp of x. The reduced argument is r + c, c being what
 * rounding took from r. Taylor's remainder after r^14 is below 2^-58 for |r| <= ln2 / 2. */
static SplitExp split_exp(double x, double x_low)
{
    assert(fabs(x) <= 750);
    const double k = floor(x * ONE_BY_LN2 + 0.5);
    const double high = x - k * LN2_HIGH, low = k * LN2_LOW - x_low;
    const double r = high - low;
    const double c = (high - r) - low;
    static const double inverse_factorial[] = {1.0 / 2, /* 1/2! to 1/14! */
                                               1.0 / 6,         1.0 / 24,           1.0 / 120,
                                               1.0 / 720,       1.0 / 5040,         1.0 / 40320,
                                               1.0 / 362880,    1.0 / 3628800,      1.0 / 39916800,
                                               1.0 / 479001600, 1.0 / 6227020800.0, 1.0 / 87178291200.0};
    const double square = r * r;
    double even = inverse_factorial[12], odd = inverse_factorial[11];
    for (int i = 10; i >= 0; i -= 2) even = even * square + inverse_factorial[i];
    for (int i = 9; i >= 1; i -= 2) odd = odd * square + inverse_factorial[i];
    const double sum = even + odd * r;
    return (SplitExp){.less_one = r + (c + (c * r + square * sum)), .exponent = (int)k};
}

/* Beyond 710 and -746 every result is infinite or zero; between them scale() rounds at the ends. */
double math_exp(double x)
{
    if (isnan(x)) return x;
    if (x > 710) return INFINITY;
    if (x < -746) return 0;
    const SplitExp e = split_exp(x, 0);
    return scale(1 + e.less_one, e.exponent);
}

/* 2^k (1 + p) - 1 = 2^k ((1 - 2^-k) + p): the first bracket is exact while 2^-k has bits inside it. */
double math_expm1(double x)
{
    if (isnan(x) || x == 0) return x;
    if (x > 710) return INFINITY;
    if (x < -50) return -1;
    const SplitExp e = split_exp(x, 0);
    if (e.exponent == 0) return e.less_one;
    if (e.exponent > 60) return scale(1 + e.less_one, e.exponent);
    const double one = power_of_two(-e.exponent);
    const double sum = e.exponent > 0 ? (1 - one) + e.less_one : (e.less_one - one) + 1;
    return scale(sum, e.exponent);
}

/* x = 2^exponent * fraction, fraction between sqrt(1/2) and sqrt(2), so that its logarithm is smallest. */
typedef struct {
    double fraction;
    int exponent;
} SplitNumber;

/* Takes the exponent out of the bits of the double (IEEE 754, binary64). A subnormal has no leading one
 * there, so it is made normal first. */
static SplitNumber split_number(double x)
{
    assert(x > 0 && x <= 1.7976931348623157e308);
    int exponent = 0;
    if (x < 0x1p-1022) { /* subnormal? */
        x *= 0x1p54;
        exponent = -54;
    }
    uint64_t bits;
    memcpy(&bits, &x, sizeof bits);
    exponent += (int)(bits >> 52) - 1022; /* not 1023: the field 0x3fe below means 1/2 to 1 */
    bits = (bits & UINT64_C(0x000fffffffffffff)) | UINT64_C(0x3fe0000000000000);
    double fraction;
    memcpy(&fraction, &bits, sizeof fraction);
    if (fraction < SQRT_HALF) {
        fraction *= 2;
        exponent--;
    }
    return (SplitNumber){fraction, exponent};
}

/* First terms of 2 artanh(s) / s - 2 = z (2/3 + 2/5 z + ...), z = s^2 at most 0.0295; what is left out is
 * below 2^-60. */
static double artanh_series(double z)
{
    static const double term[] = {2.0 / 3,  2.0 / 5,  2.0 / 7,  2.0 / 9,  2.0 / 11,
                                  2.0 / 13, 2.0 / 15, 2.0 / 17, 2.0 / 19, 2.0 / 21};
    const double square = z * z;
    double even = term[8], odd = term[9];
    for (int i = 6; i >= 0; i -= 2) even = even * square + term[i];
    for (int i = 7; i >= 1; i -= 2) odd = odd * square + term[i];
    return (even + odd * z) * z;
}

/* k ln 2 + log(1 + f) + c for |f| < 0.42 and a tiny c. With s = f / (2 + f), log(1 + f) = 2 artanh(s)
 * = f - (f^2/2 - s (f^2/2 + series)): f itself, exact, carries most of the result. */
static double log_near_one(double f, int k, double c)
{
    assert(fabs(f) < 0.5);
    const double half_square = 0.5 * f * f;
    const double s = f / (2 + f);
    const double small = s * (half_square + artanh_series(s * s)) + (k * LN2_LOW + c);
    return k * LN2_HIGH - ((half_square - small) - f);
}

/* The exponent times ln 2, and the logarithm of the fraction: near x = 1 the exponent is 0, nothing cancels.
 */
double math_log(double x)
{
    if (isnan(x) || x < 0) return NAN;
    if (x == 0) return -INFINITY;
    if (isinf(x)) return x;
    const SplitNumber number = split_number(x);
    return log_near_one(number.fraction - 1, number.exponent, 0);
}

/* Near 0 the kernel takes x as it is; elsewhere what 1 + x loses in rounding is given back as a derivative.
 */
double math_log1p(double x)
{
    if (isnan(x) || x < -1) return NAN;
    if (x == -1) return -INFINITY;
    if (isinf(x) || fabs(x) < 0x1p-54) return x;
    if (x > -0.29 && x < 0.41) return log_near_one(x, 0, 0);
    const double sum = 1 + x;
    const double lost = x > 1 ? 1 - (sum - x) : x - (sum - 1);
    const SplitNumber number = split_number(sum);
    return log_near_one(number.fraction - 1, number.exponent, lost / sum);
}

/* A number as the unevaluated sum of two doubles, for pow alone: y log x needs some 11 bits more than a
 * double has (T. J. Dekker, Numerische Mathematik 18, 1971, pages 224 to 242). */
typedef struct {
    double high, low;
} Pair;

/* Sum with its rounding error; D. E. Knuth, The Art of Computer Programming 2, 4.2.2. */
static Pair pair_sum(double a, double b)
{
    const double sum = a + b, b_seen = sum - a;
    return (Pair){sum, (a - (sum - b_seen)) + (b - b_seen)};
}

/* Product with its rounding error. */
static Pair pair_product(double a, double b)
{
    const double split = 134217729; /* 2^27 + 1 cuts a double into two halves of 26 bits */
    const double a_cut = a * split, b_cut = b * split;
    const double a_high = a_cut - (a_cut - a), b_high = b_cut - (b_cut - b);
    const double a_low = a - a_high, b_low = b - b_high, product = a * b;
    return (Pair){product, ((a_high * b_high - product) + a_high * b_low + a_low * b_high) + a_low * b_low};
}

static Pair pair_times(Pair a, Pair b)
{
    const Pair product = pair_product(a.high, b.high);
    return pair_sum(product.high, product.low + (a.high * b.low + a.low * b.high));
}

/* log x to about 2^-65: 2 s (1 + z (1/3 + tail)), s = f / (2 + f), z = s^2; only the tail, below 0.006, is
 * summed in plain doubles. */
static Pair log_pair(double x)
{
    const SplitNumber number = split_number(x);
    const double f = number.fraction - 1;
    const Pair below = pair_sum(2, f);
    Pair s = {f / below.high, 0};
    const Pair back = pair_product(s.high, below.high);
    s.low = ((f - back.high) - back.low - s.high * below.low) / below.high;
    const Pair z = pair_times(s, s);
    double tail = 0;
    for (int i = 14; i >= 2; i--) tail = (tail + 1.0 / (2 * i + 1)) * z.high;
    Pair third = pair_sum(0x1.5555555555555p-2, tail);
    third.low += 0x1.5555555555555p-56;
    const Pair rest = pair_times(s, pair_times(z, third));
    const double k = number.exponent;
    const Pair whole = pair_sum(k * LN2_HIGH, 2 * s.high);
    const Pair sum = pair_sum(whole.high, 2 * rest.high);
    return pair_sum(sum.high, sum.low + (whole.low + 2 * s.low + 2 * rest.low + k * LN2_LOW));
}

/* x^y = e^(y log x). Where it must be infinite or zero whatever the digits, nothing is computed. */
static double power_of_positive(double x, double y)
{
    if (x == 1) return 1;
    /* The double nearest to 1 is 1e-16 away from it, and so is its logarithm from 0: times 1e20 that is
     * beyond the range of a double already. */
    const bool grows = (x > 1) == (y > 0);
    if (x == 0 || isinf(x) || fabs(y) > 1e20) return grows ? INFINITY : 0;
    const Pair logarithm = log_pair(x);
    const Pair product = pair_product(y, logarithm.high);
    const Pair power = pair_sum(product.high, product.low + y * logarithm.low);
    if (fabs(power.high) > 749) return grows ? INFINITY : 0;
    const SplitExp e = split_exp(power.high, power.low);
    return scale(1 + e.less_one, e.exponent);
}

/* A negative x has powers only at whole numbers, and their sign from whether that number is odd. */
double math_pow(double x, double y)
{
    if (y == 0 || x == 1) return 1;
    if (isnan(x) || isnan(y)) return NAN;
    const bool is_whole = floor(y) == y;
    /* From 2^53 on every double is even. */
    const bool is_odd = is_whole && fabs(y) < 0x1p53 && floor(y / 2) * 2 != y;
    if (x < 0 && !is_whole) return NAN;
    const double magnitude = power_of_positive(fabs(x), y);
    return x < 0 && is_odd ? -magnitude : magnitude;
}
