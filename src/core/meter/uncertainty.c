/* uncertainty.c: combining standard uncertainties by the GUM, JCGM 100:2008; see meter.h.
 *
 *   u(x)  standard uncertainty of an input      c  its sensitivity, the change of the result per unit of x
 *   r     correlation of two inputs             nu degrees of freedom
 *
 * Bad at: strongly curved relations. All of this is the first term of a Taylor series (GUM 5.1.2, note);
 * where a tolerance moves a reading by a tenth, the next term is about a tenth of that. */
#include "core/meter/meter.h"

#include <assert.h>
#include <math.h>

/* Contributions come with their sensitivities multiplied in, in the unit of the result. */
double meter_combine(const double *contributions, int count)
{
    double sum = 0;
    for (int i = 0; i < count; i++) sum += contributions[i] * contributions[i];
    return sqrt(sum);
}

/* With r = 1 everywhere the contributions add up; with r = 0 off the diagonal this is meter_combine. */
double meter_combine_correlated(const double *c, const double *u, const double *r, int count)
{
    double sum = 0;
    for (int i = 0; i < count; i++)
        for (int j = 0; j < count; j++) {
            assert(fabs(r[i * count + j]) <= 1 && r[i * count + j] == r[j * count + i]);
            sum += c[i] * u[i] * r[i * count + j] * c[j] * u[j];
        }
    return sqrt(fmax(0, sum)); /* full correlation may round to just below 0 */
}

/* Shares instead of contributions: fourth powers of ohms or megohms would differ by too much. */
double meter_effective_freedom(const double *contributions, const double *freedom, int count)
{
    const double combined = meter_combine(contributions, count);
    double sum = 0;
    for (int i = 0; i < count; i++) {
        assert(freedom[i] > 0);
        const double share = contributions[i] / (combined > 0 ? combined : 1);
        sum += share * share * share * share / freedom[i];
    }
    return sum > 0 ? 1 / sum : INFINITY;
}
