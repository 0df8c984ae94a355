/* sense.c: the answer of one sensor conversion.
 *
 * One key of the two, `ohm` or `millivolt`, says which kind of sensor it is. */
#include "format/call_json/call_json_private.h"

bool call_json_sense(const SensorShowing *showing, TextBuilder *out, Error *error)
{
    json_t *tolerance = showing->has_tolerance ? call_json__number(showing->tolerance_kelvin) : NULL;
    json_t *root = json_pack("{ss so so so*}", "kind", showing->kind, "celsius",
                             call_json__number(showing->celsius), showing->is_resistive ? "ohm" : "millivolt",
                             call_json__number(showing->showing), "tolerance_kelvin", tolerance);
    return call_json__write(root, out, error);
}
