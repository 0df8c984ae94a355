/* runs.c: the temperature logs that a call names, read and analysed. A struck run is not opened: its log may
 * be gone. */
#include "edge/desk/desk_private.h"

#include "base/text.h"
#include "edge/files/files.h"
#include "format/log_text/log_text.h"

#include <string.h>

/* From the call's folder, unless the path starts at the root. */
static const char *beside(const char *call_path, const char *name, Arena *arena)
{
    const char *slash = strrchr(call_path, '/');
    TextBuilder path = text_builder(arena, 4096);
    if (slash && name[0] != '/') text_add_bytes(&path, call_path, (size_t)(slash - call_path) + 1);
    text_add(&path, name);
    return path.is_cut ? NULL : text_string(&path);
}

bool desk_read_log_beside(void *context, const char *name, int entry, Arena *arena, Text *bytes,
                          const char **source, Error *error)
{
    (void)entry;
    *source = beside(context, name, arena);
    if (!*source) return error_memory(error);
    return files_read(*source, LOG_TEXT_MOST_BYTES, arena, bytes, error);
}

/* The column of the second thermometer, where the entry names one. */
static bool add_sensor(const char *path, Text bytes, const Entry *entry, Arena *arena, Run *run, Error *error)
{
    const LogTextTerms written = {.column = entry->sensor};
    LogText log;
    if (!entry->sensor) return true;
    if (!log_text_read(path, bytes, &written, arena, &log, error)) return false;
    return run_add_sensor(&log.log, 0, arena, run, error) || error_at(error, path, 0, 0);
}

/* Nobody writes which thermocouple it was: the common one, of the common class (common practice, no source).
 */
bool desk__analyse(const char *path, Text bytes, const Entry *entry, Arena *arena, LogText *log, Run *run,
                   Error *error)
{
    const LogTextTerms written = {.column = entry->column};
    if (!log_text_read(path, bytes, &written, arena, log, error)) return false;
    RunTerms terms = {.set_celsius = entry->set_celsius,
                      .has_probe = true,
                      .probe_class = SENSOR_CLASS_2,
                      .is_hand_read = log->is_hand_written};
    if (!sensor_read_kind(text_of("k"), &terms.probe, error)) return false;
    if (!run_analyse(&log->log, 0, &terms, arena, run, error)) return error_at(error, path, 0, 0);
    return add_sensor(path, bytes, entry, arena, run, error);
}

static void note_missing(const char *call_path, const Entry *entry, int number, Error *error,
                         TextBuilder *notes)
{
    char line[1400];
    error_hint(error,
               "entry %d in line %d of %s is kept, but not weighed; without a log write run: by-hand with "
               "figures: {mean: 331F, swing: 28F}",
               number + 1, entry->line, call_path);
    error_line(error, line, sizeof line);
    text_addf(notes, "ovenwright: %s\n", line);
}

bool desk__load_runs(const char *call_name, DeskReadLog *read, void *context, Arena *arena, Call *call,
                     TextBuilder *notes, Error *error)
{
    Entry *entries = ARENA_ARRAY(arena, Entry, (size_t)call->entry_count);
    if (!entries) return error_memory(error);
    for (int e = 0; e < call->entry_count; e++) {
        Entry *entry = &entries[e];
        Text bytes;
        const char *source;
        *entry = call->entries[e];
        if (entry->kind != ENTRY_RUN || entry->is_struck || entry->run) continue;
        Run *run = ARENA_ARRAY(arena, Run, 1);
        if (!run) return error_memory(error);
        if (read(context, entry->text, e, arena, &bytes, &source, error)) {
            LogText log;
            if (!desk__analyse(source, bytes, entry, arena, &log, run, error)) return false;
            entry->run = run;
        } else if (error->code == ERROR_IO) {
            note_missing(call_name, entry, e, error, notes);
        } else {
            return false;
        }
    }
    call->entries = entries;
    return true;
}
