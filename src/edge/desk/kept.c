/* kept.c: ovens that stay laid out from one question to the next, for whoever lives that long.
 *
 * What a meter would show under some thousand hypotheses, and what was simulated, depends on the oven, the
 * meter, the kitchen and the chances, and not on what the entries say: half of the work of an advice. An oven
 * is found again by the text of all that it depends on, every figure in hexadecimal, so that what is taken up
 * again is the same to the bit.
 *
 * Invariant: nothing in a kept oven points out of its own arena, but into the program. */
#include "edge/desk/desk_private.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OVEN_LIMIT = 256 << 20, OVEN_FULL = 64 << 20, KEY_LIMIT = 2 << 20 };

struct DeskOven {
    Arena arena;
    Text key;
    Appliance appliance;
    BehaviourMemory memory;
    DiagnosisModel model;
};

static void add_meter(TextBuilder *key, const Meter *meter)
{
    text_addf(key, "\n%a %a", meter->lead_ohm, meter->lead_half_width_ohm);
    for (int m = 0; m < METER_MODE_COUNT; m++) {
        const MeterDial *dial = &meter->dial[m];
        text_addf(key, " %a %a %a %d %a", dial->accuracy.ratio, dial->accuracy.counts, dial->smallest_range,
                  dial->ranges, dial->counts);
    }
}

static void add_plate(TextBuilder *key, const PlateEntry *entry)
{
    const SensorKind *sensor = &entry->sensor;
    text_addf(key, "\n%s %a %d %d", entry->key, entry->figure.value, (int)entry->figure.unit,
              entry->has_sensor);
    if (entry->has_sensor)
        text_addf(key, " %d %d %a %a %a %a %a %a", (int)sensor->family, sensor->letter, sensor->zero_ohm,
                  sensor->r25_ohm, sensor->beta_kelvin, sensor->a, sensor->b, sensor->c);
}

/* All that diagnosis_begin depends on. */
static bool make_key(const DeskSource *source, const DeskStanding *stands, Arena *arena, Text *key)
{
    const Call *call = &stands->call;
    const Appliance *appliance = &stands->appliance;
    TextBuilder text = text_builder(arena, KEY_LIMIT);
    text_addf(&text, "%s\n", call->appliance_name);
    text_add_bytes(&text, source->description.bytes, source->description.length);
    for (int p = 0; p < call->plate_count; p++) add_plate(&text, &call->plate[p]);
    add_meter(&text, &call->meter);
    text_addf(&text, "\n%a %a", call->ambient_celsius, appliance->nothing_wrong_prior);
    for (int f = 0; f < appliance->fault_count; f++) text_addf(&text, " %a", appliance->faults[f].prior);
    *key = (Text){text_string(&text), text.length};
    return !text.is_cut;
}

static void free_oven(DeskOven *oven)
{
    if (!oven) return;
    arena_free(&oven->arena);
    free(oven);
}

void desk_forget(DeskKept *kept)
{
    for (int o = 0; o < DESK_KEPT; o++) free_oven(kept->ovens[o]);
    *kept = (DeskKept){{NULL}};
}

/* The chances that closed calls have taught, besides the appliance's own. */
static bool take_chances(const Appliance *from, Arena *arena, Appliance *appliance, Error *error)
{
    const size_t bytes = sizeof *appliance->faults * (size_t)appliance->fault_count;
    Fault *faults = arena_take(arena, bytes);
    if (!faults) return error_memory(error);
    memcpy(faults, appliance->faults, bytes);
    for (int f = 0; f < appliance->fault_count; f++) faults[f].prior = from->faults[f].prior;
    appliance->faults = faults;
    appliance->nothing_wrong_prior = from->nothing_wrong_prior;
    return true;
}

static bool lay_out(const DeskSource *source, const DeskStanding *stands, Text key, DeskOven *oven,
                    Error *error)
{
    Arena *arena = &oven->arena;
    const Call *call = &stands->call;
    oven->key = (Text){arena_copy_text(arena, key.bytes, key.length), key.length};
    return (oven->key.bytes || error_memory(error)) &&
           desk__load_oven(source, call, arena, &oven->appliance, error) &&
           take_chances(&stands->appliance, arena, &oven->appliance, error) &&
           desk__open_cache(arena, &oven->memory, error) &&
           diagnosis_begin(&oven->appliance, call->ambient_celsius, &call->meter, &oven->memory, arena,
                           &oven->model, error);
}

static DeskOven *new_oven(const DeskSource *source, const DeskStanding *stands, Text key, Error *error)
{
    DeskOven *oven = calloc(1, sizeof *oven);
    if (!oven) {
        error_memory(error);
        return NULL;
    }
    oven->arena = arena_new(OVEN_LIMIT);
    if (lay_out(source, stands, key, oven, error)) return oven;
    free_oven(oven);
    return NULL;
}

static bool is_same(const DeskOven *oven, Text key)
{
    return oven->key.length == key.length && memcmp(oven->key.bytes, key.bytes, key.length) == 0;
}

/* Out of its place, which the more recent ones move up to, so that the first is free; the last one goes when
 * there are more, and one that has grown full is laid out anew. NULL: not there. */
static DeskOven *take_out(DeskKept *kept, Text key)
{
    int at = 0;
    while (at < DESK_KEPT - 1 && kept->ovens[at] && !is_same(kept->ovens[at], key)) at++;
    DeskOven *oven = kept->ovens[at];
    memmove(&kept->ovens[1], &kept->ovens[0], (size_t)at * sizeof oven);
    kept->ovens[0] = NULL;
    if (oven && is_same(oven, key) && oven->arena.held_bytes < OVEN_FULL) return oven;
    free_oven(oven);
    return NULL;
}

bool desk__find_oven(DeskKept *kept, const DeskSource *source, DeskStanding *stands, Arena *arena,
                     Error *error)
{
    Text key;
    if (!make_key(source, stands, arena, &key)) return error_memory(error);
    DeskOven *oven = take_out(kept, key);
    if (!oven) oven = new_oven(source, stands, key, error);
    kept->ovens[0] = oven;
    if (!oven) return false;
    stands->model = &oven->model;
    stands->memory = &oven->memory;
    return true;
}
