/* cache.c: what was simulated before, kept between runs of the program.
 *
 * The origin is a hash of the program's own file: another build never finds what this one has computed, so a
 * change of a constant needs no version to be counted up by hand. The file is written beside and renamed into
 * its place, so that two programs at once leave one whole file. */
#include "edge/desk/desk_private.h"

#include "edge/files/files.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_LENGTH = 1024, CACHE_LIMIT = 32 << 20, PROGRAM_LIMIT = 256 << 20 };

/* FNV-1a (Fowler, Noll, Vo). */
static uint64_t hash_of(Text bytes)
{
    uint64_t hash = 0xcbf29ce484222325u;
    for (size_t i = 0; i < bytes.length; i++) hash = (hash ^ (unsigned char)bytes.bytes[i]) * 0x100000001b3u;
    return hash;
}

/* 0: not to be had, and then there is no cache. */
static uint64_t find_origin(void)
{
    Arena arena = arena_new(2 * (size_t)PROGRAM_LIMIT);
    Text program;
    Error ignored;
    const bool is_read = files_read("/proc/self/exe", PROGRAM_LIMIT, &arena, &program, &ignored);
    const uint64_t origin = is_read ? hash_of(program) : 0;
    arena_free(&arena);
    return origin;
}

/* False when there is no place for it. */
static bool find_path(char path[PATH_LENGTH], bool make_folders)
{
    const char *named = getenv("OVENWRIGHT_CACHE"), *cache = getenv("XDG_CACHE_HOME"), *home = getenv("HOME");
    char folder[PATH_LENGTH - 40];
    if (named) return named[0] && snprintf(path, PATH_LENGTH, "%s", named) < PATH_LENGTH;
    const int length = cache && cache[0] ? snprintf(folder, sizeof folder, "%s", cache)
                       : home && home[0] ? snprintf(folder, sizeof folder, "%s/.cache", home)
                                         : -1;
    if (length < 0 || length >= (int)sizeof folder) return false;
    snprintf(path, PATH_LENGTH, "%s/ovenwright", folder);
    if (make_folders) {
        mkdir(folder, 0777);
        mkdir(path, 0777);
    }
    snprintf(path, PATH_LENGTH, "%s/ovenwright/behaviours", folder);
    return true;
}

bool desk__open_cache(Arena *arena, BehaviourMemory *memory, Error *error)
{
    char path[PATH_LENGTH];
    Text bytes;
    Error ignored;
    if (!behaviour_begin(arena, memory, error)) return false;
    if (!find_path(path, false) || access(path, R_OK) != 0) return true;
    Arena scratch = arena_new(2 * (size_t)CACHE_LIMIT);
    if (files_read(path, CACHE_LIMIT, &scratch, &bytes, &ignored))
        behaviour_read(memory, find_origin(), bytes);
    arena_free(&scratch);
    return true;
}

void desk_keep(BehaviourMemory *memory)
{
    char path[PATH_LENGTH], beside[PATH_LENGTH + 24];
    Error ignored;
    const uint64_t origin = memory->simulated > 0 ? find_origin() : 0;
    if (origin == 0 || !find_path(path, true)) return;
    snprintf(beside, sizeof beside, "%s.%ld", path, (long)getpid());
    Arena arena = arena_new(2 * (size_t)CACHE_LIMIT);
    TextBuilder bytes = text_builder(&arena, CACHE_LIMIT);
    if (!behaviour_write(memory, origin, &bytes) ||
        !files_write(beside, (Text){text_string(&bytes), bytes.length}, &ignored) ||
        rename(beside, path) != 0)
        unlink(beside);
    else
        memory->simulated = 0;
    arena_free(&arena);
}
