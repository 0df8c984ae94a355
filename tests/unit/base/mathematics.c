/* The core's own transcendental functions against the C library's extended precision (64-bit mantissa on
 * x86), over arguments spread evenly and by powers of ten. Limits are in ulp of the true value. */
#include "base/mathematics.h"
#include "support/near.h"

#include <float.h>
#include <math.h>

enum { EACH = 60000 }; /* arguments for each function and interval: above 200,000 in all, many times */

typedef struct {
    double worst, at;
} Worst;

/* Distance in units in the last place of the double nearest to `want`. */
static double ulp_between(double got, long double want)
{
    if (isnan(got) || isnan(want)) return isnan(got) && isnan(want) ? 0 : INFINITY;
    if (isinf((double)want)) return (double)want == got ? 0 : INFINITY;
    int exponent = want == 0 ? -1022 : ilogbl(want);
    if (exponent < -1022) exponent = -1022;
    return (double)(fabsl(want - (long double)got) / ldexpl(1, exponent - 52));
}

static uint64_t next_bits(uint64_t *state) /* splitmix64: the test's own stream */
{
    uint64_t z = (*state += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static double between(uint64_t *state, double low, double high)
{
    return low + (high - low) * ((double)(next_bits(state) >> 11) * 0x1p-53);
}

static void hold(const char *name, double (*ours)(double), long double (*theirs)(long double), double low,
                 double high, double limit)
{
    uint64_t state = 20;
    Worst worst = {0, 0};
    for (int i = 0; i < EACH; i++) {
        const double x = between(&state, low, high);
        const double ulp = ulp_between(ours(x), theirs(x));
        if (!(ulp <= worst.worst)) worst = (Worst){ulp, x};
    }
    print_message("%-10s %10g .. %10g  worst %.3f ulp at %.17g\n", name, low, high, worst.worst, worst.at);
    assert_near(worst.worst, 0, limit);
}

static long double reference_normal_cdf(long double z) { return 0.5L * erfcl(-z / sqrtl(2)); }

static void exp_and_log_are_within_an_ulp(void **state)
{
    (void)state;
    hold("exp", math_exp, expl, -1, 1, 1);
    hold("exp", math_exp, expl, -745, 709.7, 1);
    hold("expm1", math_expm1, expm1l, -1, 1, 1.5);
    hold("expm1", math_expm1, expm1l, -50, 700, 1.5);
    hold("log", math_log, logl, 0.5, 2, 1);
    hold("log", math_log, logl, 0, 1e4, 1);
    hold("log", math_log, logl, 0, 1e-307, 1);
    hold("log", math_log, logl, 0, 1e308, 1);
    hold("log1p", math_log1p, log1pl, -0.999, 1, 1.5);
    hold("log1p", math_log1p, log1pl, -1e-3, 1e-3, 1.5);
    hold("log1p", math_log1p, log1pl, 0, 1e17, 1.5);
}

static void sin_and_cos_are_within_an_ulp(void **state)
{
    (void)state;
    const double spans[] = {0.8, 7, 1000, 1e6};
    for (int i = 0; i < 4; i++) {
        hold("sin", math_sin, sinl, -spans[i], spans[i], 1);
        hold("cos", math_cos, cosl, -spans[i], spans[i], 1);
    }
    for (int n = 1; n < 600000; n++) { /* next to each zero, where reduction is hardest */
        const double x = n * (MATH_PI / 2);
        const double got = n & 1 ? math_cos(x) : math_sin(x);
        assert_near(ulp_between(got, n & 1 ? cosl(x) : sinl(x)), 0, 1);
    }
}

static void erf_and_normal_are_within_a_few_ulp(void **state)
{
    (void)state;
    hold("erf", math_erf, erfl, -6, 6, 3);
    hold("erf", math_erf, erfl, -0.5, 0.5, 2);
    hold("erfc", math_erfc, erfcl, -6, 0.5, 2);
    hold("erfc", math_erfc, erfcl, 0.5, 4, 6);
    hold("erfc", math_erfc, erfcl, 4, 26.5, 6);
    hold("normal", math_normal_cdf, reference_normal_cdf, -1, 1, 6);
    hold("normal", math_normal_cdf, reference_normal_cdf, -37, 8, 6);
}

static void pow_is_within_two_ulp(void **state)
{
    (void)state;
    uint64_t stream = 7;
    double worst = 0;
    for (int i = 0; i < 2 * EACH; i++) {
        const double x = expl(between(&stream, -12, 12));
        const double y = between(&stream, -50, 50);
        const double ulp = ulp_between(math_pow(x, y), powl(x, y));
        if (!(ulp <= worst)) worst = ulp;
    }
    print_message("pow        worst %.3f ulp\n", worst);
    assert_near(worst, 0, 1.5);
    assert_near(math_pow(300, 4), 8.1e9, 0);
    assert_near(math_pow(-2, 3), -8, 0);
    assert_near(math_pow(-2, -2), 0.25, 0);
    assert_near(math_pow(0, 2), 0, 0);
    assert_true(isnan(math_pow(-2, 0.5)));
    assert_true(isinf(math_pow(0, -1)));
    assert_true(isinf(math_pow(10, 400)));
    assert_near(math_pow(10, -400), 0, 0);
    assert_near(math_pow(0.5, 1e300), 0, 0);
    assert_near(math_pow(7, 0), 1, 0);
}

static void atan2_is_within_two_ulp(void **state)
{
    (void)state;
    uint64_t stream = 11;
    double worst = 0;
    for (int i = 0; i < 2 * EACH; i++) {
        const double y = between(&stream, -1, 1) * (i & 1 ? 1 : 1e-6);
        const double x = between(&stream, -1, 1) * (i & 2 ? 1 : 1e-3);
        const double ulp = ulp_between(math_atan2(y, x), atan2l(y, x));
        if (!(ulp <= worst)) worst = ulp;
    }
    print_message("atan2      worst %.3f ulp\n", worst);
    assert_near(worst, 0, 2);
    const double corner[] = {0.0, -0.0, 1, -1, INFINITY, -INFINITY, 1e308, 5e-324};
    for (int i = 0; i < 8; i++)
        for (int j = 0; j < 8; j++) {
            const double got = math_atan2(corner[i], corner[j]), want = atan2(corner[i], corner[j]);
            assert_near(got, want, 1e-15);
            assert_int_equal(!signbit(got), !signbit(want));
        }
}

static void quantile_undoes_the_cdf(void **state)
{
    (void)state;
    /* Two-sided 95 and 99 % and one-sided 95 %: NIST Technical Note 1297, section 4 and 6. */
    assert_near(math_normal_quantile(0.975), 1.960, 0.0005);
    assert_near(math_normal_quantile(0.995), 2.576, 0.0005);
    assert_near(math_normal_quantile(0.95), 1.645, 0.0005);
    assert_near(math_normal_quantile(0.5), 0, 1e-16);
    for (double p = 1e-300; p < 0.999; p = p < 1e-3 ? p * 10 : p + 0.001)
        assert_near(math_normal_cdf(math_normal_quantile(p)) / p, 1, 2e-13);
    assert_true(isinf(math_normal_quantile(0)) && isinf(math_normal_quantile(1)));
    assert_true(isnan(math_normal_quantile(1.5)) && isnan(math_normal_quantile(NAN)));
}

static void ends_of_the_range_are_as_in_the_c_library(void **state)
{
    (void)state;
    assert_true(isinf(math_exp(1000)) && math_exp(-1000) == 0 && isnan(math_exp(NAN)));
    assert_true(isinf(math_exp(INFINITY)) && math_exp(-INFINITY) == 0);
    assert_true(math_exp(0) == 1 && math_log(1) == 0 && math_expm1(-INFINITY) == -1);
    assert_true(isinf(math_log(0)) && math_log(0) < 0 && isnan(math_log(-1)) && isinf(math_log(INFINITY)));
    assert_true(isnan(math_log1p(-2)) && isinf(math_log1p(-1)) && isinf(math_log1p(INFINITY)));
    assert_true(isnan(math_sin(1e7)) && isnan(math_cos(NAN)) && isnan(math_sin(INFINITY)));
    assert_true(math_erfc(30) == 0 && math_erfc(-30) == 2 && math_erf(30) == 1 && isnan(math_erf(NAN)));
    assert_true(math_normal_cdf(-INFINITY) == 0 && math_normal_cdf(INFINITY) == 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(exp_and_log_are_within_an_ulp),
        cmocka_unit_test(sin_and_cos_are_within_an_ulp),
        cmocka_unit_test(erf_and_normal_are_within_a_few_ulp),
        cmocka_unit_test(pow_is_within_two_ulp),
        cmocka_unit_test(atan2_is_within_two_ulp),
        cmocka_unit_test(quantile_undoes_the_cdf),
        cmocka_unit_test(ends_of_the_range_are_as_in_the_c_library),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
