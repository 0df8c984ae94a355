/* effect.c: the words of both lists; see effect.h. A new effect is a row there and a case in the room that
 * acts. */
#include "core/effect/effect.h"

#include <assert.h>

Unit effect_unit(EffectType effect)
{
    static const Unit units[EFFECT_TYPE_COUNT] = {
#define X(code, name, unit) UNIT_##unit,
        EFFECT_LIST(X)
#undef X
    };
    assert(effect >= 0 && effect < EFFECT_TYPE_COUNT);
    return units[effect];
}

bool effect_is_electric(EffectType effect)
{
    return effect < EFFECT_OVEN && effect != EFFECT_NONE && effect != EFFECT_STOP;
}

const char *effect_condition_name(Condition condition)
{
    static const char *const names[CONDITION_COUNT] = {
#define X(code, name) name,
        CONDITION_LIST(X)
#undef X
    };
    assert(condition >= 0 && condition < CONDITION_COUNT);
    return names[condition];
}
