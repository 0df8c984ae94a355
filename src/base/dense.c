/* dense.c: LU factorisation with partial pivoting; see dense.h. Column by column ('left-looking', G. H. Golub
 * and C. F. Van Loan, Matrix Computations, section on gaxpy LU): a column stays as it came until its turn,
 * so its own size is known when the pivot has to be called zero. A closed contact beside a severed wire makes
 * columns fifteen powers of ten apart, so no single threshold would serve the whole matrix.
 *
 * Bad at: size. n^3 / 3 complex products without blocking are nothing for the 16 unknowns that two faults
 * make, and a waste beyond some fifty. The condition of the matrix is not estimated; who needs to know how
 * many digits are left keeps account himself (core/circuit/currents.c). */
#include "base/dense.h"

#include <assert.h>
#include <float.h>

/* Size of the largest number in a column. */
static double column_size(const Complex *matrix, int n, int column)
{
    double largest = 0;
    for (int row = 0; row < n; row++) {
        const double size = complex_square(matrix[row * n + column]);
        if (!(size <= largest)) largest = size; /* keeps NaN, which then fails as a pivot */
    }
    return sqrt(largest);
}

/* Takes from `column` what the columns before it have eliminated. */
static void eliminate(Complex *matrix, int n, int column)
{
    for (int k = 0; k < column; k++) {
        const Complex above = matrix[k * n + column];
        for (int row = k + 1; row < n; row++) {
            Complex *entry = &matrix[row * n + column];
            *entry = complex_subtract(*entry, complex_multiply(matrix[row * n + k], above));
        }
    }
}

/* The largest of what is left in the column keeps every multiplier within 1. */
static int choose_pivot(const Complex *matrix, int n, int column)
{
    int chosen = column;
    for (int row = column + 1; row < n; row++)
        if (complex_square(matrix[row * n + column]) > complex_square(matrix[chosen * n + column]))
            chosen = row;
    return chosen;
}

static void exchange_rows(Complex *matrix, int n, int a, int b)
{
    for (int column = 0; column < n && a != b; column++) {
        const Complex kept = matrix[a * n + column];
        matrix[a * n + column] = matrix[b * n + column];
        matrix[b * n + column] = kept;
    }
}

/* A pivot is called zero when what is left of its column is below 16 n units in the last place of what
 * stood there: so much the eliminations may have rounded. Asked as 'not larger', so that a NaN is refused
 * with it. */
bool dense_factorise(Complex *matrix, int n, int *pivot)
{
    assert(n >= 0);
    for (int column = 0; column < n; column++) {
        const double smallest = 16 * n * DBL_EPSILON * column_size(matrix, n, column);
        eliminate(matrix, n, column);
        pivot[column] = choose_pivot(matrix, n, column);
        exchange_rows(matrix, n, column, pivot[column]);
        const Complex diagonal = matrix[column * n + column];
        if (!(complex_size(diagonal) > smallest)) return false;
        for (int row = column + 1; row < n; row++)
            matrix[row * n + column] = complex_divide(matrix[row * n + column], diagonal);
    }
    return true;
}

/* Rows as they were exchanged, then L from the top and U from the bottom. */
void dense_solve(const Complex *factors, int n, const int *pivot, Complex *right)
{
    for (int row = 0; row < n; row++) {
        assert(pivot[row] >= row && pivot[row] < n);
        const Complex kept = right[pivot[row]];
        right[pivot[row]] = right[row];
        right[row] = kept;
    }
    for (int row = 1; row < n; row++)
        for (int k = 0; k < row; k++)
            right[row] = complex_subtract(right[row], complex_multiply(factors[row * n + k], right[k]));
    for (int row = n - 1; row >= 0; row--) {
        for (int k = row + 1; k < n; k++)
            right[row] = complex_subtract(right[row], complex_multiply(factors[row * n + k], right[k]));
        right[row] = complex_divide(right[row], factors[row * n + row]);
    }
}
