/* shelf.c: see shelf.h. */
#include "edge/cli/shelf.h"

#include "edge/cli/answer_call.h"
#include "format/call_file/call_file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { PATH_LIMIT = 4096, FILE_LIMIT = 4 << 20 };

static const char *environment(const char *name)
{
    const char *value = getenv(name);
    return value && value[0] ? value : NULL;
}

/* Each folder on the way, as far as it is not there. */
static bool make_folders(char *path, Error *error)
{
    for (char *slash = strchr(path + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        const int failed = mkdir(path, 0700) != 0 && errno != EEXIST;
        if (failed) {
            error_set(error, ERROR_IO, strerror(errno), "a folder for calls; or say --store FILE");
            error_at(error, path, 0, 0);
        }
        *slash = '/';
        if (failed) return false;
    }
    return true;
}

/* $XDG_DATA_HOME/ovenwright/calls.db, else ~/.local/share/... (XDG Base Directory Specification). */
static const char *default_path(Arena *arena, Error *error)
{
    const char *data = environment("XDG_DATA_HOME"), *home = environment("HOME");
    TextBuilder path = text_builder(arena, PATH_LIMIT);
    if (!data && !home) {
        error_set(error, ERROR_USAGE, "no home folder", "--store FILE, or OVENWRIGHT_STORE");
        return NULL;
    }
    text_add(&path, data ? data : home);
    text_add(&path, data ? "/ovenwright/calls.db" : "/.local/share/ovenwright/calls.db");
    if (!path.is_cut && make_folders(path.bytes, error)) return text_string(&path);
    if (path.is_cut) error_set(error, ERROR_TOO_LARGE, "the path of the data folder", "--store FILE");
    return NULL;
}

/* A name that a record takes: never empty, never too long. */
static const char *name_of(const char *given, const char *otherwise, Arena *arena)
{
    const char *name = given && given[0] ? given : otherwise;
    const size_t length = strlen(name);
    const char *copy = arena_copy_text(arena, name, length < TRAIL_MOST_NAME ? length : TRAIL_MOST_NAME);
    return copy ? copy : otherwise;
}

const char *shelf_path(const Invocation *invocation, Error *error)
{
    const char *path = cli__option(invocation, OPTION_STORE, environment("OVENWRIGHT_STORE"));
    return path ? path : default_path(invocation->arena, error);
}

bool shelf_open(const Invocation *invocation, bool may_create, Shelf *shelf, Error *error)
{
    char host[128] = "";
    const char *path = shelf_path(invocation, error);
    const char *by = cli__option(invocation, OPTION_BY, environment("OVENWRIGHT_TECHNICIAN"));
    if (gethostname(host, sizeof host - 1) != 0) host[0] = '\0';
    *shelf = (Shelf){.arena = invocation->arena};
    shelf->author = name_of(by ? by : environment("USER"), "somebody", invocation->arena);
    shelf->device = name_of(host, "this device", invocation->arena);
    return path && store_open(path, may_create, &shelf->store, error);
}

void shelf_close(Shelf *shelf) { store_close(shelf->store); }

bool shelf_do(Invocation *invocation, bool may_create, ShelfWork *work, Error *error)
{
    Shelf shelf;
    if (!shelf_open(invocation, may_create, &shelf, error)) return false;
    const bool went_well = work(invocation, &shelf, error);
    shelf_close(&shelf);
    return went_well;
}

bool shelf_read_number(const char *typed, const DeskCall *found, int *number, Error *error)
{
    double value = 0;
    if (!text_read_number(text_of(typed), &value) || value < 1 || value > found->trail.count ||
        value != (double)(int)value)
        return error_set(error, ERROR_USAGE, typed, "the number of a record, from 1 to %d",
                         found->trail.count);
    *number = (int)value;
    return true;
}

int64_t shelf_now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_REALTIME, &time);
    return (int64_t)time.tv_sec * 1000 + time.tv_nsec / 1000000;
}

TrailRecord shelf_record(const Shelf *shelf, const DeskCall *of, TrailKind kind, const char *subject,
                         const char *content)
{
    TrailRecord record = {.made_millisecond = trail_time_after(of->records, of->count, shelf_now()),
                          .author = shelf->author,
                          .device = shelf->device,
                          .kind = kind,
                          .subject = subject,
                          .payload = content};
    store_new_id(record.made_millisecond, record.id);
    memcpy(record.call, of->call, sizeof record.call);
    return record;
}
