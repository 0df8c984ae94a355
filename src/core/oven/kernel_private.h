/* kernel_private.h: the oven's heat balance and its steps in time, for as many ovens side by side as a vector
 * has lanes.
 *
 * Lives here: the right-hand side, one Runge-Kutta step, the instants at which a control switches. Not here:
 * where the coefficients come from (build.c), who chooses the width of the vector (simulate.c). It is
 * included once for each kind of number: REAL is the number, LANES how many of them, KERNEL(name) how what it
 * defines is called. So the reference in double precision and the fast one in single compute the same
 * equations because they are the same text.
 *
 *     lane     0   1   2   3   4   5   6   7        each lane is an oven of its own with a clock of its own:
 *     clock  |--|---|---|--|---|---|---|---|        one that switches stops its step there, the others go on
 *
 * Method: the classical Runge-Kutta method of order 4 (Kutta 1901; Hairer, Norsett, Wanner, Solving Ordinary
 * Differential Equations I, table 1.2); between two instants the cubic Hermite polynomial through both ends
 * (ibid., II.6), of order 3 like the local error of a step. A switching instant is a root of that polynomial,
 * and the oven at that instant is its value there, so no step is done twice.
 *
 * Invariants: (1) between two instants of a lane its watts do not change; (2) no lane's step passes an
 * instant at which its duty pattern or its door moves; (3) what goes in less what goes out is what is stored.
 *
 * Bad at: a control that switches on and off again within one step of a few seconds: it is not seen. */
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

/* Everything that runs: one oven a lane. */
typedef struct {
    Network network;
    Lane state[OVEN_STATES], rate[OVEN_STATES]; /* now */
    Lane next[OVEN_STATES], next_rate[OVEN_STATES];
    Lane watt[OVEN_HEATS], open, step;
    Lane fourth[OVEN_RADIANT]; /* integral of the fourth power of the nodes' temperatures, K4 s */
    double second[LANES];
    OvenLane lane[LANES];
} KERNEL(Batch);
#define Batch KERNEL(Batch)

/* Heat that natural convection carries across a difference: coefficient |d|^(1/4) d, the laminar law. */
static inline Lane KERNEL(free_heat)(Lane coefficient, Lane difference)
{
    return coefficient * ROOT(ROOT(SIZE(difference))) * difference;
}

/* The heat balance: temperatures (kelvin) and the two ledgers in, their rates out. */
static inline void KERNEL(rates)(const Network *n, const Lane *watt, const Lane *open, const Lane *t,
                                 Lane *rate)
{
    Lane heat[OVEN_NODES] = {0}, fourth[OVEN_NODES], lost, given = {0};
    for (int i = 0; i < OVEN_NODES; i++) fourth[i] = t[i] * t[i] * t[i] * t[i];

    /* Radiation: all that sees the cavity meets in one node without mass. */
    Lane met = {0};
    for (int i = OVEN_BOTTOM; i < OVEN_STARRED; i++) met += n->star[i] * fourth[i];
    met += *open * n->open_star[0] * n->ambient_fourth[0];
    met *= n->star_closed[0] + *open * n->star_opened[0];
    for (int i = OVEN_BOTTOM; i < OVEN_STARRED; i++) heat[i] = n->star[i] * (met - fourth[i]);
    lost = *open * n->open_star[0] * (met - n->ambient_fourth[0]);

    /* Convection: all that touches the cavity's air. */
    for (int i = OVEN_BOTTOM; i < OVEN_STARRED; i++) {
        const Lane difference = t[OVEN_AIR] - t[i];
        const Lane flow =
            (i < OVEN_SENSOR ? KERNEL(free_heat)(n->free[i], difference) : n->free[i] * difference) +
            n->forced[i] * difference;
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
    const Lane ambient = n->ambient[0];
    const Lane skin = KERNEL(free_heat)(n->outside_free[0], t[OVEN_SKIN] - ambient) +
                      n->outside_radiate[0] * (fourth[OVEN_SKIN] - n->ambient_fourth[0]);
    const Lane pane = KERNEL(free_heat)(n->outside_free[1], t[OVEN_PANE] - ambient) +
                      n->outside_radiate[1] * (fourth[OVEN_PANE] - n->ambient_fourth[0]);
    const Lane above = t[OVEN_AIR] - ambient;
    const Lane draught = (n->vent[0] + *open * n->open_vent[0]) * ROOT(SIZE(above) / t[OVEN_AIR]) * above;
    heat[OVEN_SKIN] -= skin;
    heat[OVEN_PANE] -= pane;
    heat[OVEN_AIR] -= draught;
    lost += skin + pane + draught;

    /* The elements: their wire conducts a little better or worse as it warms. */
    for (int e = 0; e < OVEN_HEATS; e++) {
        const Lane hot = t[OVEN_BOTTOM + e] * (REAL)0.001;
        const Lane got = watt[e] * (n->wire[0] + hot * (n->wire[1] + hot * (n->wire[2] + hot * n->wire[3])));
        heat[OVEN_BOTTOM + e] += got;
        given += got;
    }
    for (int i = 0; i < OVEN_NODES; i++) rate[i] = heat[i] * n->per_capacity[i];
    /* Water in the insulation takes its latent heat around 100 C: more capacity there. */
    const Lane off = (t[OVEN_WOOL] - (REAL)373.15) * (REAL)(1 / OVEN_BOILING_KELVIN);
    rate[OVEN_WOOL] /= 1 + n->wet[0] * n->per_capacity[OVEN_WOOL] / (1 + off * off);
    rate[OVEN_GIVEN] = given;
    rate[OVEN_LOST] = lost;
}

/* One step of every lane by its own `step`, the watts held. */
static inline void KERNEL(advance)(Batch *b)
{
    Lane at[OVEN_STATES], slope[OVEN_STATES], sum[OVEN_STATES];
    const Lane half = b->step * (REAL)0.5, sixth = b->step * (REAL)(1.0 / 6);
    for (int i = 0; i < OVEN_STATES; i++) at[i] = b->state[i] + half * b->rate[i];
    KERNEL(rates)(&b->network, b->watt, &b->open, at, slope);
    for (int i = 0; i < OVEN_STATES; i++) {
        sum[i] = b->rate[i] + 2 * slope[i];
        at[i] = b->state[i] + half * slope[i];
    }
    KERNEL(rates)(&b->network, b->watt, &b->open, at, slope);
    for (int i = 0; i < OVEN_STATES; i++) {
        sum[i] += 2 * slope[i];
        at[i] = b->state[i] + b->step * slope[i];
    }
    KERNEL(rates)(&b->network, b->watt, &b->open, at, slope);
    for (int i = 0; i < OVEN_STATES; i++) b->next[i] = b->state[i] + sixth * (sum[i] + slope[i]);
    KERNEL(rates)(&b->network, b->watt, &b->open, b->next, b->next_rate);
}

/* The cubic through both ends of a lane's step: a state at `share` (0 to 1) of it. */
static inline double KERNEL(between)(const Batch *b, int l, int i, double share)
{
    const double from = SEEN(b->state[i], l), to = SEEN(b->next[i], l), step = SEEN(b->step, l);
    const double leave = step * SEEN(b->rate[i], l), arrive = step * SEEN(b->next_rate[i], l),
                 rise = to - from;
    return from +
           share * (leave + share * ((3 * rise - 2 * leave - arrive) + share * (leave + arrive - 2 * rise)));
}

/* Where in the step a state passes `level`: the secant between two signs, with the value at an end that stays
 * behind halved (the Illinois variant of the false position; Dowell and Jarratt 1971), so that both ends
 * close in on the root. */
static inline double KERNEL(crossing)(const Batch *b, int l, int i, double level)
{
    double low = 0, high = 1;
    double at_low = SEEN(b->state[i], l) - level, at_high = SEEN(b->next[i], l) - level;
    int stays = 0; /* 1: high has moved last, -1: low */
    for (int round = 0; round < 20 && high - low > 1e-7 && at_high != at_low; round++) {
        const double share = low - at_low * (high - low) / (at_high - at_low);
        const double value = KERNEL(between)(b, l, i, share) - level;
        if ((value < 0) == (at_high < 0)) {
            high = share;
            at_high = value;
            if (stays == 1) at_low /= 2;
            stays = 1;
        } else {
            low = share;
            at_low = value;
            if (stays == -1) at_high /= 2;
            stays = -1;
        }
    }
    return high;
}

/* The earliest thing that a lane's control would do within this step, as a share of it; above 1: nothing. */
static inline double KERNEL(find_switch)(const Batch *b, int l, OvenSwitch *what)
{
    const OvenLane *lane = &b->lane[l];
    const OvenControl *control = &lane->oven->control;
    double first = 2;
    *what = OVEN_SWITCH_NONE;
    const double level = lane->is_calling ? control->off_kelvin : control->on_kelvin;
    const double sign = lane->is_calling ? 1 : -1;
    if (sign * (SEEN(b->next[OVEN_SENSOR], l) - level) >= 0) {
        const bool is_past = sign * (SEEN(b->state[OVEN_SENSOR], l) - level) >= 0;
        first = is_past ? 0 : KERNEL(crossing)(b, l, OVEN_SENSOR, level);
        *what = OVEN_SWITCH_CALL;
    }
    const double limit = lane->is_tripped ? control->reset_kelvin : control->trip_kelvin;
    const double side = lane->is_tripped ? -1 : 1;
    if (side * (SEEN(b->next[OVEN_WALLS], l) - limit) < 0) return first;
    const bool is_past = side * (SEEN(b->state[OVEN_WALLS], l) - limit) >= 0;
    const double share = is_past ? 0 : KERNEL(crossing)(b, l, OVEN_WALLS, limit);
    if (share >= first) return first;
    *what = OVEN_SWITCH_TRIP;
    return share;
}

/* What lies on the sampling grid within the step, written down. */
static inline void KERNEL(sample)(Batch *b, int l, double share, const OvenTerms *terms)
{
    static const OvenNode traced[OVEN_TRACES] = {OVEN_CENTRE, OVEN_SENSOR, OVEN_WALLS};
    OvenLane *lane = &b->lane[l];
    const double step = SEEN(b->step, l), end = b->second[l] + share * step;
    while (lane->sample_count < terms->sample_count) {
        const double due = lane->sample_count * terms->sample_second;
        if (due > end + OVEN_EDGE_SECOND) return;
        const double at = step > 0 ? fmin((due - b->second[l]) / step, 1) : 0;
        for (int k = 0; k < OVEN_TRACES; k++)
            if (lane->run->trace[k])
                lane->run->trace[k][lane->sample_count] =
                    (float)(KERNEL(between)(b, l, (int)traced[k], at) - OVEN_ZERO_CELSIUS);
        for (int e = 0; e < OVEN_HEATS; e++) /* of the step that ends there */
            if (lane->run->watt[e]) lane->run->watt[e][lane->sample_count] = (float)SEEN(b->watt[e], l);
        lane->sample_count++;
    }
}

/* The watts that a lane's elements get from now on; true when they differ from before. */
static inline bool KERNEL(set_watts)(Batch *b, int l)
{
    double watt[OVEN_HEATS];
    oven__watts(&b->lane[l], b->second[l], watt);
    const REAL open = (REAL)(b->lane[l].is_open ? 1 : 0);
    bool is_other = AT(b->open, l) != open;
    AT(b->open, l) = open;
    for (int e = 0; e < OVEN_HEATS; e++) {
        is_other |= AT(b->watt[e], l) != (REAL)watt[e];
        AT(b->watt[e], l) = (REAL)watt[e];
    }
    return is_other;
}

/* A lane at the end of its step, or at the instant in it at which its control switched. */
static inline bool KERNEL(settle)(Batch *b, int l, const OvenTerms *terms)
{
    OvenSwitch what;
    OvenLane *lane = &b->lane[l];
    const double step = AT(b->step, l);
    if (step <= 0) return false;
    const double share = fmin(KERNEL(find_switch)(b, l, &what), 1);
    KERNEL(sample)(b, l, share, terms);
    if (what != OVEN_SWITCH_NONE && share < 1)
        for (int i = 0; i < OVEN_STATES; i++) {
            const REAL there = (REAL)KERNEL(between)(b, l, i, share);
            AT(b->next[i], l) = there;
        }
    AT(b->step, l) = (REAL)(share * step);
    b->second[l] += share * step;
    oven__switch(lane, what, b->second[l], terms);
    return KERNEL(set_watts)(b, l);
}

/* All lanes one step on, each to its own next instant. False when all have arrived. */
static inline bool KERNEL(go_on)(Batch *b, const OvenTerms *terms)
{
    bool is_going = false, is_switched = false;
    for (int l = 0; l < LANES; l++) {
        const double step = oven__step(&b->lane[l], b->second[l], terms);
        is_going |= step > 0;
        AT(b->step, l) = (REAL)step;
    }
    if (!is_going) return false;
    KERNEL(advance)(b);
    Lane before[OVEN_RADIANT], counted = {0};
    for (int i = 0; i < OVEN_RADIANT; i++) before[i] = b->state[i] * b->state[i] * b->state[i] * b->state[i];
    for (int l = 0; l < LANES; l++) {
        const bool counts = b->second[l] >= terms->mean_from_second;
        is_switched |= KERNEL(settle)(b, l, terms);
        AT(counted, l) = counts ? AT(b->step, l) * (REAL)0.5 : 0;
    }
    for (int i = 0; i < OVEN_RADIANT; i++) {
        const Lane after = b->next[i] * b->next[i] * b->next[i] * b->next[i];
        b->fourth[i] += counted * (before[i] + after);
    }
    memcpy(b->state, b->next, sizeof b->state);
    memcpy(b->rate, b->next_rate, sizeof b->rate);
    if (is_switched) KERNEL(rates)(&b->network, b->watt, &b->open, b->state, b->rate);
    return true;
}

static inline void KERNEL(load)(Batch *b, const Oven *const *ovens, OvenRun *runs, int count,
                                const OvenTerms *terms)
{
    memset(b, 0, sizeof *b);
    for (int l = 0; l < LANES; l++) {
        const Oven *oven = ovens[l < count ? l : 0]; /* spare lanes repeat the first, unseen */
        const double *from = (const double *)&oven->network;
        Lane *to = (Lane *)&b->network;
        for (size_t i = 0; i < sizeof oven->network / sizeof *from; i++) AT(to[i], l) = (REAL)from[i];
        oven__start(&b->lane[l], oven, l < count ? &runs[l] : NULL, terms);
        for (int i = 0; i < OVEN_NODES; i++)
            AT(b->state[i], l) =
                (REAL)((i == OVEN_RACK || i == OVEN_CORE ? terms->load_celsius : terms->start_celsius) +
                       OVEN_ZERO_CELSIUS);
        KERNEL(set_watts)(b, l);
    }
    KERNEL(rates)(&b->network, b->watt, &b->open, b->state, b->rate);
}

/* `count` ovens, at most LANES, from cold to the end. */
static void KERNEL(run)(const Oven *const *ovens, OvenRun *runs, int count, const OvenTerms *terms)
{
    Batch b;
    assert(count >= 1 && count <= LANES);
    KERNEL(load)(&b, ovens, runs, count, terms);
    while (KERNEL(go_on)(&b, terms)) {
    }
    for (int l = 0; l < count; l++) {
        for (int i = 0; i < OVEN_RADIANT; i++)
            runs[l].mean_fourth[i] = AT(b.fourth[i], l) / (terms->second - terms->mean_from_second);
        for (int i = 0; i < OVEN_NODES; i++) runs[l].end_celsius[i] = AT(b.state[i], l) - OVEN_ZERO_CELSIUS;
        runs[l].given_joule = AT(b.state[OVEN_GIVEN], l);
        runs[l].lost_joule = AT(b.state[OVEN_LOST], l);
        runs[l].switch_count = b.lane[l].switch_count;
    }
}

#undef AT
#undef SEEN
#undef ROOT
#undef SIZE
#undef Lane
#undef Network
#undef Batch
