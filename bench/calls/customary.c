/* customary.c: two technicians without a computer.
 *
 * The customary order is the same whatever the owner says: supply; broil and bake by hand-warmth; power off,
 * panel off, both elements for continuity; then, with a thermostat, its bulb, its calibration, contacts and
 * wiring; with a control, sensor, plug and harness, the displayed offset, wiring, and the control by
 * elimination. A lamp or a fan that the owner names comes first. The first thing that fails is mended and
 * proved.
 *
 * The seasoned technician reasons from what the owner says and from what works:
 *
 * The order is best ordinary practice as the trade's handbooks and teachers tell it; every threshold here is
 * common practice, no source:
 *
 *   1  the owner says that metal tingles or the breaker trips: everything dead first; ground, insulation of
 *      the elements; nothing is switched on before
 *   2  nothing heats or the display is blank: the breaker, then the supply at the terminal block
 *   3  watch: the display, each element in its function, lamp and fan where the owner named them
 *   4  an element that stays dark: it and what lies between it and the mains, less what a working element
 *      proves good, by continuity from the element outwards; the part that fails is replaced, and proved
 *   5  all heat: what the owner says decides. 'Heats when off': contacts that do not open. Too cool, too hot,
 *      swings, slow, uneven: a look into the cavity (bulb or sensor, gasket, door, vent, foil), then a run.
 * Off by a steady amount: with a control first its sensor, plug and harness; then calibration, and what
 * cannot be calibrated is replaced. Anything else: sensor, contacts and selector, wiring 6  a run within
 * limits, nothing seen: the owner is told how the oven is used, and the call is closed 7  what is still wrong
 * at the end of the list: the control, or thermostat and selector, by elimination; then somebody else is
 * asked
 *
 * A fair opponent: every reading is judged against the healthy band with tolerance and meter, as the program
 * itself would have it; a failed reading is taken once more before a part is bought for it, and a door that
 * looks bad is tried with paper; what has been measured is not measured again; what works is reasoned from;
 * looks that need a cool oven come before runs; a lamp or a fan is proved by its light or its turning, not by
 * a run.
 *
 * Bad at: what only a number tells. It does not weigh a part's price against its chance. */
#include "customs.h"

#include <assert.h>
#include <math.h>

enum { MOST_PARTS = 128, MOST_WATCHED = 16, MOST_OF_ONE = 2 };

/* One call on its way down the list. */
typedef struct {
    Technician *technician;
    Customs *customs;
    const Appliance *appliance;
    Error *error;
    bool has_failed;                     /* the program, not the oven */
    signed char seen[WORLD_MOST_CHECKS]; /* 1 sound, -1 not, 0 not looked at */
    int mended[MOST_PARTS];              /* how often */
    bool is_adjusted;
    int watched[MOST_WATCHED], watched_count; /* what was dark and must come to life */
    bool has_run;                             /* since the last repair */
    RunSign sign;                             /* of the last run */
    const Run *run;
} Round;

static bool is_over(const Round *round)
{
    return round->has_failed || technician_is_done(round->technician) ||
           round->technician->books.checks + round->technician->books.repairs > TECHNICIAN_MOST_STEPS;
}

static bool says(const Round *round, const char *word)
{
    const int number = kind_find_complaint(round->appliance->catalogue, word);
    const Entry *complaint = &round->technician->entries[0];
    for (int i = 0; i < complaint->word_count; i++)
        if (complaint->words[i] == number) return true;
    return false;
}

static bool says_any(const Round *round, const char *const *words)
{
    for (; *words; words++)
        if (says(round, *words)) return true;
    return false;
}

/* --- one check, one repair --- */

static bool look_once(Round *round, int check)
{
    bool sound = true;
    if (!technician_check(round->technician, check, round->error) ||
        !customs_is_sound(round->customs, check, technician_last(round->technician), &sound, round->error))
        round->has_failed = true;
    return sound;
}

/* What cannot be checked, and what may not be while nothing is to be switched on, counts as sound. */
static bool is_sound(Round *round, int check)
{
    if (check < 0 || is_over(round)) return true;
    const Check *asked = &round->appliance->checks[check];
    if (asked->power_on && round->technician->is_barred) return true;
    if (round->seen[check]) return round->seen[check] > 0;
    bool sound = look_once(round, check);
    if (!sound && asked->from >= 0) sound = look_once(round, check);
    round->seen[check] = sound ? 1 : -1;
    return sound;
}

/* What was wrong may be right now. */
static void forget(Round *round)
{
    round->has_run = false;
    for (int c = 0; c < round->appliance->check_count; c++)
        if (round->seen[c] < 0) round->seen[c] = 0;
}

/* A new part that measures no better is replaced once more. False when that was done before. */
static bool mend(Round *round, int part)
{
    const int bought = round->appliance->parts[part].replaced_with;
    if (is_over(round) || round->mended[bought] == MOST_OF_ONE) return false;
    round->mended[bought]++;
    technician_replace(round->technician, bought);
    forget(round);
    return true;
}

static void adjust(Round *round, int part, double kelvin)
{
    technician_adjust(round->technician, part, kelvin);
    forget(round);
}

static bool has_mended(const Round *round) { return round->technician->books.repairs > 0; }

/* An oven is let be within 25 F of what is set; within 15 F at first if the owner complains of just that. */
static double allowed_kelvin(const Round *round)
{
    static const char *const steady[] = {"too-cool", "too-hot", NULL};
    return says_any(round, steady) && !has_mended(round) ? 8 : 14;
}

static RunSign run_once(Round *round)
{
    if (!round->has_run && !is_over(round)) {
        round->has_failed |= !technician_run(round->technician, round->error);
        round->has_run = !round->has_failed;
        if (round->has_run) round->run = technician_last(round->technician)->run;
        if (round->has_run)
            round->sign = customs_judge_run(round->customs, round->run, allowed_kelvin(round));
    }
    return round->sign;
}

/* What was dark must come to life, then the oven must hold its temperature; then the call is closed. True
 * when it is over. */
static bool prove(Round *round)
{
    for (int i = 0; i < round->watched_count; i++)
        if (!is_sound(round, round->watched[i])) return is_over(round);
    if (!is_over(round) && run_once(round) == RUN_SOUND) technician_close(round->technician);
    return is_over(round);
}

/* True when that ended the call. */
static bool mend_and_prove(Round *round, int part) { return mend(round, part) && prove(round); }

static bool test_branch(Round *round, int branch)
{
    if (is_sound(round, customs_test_of(round->customs, branch))) return is_over(round);
    return mend_and_prove(round, round->appliance->branches[branch].part);
}

/* A bulb goes back on its clip; what cannot be put right is replaced. */
static void put_right(Round *round, int part, int word)
{
    const PartKind *kind = round->appliance->parts[part].kind;
    for (int m = 0; m < kind->mode_count; m++)
        for (int s = 0; s < kind->modes[m].sign_count; s++)
            if (kind->modes[m].signs[s].look == word && kind->modes[m].adjust_second > 0) {
                adjust(round, part, NAN);
                return;
            }
    mend(round, part);
}

/* Nobody replaces a door or its gasket for its looks that holds a strip of paper all round. */
static bool holds_paper(Round *round, int part)
{
    const char *kind = round->appliance->parts[part].kind->name;
    bool holds = false;
    if (!text_equal(kind, "gasket") && !text_equal(kind, "door")) return false;
    for (int c = 0; c < round->appliance->check_count && !holds; c++)
        holds = round->appliance->checks[c].kind == CHECK_STRIP && is_sound(round, c);
    return holds;
}

/* A look at every part of that kind; what is seen to be wrong is put right. */
static void see(Round *round, const char *kind)
{
    for (int p = 0; p < round->appliance->part_count && !is_over(round); p++) {
        if (!text_equal(round->appliance->parts[p].kind->name, kind)) continue;
        const int check = customs_find(round->customs, CHECK_SIGHT, p);
        if (check < 0 || round->seen[check] || is_sound(round, check) || is_over(round)) continue;
        const int word = technician_last(round->technician)->words[0];
        if (!holds_paper(round, p) && !is_over(round)) put_right(round, p, word);
    }
}

/* --- 1: danger --- */

static void check_danger(Round *round)
{
    static const char *const words[] = {"tingles", "trips-breaker", NULL};
    const Appliance *appliance = round->appliance;
    if (!says_any(round, words)) return;
    round->technician->is_barred = true;
    for (int c = 0; c < appliance->check_count; c++) {
        const Check *check = &appliance->checks[c];
        if (check->kind == CHECK_OHM && check->from == appliance->neutral && check->to == appliance->frame &&
            !is_sound(round, c))
            mend(round, check->part);
    }
    for (int p = 0; p < appliance->part_count; p++)
        if (customs_find_insulation(round->customs, p) >= 0 &&
            !is_sound(round, customs_find_insulation(round->customs, p)))
            mend(round, p);
    for (int p = 0; p < appliance->part_count; p++)
        if (text_equal(appliance->parts[p].kind->name, "cord") ||
            text_equal(appliance->parts[p].kind->name, "terminal-block"))
            for (int b = appliance->parts[p].first_branch;
                 b < appliance->parts[p].first_branch + appliance->parts[p].branch_count; b++)
                if (!is_sound(round, customs_test_of(round->customs, b))) mend(round, p);
    round->technician->is_barred = false;
    if (has_mended(round)) (void)prove(round);
}

/* --- 2: supply --- */

static bool is_supply_sound(Round *round)
{
    const Appliance *appliance = round->appliance;
    const int marks[3] = {appliance->legs[0], appliance->legs[1], appliance->neutral};
    for (int i = 0; i < 3; i++)
        for (int k = i + 1; k < 3; k++)
            if (marks[i] >= 0 && marks[k] >= 0 &&
                !is_sound(round, customs_find_volt(round->customs, marks[i], marks[k])))
                return false;
    return true;
}

static bool test_ways(Round *round, const char *kind)
{
    for (int p = 0; p < round->appliance->part_count; p++) {
        const Part *part = &round->appliance->parts[p];
        if (!text_equal(part->kind->name, kind)) continue;
        for (int b = part->first_branch; b < part->first_branch + part->branch_count; b++)
            if (test_branch(round, b)) return true;
    }
    return is_over(round);
}

static int part_of_role(const Round *round, const char *role)
{
    for (int p = 0; p < round->appliance->part_count; p++)
        if (appliance_part_has_role(round->appliance, p, role)) return p;
    return -1;
}

/* Volts where the house feeds the breaker. */
static bool is_house_sound(Round *round, int breaker)
{
    for (int c = 0; c < round->appliance->check_count; c++) {
        const Check *check = &round->appliance->checks[c];
        if (check->kind == CHECK_VOLT && check->part == breaker && check->function == 0 &&
            !is_sound(round, c))
            return false;
    }
    return true;
}

/* What lies between the house and the block, then the breaker or the house itself. */
static void check_supply(Round *round)
{
    const int breaker = part_of_role(round, "breaker"), house = part_of_role(round, "supply");
    if (is_over(round)) return;
    see(round, "breaker");
    if (is_supply_sound(round)) return;
    if (test_ways(round, "terminal-block") || test_ways(round, "cord")) return;
    if (breaker >= 0 && is_house_sound(round, breaker) && mend_and_prove(round, breaker)) return;
    if (!is_supply_sound(round) && house >= 0) (void)mend_and_prove(round, house);
}

static void check_supply_if_said(Round *round)
{
    static const char *const words[] = {"no-heat", "display-blank", NULL};
    if (says_any(round, words)) check_supply(round);
}

/* --- 3 and 4: watch, and what stays dark --- */

/* In the function in which the branch first has power; what is not watched is taken as working. */
static int watch_of(const Round *round, int branch)
{
    const int part = round->appliance->branches[branch].part,
              function = customs_function_of(round->customs, branch);
    for (int c = 0; c < round->appliance->check_count; c++) {
        const Check *check = &round->appliance->checks[c];
        if (check->kind == CHECK_WATCH && check->part == part && check->function == function) return c;
    }
    return -1;
}

static bool is_in(const Chain *chain, int branch)
{
    for (int i = 0; i < chain->count; i++)
        if (chain->branches[i] == branch) return true;
    return false;
}

/* Every branch with power of parts of this sort, watched. */
typedef struct {
    int branches[CUSTOMS_MOST_HEATS], count;
    bool works[CUSTOMS_MOST_HEATS];
} Watched;

static void watch(Round *round, int branch, Watched *watched)
{
    const int check = watch_of(round, branch);
    if (check < 0 || watched->count == CUSTOMS_MOST_HEATS || is_over(round)) return;
    const bool works = is_sound(round, check);
    watched->works[watched->count] = works;
    watched->branches[watched->count++] = branch;
    if (!works && round->watched_count < MOST_WATCHED) round->watched[round->watched_count++] = check;
}

static void watch_heats(Round *round, Watched *watched)
{
    const ThermalModel *thermal = &round->customs->model->thermal;
    for (int i = 0; i < thermal->heater_count; i++) watch(round, thermal->heaters[i], watched);
}

/* What also feeds something that works is good. */
static bool is_proved_good(const Round *round, const Watched *watched, int branch)
{
    Chain good;
    for (int w = 0; w < watched->count; w++) {
        if (!watched->works[w]) continue;
        customs_chain(round->customs, watched->branches[w],
                      customs_function_of(round->customs, watched->branches[w]), &good);
        if (is_in(&good, branch)) return true;
    }
    return false;
}

/* From the load outwards until it comes to life. */
static void follow_chain(Round *round, Watched *watched, int dark)
{
    Chain chain;
    const int branch = watched->branches[dark], watch = watch_of(round, branch);
    customs_chain(round->customs, branch, customs_function_of(round->customs, branch), &chain);
    for (int i = 0; i < chain.count && !is_over(round) && !watched->works[dark]; i++) {
        if (is_proved_good(round, watched, chain.branches[i])) continue;
        while (!watched->works[dark] &&
               !is_sound(round, customs_test_of(round->customs, chain.branches[i])) &&
               mend(round, round->appliance->branches[chain.branches[i]].part))
            watched->works[dark] = watch >= 0 && is_sound(round, watch);
    }
}

static bool are_all_dark(const Watched *watched)
{
    for (int i = 0; i < watched->count; i++)
        if (watched->works[i]) return false;
    return watched->count > 0;
}

/* A control without a display: is there voltage at it? Then it is the control. */
static void check_control(Round *round)
{
    const Appliance *appliance = round->appliance;
    if (appliance->control < 0) return;
    const int display = customs_find(round->customs, CHECK_WATCH, appliance->control);
    if (display < 0 || is_sound(round, display)) return;
    if (round->watched_count < MOST_WATCHED) round->watched[round->watched_count++] = display;
    check_supply(round);
    if (is_over(round) || is_sound(round, display)) return;
    Watched alone = {.branches = {appliance->control_power}, .count = 1};
    if (appliance->control_power >= 0 &&
        !is_sound(round, customs_find(round->customs, CHECK_VOLT, appliance->control)))
        follow_chain(round, &alone, 0);
    if (!is_sound(round, display)) mend(round, appliance->control);
}

/* Everything between sensor and control. */
static bool test_sensor(Round *round)
{
    const Appliance *appliance = round->appliance;
    if (appliance->control < 0) return is_over(round);
    for (int b = 0; b < appliance->branch_count && !is_over(round); b++) {
        const char *kind = appliance->parts[appliance->branches[b].part].kind->name;
        const bool is_loop = appliance->branches[b].type == BRANCH_SENSOR || text_equal(kind, "plug") ||
                             text_equal(kind, "harness");
        if (is_loop && test_branch(round, b)) return true;
    }
    return is_over(round);
}

/* A control that drives the element but does not close its contact is found last, by elimination. */
static void check_heats(Round *round)
{
    Watched watched = {.count = 0};
    check_control(round);
    watch_heats(round, &watched);
    if (are_all_dark(&watched)) {
        if (round->appliance->control >= 0)
            (void)test_sensor(round); /* a control that refuses it heats nothing */
        check_supply(round);
    }
    for (int i = 0; i < watched.count && !is_over(round); i++)
        if (!watched.works[i] && !is_sound(round, watch_of(round, watched.branches[i])))
            follow_chain(round, &watched, i);
    if (has_mended(round)) (void)prove(round);
}

/* A new lamp is at hand; so is a fan that has its voltage. True when the lamp or fan works again. */
static bool revive(Round *round, int branch, bool replaces_first)
{
    Watched watched = {.branches = {branch}, .count = 1};
    const int watch = watch_of(round, branch), part = round->appliance->branches[branch].part;
    if (replaces_first && mend(round, part) && is_sound(round, watch)) return true;
    follow_chain(round, &watched, 0);
    return watched.works[0] || (round->mended[part] == 0 && mend(round, part) && is_sound(round, watch));
}

/* Lamp and fan are looked at only where the owner's words (the first one names it) point there; named alone
 * they need no run. */
static void check_small(Round *round, const char *const *words, const char *role)
{
    const Appliance *appliance = round->appliance;
    if (is_over(round) || !says_any(round, words)) return;
    bool is_alone = round->technician->entries[0].word_count == 1 && says(round, words[0]),
         has_revived = false;
    for (int b = 0; b < appliance->branch_count && !is_over(round); b++) {
        if (!appliance_part_has_role(appliance, appliance->branches[b].part, role)) continue;
        if (watch_of(round, b) < 0 || is_sound(round, watch_of(round, b))) continue;
        const bool works = revive(round, b, text_equal(role, "lamp"));
        has_revived |= works;
        is_alone &= works;
    }
    if (is_alone && has_revived && !is_over(round)) technician_close(round->technician);
}

/* --- 5: it heats, but not as it should --- */

/* Thermostat, selector and relays: all that may hang. */
static bool test_contacts_open(Round *round)
{
    for (int b = 0; b < round->appliance->branch_count && !is_over(round); b++) {
        const char *kind = round->appliance->parts[round->appliance->branches[b].part].kind->name;
        if (!text_equal(kind, "thermostat") && !text_equal(kind, "selector") && !text_equal(kind, "relay"))
            continue;
        if (!is_sound(round, customs_test_open(round->customs, b)) &&
            mend_and_prove(round, round->appliance->branches[b].part))
            return true;
    }
    return is_over(round);
}

static bool test_heat_chains(Round *round)
{
    Chain chain;
    const ThermalModel *thermal = &round->customs->model->thermal;
    for (int i = 0; i < thermal->heater_count && !is_over(round); i++) {
        customs_chain(round->customs, thermal->heaters[i],
                      customs_function_of(round->customs, thermal->heaters[i]), &chain);
        for (int k = 0; k < chain.count; k++)
            if (test_branch(round, chain.branches[k])) return true;
    }
    return is_over(round);
}

static void look_into_cavity(Round *round)
{
    static const char *const kinds[] = {"use", "thermostat", "rtd", "gasket", "door", "vent"};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) see(round, kinds[i]);
}

/* Without a reading that says so, nothing is replaced twice. */
static bool try_new(Round *round, int part)
{
    const int bought = part < 0 ? -1 : round->appliance->parts[part].replaced_with;
    return bought >= 0 && round->mended[bought] == 0 && mend_and_prove(round, bought);
}

/* What the last run missed; where it ended, if it has no mean. */
static double run_error(const Round *round)
{
    const Run *run = round->run;
    if (!run) return NAN;
    return isfinite(run->error_kelvin.value) ? run->error_kelvin.value : run->end_celsius - WORLD_SET_CELSIUS;
}

/* By how much the run was off goes into the setting, if the setting goes so far; once. */
static bool turn(Round *round, int part)
{
    const DescribedRegulation *regulation = &round->appliance->description->regulation;
    const double wanted = -run_error(round);
    if (is_over(round) || round->is_adjusted || !(wanted >= regulation->offset_from_kelvin) ||
        !(wanted <= regulation->offset_to_kelvin))
        return is_over(round);
    round->is_adjusted = true;
    adjust(round, part, wanted);
    return prove(round);
}

/* What cannot be calibrated is replaced, and the new one calibrated. */
static bool calibrate(Round *round)
{
    const Appliance *appliance = round->appliance;
    const int senses = appliance_find_part(appliance, appliance->description->regulation.senses);
    const int part = appliance->control >= 0 ? appliance->control : senses;
    if (part < 0) return is_over(round);
    return turn(round, part) || try_new(round, part) || (round->sign == RUN_OFF && turn(round, part));
}

/* An offset that somebody set goes back to none. */
static bool reset_offset(Round *round)
{
    const int control = round->appliance->control;
    if (control < 0 || is_sound(round, customs_find(round->customs, CHECK_OFFSET, control)))
        return is_over(round);
    adjust(round, control, NAN);
    return prove(round);
}

static bool mend_regulation(Round *round)
{
    const Appliance *appliance = round->appliance;
    const int senses = appliance_find_part(appliance, appliance->description->regulation.senses);
    return try_new(round, senses) || try_new(round, appliance->control) || is_over(round);
}

/* A run that is not as it should be. */
static void follow_run(Round *round)
{
    switch (round->sign) {
    case RUN_OFF:
        if (!reset_offset(round) && !test_sensor(round)) (void)calibrate(round);
        return;
    case RUN_WIDE:
        if (!test_sensor(round)) (void)mend_regulation(round);
        return;
    case RUN_HOT:
        if (!test_contacts_open(round) && !reset_offset(round) && !test_sensor(round))
            (void)mend_regulation(round);
        return;
    case RUN_COLD:
    case RUN_SLOW:
        if (!test_heat_chains(round) && !test_sensor(round)) check_supply(round);
        see(round, "insulation");
        if (!round->has_run) (void)prove(round);
        return;
    default: return;
    }
}

static void advise_and_close(Round *round)
{
    for (int p = 0; p < round->appliance->part_count; p++)
        if (text_equal(round->appliance->parts[p].kind->name, "use")) mend(round, p);
    if (!is_over(round)) technician_close(round->technician);
}

static void check_temperature(Round *round)
{
    static const char *const hangs[] = {"stays-on", "too-hot", "smells-burnt", NULL};
    if (is_over(round)) return;
    if (says(round, "stays-on") && test_contacts_open(round)) return;
    if (says(round, "error-code") && test_sensor(round)) return;
    if (!round->has_run) look_into_cavity(round);
    if (run_once(round) != RUN_SOUND) follow_run(round);
    if (is_over(round) || run_once(round) != RUN_SOUND) return;
    if (says_any(round, hangs) && test_contacts_open(round)) return;
    for (int i = 0; i < round->watched_count; i++)
        if (!is_sound(round, round->watched[i])) return;
    if (!is_over(round)) advise_and_close(round);
}

/* --- 7: elimination --- */

static void eliminate(Round *round)
{
    const Appliance *appliance = round->appliance;
    bool is_dark = false;
    for (int i = 0; i < round->watched_count && !is_over(round); i++)
        is_dark |= !is_sound(round, round->watched[i]);
    const bool is_regulation =
        is_dark || (round->has_run && round->sign != RUN_SOUND && round->sign != RUN_SLOW);
    if (is_over(round) || (is_regulation && mend_regulation(round))) return;
    for (int p = 0; is_dark && p < appliance->part_count; p++)
        if (text_equal(appliance->parts[p].kind->name, "selector") && try_new(round, p)) return;
}

bool policy_seasoned(Technician *technician, Customs *customs, Error *error)
{
    static const char *const dark[] = {"light-out", NULL}, *const silent[] = {"fan-silent", "uneven", NULL},
                             *const heat[] = {"no-heat",       "no-bake",    "no-broil",
                                              "display-blank", "error-code", NULL};
    Round round = {
        .technician = technician, .customs = customs, .appliance = technician->appliance, .error = error};
    assert(round.appliance->part_count <= MOST_PARTS);
    check_danger(&round);
    check_supply_if_said(&round);
    const bool is_heat_first = says_any(&round, heat);
    if (is_heat_first) check_heats(&round);
    check_small(&round, dark, "lamp");
    check_small(&round, silent, "fan");
    if (!is_heat_first) check_heats(&round);
    check_temperature(&round);
    eliminate(&round);
    if (!round.has_failed && !technician_is_done(technician)) technician_hand_over(technician);
    return !round.has_failed;
}

/* --- the same for everyone --- */

static bool test_elements(Round *round)
{
    const ThermalModel *thermal = &round->customs->model->thermal;
    for (int i = 0; i < thermal->heater_count && !is_over(round); i++)
        if (test_branch(round, thermal->heaters[i])) return true;
    return is_over(round);
}

/* With a thermostat calibration needs a run; with a control, the sensor's loop and the offset come before it.
 */
static bool test_regulation(Round *round)
{
    if (round->appliance->control >= 0) {
        if (test_sensor(round) || reset_offset(round)) return true;
    } else {
        see(round, "thermostat");
    }
    if (run_once(round) == RUN_OFF && calibrate(round)) return true;
    return is_over(round);
}

static void take_fixed_order(Round *round)
{
    static const char *const dark[] = {"light-out", NULL}, *const silent[] = {"fan-silent", NULL};
    Watched watched = {.count = 0};
    check_danger(round);
    check_small(round, dark, "lamp");
    check_small(round, silent, "fan");
    check_supply(round);
    watch_heats(round, &watched);
    if (test_elements(round) || test_regulation(round)) return;
    for (int i = 0; i < watched.count && !is_over(round); i++)
        if (!watched.works[i] && !is_sound(round, watch_of(round, watched.branches[i])))
            (void)test_heat_chains(round);
    if (is_over(round)) return;
    look_into_cavity(round);
    check_temperature(round);
    eliminate(round);
}

bool policy_customary(Technician *technician, Customs *customs, Error *error)
{
    Round round = {
        .technician = technician, .customs = customs, .appliance = technician->appliance, .error = error};
    assert(round.appliance->part_count <= MOST_PARTS);
    take_fixed_order(&round);
    if (!round.has_failed && !technician_is_done(technician)) technician_hand_over(technician);
    return !round.has_failed;
}
