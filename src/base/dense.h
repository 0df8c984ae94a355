/* dense.h: complex numbers and small dense systems of linear equations.
 *
 * Lives here: a complex number as a plain struct (the compiler's own type leaves the order of operations
 * open) and LU factorisation with partial pivoting for systems that fit on a page, up to some 50 unknowns.
 * Not here: anything sparse; the network's own elimination (core/circuit).
 * Arrays: matrices are row by row, n * n numbers. Ownership: everything belongs to the caller. */
#ifndef BASE_DENSE_H
#define BASE_DENSE_H

#include "base/error.h"

#include <math.h>

typedef struct {
    double re, im;
} Complex;

static inline Complex complex_add(Complex a, Complex b) { return (Complex){a.re + b.re, a.im + b.im}; }
static inline Complex complex_subtract(Complex a, Complex b) { return (Complex){a.re - b.re, a.im - b.im}; }
static inline Complex complex_multiply(Complex a, Complex b)
{
    return (Complex){a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}
static inline Complex complex_scale(Complex a, double factor)
{
    return (Complex){a.re * factor, a.im * factor};
}
static inline double complex_square(Complex a) { return a.re * a.re + a.im * a.im; } /* |a|^2 */
static inline double complex_size(Complex a) { return sqrt(complex_square(a)); }     /* |a| */

/* a / b for sizes between 1e-150 and 1e150; b is not 0. */
static inline Complex complex_divide(Complex a, Complex b)
{
    const double by = 1 / complex_square(b);
    return (Complex){(a.re * b.re + a.im * b.im) * by, (a.im * b.re - a.re * b.im) * by};
}

/* Factorises the matrix in place into L (below the diagonal, ones on it not stored) and U, with rows
 * exchanged as `pivot` (n numbers) says: row k was exchanged with row pivot[k]. False when the matrix is
 * singular to working precision: in some column nothing remains beyond the rounding of what stood there. */
bool dense_factorise(Complex *matrix, int n, int *pivot) MUST_CHECK;

/* Solves the factorised system in place: `right` (n numbers) comes in as the right side and goes out as
 * the solution. */
void dense_solve(const Complex *factors, int n, const int *pivot, Complex *right);

#endif
