/* visit.c: see visit.h. */
#include "support/visit.h"

#include "support/near.h"
#include "support/shipped.h"

#include <math.h>
#include <string.h>

static const size_t MIB = (size_t)1 << 20;

void visit_begin(Visit *visit, const char *appliance)
{
    Error error = {0};
    const Meter meter = meter_default();
    memset(visit, 0, sizeof *visit);
    visit->arena = arena_new(512 * MIB);
    visit->answers = arena_new(512 * MIB);
    visit->call = (Call){.title = "", .entries = visit->entries, .meter = meter, .ambient_celsius = 22};
    shipped_build(appliance, &visit->arena, &visit->appliance);
    assert_true(diagnosis_begin(&visit->appliance, 22, &visit->call.meter, NULL, &visit->arena, &visit->model,
                                &error));
}

void visit_end(Visit *visit)
{
    arena_free(&visit->answers);
    arena_free(&visit->arena);
}

void visit_forget(Visit *visit)
{
    visit->call.entry_count = 0;
    visit->standing = (Standing){0};
    arena_free(&visit->answers);
}

int visit_set_up_group(void **state)
{
    static Visit visit;
    visit_begin(&visit, "range-relay-control");
    *state = &visit;
    return 0;
}

int visit_tear_down_group(void **state)
{
    visit_end(*state);
    return 0;
}

int visit_set_up(void **state)
{
    visit_forget(*state);
    return 0;
}

static Entry *add(Visit *visit, Entry entry)
{
    Error error = {0};
    assert_true(visit->call.entry_count < VISIT_MOST_ENTRIES);
    if (!call_check_entry(&visit->appliance, &entry, &error))
        fail_msg("entry %d may not stand: %s; %s", visit->call.entry_count + 1, error.found, error.expected);
    Entry *added = &visit->entries[visit->call.entry_count++];
    *added = entry;
    return added;
}

static int known(int number, const char *name)
{
    if (number < 0) fail_msg("no %s here", name);
    return number;
}

Entry *visit_complain(Visit *visit, const char *word)
{
    const int number = known(kind_find_complaint(visit->appliance.catalogue, word), word);
    return add(visit, (Entry){.kind = ENTRY_COMPLAINT, .words = {number}, .word_count = 1, .part = -1});
}

Entry *visit_look(Visit *visit, const char *part, const char *word, const char *function)
{
    const Appliance *appliance = &visit->appliance;
    return add(
        visit,
        (Entry){.kind = ENTRY_LOOK,
                .part = known(appliance_find_part(appliance, part), part),
                .words = {known(kind_find_look(appliance->catalogue, word), word)},
                .word_count = 1,
                .function = function ? known(appliance_find_function(appliance, function), function) : -1});
}

static Entry *read(Visit *visit, Connection connection, double value)
{
    static const Unit units[] = {
        [READING_OHM] = UNIT_OHM, [READING_VOLT] = UNIT_VOLT, [READING_AMP] = UNIT_AMPERE};
    const Quantity shown = {.value = value, .unit = units[connection.kind], .is_over = isinf(value)};
    return add(visit, (Entry){.kind = ENTRY_READING, .part = -1, .connection = connection, .value = shown});
}

static int mark(const Visit *visit, const char *name)
{
    return known(appliance_find_mark(&visit->appliance, name), name);
}

Entry *visit_ohm(Visit *visit, const char *from, const char *to, double ohm, const char *lift)
{
    Connection connection = {.kind = READING_OHM, .from = mark(visit, from), .to = mark(visit, to)};
    if (lift) connection.lifts[connection.lift_count++] = mark(visit, lift);
    return read(visit, connection, ohm);
}

Entry *visit_volt(Visit *visit, const char *from, const char *to, double volt, const char *function)
{
    Connection connection = {
        .kind = READING_VOLT, .from = mark(visit, from), .to = mark(visit, to), .power_on = true};
    if (function) connection.function = known(appliance_find_function(&visit->appliance, function), function);
    return read(visit, connection, volt);
}

Entry *visit_spot(Visit *visit, double celsius, double set_celsius)
{
    return add(visit, (Entry){.kind = ENTRY_SPOT,
                              .part = -1,
                              .function = -1,
                              .value = {.value = celsius, .unit = UNIT_CELSIUS},
                              .set_celsius = set_celsius});
}

Entry *visit_offset(Visit *visit, double kelvin)
{
    return add(visit, (Entry){.kind = ENTRY_SETTING,
                              .part = -1,
                              .text = "offset",
                              .value = {.value = kelvin, .unit = UNIT_KELVIN}});
}

Entry *visit_dead(Visit *visit) { return add(visit, (Entry){.kind = ENTRY_DEAD, .part = -1}); }

Entry *visit_mend(Visit *visit, int part, bool is_adjustment)
{
    return add(visit, (Entry){.kind = ENTRY_REPAIR,
                              .part = part,
                              .function = -1,
                              .text = is_adjustment ? "adjusted" : "replaced"});
}

Entry *visit_repair(Visit *visit, const char *part)
{
    return visit_mend(visit, known(appliance_find_part(&visit->appliance, part), part), false);
}

Entry *visit_adjust(Visit *visit, const char *part)
{
    return visit_mend(visit, known(appliance_find_part(&visit->appliance, part), part), true);
}

void visit_diagnose(Visit *visit)
{
    Error error = {0};
    assert_true(diagnose(&visit->model, &visit->call, &visit->answers, &visit->standing, &error));
}

const double *visit_probabilities(Visit *visit)
{
    visit_diagnose(visit);
    return visit->standing.probability;
}

void visit_assert_same_bits(const Visit *visit, const double *a, const double *b)
{
    assert_memory_equal(a, b, (size_t)visit->model.hypothesis_count * sizeof *a);
}

double visit_probability(const Visit *visit, const char *fault)
{
    if (!fault) return visit->standing.nothing_wrong.probability;
    const int wanted = known(appliance_find_fault(&visit->appliance, fault), fault);
    for (int s = 0; s < visit->standing.suspect_count; s++) {
        const Suspect *suspect = &visit->standing.suspects[s];
        const HypothesisGroup *group = &visit->model.groups[suspect->group];
        if (group->count == 1 && group->faults[0] == wanted) return suspect->probability;
    }
    fail_msg("no suspect %s", fault);
    return NAN;
}
