/* watch.c: what is seen of a part that is on, from where one stands.
 *
 * Words of power (glows, turns) follow from the computed share of its rated power, on an element from the
 * temperature of its sheath. Before those come what a fault shows whatever the power is (a seized fan is
 * still), and its manner: what a chattering contact feeds comes and goes; what one feeds that welds or lets
 * go late runs on after it was switched off.
 * Not here: signs close up (likelihood.c, glance.c). Numbers in capitals are common practice, no source.
 *
 * Bad at: the manner of elements. A control that pulses them makes a sound one come and go, and a sheath
 * stays hot after it was switched off, so no kind of element has those words. */
#include <assert.h>
#include <math.h>

#include "core/diagnosis/diagnosis_private.h"

static const double SHEATH_KELVIN = 5, SHEATH_SHARE = 0.06; /* how differently people call the same glow */
static const double HAS_POWER = 0.2;                        /* of its rating: so much that one can see it */

static double healthy_share(const DiagnosisModel *model, int part, int function)
{
    const Part *watched = &model->appliance->parts[part];
    double most = 0;
    for (int b = watched->first_branch; b < watched->first_branch + watched->branch_count; b++)
        most = fmax(most, model->power.healthy_share[function * model->appliance->branch_count + b]);
    return most;
}

/* Nobody writes 'set to bake' beside 'the element stays dark'; it was on in whatever function uses it
 * first. */
static int watch_function(const DiagnosisModel *model, int part, int function)
{
    if (function >= 0) return function;
    for (int f = 0; f < model->appliance->function_count; f++)
        if (healthy_share(model, part, f) > HAS_POWER) return f;
    return 0;
}

/* Of several windings or lamps the brightest is what one sees. */
static double share_of(const DiagnosisModel *model, int part, int function, const int *variants, int count)
{
    const Part *watched = &model->appliance->parts[part];
    double most = 0;
    for (int b = watched->first_branch; b < watched->first_branch + watched->branch_count; b++)
        most = fmax(most, circuit_power_share(&model->power, function, b, variants, count));
    return most;
}

/* A contact that chatters is open at times; one that sticks is welded for a while, once it was closed. */
static Manner manner_of(const DiagnosisModel *model, int part, int function, int fault)
{
    const Fault *failed = &model->appliance->faults[fault];
    const EffectType effect = failed->mode->effect,
                     as = effect == EFFECT_CHATTER ? EFFECT_OPEN : EFFECT_CLOSE;
    if (effect != EFFECT_CHATTER && effect != EFFECT_STICK && effect != EFFECT_CLOSE) return MANNER_STEADY;
    const int like = effect == as ? fault : appliance_find_effect(model->appliance, failed->part, as);
    if (like < 0 ||
        (effect == EFFECT_STICK &&
         !appliance_closes(model->appliance, &model->appliance->functions[function], failed->part)))
        return MANNER_STEADY;
    const int variant = model->circuit.first_variant[like];
    if (effect == EFFECT_CHATTER)
        return healthy_share(model, part, function) > HAS_POWER &&
                       share_of(model, part, function, &variant, 1) < HAS_POWER
                   ? MANNER_UNSTEADY
                   : MANNER_STEADY;
    return healthy_share(model, part, 0) < HAS_POWER && share_of(model, part, 0, &variant, 1) > HAS_POWER
               ? MANNER_RUNS_ON
               : MANNER_STEADY;
}

static bool has_manner(const DiagnosisModel *model, int part)
{
    const PartKind *kind = model->appliance->parts[part].kind;
    bool has = false;
    for (int i = 0; i < kind->look_count; i++) {
        const LookWord *look = &model->appliance->catalogue->looks[kind->looks[i]];
        has |= look->unsteady > 0 || look->runs_on > 0;
    }
    return has;
}

/* Of a pair in a check each fault is asked alone, and remembered: pairs are many, and each of their circuits
 * would be solved again. */
Watched diagnosis__watched(DiagnosisModel *model, int check, int part, int function,
                           const Hypothesis *hypothesis)
{
    const int on = watch_function(model, part, function);
    Watched watched = {share_of(model, part, on, hypothesis->variants, hypothesis->count), MANNER_STEADY};
    if (watched.share < HAS_POWER || !has_manner(model, part)) return watched;
    for (int i = 0; i < hypothesis->count; i++) {
        const int fault = model->circuit.variants[hypothesis->variants[i]].fault;
        const Manner manner =
            check >= 0 && hypothesis->count > 1
                ? diagnosis__check_watched(model, check, model->groups[1 + fault].first_hypothesis).manner
                : manner_of(model, part, on, fault);
        if (manner > watched.manner) watched.manner = manner;
    }
    return watched;
}

/* ---- the words */

/* Words of a manner have no band of power. */
static bool has_band(const LookWord *look) { return look->way == LOOK_POWER && look->ratio_to > 0; }

/* The hottest word of power that this kind of part can show holds however hot it is. */
static bool is_hottest(const PartKind *kind, const LookWord *looks, const LookWord *look)
{
    for (int i = 0; i < kind->look_count; i++)
        if (looks[kind->looks[i]].way == LOOK_POWER && looks[kind->looks[i]].ratio_to > look->ratio_to)
            return false;
    return true;
}

/* Which heat of the oven this part is; -1 for lamps, fans and displays. */
static int heat_of(const DiagnosisModel *model, int part)
{
    for (int i = 0; i < model->thermal.heater_count; i++)
        if (model->appliance->branches[model->thermal.heaters[i]].part == part)
            return model->thermal.heat_of[i];
    return -1;
}

/* Chance of a power word of this kind of part: how much of a normal around the computed share, a seventh
 * of it wide, lies in the word's band. */
static double power_word_chance(const DiagnosisModel *model, int part, int word, double share)
{
    const PartKind *kind = model->appliance->parts[part].kind;
    const LookWord *looks = model->appliance->catalogue->looks;
    const int heat = heat_of(model, part);
    /* An element is seen by its sheath's temperature, all else by its power. */
    const double at = heat < 0 ? share : diagnosis__sheath(model, heat, share);
    /* How differently people call the same glow; half a per cent of the rating where nothing glows at all. */
    const double width = heat < 0 ? 0.005 + 0.15 * share : SHEATH_KELVIN + SHEATH_SHARE * at;
    double sum = 0, mine = 0;
    for (int i = 0; i < kind->look_count; i++) {
        const LookWord *look = &looks[kind->looks[i]];
        if (!has_band(look)) continue;
        const double from = heat < 0 ? look->ratio_from : look->sheath_from,
                     until = heat < 0 ? look->ratio_to : look->sheath_to;
        const double below = look->ratio_from <= 0 ? 0 : diagnosis__normal((from - at) / width);
        const double to = is_hottest(kind, looks, look) ? 1 : diagnosis__normal((until - at) / width);
        sum += to - below;
        if (kind->looks[i] == word) mine = to - below;
    }
    return sum > 0 ? mine / sum : 0;
}

/* A fault may show as a word of power whatever the power is: a seized fan is still. Chance of the word from
 * such faults, and in *else_chance the chance that it is left to the power. */
static double forced_chance(const DiagnosisModel *model, int part, int word, const Hypothesis *hypothesis,
                            double *else_chance)
{
    double forced = 0;
    *else_chance = 1;
    for (int i = 0; i < hypothesis->count; i++) {
        const Fault *fault = diagnosis__fault(model, hypothesis, i);
        if (fault->part != part) continue;
        for (int s = 0; s < fault->mode->sign_count; s++) {
            const Sign *sign = &fault->mode->signs[s];
            if (model->appliance->catalogue->looks[sign->look].way != LOOK_POWER) continue;
            if (sign->look == word) forced += *else_chance * sign->probability;
            *else_chance *= 1 - sign->probability;
        }
    }
    return forced;
}

/* Chance of the word from the manner, and of what is left when nobody noticed that. */
static double manner_chance(const DiagnosisModel *model, int part, int word, Manner manner,
                            double *else_chance)
{
    const PartKind *kind = model->appliance->parts[part].kind;
    double chance = 0;
    for (int i = 0; i < kind->look_count; i++) {
        const LookWord *look = &model->appliance->catalogue->looks[kind->looks[i]];
        const double seen = manner == MANNER_UNSTEADY  ? look->unsteady
                            : manner == MANNER_RUNS_ON ? look->runs_on
                                                       : 0;
        if (kind->looks[i] == word) chance += *else_chance * seen;
        *else_chance *= 1 - seen;
    }
    return chance;
}

double diagnosis__watch_chance(const DiagnosisModel *model, int part, int word, Watched watched,
                               const Hypothesis *hypothesis)
{
    double else_chance;
    double chance = forced_chance(model, part, word, hypothesis, &else_chance);
    chance += manner_chance(model, part, word, watched.manner, &else_chance);
    chance += else_chance * power_word_chance(model, part, word, watched.share);
    assert(chance >= 0 && chance <= 1 + 1e-9);
    return chance;
}
