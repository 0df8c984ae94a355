/* balance_private.h: the oven's heat balance, for as many ovens side by side as a vector has lanes.
 *
 * Lives here: the right-hand side of the network's equations, and the vectors it is written in. Not here:
 * steps in time and switching (kernel_private.h), where the coefficients come from (thermal). It is included
 * once for each kind of number: REAL is the number, LANES how many of them, KERNEL(name) how what it defines
 * is called. So the reference in double precision and the fast one in single compute the same equations
 * because they are the same text.
 *
 * Natural convection is the dear part: two square roots for each surface. Where a balance is wanted close to
 * one that has been struck already, its tangents stand in for the roots: |d|^(1/4) d about d0 is
 * |d0|^(1/4) (1.25 d - 0.25 d0), wrong by the square of how far d has moved. */
#include "core/oven/oven_private.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#ifndef LANES /* compiled alone: plain numbers */
#define REAL         double
#define REAL_BITS    uint64_t
#define REAL_ROOT(x) sqrt(x)
#define LANES        1
#define KERNEL(name) name
#endif

#pragma GCC diagnostic ignored "-Wpsabi" /* nothing here is called from another file by value */

#if LANES == 1
typedef REAL KERNEL(Lane);
#define ROOT(x) REAL_ROOT(x)
#define SIZE(x) fabs(x)
#else
typedef REAL KERNEL(Lane) __attribute__((vector_size(LANES * sizeof(REAL))));
typedef REAL_BITS KERNEL(Bits) __attribute__((vector_size(LANES * sizeof(REAL))));
#define ROOT(x) KERNEL(root)(x)
#define SIZE(x) KERNEL(size)(x)
#endif
#define Lane       KERNEL(Lane)
#define AT(x, at)  (((REAL *)&(x))[at])      /* one lane of a vector */
#define SEEN(x, l) (((const REAL *)&(x))[l]) /* the same, to read */

#if LANES > 1
static inline Lane KERNEL(root)(Lane x)
{
    Lane y;
    for (int l = 0; l < LANES; l++) AT(y, l) = REAL_ROOT(AT(x, l));
    return y;
}

/* |x|: the sign bit goes, for all lanes at once. */
static inline Lane KERNEL(size)(Lane x) { return (Lane)((KERNEL(Bits))x & ((REAL_BITS)-1 >> 1)); }
#endif

typedef struct {
#define X(name, count) Lane name[count];
    OVEN_NETWORK(X)
#undef X
} KERNEL(Network);
#define Network KERNEL(Network)

/* Of the surfaces with natural convection: those in the cavity, skin, pane. Heat is slope * difference -
 * offset.
 */
enum { KERNEL(SURFACES) = OVEN_SENSOR - OVEN_BOTTOM, KERNEL(TANGENTS) = KERNEL(SURFACES) + 2 };
typedef struct {
    Lane slope[KERNEL(TANGENTS)], offset[KERNEL(TANGENTS)];
} KERNEL(Tangents);
#define Tangents KERNEL(Tangents)

/* Heat that air carries across a difference: by itself, the laminar law, free |d|^(1/4) d, and by a fan,
 * forced d. Struck anew, its tangent kept, or from the tangent. */
static inline Lane KERNEL(free_heat)(Lane free, Lane forced, Lane difference, Tangents *tangents, int surface,
                                     bool is_anew)
{
    if (!is_anew) return tangents->slope[surface] * difference - tangents->offset[surface];
    const Lane conductance = free * ROOT(ROOT(SIZE(difference)));
    tangents->slope[surface] = (REAL)1.25 * conductance + forced;
    tangents->offset[surface] = (REAL)0.25 * conductance * difference;
    return (conductance + forced) * difference;
}

static inline Lane KERNEL(fourth_power)(Lane t)
{
    const Lane square = t * t;
    return square * square;
}

/* An element's wire conducts a little better or worse as it warms. */
static inline Lane KERNEL(wire)(const Network *n, Lane kelvin)
{
    const Lane hot = kelvin * (REAL)0.001;
    return n->wire[0] + hot * (n->wire[1] + hot * (n->wire[2] + hot * n->wire[3]));
}

/* The heat balance: temperatures (kelvin) and the two ledgers in, their rates out. */
static inline __attribute__((always_inline)) void KERNEL(balance)(const Network *n, const Lane *watt,
                                                                  const Lane *open, const Lane *t,
                                                                  Tangents *tangents, bool is_anew,
                                                                  Lane *rate)
{
    Lane heat[OVEN_NODES], fourth[OVEN_NODES], lost, given = {0};
    for (int i = 0; i < OVEN_NODES; i++) {
        fourth[i] = KERNEL(fourth_power)(t[i]);
        heat[i] = given;
    }

    /* Radiation: all that sees the cavity meets in one node without mass. */
    Lane met = *open * n->open_star[0] * n->ambient_fourth[0];
    for (int i = OVEN_BOTTOM; i < OVEN_STARRED; i++) met += n->star[i] * fourth[i];
    met *= n->star_closed[0] + *open * n->star_opened[0];
    for (int i = OVEN_BOTTOM; i < OVEN_STARRED; i++) heat[i] = n->star[i] * (met - fourth[i]);
    lost = *open * n->open_star[0] * (met - n->ambient_fourth[0]);

    /* Convection: all that touches the cavity's air; of sensor and probe linear. */
#pragma GCC unroll 8
    for (int i = OVEN_BOTTOM; i < OVEN_SENSOR; i++) {
        const Lane flow = KERNEL(free_heat)(n->free[i], n->forced[i], t[OVEN_AIR] - t[i], tangents,
                                            i - OVEN_BOTTOM, is_anew);
        heat[i] += flow;
        heat[OVEN_AIR] -= flow;
    }
    for (int i = OVEN_SENSOR; i < OVEN_STARRED; i++) {
        const Lane flow = (n->free[i] + n->forced[i]) * (t[OVEN_AIR] - t[i]);
        heat[i] += flow;
        heat[OVEN_AIR] -= flow;
    }

#define PASS(from, to, flow)                                                                                 \
    do {                                                                                                     \
        const Lane passed = (flow);                                                                          \
        heat[from] -= passed;                                                                                \
        heat[to] += passed;                                                                                  \
    } while (0)
    /* Radiation between two that face each other. */
    PASS(OVEN_BOTTOM, OVEN_FLOOR, n->facing[0] * (fourth[OVEN_BOTTOM] - fourth[OVEN_FLOOR]));
    PASS(OVEN_TOP, OVEN_CEILING, n->facing[1] * (fourth[OVEN_TOP] - fourth[OVEN_CEILING]));
    PASS(OVEN_RING, OVEN_WALLS, n->facing[2] * (fourth[OVEN_RING] - fourth[OVEN_WALLS]));
    PASS(OVEN_DOOR, OVEN_PANE, n->facing[3] * (fourth[OVEN_DOOR] - fourth[OVEN_PANE]));
    /* Insulation conducts better when it is hot. */
#define WOOL(number, from, to)                                                                               \
    PASS(from, to,                                                                                           \
         n->wool[number] * (1 + n->wool_slope[0] * (t[from] + t[to] - (REAL)(2 * OVEN_ROOM_KELVIN))) *       \
             (t[from] - t[to]))
    WOOL(0, OVEN_FLOOR, OVEN_WOOL);
    WOOL(1, OVEN_WALLS, OVEN_WOOL);
    WOOL(2, OVEN_CEILING, OVEN_WOOL);
    WOOL(3, OVEN_BOTTOM, OVEN_WOOL);
    WOOL(4, OVEN_WOOL, OVEN_SKIN);
#undef WOOL
    /* Metal, panes, the load's inside, a sensor that touches the wall. */
    PASS(OVEN_FLOOR, OVEN_WALLS, n->metal[0] * (t[OVEN_FLOOR] - t[OVEN_WALLS]));
    PASS(OVEN_WALLS, OVEN_CEILING, n->metal[1] * (t[OVEN_WALLS] - t[OVEN_CEILING]));
    PASS(OVEN_WALLS, OVEN_SKIN, n->metal[2] * (t[OVEN_WALLS] - t[OVEN_SKIN]));
    PASS(OVEN_DOOR, OVEN_PANE, n->metal[3] * (t[OVEN_DOOR] - t[OVEN_PANE]));
    PASS(OVEN_RACK, OVEN_CORE, n->metal[4] * (t[OVEN_RACK] - t[OVEN_CORE]));
    PASS(OVEN_WALLS, OVEN_SENSOR, n->metal[5] * (t[OVEN_WALLS] - t[OVEN_SENSOR]));
#undef PASS
    /* To the kitchen: outer surfaces, and hot air that rises out while cold air comes in. */
    const Lane ambient = n->ambient[0], still = {0};
    const Lane skin = KERNEL(free_heat)(n->outside_free[0], still, t[OVEN_SKIN] - ambient, tangents,
                                        KERNEL(SURFACES), is_anew) +
                      n->outside_radiate[0] * (fourth[OVEN_SKIN] - n->ambient_fourth[0]);
    const Lane pane = KERNEL(free_heat)(n->outside_free[1], still, t[OVEN_PANE] - ambient, tangents,
                                        KERNEL(SURFACES) + 1, is_anew) +
                      n->outside_radiate[1] * (fourth[OVEN_PANE] - n->ambient_fourth[0]);
    const Lane above = t[OVEN_AIR] - ambient;
    const Lane draught = (n->vent[0] + *open * n->open_vent[0]) * ROOT(SIZE(above) / t[OVEN_AIR]) * above;
    heat[OVEN_SKIN] -= skin;
    heat[OVEN_PANE] -= pane;
    heat[OVEN_AIR] -= draught;
    lost += skin + pane + draught;

    for (int e = 0; e < OVEN_HEATS; e++) {
        const Lane got = watt[e] * KERNEL(wire)(n, t[OVEN_BOTTOM + e]);
        heat[OVEN_BOTTOM + e] += got;
        given += got;
    }
    for (int i = 0; i < OVEN_NODES; i++) rate[i] = heat[i] * n->per_capacity[i];
    /* Water in the insulation takes its latent heat around 100 C: more capacity there. */
    const Lane off = (t[OVEN_WOOL] - (REAL)373.15) * (REAL)(1 / OVEN_BOILING_KELVIN);
    const Lane bell = 1 + off * off;
    rate[OVEN_WOOL] *= bell / (bell + n->wet[0] * n->per_capacity[OVEN_WOOL]);
    rate[OVEN_GIVEN] = given;
    rate[OVEN_LOST] = lost;
}

/* The balance struck anew; and close to where that was done last, from its tangents. */
static __attribute__((noinline)) void KERNEL(rates)(const Network *n, const Lane *watt, const Lane *open,
                                                    const Lane *t, Tangents *tangents, Lane *rate)
{
    KERNEL(balance)(n, watt, open, t, tangents, true, rate);
}

static __attribute__((noinline)) void KERNEL(rates_nearby)(const Network *n, const Lane *watt,
                                                           const Lane *open, const Lane *t,
                                                           Tangents *tangents, Lane *rate)
{
    KERNEL(balance)(n, watt, open, t, tangents, false, rate);
}

/* What more watts at the elements alone change. */
static inline void KERNEL(add_heat)(const Network *n, const Lane *more_watt, const Lane *t, Lane *rate)
{
    for (int e = 0; e < OVEN_HEATS; e++) {
        const Lane got = more_watt[e] * KERNEL(wire)(n, t[OVEN_BOTTOM + e]);
        rate[OVEN_BOTTOM + e] += got * n->per_capacity[OVEN_BOTTOM + e];
        rate[OVEN_GIVEN] += got;
    }
}
