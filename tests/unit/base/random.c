/* Random streams: moments against what the distributions have by definition, limits at five standard errors.
 */
#include "base/random.h"
#include "support/near.h"

#include <math.h>

enum { DRAWS = 400000 };

static void first_numbers_are_the_generator_of_the_paper(void **state)
{
    (void)state;
    /* SplitMix64 from state 0; the first outputs as many implementations print them, from memory. */
    RandomStream stream = {0};
    assert_true(random_bits(&stream) == UINT64_C(0xe220a8397b1dcdaf));
    assert_true(random_bits(&stream) == UINT64_C(0x6e789e6aa1b965f4));
    assert_true(random_bits(&stream) == UINT64_C(0x06c45d188009454f));
}

static void uniform_has_its_moments(void **state)
{
    (void)state;
    RandomStream stream = random_stream(1);
    double sum = 0, square = 0;
    for (int i = 0; i < DRAWS; i++) {
        const double u = random_uniform(&stream);
        assert_true(u >= 0 && u < 1);
        sum += u;
        square += (u - 0.5) * (u - 0.5);
    }
    assert_near(sum / DRAWS, 0.5, 5 * sqrt(1.0 / 12 / DRAWS));
    assert_near(square / DRAWS, 1.0 / 12, 5 * sqrt(1.0 / 180 / DRAWS));
}

static void normal_has_its_moments(void **state)
{
    (void)state;
    RandomStream stream = random_stream(2);
    double sum[5] = {0};
    for (int i = 0; i < DRAWS; i++) {
        const double z = random_normal(&stream);
        for (int power = 1; power <= 4; power++) sum[power] += pow(z, power);
    }
    const double moment[] = {1, 0, 1, 0, 3}, variance[] = {0, 1, 2, 15, 96};
    for (int power = 1; power <= 4; power++)
        assert_near(sum[power] / DRAWS, moment[power], 5 * sqrt(variance[power] / DRAWS));
}

static void below_is_even(void **state)
{
    (void)state;
    RandomStream stream = random_stream(3);
    int seen[7] = {0};
    for (int i = 0; i < DRAWS; i++) seen[random_below(&stream, 7)]++;
    for (int i = 0; i < 7; i++) assert_near(seen[i], DRAWS / 7.0, 5 * sqrt(DRAWS * 6.0 / 49));
    assert_int_equal(random_below(&stream, 1), 0);
    assert_true(random_below(&stream, UINT32_MAX) < UINT32_MAX);
}

static void streams_repeat_and_do_not_follow_each_other(void **state)
{
    (void)state;
    RandomStream a = random_stream(5), b = random_stream(5), c = random_stream(6);
    double product = 0;
    for (int i = 0; i < DRAWS; i++) {
        const double from_a = random_uniform(&a);
        assert_true(from_a == random_uniform(&b));
        product += (from_a - 0.5) * (random_uniform(&c) - 0.5);
    }
    assert_near(product / DRAWS, 0, 5.0 / 12 / sqrt(DRAWS));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(first_numbers_are_the_generator_of_the_paper),
        cmocka_unit_test(uniform_has_its_moments),
        cmocka_unit_test(normal_has_its_moments),
        cmocka_unit_test(below_is_even),
        cmocka_unit_test(streams_repeat_and_do_not_follow_each_other),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
