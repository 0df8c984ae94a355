/* mathematics_circle.c: sine, cosine and the angle of a point; see mathematics.h.
 *
 * The argument is brought to the nearest multiple of pi/2 (what is left: x - n pi/2 = r + c, c the rounding
 * error of r), then Taylor's series (Abramowitz and Stegun 4.3.65, 4.3.66, 4.4.42).
 *
 * Bad at: large angles. Beyond 1e6 radians n would pass 2^20, its products with the parts of pi/2 would
 * round, and nothing here turns so often: mains phasors stay within one turn. */
#include "base/mathematics.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>

/* pi/2 in four parts; the first three have 33 bits, so n times each is exact for n below 2^20. */
static const double HALF_PI[] = {0x1.921fb54400000p+0, 0x1.0b4611a600000p-34, 0x1.3198a2e000000p-69,
                                 0x1.b839a252049c1p-104};
static const double TWO_BY_PI = 0x1.45f306dc9c883p-1;
static const double LARGEST_ANGLE = 1e6;

typedef struct {
    double r, c;  /* angle left, and what rounding took from it; |r| at most pi/4 */
    int quadrant; /* 0 to 3 */
} Reduced;

/* n is the nearest multiple, so |r| is at most pi/4 and a rounding of n itself; `low` gathers what each
 * step loses. */
static Reduced reduce(double x)
{
    assert(fabs(x) <= LARGEST_ANGLE);
    const double n = floor(x * TWO_BY_PI + 0.5);
    double high = x - n * HALF_PI[0], low = 0; /* exact: the two agree in their leading bits */
    for (int part = 1; part < 3; part++) {     /* each subtraction leaves its rounding error in low */
        const double away = n * HALF_PI[part], left = high - away, seen = high - left;
        low += (high - (left + seen)) - (away - seen);
        high = left;
    }
    low -= n * HALF_PI[3];
    const double r = high + low;
    return (Reduced){.r = r, .c = (high - r) + low, .quadrant = (int)(n - 4 * floor(n / 4))};
}

/* sin(r + c) = r + (r^3 series + c (1 - r^2/2)). */
static double sine_near_zero(double r, double c)
{
    static const double term[] = {-1.0 / 6,
                                  1.0 / 120,
                                  -1.0 / 5040,
                                  1.0 / 362880,
                                  -1.0 / 39916800,
                                  1.0 / 6227020800.0,
                                  -1.0 / 1307674368000.0,
                                  1.0 / 355687428096000.0};
    const double z = r * r;
    double sum = 0;
    for (int i = 7; i >= 0; i--) sum = sum * z + term[i];
    return r + (r * z * sum + c * (1 - 0.5 * z));
}

/* cos(r + c) = 1 - r^2/2 + (r^4 series - r c); what 1 - r^2/2 loses in rounding is added back. */
static double cosine_near_zero(double r, double c)
{
    static const double term[] = {1.0 / 24,
                                  -1.0 / 720,
                                  1.0 / 40320,
                                  -1.0 / 3628800,
                                  1.0 / 479001600,
                                  -1.0 / 87178291200.0,
                                  1.0 / 20922789888000.0,
                                  -1.0 / 6402373705728000.0};
    const double z = r * r, half = 0.5 * z;
    double sum = 0;
    for (int i = 7; i >= 0; i--) sum = sum * z + term[i];
    const double most = 1 - half;
    return most + (((1 - most) - half) + (z * z * sum - r * c));
}

/* Odd quadrants show the other function, the two lower ones its negative. */
static double sine_in_quadrant(Reduced angle, int quadrant)
{
    const double value = quadrant & 1 ? cosine_near_zero(angle.r, angle.c) : sine_near_zero(angle.r, angle.c);
    return quadrant & 2 ? -value : value;
}

double math_sin(double x)
{
    if (!(fabs(x) <= LARGEST_ANGLE)) return NAN;
    if (fabs(x) < 0x1p-27) return x;
    const Reduced angle = reduce(x);
    return sine_in_quadrant(angle, angle.quadrant);
}

double math_cos(double x)
{
    if (!(fabs(x) <= LARGEST_ANGLE)) return NAN;
    const Reduced angle = reduce(x);
    return sine_in_quadrant(angle, angle.quadrant + 1);
}

/* Angle of a point in the first octant, 0 <= y <= x, as high + low. The nearest of 0, 1/4, 1/2, 3/4, 1 to
 * y / x is taken off first: tan(a - b) = (y - b x) / (x + b y). */
typedef struct {
    double high, low;
} Angle;

static Angle octant_angle(double y, double x)
{
    static const Angle quarter[] = {{0, 0},
                                    {0x1.f5b75f92c80ddp-3, 0x1.8ab6e3cf7afbdp-57},
                                    {0x1.dac670561bb4fp-2, 0x1.a2b7f222f65e2p-56},
                                    {0x1.4978fa3269ee1p-1, 0x1.2419a87f2a458p-56},
                                    {0x1.921fb54442d18p-1, 0x1.1a62633145c07p-55}};
    assert(0 <= y && y <= x && x > 0);
    const int step = (int)floor(4 * (y / x) + 0.5);
    assert(step >= 0 && step <= 4);
    const double b = 0.25 * step;
    const double t = (y - b * x) / (x + b * y), z = t * t;
    double sum = 0;
    for (int i = 10; i >= 1; i--) sum = (sum + (i & 1 ? -1.0 : 1.0) / (2 * i + 1)) * z;
    return (Angle){quarter[step].high, quarter[step].low + (t + t * sum)};
}

/* The same, turned: of + sign * angle, of being 0, pi/2 or pi in two parts. */
static double turned(Angle of, double sign, Angle angle)
{
    const double high = of.high + sign * angle.high;
    const double lost = (of.high - high) + sign * angle.high;
    return high + (lost + (of.low + sign * angle.low));
}

/* Folds the point into the first octant by its signs and by which side is longer, and unfolds the angle. */
double math_atan2(double y, double x)
{
    static const Angle none = {0, 0}, half_pi = {0x1.921fb54442d18p+0, 0x1.1a62633145c07p-54},
                       pi = {0x1.921fb54442d18p+1, 0x1.1a62633145c07p-53};
    if (isnan(x) || isnan(y)) return NAN;
    double width = fabs(x), height = fabs(y);
    if (width == 0 && height == 0) width = 1; /* the origin counts as lying on the axis, as in C */
    if (isinf(width) || isinf(height)) {
        width = isinf(width);
        height = isinf(height);
    }
    if (width > 1e300 || height > 1e300) { /* keeps x + b y below infinity */
        width *= 0x1p-4;
        height *= 0x1p-4;
    }
    const bool is_left = signbit(x);
    double angle;
    if (height <= width)
        angle = is_left ? turned(pi, -1, octant_angle(height, width))
                        : turned(none, 1, octant_angle(height, width));
    else
        angle = turned(half_pi, is_left ? 1 : -1, octant_angle(width, height));
    return signbit(y) ? -angle : angle;
}
