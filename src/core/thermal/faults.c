/* faults.c: what family and faults make of a healthy oven.
 *
 * Each effect of data/parts/kinds.yaml that acts on the oven is one case here, as physics: a gap lets air
 * through, a sensor that touches the wall feels the wall, foil hides the floor. What acts on the circuit is
 * in the watts already (stages.c); what acts on the sensor's ohms shifts the temperatures at which the
 * control switches (control.c).
 *
 * Numbers in capitals are common practice, no source. */
#include "core/thermal/thermal_private.h"

#include "base/mathematics.h"

#include <assert.h>
#include <math.h>

/* Water boils off around 100 C: its latent heat over the kernel's bell of temperatures, whose area is pi
 * times its half width. Soaked wool conducts better too. Latent heat: steam tables, 2257 kJ/kg at 100 C. */
static const double LATENT_JOULE = 2.257e6, BELL_KELVIN = 15, WET_CONDUCTS = 0.6;
static const double COVER_RADIATES = 0.9, COVER_CONVECTS = 0.5; /* taken from a floor that is all covered */
static const double COVER_ELEMENT = 0.6;                        /* from an element below or above it */
static const double TOUCH_SHIELDS = 0.3; /* of the air's hold on a sensor out of its place */

const Fault *thermal__fault(const ThermalModel *model, int variant)
{
    return &model->appliance->faults[model->circuit->variants[variant].fault];
}

double thermal__severity(const ThermalModel *model, int variant)
{
    return thermal__fault(model, variant)->severity[model->circuit->variants[variant].severity];
}

static void scale(double *coefficients, int count, double factor)
{
    for (int i = 0; i < count; i++) coefficients[i] *= factor;
}

/* The floor gives less to what is above it; what it keeps, it keeps. */
static void cover_floor(OvenNetwork *network, double share)
{
    network->star[OVEN_FLOOR] *= 1 - COVER_RADIATES * share;
    network->free[OVEN_FLOOR] *= 1 - COVER_CONVECTS * share;
    if (network->star[OVEN_BOTTOM] > 0) network->facing[0] *= 1 - COVER_ELEMENT * share;
}

static void spoil(const ThermalModel *model, const Fault *fault, double severity, Oven *oven)
{
    OvenNetwork *network = &oven->network;
    switch (fault->mode->effect) {
    case EFFECT_AJAR: network->vent[0] += severity * model->gap_vent; return;
    case EFFECT_THIN: scale(network->wool, 5, severity); return;
    case EFFECT_VENT: /* what the gasket lets through stays */
        network->vent[0] -= (1 - severity) * (model->network.vent[0] - THERMAL_GASKET_GAP * model->gap_vent);
        return;
    case EFFECT_WET:
        network->wet[0] += severity * LATENT_JOULE / (MATH_PI * BELL_KELVIN);
        scale(network->wool, 5, 1 + WET_CONDUCTS * fmin(severity, 1));
        return;
    case EFFECT_COVER: cover_floor(network, severity); return;
    case EFFECT_TOUCH:
        network->metal[5] += severity * network->free[OVEN_SENSOR];
        network->free[OVEN_SENSOR] *= 1 - TOUCH_SHIELDS;
        network->star[OVEN_SENSOR] *= 1 - TOUCH_SHIELDS;
        return;
    default: return; /* the circuit's, the control's or the owner's affair */
    }
}

void thermal__spoil(const ThermalModel *model, const int *variants, int count, Oven *oven)
{
    for (int i = 0; i < count; i++)
        spoil(model, thermal__fault(model, variants[i]), thermal__severity(model, variants[i]), oven);
}

/* A trait of ratio moves by its standard deviation in the logarithm, so that no conductance gets below 0. */
double thermal__ratio(const ThermalFamily *family, ThermalTrait trait)
{
    static const double deviation[THERMAL_FAMILY_COUNT] = {
#define X(code, deviation) deviation,
        THERMAL_FAMILY_LIST(X)
#undef X
    };
    return math_exp(deviation[trait] * family->trait[trait]);
}

static void differ_in_loss(OvenNetwork *network, double factor)
{
    scale(network->wool, 5, factor);
    scale(&network->metal[2], 2, factor);
    scale(&network->facing[3], 1, factor);
    scale(network->vent, 1, factor);
}

void thermal__differ(const ThermalFamily *family, OvenNetwork *network)
{
    differ_in_loss(network, thermal__ratio(family, THERMAL_LOSS));
    const double lighter = 1 / thermal__ratio(family, THERMAL_MASS),
                 radiates = thermal__ratio(family, THERMAL_RADIATION);
    static const OvenNode heavy[] = {OVEN_FLOOR, OVEN_WALLS, OVEN_CEILING, OVEN_DOOR, OVEN_RACK, OVEN_WOOL};
    for (size_t i = 0; i < sizeof heavy / sizeof *heavy; i++) network->per_capacity[heavy[i]] *= lighter;
    scale(network->star, OVEN_SENSOR, radiates);
    network->per_capacity[OVEN_SENSOR] /= thermal__ratio(family, THERMAL_LAG);
}
