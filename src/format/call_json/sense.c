/* sense.c: the answer of one sensor conversion. */
#include "format/call_json/call_json_private.h"

bool call_json_sense(const SensorShowing *showing, TextBuilder *out, Error *error)
{
    json_t *root = json_object();
    bool is_whole = json_object_set_new(root, "kind", call_json__text(showing->kind)) == 0;
    is_whole &= json_object_set_new(root, "celsius", call_json__number(showing->celsius)) == 0;
    is_whole &= json_object_set_new(root, showing->is_resistive ? "ohm" : "millivolt",
                                    call_json__number(showing->showing)) == 0;
    if (showing->has_tolerance)
        is_whole &=
            json_object_set_new(root, "tolerance_kelvin", call_json__number(showing->tolerance_kelvin)) == 0;
    return call_json__write(root, is_whole, out, error);
}
