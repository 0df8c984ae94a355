/* information.c: most information for the second, then mend and prove.
 *
 * The rule that is often taken for the best: of all checks that have not been made since the last repair, the
 * one whose outcome tells most about which faults are there (mutual information, Shannon 1948) for the time
 * that it takes from where the technician stands, live work counting as longer. As soon as one repair, or
 * 'nothing wrong', has SURE, or no check promises anything, the leading repair is made and proved.
 *
 * It weighs neither parts nor callbacks, and takes the outcomes of the diagnosis as they are. */
#include "policy.h"

#include "base/mathematics.h"

#include <math.h>
#include <string.h>

static const double SURE = 0.95, LEAST_INFORMATION = 0.004, COVERED = 0.998;
enum { MOST_ROWS = 400, MOST_PARTS = 128, MOST_REPAIRS = 6, SCRATCH_BYTES = 16 << 20 };
static const size_t MIB = (size_t)1 << 20;

/* The hypotheses that share nearly all probability; those of one group stand together. */
typedef struct {
    int which[MOST_ROWS], count;
    double weight[MOST_ROWS];
} Field;

static void add_group(const Standing *standing, int group, Field *field, double *covered)
{
    const HypothesisGroup *members = &standing->model->groups[group];
    for (int i = 0; i < members->hypothesis_count && field->count < MOST_ROWS; i++) {
        const int h = members->first_hypothesis + i;
        if (standing->probability[h] <= 0) continue;
        field->which[field->count] = h;
        field->weight[field->count++] = standing->probability[h];
        *covered += standing->probability[h];
    }
}

static void find_field(const Standing *standing, Field *field)
{
    double covered = 0;
    field->count = 0;
    add_group(standing, 0, field, &covered);
    for (int s = 0; s < standing->suspect_count && covered < COVERED; s++)
        add_group(standing, standing->suspects[s].group, field, &covered);
    for (int i = 0; i < field->count; i++) field->weight[i] /= covered;
}

static double information(const Standing *standing, const Field *field, const Prediction *prediction)
{
    double total[DIAGNOSIS_MOST_OUTCOMES] = {0}, gained = 0;
    for (int row = 0; row < field->count; row++)
        for (int o = 0; o < prediction->outcome_count; o++)
            total[o] += field->weight[row] * prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES + o];
    for (int row = 0; row < field->count;) {
        const int group = standing->model->hypotheses[field->which[row]].group;
        double joint[DIAGNOSIS_MOST_OUTCOMES] = {0}, weight = 0;
        for (; row < field->count && standing->model->hypotheses[field->which[row]].group == group; row++) {
            weight += field->weight[row];
            for (int o = 0; o < prediction->outcome_count; o++)
                joint[o] += field->weight[row] * prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES + o];
        }
        for (int o = 0; o < prediction->outcome_count; o++)
            if (joint[o] > 0) gained += joint[o] * math_log(joint[o] / (weight * total[o]));
    }
    return gained;
}

static bool is_made(const Technician *technician, int check)
{
    bool is_made = false;
    for (int e = 0; e < technician->call.entry_count; e++) {
        const Entry *entry = &technician->entries[e];
        if (entry->kind == ENTRY_REPAIR)
            is_made = false;
        else if (diagnosis_is_check(technician->world->assumed, entry, check))
            is_made = true;
    }
    return is_made;
}

/* The check with most nats for the second; -1: none promises enough. */
static bool choose(const Technician *technician, const Standing *standing, int *best, Error *error)
{
    static Field field;
    DiagnosisModel *model = technician->world->assumed;
    double most = 0;
    *best = -1;
    find_field(standing, &field);
    for (int c = 0; c < model->appliance->check_count; c++) {
        if ((model->appliance->checks[c].power_on && technician->is_barred) || is_made(technician, c))
            continue;
        Arena scratch = arena_new(SCRATCH_BYTES);
        Prediction prediction;
        const bool went_well = diagnosis_predict(model, &technician->call, c, field.which, field.count,
                                                 &scratch, &prediction, error);
        const double nats = went_well ? information(standing, &field, &prediction) : 0;
        arena_free(&scratch);
        if (!went_well) return false;
        const double rate = nats / technician_second_of(technician, c);
        if (nats < LEAST_INFORMATION || rate <= most) continue;
        most = rate;
        *best = c;
    }
    return true;
}

/* The part that most probably cures something, and whether it is adjusted. */
typedef struct {
    int part;
    bool is_adjusted;
    double probability;
} Leading;

static Leading find_leading(const Standing *standing)
{
    const DiagnosisModel *model = standing->model;
    const Appliance *appliance = model->appliance;
    double mass[MOST_PARTS][2] = {{0}};
    for (int h = 1; h < model->hypothesis_count; h++)
        for (int i = 0; i < model->hypotheses[h].count; i++) {
            const Fault *fault = &appliance->faults[model->groups[model->hypotheses[h].group].faults[i]];
            const bool adjusts = fault->mode->adjust_second > 0;
            mass[adjusts ? fault->part : appliance->parts[fault->part].replaced_with][adjusts] +=
                standing->probability[h];
        }
    Leading leading = {-1, false, 0};
    for (int p = 0; p < appliance->part_count && p < MOST_PARTS; p++)
        for (int a = 0; a < 2; a++)
            if (mass[p][a] > leading.probability) leading = (Leading){p, a == 1, mass[p][a]};
    return leading;
}

static bool may_switch_on(const Standing *standing, Arena *arena, bool *may, Error *error)
{
    const DiagnosisModel *model = standing->model;
    const SafetyWarning *warnings;
    int count;
    double *probability = ARENA_ARRAY(arena, double, (size_t)model->appliance->fault_count + 1);
    if (!probability) return error_memory(error);
    for (int s = 0; s < standing->suspect_count; s++) {
        const HypothesisGroup *group = &model->groups[standing->suspects[s].group];
        for (int i = 0; i < group->count; i++)
            probability[group->faults[i]] += standing->suspects[s].probability;
    }
    if (!safety_warnings(model->appliance, probability, arena, &warnings, &count, error)) return false;
    *may = safety_may_switch_on(warnings, count);
    return true;
}

static bool has_run_since_repair(const Technician *technician)
{
    bool has_run = false;
    for (int e = 0; e < technician->call.entry_count; e++) {
        if (technician->entries[e].kind == ENTRY_REPAIR) has_run = false;
        if (technician->entries[e].kind == ENTRY_RUN) has_run = true;
    }
    return has_run;
}

/* Mends what leads, or proves that nothing is wrong and closes. */
static bool finish(Technician *technician, const Standing *standing, Error *error)
{
    const Leading leading = find_leading(standing);
    const bool is_sound = standing->nothing_wrong.probability >= leading.probability;
    if (is_sound && has_run_since_repair(technician))
        technician_close(technician);
    else if (is_sound && !technician->is_barred)
        return technician_run(technician, error);
    else if (is_sound || technician->books.repairs >= MOST_REPAIRS)
        technician_hand_over(technician);
    else if (leading.is_adjusted)
        technician_adjust(technician, leading.part, NAN);
    else
        technician_replace(technician, leading.part);
    return true;
}

static bool step_once(Technician *technician, Arena *arena, Error *error)
{
    Standing standing;
    bool may = false;
    int check = -1;
    if (!diagnose(technician->world->assumed, &technician->call, arena, &standing, error)) return false;
    if (!may_switch_on(&standing, arena, &may, error)) return false;
    technician->is_barred = !may;
    const double leading = fmax(find_leading(&standing).probability, standing.nothing_wrong.probability);
    if (leading < SURE && !choose(technician, &standing, &check, error)) return false;
    return check >= 0 ? technician_check(technician, check, error) : finish(technician, &standing, error);
}

bool policy_information(Technician *technician, Error *error)
{
    bool went_well = true;
    for (int step = 0; went_well && !technician_is_done(technician) && step < TECHNICIAN_MOST_STEPS; step++) {
        Arena arena = arena_new(256 * MIB);
        went_well = step_once(technician, &arena, error);
        arena_free(&arena);
    }
    if (went_well && !technician_is_done(technician)) technician_hand_over(technician);
    return went_well;
}
