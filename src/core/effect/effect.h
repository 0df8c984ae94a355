/* effect.h: how a fault acts, and what the owner notices of an oven.
 *
 * Lives here: the two lists of words that data files, circuit, oven and diagnosis share. Not here: what an
 * effect does to a circuit (circuit) or to an oven (thermal), which fault has it (kind), how likely an owner
 * is to say so (diagnosis). This room is low: it knows no parts. Nothing is owned. */
#ifndef CORE_EFFECT_H
#define CORE_EFFECT_H

#include "base/quantity.h"

/* How a fault acts: name in the file, unit of its severity. Up to 'sag' on branches of the circuit. */
/* clang-format off */
#define EFFECT_LIST(X) \
    X(NONE, "none", NONE)          /* nothing that a meter sees or the oven's temperature shows */ \
    X(OPEN, "open", NONE)          /* conducts no more */ \
    X(CLOSE, "close", OHM)         /* conducts always; severity, if any, is its ohms */ \
    X(ADD_OHM, "add-ohm", OHM)     /* severity in series; negative for a resistor that reads low */ \
    X(SCALE, "scale", NONE)        /* resistance times severity */ \
    X(STOP, "stop", NONE)          /* the control does not run: what it drives stays open */ \
    X(SAG, "sag", NONE)            /* supply voltage times severity */ \
    X(SHIFT, "shift", KELVIN)      /* the control settles so much hotter */ \
    X(SPREAD, "spread", NONE)      /* differential times severity */ \
    X(STICK, "stick", SECOND)      /* contacts open so much later than told */ \
    X(CHATTER, "chatter", RATIO)   /* share of the time in which the contact is closed when it should be */ \
    X(TRIP, "trip", KELVIN)        /* the cutout opens at a temperature higher by that; mostly negative */ \
    X(STILL, "still", NONE)        /* the fan does not turn though it has power */ \
    X(AJAR, "ajar", METRE)         /* a gap of that width around the door */ \
    X(THIN, "thin", NONE)          /* heat loss of the insulation times severity */ \
    X(WET, "wet", KILOGRAM)        /* water in the insulation */ \
    X(VENT, "vent", NONE)          /* area of the vent times severity */ \
    X(COVER, "cover", RATIO)       /* share of the oven's floor under foil or a pan */ \
    X(TOUCH, "touch", NONE)        /* sensor's contact with the wall over that with the air */ \
    X(MISREAD, "misread", KELVIN)  /* the owner's thermometer shows so much more */
/* clang-format on */
typedef enum {
#define X(code, name, unit) EFFECT_##code,
    EFFECT_LIST(X)
#undef X
        EFFECT_TYPE_COUNT,
    EFFECT_OVEN = EFFECT_SHIFT /* the first that acts on the oven, not on a branch */
} EffectType;

/* Does it happen to branches? */
bool effect_is_electric(EffectType effect);

Unit effect_unit(EffectType effect); /* of its severity; UNIT_NONE: a plain factor, or none at all */

/* What the owner can notice. A fault mode may declare any (a seized fan is as dead as one without power); the
 * oven's simulation computes those before 'bottom-dead', the circuit the others (dead: next to no power;
 * weak: little); that the closed door gaps is only declared. */
/* clang-format off */
#define CONDITION_LIST(X) \
    X(COOLER, "cooler") X(HOTTER, "hotter") X(SWINGS, "swings") X(SLUGGISH, "sluggish") X(PATCHY, "patchy") \
    X(BOTTOM_PALE, "bottom-pale") X(BOTTOM_BURNT, "bottom-burnt") X(TOP_PALE, "top-pale") X(TOP_BURNT, "top-burnt") \
    X(BOTTOM_DEAD, "bottom-dead") X(BOTTOM_WEAK, "bottom-weak") X(TOP_DEAD, "top-dead") X(TOP_WEAK, "top-weak") \
    X(RING_DEAD, "ring-dead") X(RING_WEAK, "ring-weak") X(ALL_DEAD, "all-dead") X(ALWAYS_ON, "always-on") \
    X(CONTROL_DEAD, "control-dead") X(FAN_DEAD, "fan-dead") X(LAMP_DEAD, "lamp-dead") \
    X(OVERCURRENT, "overcurrent") X(LIVE_FRAME, "live-frame") X(SENSOR_REFUSED, "sensor-refused") \
    X(DOOR_GAPS, "door-gaps")
/* clang-format on */
typedef enum {
#define X(code, name) CONDITION_##code,
    CONDITION_LIST(X)
#undef X
        CONDITION_COUNT,
    CONDITION_COMPUTED = CONDITION_BOTTOM_DEAD /* the first that the circuit computes */
} Condition;

const char *effect_condition_name(Condition condition);

#endif
