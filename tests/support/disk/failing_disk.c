/* failing_disk.c: see failing_disk.h. */
#include "support/failing_disk.h"

#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

static int calls, fails_at;

void failing_disk_set(int at)
{
    calls = 0;
    fails_at = at;
}

int failing_disk_calls(void) { return calls; }

static int is_dead(void)
{
    calls++;
    return fails_at > 0 && calls >= fails_at;
}

/* A file of ours begins with what SQLite asks of it, and has the real one behind. */
typedef struct {
    sqlite3_file base;
    sqlite3_file *real;
} File;

static sqlite3_file *real_of(sqlite3_file *file) { return ((File *)file)->real; }

#define PASS(name, parameters, ...)                                                                          \
    static int name parameters { return real_of(file)->pMethods->name(real_of(file), __VA_ARGS__); }
#define PASS_ALONE(name)                                                                                     \
    static int name(sqlite3_file *file) { return real_of(file)->pMethods->name(real_of(file)); }

PASS(xRead, (sqlite3_file * file, void *out, int size, sqlite3_int64 at), out, size, at)
PASS(xFileSize, (sqlite3_file * file, sqlite3_int64 *size), size)
PASS(xLock, (sqlite3_file * file, int level), level)
PASS(xUnlock, (sqlite3_file * file, int level), level)
PASS(xCheckReservedLock, (sqlite3_file * file, int *is), is)
PASS(xFileControl, (sqlite3_file * file, int what, void *with), what, with)
PASS_ALONE(xSectorSize)
PASS_ALONE(xDeviceCharacteristics)
PASS(xShmMap, (sqlite3_file * file, int page, int size, int extend, void volatile **out), page, size, extend,
     out)
PASS(xShmLock, (sqlite3_file * file, int offset, int n, int flags), offset, n, flags)
PASS(xShmUnmap, (sqlite3_file * file, int is_deleted), is_deleted)

static void xShmBarrier(sqlite3_file *file) { real_of(file)->pMethods->xShmBarrier(real_of(file)); }

/* Half of what was to be written is written first: a torn page. */
static int xWrite(sqlite3_file *file, const void *bytes, int size, sqlite3_int64 at)
{
    if (!is_dead()) return real_of(file)->pMethods->xWrite(real_of(file), bytes, size, at);
    if (calls == fails_at) (void)real_of(file)->pMethods->xWrite(real_of(file), bytes, size / 2, at);
    return calls % 2 ? SQLITE_IOERR_WRITE : SQLITE_FULL;
}

static int xTruncate(sqlite3_file *file, sqlite3_int64 size)
{
    return is_dead() ? SQLITE_IOERR_TRUNCATE : real_of(file)->pMethods->xTruncate(real_of(file), size);
}

static int xSync(sqlite3_file *file, int flags)
{
    return is_dead() ? SQLITE_IOERR_FSYNC : real_of(file)->pMethods->xSync(real_of(file), flags);
}

static int xClose(sqlite3_file *file)
{
    const int code = real_of(file)->pMethods->xClose(real_of(file));
    sqlite3_free(real_of(file));
    return code;
}

static const sqlite3_io_methods methods = {.iVersion = 2,
                                           .xClose = xClose,
                                           .xRead = xRead,
                                           .xWrite = xWrite,
                                           .xTruncate = xTruncate,
                                           .xSync = xSync,
                                           .xFileSize = xFileSize,
                                           .xLock = xLock,
                                           .xUnlock = xUnlock,
                                           .xCheckReservedLock = xCheckReservedLock,
                                           .xFileControl = xFileControl,
                                           .xSectorSize = xSectorSize,
                                           .xDeviceCharacteristics = xDeviceCharacteristics,
                                           .xShmMap = xShmMap,
                                           .xShmLock = xShmLock,
                                           .xShmBarrier = xShmBarrier,
                                           .xShmUnmap = xShmUnmap};

static sqlite3_vfs *real_disk;

static int xOpen(sqlite3_vfs *disk, const char *name, sqlite3_file *file, int flags, int *out_flags)
{
    File *ours = (File *)file;
    (void)disk;
    ours->base.pMethods = NULL;
    if ((flags & SQLITE_OPEN_CREATE) && is_dead()) return SQLITE_CANTOPEN;
    ours->real = sqlite3_malloc(real_disk->szOsFile);
    if (!ours->real) return SQLITE_NOMEM;
    memset(ours->real, 0, (size_t)real_disk->szOsFile);
    const int code = real_disk->xOpen(real_disk, name, ours->real, flags, out_flags);
    if (code == SQLITE_OK)
        ours->base.pMethods = &methods;
    else
        sqlite3_free(ours->real);
    return code;
}

void failing_disk_install(void)
{
    static sqlite3_vfs disk;
    real_disk = sqlite3_vfs_find(NULL);
    disk = *real_disk;
    disk.zName = "failing";
    disk.szOsFile = (int)sizeof(File);
    disk.xOpen = xOpen;
    if (sqlite3_vfs_register(&disk, 1) != SQLITE_OK) abort();
}
