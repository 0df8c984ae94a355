/* call.c: each form of entry as it is read, and what the reader does when a call is cut short or memory is.
 * Mistakes that a person makes stand as files with their messages in tests/cli/bad. */
#include "format/call_yaml/call_yaml.h"

#include "format/appliance_yaml/appliance_yaml.h"
#include "support/file.h"
#include "support/near.h"
#include "support/shortage.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    Text range, bytes;
    CatalogueFiles files;
    Arena kept, arena; /* of the appliance; of one call */
    Catalogue catalogue;
    Description description;
    Appliance appliance;
    Call call;
    Error error;
} Fixture;

static int begin(void **state)
{
    static Fixture f;
    f = (Fixture){.files = {.kinds_file = "kinds.yaml",
                            .words_file = "words.yaml",
                            .materials_file = "parts/materials.yaml",
                            .kinds = file_read("data/parts/kinds.yaml"),
                            .words = file_read("data/parts/words.yaml"),
                            .materials = file_read("data/parts/materials.yaml")},
                  .range = file_read("data/appliances/range-relay-control.yaml"),
                  .bytes = file_read("tests/unit/format_call_yaml/every-entry.yaml"),
                  .kept = arena_new(16 << 20),
                  .arena = arena_new(4 << 20)};
    *state = &f;
    const bool is_built =
        catalogue_yaml_read(&f.files, &f.kept, &f.catalogue, &f.error) &&
        appliance_yaml_read("range.yaml", f.range, &f.kept, &f.description, &f.error) &&
        appliance_build(&f.description, &f.catalogue, NULL, 0, &f.kept, &f.appliance, &f.error);
    return is_built ? 0 : -1;
}

static int end(void **state)
{
    Fixture *f = *state;
    free((void *)f->files.kinds.bytes);
    free((void *)f->files.words.bytes);
    free((void *)f->files.materials.bytes);
    free((void *)f->range.bytes);
    free((void *)f->bytes.bytes);
    arena_free(&f->kept);
    arena_free(&f->arena);
    return 0;
}

static bool read_call(Fixture *f, Text bytes)
{
    f->error = (Error){0};
    return call_yaml_read("call.yaml", bytes, &f->appliance, &f->arena, &f->call, &f->error);
}

static void need_call(Fixture *f)
{
    char line[1200];
    if (read_call(f, f->bytes)) return;
    error_line(&f->error, line, sizeof line);
    fail_msg("%s", line);
}

static int mark(const Fixture *f, const char *name) { return appliance_find_mark(&f->appliance, name); }
static int part(const Fixture *f, const char *name) { return appliance_find_part(&f->appliance, name); }

/* The `number`-th entry (from 0) of its kind. */
static const Entry *find_entry(const Call *call, EntryKind kind, int number)
{
    for (int i = 0; i < call->entry_count; i++)
        if (call->entries[i].kind == kind && number-- == 0) return &call->entries[i];
    fail_msg("no such entry");
    return NULL;
}

static void head_is_read_without_an_appliance(void **state)
{
    Fixture *f = *state;
    assert_true(call_yaml_read_head("call.yaml", f->bytes, &f->arena, &f->call, &f->error));
    assert_string_equal(f->call.title, "bakes pale and slow");
    assert_string_equal(f->call.appliance_name, "range-relay-control");
    assert_near(f->call.ambient_celsius, 40 / 1.8, 1e-12);
    assert_near(f->call.meter.dial[METER_VOLT].accuracy.ratio, 0.012, 1e-15);
    assert_near(f->call.meter.dial[METER_VOLT].accuracy.counts, 4, 0);
    assert_near(f->call.meter.lead_ohm, 0.2, 0);
    assert_int_equal(f->call.plate_count, 3);
    assert_string_equal(f->call.plate[0].key, "supply");
    assert_near(f->call.plate[0].figure.value, 236, 0);
    assert_int_equal(f->call.plate[1].figure.unit, UNIT_WATT);
    assert_true(f->call.plate[2].has_sensor);
    assert_near(f->call.plate[2].sensor.zero_ohm, 1000, 0);
    assert_int_equal(f->call.entry_count, 0);
}

static void what_a_head_leaves_out_is_ordinary(void **state)
{
    Fixture *f = *state;
    assert_true(read_call(f, text_of("call: x\nappliance: y.yaml\nmeter: {ohm: 2%+1}\nentries: []\n")));
    const Meter ordinary = meter_default();
    assert_near(f->call.ambient_celsius, 22, 0);
    assert_near(f->call.meter.dial[METER_OHM].accuracy.ratio, 0.02, 1e-15);
    assert_near(f->call.meter.dial[METER_VOLT].accuracy.ratio, ordinary.dial[METER_VOLT].accuracy.ratio, 0);
    assert_near(f->call.meter.dial[METER_OHM].smallest_range, ordinary.dial[METER_OHM].smallest_range, 0);
    assert_int_equal(f->call.plate_count, 0);
    assert_int_equal(f->call.entry_count, 0);
    assert_true(read_call(f, text_of("call: x\nappliance: y\n")));
}

static void complaints_and_looks_are_read(void **state)
{
    Fixture *f = *state;
    need_call(f);
    const Entry *list = find_entry(&f->call, ENTRY_COMPLAINT, 0),
                *single = find_entry(&f->call, ENTRY_COMPLAINT, 1);
    assert_int_equal(list->word_count, 2);
    assert_int_equal(list->words[1], kind_find_complaint(&f->catalogue, "slow"));
    assert_int_equal(list->line, 8);
    assert_int_equal(single->word_count, 1);
    assert_int_equal(single->words[0], kind_find_complaint(&f->catalogue, "pale-bottom"));
    const Entry *dark = find_entry(&f->call, ENTRY_LOOK, 0), *blistered = find_entry(&f->call, ENTRY_LOOK, 1);
    assert_int_equal(dark->part, part(f, "bake-element"));
    assert_int_equal(dark->words[0], kind_find_look(&f->catalogue, "dark"));
    assert_int_equal(dark->function, appliance_find_function(&f->appliance, "bake"));
    assert_int_equal(blistered->function, -1); /* nothing was switched on */
}

static void kind_and_power_of_a_reading_follow_from_its_unit(void **state)
{
    Fixture *f = *state;
    need_call(f);
    const Entry *plain = find_entry(&f->call, ENTRY_READING, 0),
                *low = find_entry(&f->call, ENTRY_READING, 1), *off = find_entry(&f->call, ENTRY_READING, 2),
                *amps = find_entry(&f->call, ENTRY_READING, 3),
                *over = find_entry(&f->call, ENTRY_READING, 4),
                *ohms = find_entry(&f->call, ENTRY_READING, 5);
    assert_int_equal(plain->connection.kind, READING_VOLT);
    assert_true(plain->connection.power_on);
    assert_int_equal(plain->connection.function, 0);
    assert_int_equal(plain->connection.from, mark(f, "L1"));
    assert_int_equal(plain->connection.to, mark(f, "L2"));
    assert_false(plain->connection.low_impedance);
    assert_true(low->connection.low_impedance);
    assert_int_equal(low->connection.function, appliance_find_function(&f->appliance, "bake"));
    assert_false(off->connection.power_on);
    assert_int_equal(amps->connection.kind, READING_AMP);
    assert_true(amps->connection.power_on);
    assert_int_equal(over->connection.kind, READING_OHM);
    assert_true(over->value.is_over);
    assert_false(over->connection.power_on);
    assert_int_equal(over->connection.lift_count, 1);
    assert_int_equal(over->connection.lifts[0], mark(f, "BK1"));
    assert_near(ohms->value.value, 1080, 0);
    assert_int_equal(ohms->connection.unplug_count, 1);
    assert_int_equal(ohms->connection.unplugs[0], part(f, "sensor-plug"));
    assert_false(ohms->connection.power_on);
}

static void answers_are_read(void **state)
{
    Fixture *f = *state;
    need_call(f);
    const Entry *no = find_entry(&f->call, ENTRY_ASKED, 0), *yes = find_entry(&f->call, ENTRY_ASKED, 1);
    assert_int_equal(no->words[0], kind_find_complaint(f->appliance.catalogue, "pale-top"));
    assert_int_equal(no->word_count, 1);
    assert_false(no->is_yes);
    assert_int_equal(yes->words[0], kind_find_complaint(f->appliance.catalogue, "light-out"));
    assert_true(yes->is_yes);
    assert_true(call_is_adjusted(find_entry(&f->call, ENTRY_REPAIR, 1)));
}

static void the_other_entries_are_read(void **state)
{
    Fixture *f = *state;
    need_call(f);
    const Entry *offset = find_entry(&f->call, ENTRY_SETTING, 0),
                *code = find_entry(&f->call, ENTRY_SETTING, 1), *spot = find_entry(&f->call, ENTRY_SPOT, 0),
                *run = find_entry(&f->call, ENTRY_RUN, 0), *repair = find_entry(&f->call, ENTRY_REPAIR, 0),
                *note = find_entry(&f->call, ENTRY_NOTE, 0);
    assert_near(offset->value.value, -30 / 1.8, 1e-12); /* a difference, not a temperature */
    assert_int_equal(offset->value.unit, UNIT_KELVIN);
    assert_null(offset->shows);
    assert_string_equal(code->text, "fault-code");
    assert_string_equal(code->shows, "none");
    assert_near(spot->value.value, (318 - 32) / 1.8, 1e-12);
    assert_near(spot->set_celsius, (350 - 32) / 1.8, 1e-12);
    assert_string_equal(run->text, "first-run.csv");
    assert_near(run->set_celsius, 177, 0);
    assert_true(run->is_struck);
    assert_string_equal(run->column, "oven");
    assert_int_equal(run->function, appliance_find_function(&f->appliance, "broil"));
    assert_null(run->run); /* what its log says is for others to read */
    assert_false(spot->is_struck);
    assert_int_equal(spot->function, appliance_find_function(&f->appliance, "bake"));
    assert_int_equal(repair->part, part(f, "bake-element"));
    assert_string_equal(repair->text, "replaced");
    assert_string_equal(note->text, "customer says: always slow");
    assert_false(find_entry(&f->call, ENTRY_DEAD, 0)->is_struck);
}

/* A swing and an overshoot are differences; what was not written down is not there. */
static void figures_read_by_hand(void **state)
{
    Fixture *f = *state;
    need_call(f);
    const Entry *entry = find_entry(&f->call, ENTRY_RUN, 1);
    assert_non_null(entry->run);
    assert_int_equal(entry->function, -1);
    assert_near(entry->run->mean_celsius.value, (331 - 32) / 1.8, 1e-12);
    assert_near(entry->run->swing_kelvin.value, 15, 1e-12);
    assert_near(entry->run->period_second.value, 360, 0);
    assert_near(entry->run->preheat_second.value, 840, 0);
    assert_near(entry->run->overshoot_kelvin.value, 10, 1e-12);
    assert_true(entry->run->is_settled);
    assert_true(entry->run->mean_celsius.uncertainty > 0);
    assert_true(isnan(entry->run->duty.value));
    assert_true(read_call(f, text_of("call: x\nappliance: range-relay-control\nentries:\n"
                                     "  - {run: by-hand, set: 350F, figures: {swing: 27F}}\n")));
    entry = find_entry(&f->call, ENTRY_RUN, 0);
    assert_true(isnan(entry->run->mean_celsius.value));
    assert_false(entry->run->is_settled);
}

static bool read_short(void *of, Text bytes, Arena *arena, Error *error)
{
    Call call;
    return call_yaml_read("call.yaml", bytes, &((Fixture *)of)->appliance, arena, &call, error);
}

static void every_truncation_is_read_or_refused(void **state)
{
    shortage_of_bytes(read_short, *state, ((Fixture *)*state)->bytes, 1, true);
}

static void every_allocation_may_fail(void **state)
{
    shortage_of_memory(read_short, *state, ((Fixture *)*state)->bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(head_is_read_without_an_appliance, begin, end),
        cmocka_unit_test_setup_teardown(what_a_head_leaves_out_is_ordinary, begin, end),
        cmocka_unit_test_setup_teardown(complaints_and_looks_are_read, begin, end),
        cmocka_unit_test_setup_teardown(kind_and_power_of_a_reading_follow_from_its_unit, begin, end),
        cmocka_unit_test_setup_teardown(answers_are_read, begin, end),
        cmocka_unit_test_setup_teardown(the_other_entries_are_read, begin, end),
        cmocka_unit_test_setup_teardown(figures_read_by_hand, begin, end),
        cmocka_unit_test_setup_teardown(every_truncation_is_read_or_refused, begin, end),
        cmocka_unit_test_setup_teardown(every_allocation_may_fail, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
