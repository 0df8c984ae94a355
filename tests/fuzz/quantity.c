/* quantity.c: any bytes as a quantity, of any unit, of each unit, as a range. */
#include "support/shipped.h"

#include "base/quantity.h"

#include <math.h>
#include <stdlib.h>

static void read_as(Text text, Unit unit)
{
    Error error = {0};
    double value, low, high;
    if (quantity_read_as(text, unit, &value, &error) && !isfinite(value)) abort();
    if (quantity_read_range(text, unit, &low, &high, &error) && !(low <= high)) abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const Text text = {(const char *)data, size};
    Quantity quantity;
    Error error = {0};
    if (quantity_read(text, &quantity, &error)) {
        char written[80];
        if (isnan(quantity.value) || (isinf(quantity.value) && !quantity.is_over)) abort();
        quantity_format(quantity.value, quantity.unit, written, sizeof written);
    } else if (!error.code) {
        abort();
    }
    for (int unit = 0; unit < UNIT_COUNT; unit++) read_as(text, (Unit)unit);
    return 0;
}
