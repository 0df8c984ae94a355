/* near.c: see near.h. */
#include "support/near.h"

#include <math.h>

void support_assert_near(double got, double want, double tolerance, const char *what, const char *file,
                         int line)
{
    if (fabs(got - want) <= tolerance) return;
    print_error("%s: got %.17g, want %.17g within %.3g (off by %.3g)\n", what, got, want, tolerance,
                got - want);
    _fail(file, line);
}
