/* kernel_private.h: the oven's steps in time, for as many ovens side by side as a vector has lanes.
 *
 * Lives here: one Runge-Kutta step, the instants at which a control switches, samples. Not here: the heat
 * balance (balance_private.h), who chooses the width of the vector, what a control does next (simulate.c).
 *
 *     lane     0   1   2   3   4   5   6   7        each lane is an oven of its own with a clock of its own:
 *     clock  |--|---|---|--|---|---|---|---|        one that switches stops its step there, the others go on
 *
 * Method: the classical Runge-Kutta method of order 4 (Kutta 1901; Hairer, Norsett, Wanner, Solving Ordinary
 * Differential Equations I, table 1.2), its third slope and the slope at the end from the tangents of the one
 * before, which are taken at the same instant and lie a second order away; between two instants the cubic
 * Hermite polynomial through both ends (ibid., II.6), of order 3 like the local error of a step. A switching
 * instant is a root of that polynomial, and the oven at that instant is its value there, so no step is done
 * twice. What all lanes do in every step is written for all lanes at once; what a lane does now and then,
 * lane by lane.
 *
 * Invariants: (1) between two instants of a lane its watts do not change; (2) no lane's step passes an
 * instant at which its duty pattern or its door moves; (3) what goes in less what goes out is what is stored;
 * (4) no lane's numbers depend on those of another.
 *
 * Bad at: a control that switches on and off again within one step of a few seconds: it is not seen. */
#include "core/oven/balance_private.h"

/* Everything that runs: one oven a lane. */
typedef struct {
    Network network;
    Tangents tangents;
    Lane room[4][OVEN_STATES];
    Lane *state, *rate, *next, *next_rate; /* now, at the end of the step: change places with every step */
    Lane watt[OVEN_HEATS], open, step;
    Lane level[OVEN_WATCHED], side[OVEN_WATCHED]; /* a control switches once side * (kelvin - level) >= 0 */
    Lane fourth[OVEN_RADIANT]; /* integral of the fourth power of the nodes' temperatures, K4 s */
    double second[LANES], until[LANES], stride[LANES]; /* now; where a clock next stops it; largest step */
    double due[LANES];                                 /* the next sample; infinite: none */
    OvenLane lane[LANES];
    bool is_traced[OVEN_TRACES]; /* by any lane */
} KERNEL(Batch);
#define Batch KERNEL(Batch)

/* One step of every lane by its own `step`, the watts held. */
static inline void KERNEL(advance)(Batch *b)
{
    Lane at[OVEN_STATES], slope[OVEN_STATES], sum[OVEN_STATES];
    const Lane half = b->step * (REAL)0.5, sixth = b->step * (REAL)(1.0 / 6);
    for (int i = 0; i < OVEN_STATES; i++) at[i] = b->state[i] + half * b->rate[i];
    KERNEL(rates)(&b->network, b->watt, &b->open, at, &b->tangents, slope);
    for (int i = 0; i < OVEN_STATES; i++) {
        sum[i] = b->rate[i] + 2 * slope[i];
        at[i] = b->state[i] + half * slope[i];
    }
    KERNEL(rates_nearby)(&b->network, b->watt, &b->open, at, &b->tangents, slope);
    for (int i = 0; i < OVEN_STATES; i++) {
        sum[i] += 2 * slope[i];
        at[i] = b->state[i] + b->step * slope[i];
    }
    KERNEL(rates)(&b->network, b->watt, &b->open, at, &b->tangents, slope);
    for (int i = 0; i < OVEN_STATES; i++) b->next[i] = b->state[i] + sixth * (sum[i] + slope[i]);
    KERNEL(rates_nearby)(&b->network, b->watt, &b->open, b->next, &b->tangents, b->next_rate);
}

/* The cubic through both ends of every lane's step, at `share` (0 to 1) of it. */
static inline Lane KERNEL(between_all)(const Batch *b, int i, Lane share)
{
    const Lane leave = b->step * b->rate[i], arrive = b->step * b->next_rate[i],
               rise = b->next[i] - b->state[i];
    return b->state[i] +
           share * (leave + share * ((3 * rise - 2 * leave - arrive) + share * (leave + arrive - 2 * rise)));
}

/* The same of one lane, in double precision. */
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
        if (value == 0) return share;
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

/* The earliest thing that a lane's control does within this step, as a share of it; above 1: nothing. */
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

/* Has a control of any lane switched by the end of the step? */
static inline bool KERNEL(is_any_past)(const Batch *b)
{
    const Lane sensor = b->side[OVEN_CALLS] * (b->next[OVEN_SENSOR] - b->level[OVEN_CALLS]);
    const Lane walls = b->side[OVEN_TRIPS] * (b->next[OVEN_WALLS] - b->level[OVEN_TRIPS]);
#if LANES == 1
    return sensor >= 0 || walls >= 0;
#else
    const KERNEL(Bits) past = (KERNEL(Bits))((sensor >= 0) | (walls >= 0));
    uint64_t words[sizeof past / sizeof(uint64_t)], any = 0;
    memcpy(words, &past, sizeof past);
    for (size_t w = 0; w < sizeof words / sizeof *words; w++) any |= words[w];
    return any != 0;
#endif
}

/* What lies on the sampling grid before `end` of every lane, written down. */
static inline void KERNEL(sample)(Batch *b, const double *end, const OvenTerms *terms)
{
    static const OvenNode traced[OVEN_TRACES] = {OVEN_CENTRE, OVEN_SENSOR, OVEN_WALLS};
    for (;;) {
        bool is_due[LANES], is_any = false;
        REAL at[LANES];
        Lane share;
        for (int l = 0; l < LANES; l++) {
            const double way = (b->due[l] - b->second[l]) / (double)AT(b->step, l);
            is_due[l] = b->due[l] <= end[l] + OVEN_EDGE_SECOND;
            at[l] = (REAL)(way < 1 ? way : 1);
            is_any |= is_due[l];
        }
        if (!is_any) return;
        memcpy(&share, at, sizeof share);
        for (int k = 0; k < OVEN_TRACES; k++) {
            if (!b->is_traced[k]) continue;
            const Lane celsius = KERNEL(between_all)(b, (int)traced[k], share) - (REAL)OVEN_ZERO_CELSIUS;
            for (int l = 0; l < LANES; l++)
                if (is_due[l] && b->lane[l].run->trace[k])
                    b->lane[l].run->trace[k][b->lane[l].sample_count] = (float)SEEN(celsius, l);
        }
        for (int l = 0; l < LANES; l++) {
            OvenLane *lane = &b->lane[l];
            if (!is_due[l]) continue;
            for (int e = 0; e < OVEN_HEATS; e++) /* of the step that ends there */
                if (lane->run->watt[e]) lane->run->watt[e][lane->sample_count] = (float)AT(b->watt[e], l);
            lane->sample_count++;
            b->due[l] = lane->sample_count < terms->sample_count ? lane->sample_count * terms->sample_second
                                                                 : INFINITY;
        }
    }
}

/* What a lane does next, after something has happened to it. True when its door has moved. */
static inline bool KERNEL(look_ahead)(Batch *b, int l, const OvenTerms *terms)
{
    const OvenLane *lane = &b->lane[l];
    const OvenControl *control = &lane->oven->control;
    double watt[OVEN_HEATS];
    oven__watts(lane, b->second[l], watt);
    for (int e = 0; e < OVEN_HEATS; e++) AT(b->watt[e], l) = (REAL)watt[e];
    AT(b->level[OVEN_CALLS], l) = (REAL)(lane->is_calling ? control->off_kelvin : control->on_kelvin);
    AT(b->side[OVEN_CALLS], l) = lane->is_calling ? 1 : -1;
    AT(b->level[OVEN_TRIPS], l) = (REAL)(lane->is_tripped ? control->reset_kelvin : control->trip_kelvin);
    AT(b->side[OVEN_TRIPS], l) = lane->is_tripped ? -1 : 1;
    b->until[l] = oven__until(lane, b->second[l], terms);
    /* Even steps up to there. */
    const double way = b->until[l] - b->second[l];
    b->stride[l] = way > 0 ? way / ceil(way / oven__longest_step(lane, b->second[l])) : 0;
    const REAL open = lane->is_open ? 1 : 0;
    const bool has_moved = AT(b->open, l) != open;
    AT(b->open, l) = open;
    return has_moved;
}

/* A lane at the instant in its step at which its control switched, or at its end. */
static inline void KERNEL(cut)(Batch *b, int l, double share)
{
    for (int i = 0; i < OVEN_STATES; i++) {
        const REAL there = (REAL)KERNEL(between)(b, l, i, share);
        AT(b->next[i], l) = there;
    }
    AT(b->step, l) = (REAL)(share * (double)AT(b->step, l));
}

/* The slopes of the lanes whose oven is another from here on. */
static inline void KERNEL(renew_rates)(Batch *b, const bool *is_other)
{
    Lane rate[OVEN_STATES];
    KERNEL(rates)(&b->network, b->watt, &b->open, b->next, &b->tangents, rate);
    for (int l = 0; l < LANES; l++)
        for (int i = 0; is_other[l] && i < OVEN_STATES; i++) AT(b->next_rate[i], l) = AT(rate[i], l);
}

/* The lanes that have come to an instant at which something happens. `switches`: what their controls did. */
static inline void KERNEL(settle)(Batch *b, const double *end, const OvenSwitch *switches,
                                  const OvenTerms *terms)
{
    bool is_other[LANES], is_any_other = false;
    Lane before[OVEN_HEATS];
    memcpy(before, b->watt, sizeof before);
    for (int l = 0; l < LANES; l++) {
        is_other[l] = switches[l] != OVEN_SWITCH_NONE;
        if (!is_other[l] && end[l] < b->until[l] - OVEN_EDGE_SECOND) continue;
        oven__switch(&b->lane[l], switches[l], b->second[l], terms);
        is_other[l] |= KERNEL(look_ahead)(b, l, terms);
        is_any_other |= is_other[l];
    }
    for (int e = 0; e < OVEN_HEATS; e++) before[e] = b->watt[e] - before[e];
    KERNEL(add_heat)(&b->network, before, b->next, b->next_rate);
    if (is_any_other) KERNEL(renew_rates)(b, is_other);
}

/* The fourth powers of the step, as far as it lies in the time whose mean is wanted. */
static inline void KERNEL(sum_fourth)(Batch *b, const OvenTerms *terms)
{
    REAL half[LANES];
    Lane weight;
    bool is_any = false;
    for (int l = 0; l < LANES; l++) {
        const double step = (double)AT(b->step, l), past = b->second[l] - terms->mean_from_second;
        half[l] = (REAL)(0.5 * (past <= 0 ? 0 : past < step ? past : step));
        is_any |= past > 0;
    }
    if (!is_any) return;
    memcpy(&weight, half, sizeof weight);
    for (int i = 0; i < OVEN_RADIANT; i++)
        b->fourth[i] += weight * (KERNEL(fourth_power)(b->state[i]) + KERNEL(fourth_power)(b->next[i]));
}

static inline void KERNEL(swap)(Lane **a, Lane **b)
{
    Lane *const kept = *a;
    *a = *b;
    *b = kept;
}

/* All lanes one step on, each to its own next instant. False when all have arrived. */
static inline bool KERNEL(go_on)(Batch *b, const OvenTerms *terms)
{
    REAL step[LANES];
    double end[LANES], furthest = 0;
    OvenSwitch switches[LANES] = {OVEN_SWITCH_NONE};
    bool is_arrived = false;
    for (int l = 0; l < LANES; l++) {
        const double left = b->until[l] - b->second[l], way = b->stride[l] < left ? b->stride[l] : left;
        step[l] = (REAL)way;
        furthest = way > furthest ? way : furthest;
    }
    if (furthest <= 0) return false;
    memcpy(&b->step, step, sizeof b->step);
    KERNEL(advance)(b);
    for (int l = 0; l < LANES; l++) end[l] = b->second[l] + (double)step[l];
    const bool is_switched = KERNEL(is_any_past)(b);
    for (int l = 0; is_switched && l < LANES; l++) {
        const double share = step[l] > 0 ? KERNEL(find_switch)(b, l, &switches[l]) : 2;
        if (share < 1) end[l] = b->second[l] + share * (double)step[l];
    }
    KERNEL(sample)(b, end, terms);
    for (int l = 0; l < LANES; l++) {
        is_arrived |= end[l] >= b->until[l] - OVEN_EDGE_SECOND && step[l] > 0;
        if (switches[l] != OVEN_SWITCH_NONE && end[l] < b->second[l] + (double)step[l])
            KERNEL(cut)(b, l, (end[l] - b->second[l]) / (double)step[l]);
        b->second[l] = end[l];
    }
    KERNEL(sum_fourth)(b, terms);
    if (is_switched || is_arrived) KERNEL(settle)(b, end, switches, terms);
    KERNEL(swap)(&b->state, &b->next);
    KERNEL(swap)(&b->rate, &b->next_rate);
    return true;
}

static inline void KERNEL(load)(Batch *b, const Oven *const *ovens, OvenRun *runs, int count,
                                const OvenTerms *terms)
{
    memset(b, 0, sizeof *b);
    b->state = b->room[0];
    b->rate = b->room[1];
    b->next = b->room[2];
    b->next_rate = b->room[3];
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
        for (int k = 0; k < OVEN_TRACES; k++) b->is_traced[k] |= l < count && runs[l].trace[k] != NULL;
        b->due[l] = l < count && terms->sample_count > 0 ? 0 : INFINITY;
        KERNEL(look_ahead)(b, l, terms);
    }
    KERNEL(rates)(&b->network, b->watt, &b->open, b->state, &b->tangents, b->rate);
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
#undef Tangents
#undef Batch
