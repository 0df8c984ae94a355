/* files.c: see files.h.
 *
 * Every call of the system is looked at, and what the system said is passed on in its own words (errno),
 * with the path. Nothing is written in place and nothing is locked: the program keeps no state between two
 * runs. */
#include "edge/files/files.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* What the system says about the last call that failed, as an error about `path`. */
static bool system_error(Error *error, const char *path, const char *expected)
{
    error_set(error, ERROR_IO, strerror(errno), "%s", expected);
    return error_at(error, path, 0, 0);
}

/* Reads to the end whatever the file is: a pipe has no size to ask for, and one that grows is stopped by the
 * limit. */
static bool read_open_file(int file, const char *path, size_t limit, TextBuilder *builder, Error *error)
{
    char block[16384];
    for (;;) {
        const ssize_t count = read(file, block, sizeof block);
        if (count == 0) return true;
        if (count < 0 && errno == EINTR) continue;
        if (count < 0) return system_error(error, path, "a file that can be read");
        text_add_bytes(builder, block, (size_t)count);
        if (builder->is_cut) {
            error_set(error, ERROR_TOO_LARGE, "a longer file", "at most %zu bytes", limit);
            return error_at(error, path, 0, 0);
        }
    }
}

/* A folder opens like a file and fails at the first read, with the system's own sentence. */
bool files_read(const char *path, size_t limit, Arena *arena, Text *text, Error *error)
{
    const int file = open(path, O_RDONLY | O_CLOEXEC);
    if (file < 0) return system_error(error, path, "a file that can be read");
    TextBuilder builder = text_builder(arena, limit);
    const bool is_read = read_open_file(file, path, limit, &builder, error);
    close(file);
    *text = (Text){text_string(&builder), builder.length};
    return is_read;
}

/* A write may take only part of it; a signal is no failure. */
static bool write_all(int file, Text text)
{
    while (text.length > 0) {
        const ssize_t count = write(file, text.bytes, text.length);
        if (count < 0 && errno == EINTR) continue;
        if (count < 0) return false;
        text.bytes += count;
        text.length -= (size_t)count;
    }
    return true;
}

bool files_write(const char *path, Text text, Error *error)
{
    const char *name = path ? path : "standard output";
    const int file = path ? open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666) : STDOUT_FILENO;
    if (file < 0) return system_error(error, name, "a file that can be written");
    const bool is_written = write_all(file, text);
    if (!is_written) system_error(error, name, "room and permission to write all of it");
    /* Some file systems tell only now that the disk is full. */
    const bool is_closed = close(file) == 0;
    if (is_written && !is_closed) system_error(error, name, "room and permission to write all of it");
    return is_written && is_closed;
}

bool files_begin(const char *path, FilesWriter *writer, Error *error)
{
    *writer = (FilesWriter){.file = STDOUT_FILENO, .path = path};
    if (!path) return true;
    if (snprintf(writer->unfinished, sizeof writer->unfinished, "%s.unfinished", path) >=
        (int)sizeof writer->unfinished)
        return error_set(error, ERROR_TOO_LARGE, path, "a shorter path");
    writer->file = open(writer->unfinished, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    return writer->file >= 0 || system_error(error, path, "a file that can be written");
}

bool files_add(FilesWriter *writer, Text text, Error *error)
{
    return write_all(writer->file, text) ||
           system_error(error, writer->path ? writer->path : "standard output",
                        "room and permission to write all of it");
}

bool files_end(FilesWriter *writer, bool went_well, Error *error)
{
    if (!writer->path) return went_well;
    const bool is_closed = close(writer->file) == 0;
    if (went_well && is_closed && rename(writer->unfinished, writer->path) == 0) return true;
    if (went_well) system_error(error, writer->path, "room and permission to write all of it");
    unlink(writer->unfinished);
    return false;
}
