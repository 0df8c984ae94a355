/* Small dense systems against LAPACK's zgesv, with random matrices of every size up to 24. */
#include "base/dense.h"
#include "base/random.h"
#include "support/near.h"

#include <lapacke.h>
#include <string.h>

enum { LARGEST = 24 };

static void fill(Complex *matrix, int count, RandomStream *stream)
{
    for (int i = 0; i < count; i++) matrix[i] = (Complex){random_normal(stream), random_normal(stream)};
}

/* Both solve the same system; gives the largest difference relative to the largest unknown. */
static double solve_both(const Complex *matrix, const Complex *right, int n)
{
    Complex ours[LARGEST * LARGEST], theirs[LARGEST * LARGEST], x[LARGEST], y[LARGEST];
    int pivot[LARGEST];
    lapack_int their_pivot[LARGEST];
    memcpy(ours, matrix, sizeof(Complex) * (size_t)(n * n));
    memcpy(theirs, matrix, sizeof(Complex) * (size_t)(n * n));
    memcpy(x, right, sizeof(Complex) * (size_t)n);
    memcpy(y, right, sizeof(Complex) * (size_t)n);
    assert_true(dense_factorise(ours, n, pivot));
    dense_solve(ours, n, pivot, x);
    assert_int_equal(LAPACKE_zgesv(LAPACK_ROW_MAJOR, n, 1, (lapack_complex_double *)theirs, n, their_pivot,
                                   (lapack_complex_double *)y, 1),
                     0);
    double largest = 0, difference = 0;
    for (int i = 0; i < n; i++) {
        largest = fmax(largest, complex_size(y[i]));
        difference = fmax(difference, complex_size(complex_subtract(x[i], y[i])));
    }
    return difference / largest;
}

static void random_systems_agree_with_lapack(void **state)
{
    (void)state;
    RandomStream stream = random_stream(4);
    double worst = 0;
    for (int trial = 0; trial < 2000; trial++) {
        const int n = 1 + trial % LARGEST;
        Complex matrix[LARGEST * LARGEST], right[LARGEST];
        fill(matrix, n * n, &stream);
        fill(right, n, &stream);
        worst = fmax(worst, solve_both(matrix, right, n));
    }
    print_message("worst difference from zgesv %.2g\n", worst);
    assert_near(worst, 0, 1e-10);
}

static void columns_far_apart_are_not_singular(void **state)
{
    (void)state;
    RandomStream stream = random_stream(5);
    Complex matrix[16], right[4];
    const double sizes[] = {1e-4, 1, 1e6, 1e12}; /* a good contact to a severed wire, ohm */
    fill(matrix, 16, &stream);
    fill(right, 4, &stream);
    for (int i = 0; i < 16; i++) matrix[i] = complex_scale(matrix[i], sizes[i % 4]);
    assert_near(solve_both(matrix, right, 4), 0, 1e-12);
}

static void singular_systems_are_told(void **state)
{
    (void)state;
    RandomStream stream = random_stream(6);
    int pivot[8];
    for (int trial = 0; trial < 500; trial++) {
        Complex matrix[64];
        fill(matrix, 64, &stream);
        for (int column = 0; column < 8; column++) /* the last row is the sum of the first two */
            matrix[56 + column] = complex_add(matrix[column], matrix[8 + column]);
        assert_false(dense_factorise(matrix, 8, pivot));
    }
    Complex zero[4] = {{0, 0}}, broken[4] = {{NAN, 0}, {1, 0}, {1, 0}, {1, 0}};
    assert_false(dense_factorise(zero, 2, pivot));
    assert_false(dense_factorise(broken, 2, pivot));
    assert_true(dense_factorise(zero, 0, pivot));
}

static void complex_arithmetic_is_that_of_the_book(void **state)
{
    (void)state;
    const Complex a = {3, 4}, b = {1, -2};
    const Complex product = complex_multiply(a, b), quotient = complex_divide(product, b);
    assert_true(product.re == 11 && product.im == -2);
    assert_near(quotient.re, 3, 1e-15);
    assert_near(quotient.im, 4, 1e-15);
    assert_near(complex_size(a), 5, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_systems_agree_with_lapack),
        cmocka_unit_test(columns_far_apart_are_not_singular),
        cmocka_unit_test(singular_systems_are_told),
        cmocka_unit_test(complex_arithmetic_is_that_of_the_book),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
