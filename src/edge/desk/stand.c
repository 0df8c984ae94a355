/* stand.c: a call read with all that belongs to it, and what it says. The order of the work is the heart of
 * the program in one routine: read the call, diagnose. */
#include "edge/desk/desk_private.h"

#include "format/call_yaml/call_yaml.h"

/* What came with the call is what the call names: a list shows the one, advice is about the other. */
bool desk__load_oven(const DeskSource *source, const Call *call, Arena *arena, Appliance *appliance,
                     Error *error)
{
    if (!source->description.bytes)
        return desk_load_appliance(call->appliance_name, call->plate, call->plate_count, arena, appliance,
                                   error);
    if (!desk__build("the description", source->description, call->plate, call->plate_count, arena, appliance,
                     error))
        return false;
    return text_equal(appliance->name, call->appliance_name) ||
           error_set(error, ERROR_INCONSISTENT, call->appliance_name, "%s, as its description has it",
                     appliance->name);
}

bool desk_read_call(const DeskSource *source, Arena *arena, Appliance *appliance, Call *call, Error *error)
{
    return call_yaml_read_head(source->name, source->bytes, arena, call, error) &&
           desk__load_oven(source, call, arena, appliance, error) &&
           call_yaml_read(source->name, source->bytes, appliance, arena, call, error);
}

/* Entries that are only imagined, one after the other at the end of the call. */
static bool imagine(const char *const *entries, int count, const Appliance *appliance, Arena *arena,
                    Call *call, Error *error)
{
    for (int e = 0; e < count; e++)
        if (!call_yaml_imagine("--if", text_of(entries[e]), appliance, arena, call, error)) return false;
    return true;
}

bool desk_has_begun(const Call *call)
{
    for (int e = 0; e < call->entry_count; e++)
        if (call->entries[e].kind != ENTRY_COMPLAINT && call->entries[e].kind != ENTRY_ASKED &&
            call->entries[e].kind != ENTRY_NOTE)
            return true;
    return false;
}

/* For this question alone. */
static bool lay_out(DeskStanding *stands, Arena *arena, Error *error)
{
    stands->memory = ARENA_ARRAY(arena, BehaviourMemory, 1);
    stands->model = ARENA_ARRAY(arena, DiagnosisModel, 1);
    if (!stands->memory || !stands->model) return error_memory(error);
    return desk__open_cache(arena, stands->memory, error) &&
           diagnosis_begin(&stands->appliance, stands->call.ambient_celsius, &stands->call.meter,
                           stands->memory, arena, stands->model, error);
}

bool desk_stand(const DeskSource *source, const char *const *imagined, int imagined_count, DeskKept *kept,
                Arena *arena, TextBuilder *notes, DeskStanding *stands, Error *error)
{
    Call *call = &stands->call;
    stands->imagined = imagined_count;
    return desk_read_call(source, arena, &stands->appliance, call, error) &&
           imagine(imagined, imagined_count, &stands->appliance, arena, call, error) &&
           desk__load_runs(source->name, source->read, source->context, arena, call, notes, error) &&
           (!source->teach || source->teach(source, call, &stands->appliance, error)) &&
           (kept ? desk__find_oven(kept, source, stands, arena, error) : lay_out(stands, arena, error)) &&
           (diagnose(stands->model, call, arena, &stands->standing, error) ||
            error_at(error, source->name, 0, 0));
}
