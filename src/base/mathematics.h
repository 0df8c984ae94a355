/* mathematics.h: the few transcendental functions that the core needs, with the same bits everywhere.
 *
 * Lives here: exponential, logarithm, power, circular functions, error function, normal distribution, in
 * plain double arithmetic: no fused multiply-add, no extended precision, no call to the C library beyond
 * sqrt, floor and fabs, so that every compiler and processor gives the same result for the same input.
 * Not here: anything that depends on a rounding mode other than to nearest.
 * Accuracy beside each function is in units in the last place (ulp) of the true value, as the tests hold
 * it against the C library in extended precision. No function fails: outside the domain the result is NaN,
 * beyond the range of a double it is infinite or zero. */
#ifndef BASE_MATHEMATICS_H
#define BASE_MATHEMATICS_H

#define MATH_PI 3.14159265358979323846

/* Exponential and logarithm. */
double math_exp(double x);           /* e^x; 1 ulp */
double math_expm1(double x);         /* e^x - 1 without cancellation near 0; 1.5 ulp */
double math_log(double x);           /* natural logarithm; 1 ulp; -infinity at 0 */
double math_log1p(double x);         /* log(1 + x) without cancellation near 0; 1.5 ulp */
double math_pow(double x, double y); /* x^y; 1.5 ulp; x below 0 only for a whole y; x^0 = 1 */

/* Circular functions, radians. */
double math_sin(double x);             /* |x| up to 1e6, NaN beyond; 1 ulp */
double math_cos(double x);             /* |x| up to 1e6, NaN beyond; 1 ulp */
double math_atan2(double y, double x); /* angle of the point (x, y), -pi to pi; 2 ulp */

/* Error function and normal distribution. */
double math_erf(double x);        /* 3 ulp */
double math_erfc(double x);       /* 1 - erf(x) without cancellation; 6 ulp */
double math_normal_cdf(double z); /* probability that a standard normal is below z; 6 ulp, tails included */
double math_normal_quantile(double p); /* z with math_normal_cdf(z) = p, 0 <= p <= 1; 1e-14 relative in p */

#endif
