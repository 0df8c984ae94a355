/* description.c: the words of the file for what the description names, and which place lies before which; see
 * description.h.
 *
 * One list for reading and writing them: a supply system that is added is added here and in the type. */
#include "core/description/description.h"

#include <assert.h>

const char *description_supply_name(SupplySystem system)
{
    static const char *const names[SUPPLY_SYSTEM_COUNT] = {"split-phase", "208y-120", "single-phase"};
    assert(system >= 0 && system < SUPPLY_SYSTEM_COUNT);
    return names[system];
}

int description_find_place(const Description *description, const char *name)
{
    for (int p = 0; p < description->place_count; p++)
        if (text_equal(description->places[p].name, name)) return p;
    return -1;
}

int description_place_before(const Description *description, int place)
{
    assert(place >= 0 && place < description->place_count);
    const char *after = description->places[place].after;
    return after ? description_find_place(description, after) : -1;
}
