/* marks.c: what there is to see on the parts of a virtual oven; see world.h.
 *
 * A mark is on a part or it is not: the same however often somebody looks, until the part is mended. Which
 * one it is follows from the chances that the diagnosis assumes under the truth. A close look sees it; a look
 * over a place notices most signs of faults and few of the harmless marks, and names one part of those where
 * something was noticed. What was overlooked once is overlooked again.
 * Three looks in a hundred are slips: anything that could have been seen. Numbers in capitals are common
 * practice, no source. */
#include "world.h"

#include <math.h>

static const double NOTICES_SIGN = 0.8, NOTICES_HARMLESS = 0.25; /* who looks over a place */
static const double LOOK_SLIP = 0.03;
enum { ABOUT_MARKS = 1 << 24, ABOUT_NOTICING = 1 << 25, ABOUT_STRIP = 1 << 26, SCRATCH_BYTES = 8 << 20 };

/* What of a word's chance is no slip: the diagnosis shares those out evenly among the words and one more. */
static double true_chance(const Prediction *prediction, int outcome)
{
    return fmax(prediction->chance[outcome] - LOOK_SLIP / (prediction->outcome_count + 1), 0);
}

/* The outcome of a close look without a slip. */
static int outcome_on(const World *world, const Check *check, const Prediction *prediction)
{
    const uint64_t about = check->kind == CHECK_STRIP ? ABOUT_STRIP : ABOUT_MARKS;
    RandomStream stream =
        world__stream(world, about + (uint64_t)check->part, (uint64_t)world->renewed[check->part]);
    double sum = 0;
    int o = 0;
    for (int i = 0; i < prediction->outcome_count; i++) sum += true_chance(prediction, i);
    double at = sum * random_uniform(&stream);
    while (o + 1 < prediction->outcome_count && at >= true_chance(prediction, o))
        at -= true_chance(prediction, o++);
    return o;
}

static bool predict(World *world, int check, Arena *scratch, Prediction *prediction, Error *error)
{
    const int truth = world__hypothesis(world);
    return diagnosis_predict(&world->model, NULL, check, &truth, 1, scratch, prediction, error);
}

bool world__look(World *world, int check, RandomStream *stream, Entry *entry, Error *error)
{
    Arena scratch = arena_new(SCRATCH_BYTES);
    Prediction prediction;
    const bool went_well = predict(world, check, &scratch, &prediction, error);
    if (went_well) {
        int seen = outcome_on(world, &world->assumed->appliance->checks[check], &prediction);
        if (random_uniform(stream) < LOOK_SLIP)
            seen = (int)random_below(stream, (uint32_t)prediction.outcome_count);
        *entry = diagnosis_entry(world->assumed, check, &prediction.outcomes[seen], NULL);
    }
    arena_free(&scratch);
    return went_well;
}

/* --- a look over a place --- */

static bool is_sign_of_fault(const World *world, int part, int word)
{
    for (int i = 0; i < world->left_count; i++) {
        const Fault *fault = &world->assumed->appliance->faults[world->drawn[world->left[i]]];
        for (int s = 0; fault->part == part && s < fault->mode->sign_count; s++)
            if (fault->mode->signs[s].look == word) return true;
    }
    return false;
}

static bool is_noticed(const World *world, int part, int word)
{
    RandomStream stream =
        world__stream(world, ABOUT_NOTICING + (uint64_t)part, (uint64_t)world->renewed[part]);
    if (!kind_is_sign(&world->assumed->appliance->catalogue->looks[word], LOOK_CLOSE)) return false;
    return random_uniform(&stream) < (is_sign_of_fault(world, part, word) ? NOTICES_SIGN : NOTICES_HARMLESS);
}

/* One of several, each as likely as the others. */
static void take_one(RandomStream *stream, int part, int word, int *count, Outcome *taken)
{
    *count += 1;
    if (random_below(stream, (uint32_t)*count) != 0) return;
    taken->part = part;
    taken->word = word;
}

/* What is on the part, if it is noticed; and of all that a slip could name. */
static bool look_at(World *world, int check, RandomStream *stream, Arena *scratch, int count[2],
                    Outcome outcome[2], Error *error)
{
    const LookWord *looks = world->assumed->appliance->catalogue->looks;
    const int part = world->assumed->appliance->checks[check].part;
    Prediction prediction;
    if (!predict(world, check, scratch, &prediction, error)) return false;
    const int seen =
        prediction.outcomes[outcome_on(world, &world->assumed->appliance->checks[check], &prediction)].word;
    if (is_noticed(world, part, seen)) take_one(stream, part, seen, &count[0], &outcome[0]);
    for (int o = 0; o < prediction.outcome_count; o++)
        if (kind_is_sign(&looks[prediction.outcomes[o].word], LOOK_CLOSE))
            take_one(stream, part, prediction.outcomes[o].word, &count[1], &outcome[1]);
    return true;
}

bool world__look_over(World *world, int check, RandomStream *stream, Entry *entry, Error *error)
{
    const Appliance *appliance = world->assumed->appliance;
    const Outcome nothing = {
        .kind = OUTCOME_GLANCE, .word = kind_find_sound(appliance->catalogue), .part = -1};
    Outcome outcome[] = {nothing, nothing}; /* noticed; a slip, which may also be that nothing was */
    int count[] = {0, 1};
    Arena scratch = arena_new(SCRATCH_BYTES);
    bool went_well = true;
    for (int c = 0; c < appliance->check_count && went_well; c++)
        if (appliance->checks[c].kind == CHECK_SIGHT &&
            appliance_seen_from(appliance, appliance->checks[c].part) == appliance->checks[check].places[0])
            went_well = look_at(world, c, stream, &scratch, count, outcome, error);
    arena_free(&scratch);
    *entry = diagnosis_entry(world->assumed, check, &outcome[random_uniform(stream) < LOOK_SLIP], NULL);
    return went_well;
}
