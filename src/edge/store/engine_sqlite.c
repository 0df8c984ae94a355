/* engine_sqlite.c: a store in one SQLite file.
 *
 * Write-ahead log with a full synchronisation at each commit: what is acknowledged has reached the disk, and
 * a reader never waits for a writer. Tables are strict and keys are held, so that the file itself refuses
 * what a defect of ours might write. */
#include "edge/store/store_private.h"

#include <errno.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { BUSY_MILLISECOND = 10000 /* another process may be writing */, MOST_KEPT = 40 };

typedef struct {
    StoreEngine engine; /* first: an engine is cast to its whole */
    sqlite3 *database;
    char path[1024];
    sqlite3_stmt *kept[MOST_KEPT]; /* to be used again, since making one takes longer than running it */
    int kept_count;
} SqliteEngine;

static const StoreDialect dialect = {
    .begin = "BEGIN IMMEDIATE",
    .count_tables = "SELECT count(*) FROM sqlite_schema WHERE type = 'table'",
    .count_ours = "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = 'meta'",
    .integer = "INTEGER",
    .bytes = "BLOB",
    .text = "TEXT",
    .arrival = "INTEGER PRIMARY KEY AUTOINCREMENT",
    .strict = " STRICT",
    .by_key = " STRICT, WITHOUT ROWID",
    .find = "instr",
};

static bool fail(const SqliteEngine *whole, int code, Error *error)
{
    const char *what = whole->database ? sqlite3_errmsg(whole->database) : sqlite3_errstr(code);
    if ((code & 0xff) == SQLITE_NOMEM) return error_memory(error);
    error_set(error, ERROR_IO, what, "a store that can be read and written");
    if ((code & 0xff) == SQLITE_FULL)
        error_hint(error, "The disk is full: nothing was lost; make room and do it again.");
    if ((code & 0xff) == SQLITE_READONLY) error_hint(error, "The file may only be read: see who owns it.");
    if ((code & 0xff) == SQLITE_BUSY) error_hint(error, "Another program is writing to it: do it again.");
    if ((code & 0xff) == SQLITE_CORRUPT || (code & 0xff) == SQLITE_NOTADB)
        error_hint(error, "The file is damaged or no store at all: restore a backup.");
    return error_at(error, whole->path, 0, 0);
}

static int bind(sqlite3_stmt *statement, const StoreValue *values, int count)
{
    int code = SQLITE_OK;
    for (int i = 0; i < count && code == SQLITE_OK; i++) {
        char name[12] = "$";
        sqlite3_snprintf((int)sizeof name, name, "$%d", i + 1);
        const int at = sqlite3_bind_parameter_index(statement, name);
        const StoreValue *value = &values[i];
        if (at == 0) continue; /* the statement does not use it */
        if (value->is_null)
            code = sqlite3_bind_null(statement, at);
        else if (value->is_bytes)
            code = sqlite3_bind_blob64(statement, at, value->text ? value->text : "", value->length,
                                       SQLITE_TRANSIENT);
        else if (value->text)
            code =
                sqlite3_bind_text64(statement, at, value->text, value->length, SQLITE_TRANSIENT, SQLITE_UTF8);
        else
            code = sqlite3_bind_int64(statement, at, value->number);
    }
    return code;
}

enum { MOST_COLUMNS = 16 };

static bool hand_row(sqlite3_stmt *statement, StoreRow *row, void *context, Error *error)
{
    StoreValue columns[MOST_COLUMNS] = {{.is_null = false}};
    for (int c = 0; c < sqlite3_column_count(statement) && c < MOST_COLUMNS; c++) {
        const int type = sqlite3_column_type(statement, c);
        if (type == SQLITE_INTEGER) {
            columns[c].number = sqlite3_column_int64(statement, c);
            continue;
        }
        columns[c].is_null = type == SQLITE_NULL;
        columns[c].is_bytes = type == SQLITE_BLOB;
        const void *bytes =
            type == SQLITE_BLOB ? sqlite3_column_blob(statement, c) : sqlite3_column_text(statement, c);
        columns[c].text = bytes ? bytes : "";
        columns[c].length = (size_t)sqlite3_column_bytes(statement, c);
    }
    return row(context, columns, error);
}

/* A statement that is in the middle of its rows is not taken for another use. */
static sqlite3_stmt *find_kept(const SqliteEngine *whole, const char *sql)
{
    for (int k = 0; k < whole->kept_count; k++)
        if (strcmp(sqlite3_sql(whole->kept[k]), sql) == 0 && !sqlite3_stmt_busy(whole->kept[k]))
            return whole->kept[k];
    return NULL;
}

static int prepare(SqliteEngine *whole, const char *sql, sqlite3_stmt **statement)
{
    *statement = find_kept(whole, sql);
    if (*statement) return SQLITE_OK;
    const int code = sqlite3_prepare_v2(whole->database, sql, -1, statement, NULL);
    if (code == SQLITE_OK && whole->kept_count < MOST_KEPT) whole->kept[whole->kept_count++] = *statement;
    return code;
}

static void let_go(const SqliteEngine *whole, sqlite3_stmt *statement)
{
    bool is_kept = false;
    for (int k = 0; k < whole->kept_count; k++) is_kept = is_kept || whole->kept[k] == statement;
    if (is_kept) {
        sqlite3_reset(statement);
        sqlite3_clear_bindings(statement);
    } else {
        sqlite3_finalize(statement);
    }
}

static bool run(StoreEngine *engine, const char *sql, const StoreValue *values, int value_count,
                StoreRow *row, void *context, int *changed, Error *error)
{
    SqliteEngine *whole = (SqliteEngine *)engine;
    sqlite3_stmt *statement = NULL;
    bool is_handed = true;
    int code = prepare(whole, sql, &statement);
    if (code == SQLITE_OK) code = bind(statement, values, value_count);
    if (code == SQLITE_OK) code = SQLITE_ROW;
    while (code == SQLITE_ROW && is_handed) {
        code = sqlite3_step(statement);
        if (code == SQLITE_ROW && row) is_handed = hand_row(statement, row, context, error);
    }
    const bool went_well = is_handed && code == SQLITE_DONE;
    if (went_well && changed) *changed = sqlite3_changes(whole->database);
    if (is_handed && !went_well) fail(whole, code, error);
    if (statement) let_go(whole, statement);
    return went_well;
}

/* ---- the file itself */

typedef struct {
    StoreSays *says;
    void *context;
    int found;
} Saying;

static bool say_unless_ok(void *context, const StoreValue *columns, Error *error)
{
    Saying *saying = context;
    (void)error;
    if (columns[0].text && strcmp(columns[0].text, "ok") == 0) return true;
    saying->says(saying->context, columns[0].text ? columns[0].text : "a key that leads nowhere");
    saying->found++;
    return true;
}

static bool check(StoreEngine *engine, StoreSays *says, void *context, int *found, Error *error)
{
    Saying saying = {says, context, 0};
    const bool went_well =
        run(engine, "PRAGMA integrity_check", NULL, 0, say_unless_ok, &saying, NULL, error) &&
        run(engine, "PRAGMA foreign_key_check", NULL, 0, say_unless_ok, &saying, NULL, error);
    *found += saying.found;
    return went_well;
}

/* The copy is a store of its own from now on, so that nobody takes what comes to it for what they have had.
 */
static bool name_copy(const char *path, Error *error)
{
    char id[TRAIL_ID_SIZE];
    StoreEngine *copy;
    store_new_id(1, id);
    const StoreValue values[] = {store__text(id)};
    if (!store__open_sqlite(path, false, &copy, error)) return false;
    const bool went_well =
        run(copy, "UPDATE meta SET value = $1 WHERE key = 'store'", values, 1, NULL, NULL, NULL, error);
    copy->close(copy);
    return went_well;
}

/* Made whole under another name before it has its own: a copy that was interrupted is none. */
static bool copy_file(StoreEngine *engine, const char *path, Error *error)
{
    char unfinished[1024];
    if (access(path, F_OK) == 0) {
        error_set(error, ERROR_IO, "a file that is there already", "a name for a new file");
        return error_at(error, path, 0, 0);
    }
    if (snprintf(unfinished, sizeof unfinished, "%s.unfinished", path) >= (int)sizeof unfinished)
        return error_set(error, ERROR_TOO_LARGE, "the path of the copy", "at most 1000 letters");
    const StoreValue values[] = {store__text(unfinished)};
    remove(unfinished);
    if (run(engine, "VACUUM INTO $1", values, 1, NULL, NULL, NULL, error) && name_copy(unfinished, error)) {
        if (rename(unfinished, path) == 0) return true;
        error_set(error, ERROR_IO, strerror(errno), "a copy under its name");
    }
    remove(unfinished);
    return error_at(error, path, 0, 0);
}

/* What was deleted is written over with zeros at once; what the log still has of it goes here. */
static bool forget(StoreEngine *engine, Error *error)
{
    return run(engine, "PRAGMA wal_checkpoint(TRUNCATE)", NULL, 0, NULL, NULL, NULL, error);
}

static void close_engine(StoreEngine *engine)
{
    SqliteEngine *whole = (SqliteEngine *)engine;
    for (int k = 0; k < whole->kept_count; k++) sqlite3_finalize(whole->kept[k]);
    sqlite3_close(whole->database);
    free(whole);
}

/* ---- opening */

static bool set_up(SqliteEngine *whole, Error *error)
{
    static const char *const settings[] = {"PRAGMA journal_mode = WAL", "PRAGMA synchronous = FULL",
                                           "PRAGMA foreign_keys = ON", "PRAGMA trusted_schema = OFF",
                                           "PRAGMA secure_delete = ON"};
    sqlite3_busy_timeout(whole->database, BUSY_MILLISECOND);
    for (size_t i = 0; i < sizeof settings / sizeof settings[0]; i++)
        if (!run(&whole->engine, settings[i], NULL, 0, NULL, NULL, NULL, error)) return false;
    return true;
}

bool store__open_sqlite(const char *path, bool may_create, StoreEngine **engine, Error *error)
{
    SqliteEngine *whole = calloc(1, sizeof *whole);
    if (!whole) return error_memory(error);
    whole->engine = (StoreEngine){&dialect, run, check, copy_file, forget, close_engine};
    sqlite3_snprintf((int)sizeof whole->path, whole->path, "%s", path);
    const int flags = SQLITE_OPEN_READWRITE | (may_create ? SQLITE_OPEN_CREATE : 0);
    const int code = sqlite3_open_v2(path, &whole->database, flags, NULL);
    if (code != SQLITE_OK)
        fail(whole, code, error);
    else if (set_up(whole, error)) {
        *engine = &whole->engine;
        return true;
    }
    close_engine(&whole->engine);
    return false;
}
