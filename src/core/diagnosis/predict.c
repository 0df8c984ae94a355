/* predict.c: what a check would show under each hypothesis, as a handful of outcomes.
 *
 * A reading is a number, and hypotheses that predict nearly the same number are not told apart by it. We
 * sort the predictions and cut where two neighbours are further apart than both their spreads allow to
 * confuse; what lies between two cuts is one outcome. A chance of slip is spread over all outcomes. */
#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "core/diagnosis/diagnosis_private.h"

/* Two predictions are told apart when they differ by this many of their spreads added up. */
static const double APART = 2.2;

typedef struct {
    CircuitReading display;
    int row; /* which hypothesis asked for */
} Predicted;

static int by_display(const void *a, const void *b)
{
    const Predicted *first = a, *second = b;
    if (first->display.value != second->display.value)
        return first->display.value < second->display.value ? -1 : 1;
    return first->row - second->row;
}

static bool connect(DiagnosisModel *model, int check, Error *error)
{
    if (model->is_connected[check]) return true;
    const Check *asked = &model->appliance->checks[check];
    const Connection connection = diagnosis_entry(model->appliance, check, 0, 0).connection;
    assert(asked->from >= 0);
    if (!circuit_connect(&model->circuit, &connection, &model->check_meters[check], error)) return false;
    model->is_connected[check] = true;
    return true;
}

static bool is_cut(const Predicted *sorted, int i, double reach)
{
    if (isinf(sorted[i].display.value)) return !isinf(sorted[i - 1].display.value);
    return sorted[i].display.value - APART * sorted[i].display.spread > reach;
}

/* Sorts predictions into outcomes; the last outcome takes what is left when there are too many. */
static void sort_into_outcomes(Predicted *sorted, int count, double slip, Prediction *prediction)
{
    qsort(sorted, (size_t)count, sizeof *sorted, by_display);
    int outcome = 0;
    double reach = sorted[0].display.value + APART * sorted[0].display.spread;
    prediction->low[0] = sorted[0].display.value;
    for (int i = 0; i < count; i++) {
        if (i > 0 && outcome + 1 < DIAGNOSIS_MOST_OUTCOMES && is_cut(sorted, i, reach)) {
            prediction->low[++outcome] = sorted[i].display.value;
            reach = -INFINITY;
        }
        reach = fmax(reach, sorted[i].display.value + APART * sorted[i].display.spread);
        prediction->high[outcome] = sorted[i].display.value;
        prediction->chance[sorted[i].row * DIAGNOSIS_MOST_OUTCOMES + outcome] = 1;
    }
    prediction->outcome_count = outcome + 1;
    for (int row = 0; row < count; row++)
        for (int o = 0; o <= outcome; o++) {
            double *chance = &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES + o];
            *chance = (1 - slip) * *chance + slip / (outcome + 1);
        }
}

static bool predict_reading(DiagnosisModel *model, int check, const int *which, int count, Arena *arena,
                            Prediction *prediction, Error *error)
{
    if (!connect(model, check, error)) return false;
    Predicted *sorted = ARENA_ARRAY(arena, Predicted, (size_t)count);
    if (!sorted) return error_memory(error);
    for (int i = 0; i < count; i++) {
        const Hypothesis *hypothesis = &model->hypotheses[which[i]];
        sorted[i] = (Predicted){diagnosis_display(model, &model->check_meters[check], hypothesis), i};
    }
    sort_into_outcomes(sorted, count, model->slip, prediction);
    return true;
}

static bool is_asked(const LookWord *look, CheckKind kind) { return look->is_power == (kind == CHECK_WATCH); }

static void predict_look(const DiagnosisModel *model, const Check *check, const int *which, int count,
                         Prediction *prediction)
{
    const PartKind *kind = model->appliance->parts[check->part].kind;
    const LookWord *looks = model->appliance->catalogue->looks;
    int outcomes = 0;
    for (int i = 0; i < kind->look_count && outcomes < DIAGNOSIS_MOST_OUTCOMES; i++)
        if (is_asked(&looks[kind->looks[i]], check->kind)) prediction->word[outcomes++] = kind->looks[i];
    for (int row = 0; row < count; row++) {
        double *chance = &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES], sum = 0;
        for (int o = 0; o < outcomes; o++) {
            const Hypothesis *hypothesis = &model->hypotheses[which[row]];
            chance[o] =
                diagnosis__look(model, check->part, check->function, prediction->word[o], hypothesis).all;
            sum += chance[o];
        }
        for (int o = 0; o < outcomes; o++) chance[o] /= sum;
    }
    prediction->outcome_count = outcomes;
}

bool diagnosis_predict(DiagnosisModel *model, int check, const int *which, int count, Arena *arena,
                       Prediction *prediction, Error *error)
{
    assert(check >= 0 && check < model->appliance->check_count && count > 0);
    *prediction = (Prediction){.chance = ARENA_ARRAY(arena, double, (size_t)count *DIAGNOSIS_MOST_OUTCOMES)};
    if (!prediction->chance) return error_memory(error);
    const Check *asked = &model->appliance->checks[check];
    if (asked->kind != CHECK_SIGHT && asked->kind != CHECK_WATCH)
        return predict_reading(model, check, which, count, arena, prediction, error);
    predict_look(model, asked, which, count, prediction);
    return true;
}

Entry diagnosis_entry(const Appliance *appliance, int check, double display, int word)
{
    const Check *asked = &appliance->checks[check];
    if (asked->kind == CHECK_SIGHT || asked->kind == CHECK_WATCH)
        return (Entry){.kind = ENTRY_LOOK,
                       .part = asked->part,
                       .function = asked->kind == CHECK_WATCH ? asked->function : -1,
                       .words = {word},
                       .word_count = 1};
    static const ReadingKind kinds[] = {
        [CHECK_OHM] = READING_OHM, [CHECK_VOLT] = READING_VOLT, [CHECK_AMP] = READING_AMP};
    static const Unit units[] = {[CHECK_OHM] = UNIT_OHM, [CHECK_VOLT] = UNIT_VOLT, [CHECK_AMP] = UNIT_AMPERE};
    Entry entry = {.kind = ENTRY_READING, .part = asked->part};
    entry.value = (Quantity){.value = display, .unit = units[asked->kind], .is_over = isinf(display)};
    entry.connection = (Connection){.kind = kinds[asked->kind],
                                    .from = asked->from,
                                    .to = asked->to,
                                    .function = asked->function,
                                    .power_on = asked->power_on,
                                    .lift_count = asked->lift_count,
                                    .unplug_count = asked->unplug >= 0};
    for (int i = 0; i < asked->lift_count; i++) entry.connection.lifts[i] = asked->lifts[i];
    entry.connection.unplugs[0] = asked->unplug;
    return entry;
}
