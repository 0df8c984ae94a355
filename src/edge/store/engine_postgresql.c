/* engine_postgresql.c: a store in a PostgreSQL database, for a company.
 *
 * Writers wait for each other by an advisory lock, as they do with a file: a call's summary is worked out of
 * records that nobody else adds to meanwhile, and records become visible in the order of their arrival, on
 * which the exchange between stores relies. Numbers and bytes travel in the server's binary form.
 *
 * When the connection is cut within a commit, nobody on this side knows whether it was kept. Doing it again
 * settles it, since what is there already is passed over; the next transaction connects anew by itself. */
#include "edge/store/store_private.h"

#include <libpq-fe.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_PARAMETERS = 32, MOST_COLUMNS = 16, NUMBER_LENGTH = 24 };
enum { OID_BYTES = 17, OID_BIG = 20, OID_SMALL = 21, OID_INTEGER = 23 }; /* pg_type.dat; fixed for good */

typedef struct {
    StoreEngine engine; /* first: an engine is cast to its whole */
    PGconn *connection;
    char place[160]; /* without a password */
} PostgresqlEngine;

static const StoreDialect dialect = {
    .begin = "BEGIN; SELECT pg_advisory_xact_lock(3847204519)", /* any number, as long as it is ours */
    .count_tables = "SELECT count(*) FROM information_schema.tables WHERE table_schema = current_schema()",
    .count_ours = "SELECT count(*) FROM information_schema.tables WHERE table_schema = current_schema()"
                  " AND table_name = 'meta'",
    .integer = "BIGINT",
    .bytes = "BYTEA",
    .text = "TEXT COLLATE \"C\"", /* sorted as the file is, whatever the server's language */
    .arrival = "BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY",
    .strict = "",
    .by_key = "",
    .find = "strpos",
};

/* The server's sentence in one line. */
static void first_line(const char *message, char *out, size_t size)
{
    const size_t length = strcspn(message, "\n");
    snprintf(out, size, "%.*s", (int)(length < size ? length : size - 1), message);
}

static bool fail(PostgresqlEngine *whole, const char *message, const char *state, Error *error)
{
    char line[180];
    first_line(message && message[0] ? message : "no answer", line, sizeof line);
    error_set(error, ERROR_IO, line, "a shop's store that answers");
    if (PQstatus(whole->connection) != CONNECTION_OK)
        error_hint(error,
                   "The connection is gone. Do it again: what was kept already is not put down twice.");
    else if (state && strcmp(state, "53100") == 0) /* appendix A of the manual: disk_full */
        error_hint(error, "The server's disk is full: nothing was lost; make room and do it again.");
    else if (state && (strncmp(state, "42501", 5) == 0 || strncmp(state, "25006", 5) == 0))
        error_hint(error, "This user may not write there: see who may.");
    return error_at(error, whole->place, 0, 0);
}

/* ---- statements */

typedef struct {
    const char *texts[MOST_PARAMETERS];
    int lengths[MOST_PARAMETERS], formats[MOST_PARAMETERS];
    char numbers[MOST_PARAMETERS][NUMBER_LENGTH];
    Arena arena; /* texts that do not end with a NUL */
} Parameters;

static bool set_parameters(Parameters *parameters, const StoreValue *values, int count)
{
    for (int v = 0; v < count; v++) {
        const StoreValue *value = &values[v];
        parameters->formats[v] = value->is_bytes;
        parameters->lengths[v] = (int)value->length;
        if (value->is_null) continue; /* a NULL pointer is a null */
        if (!value->text) {
            snprintf(parameters->numbers[v], NUMBER_LENGTH, "%lld", (long long)value->number);
            parameters->texts[v] = parameters->numbers[v];
        } else if (value->is_bytes) {
            parameters->texts[v] = value->text;
        } else {
            parameters->texts[v] = arena_copy_text(&parameters->arena, value->text, value->length);
            if (!parameters->texts[v]) return false;
        }
    }
    return true;
}

/* Several statements in one go cannot take parameters; only the beginning of a transaction is so. */
static PGresult *send_statement(PostgresqlEngine *whole, const char *sql, const StoreValue *values, int count)
{
    if (strchr(sql, ';')) return PQexec(whole->connection, sql);
    Parameters *parameters = calloc(1, sizeof *parameters);
    PGresult *result = NULL;
    if (!parameters) return NULL;
    parameters->arena = arena_new((size_t)64 << 20);
    if (count <= MOST_PARAMETERS && set_parameters(parameters, values, count))
        result = PQexecParams(whole->connection, sql, count, NULL, parameters->texts, parameters->lengths,
                              parameters->formats, 1);
    arena_free(&parameters->arena);
    free(parameters);
    return result;
}

static int64_t read_number(const char *bytes, int length)
{
    uint64_t number = bytes[0] & 0x80 ? UINT64_MAX : 0;
    for (int b = 0; b < length; b++) number = number << 8 | (unsigned char)bytes[b];
    return (int64_t)number;
}

static StoreValue read_column(const PGresult *result, int r, int c)
{
    const Oid type = PQftype(result, c);
    const char *bytes = PQgetvalue(result, r, c);
    const int length = PQgetlength(result, r, c);
    if (PQgetisnull(result, r, c)) return (StoreValue){.text = "", .is_null = true};
    if (type == OID_BIG || type == OID_INTEGER || type == OID_SMALL)
        return (StoreValue){.number = read_number(bytes, length)};
    return (StoreValue){.text = bytes, .length = (size_t)length, .is_bytes = type == OID_BYTES};
}

static bool hand_rows(const PGresult *result, StoreRow *row, void *context, Error *error)
{
    StoreValue columns[MOST_COLUMNS];
    for (int r = 0; row && r < PQntuples(result); r++) {
        for (int c = 0; c < PQnfields(result) && c < MOST_COLUMNS; c++)
            columns[c] = read_column(result, r, c);
        if (!row(context, columns, error)) return false;
    }
    return true;
}

static int count_changed(PGresult *result)
{
    double rows = 0;
    return text_read_number(text_of(PQcmdTuples(result)), &rows) ? (int)rows : 0;
}

static bool run(StoreEngine *engine, const char *sql, const StoreValue *values, int value_count,
                StoreRow *row, void *context, int *changed, Error *error)
{
    PostgresqlEngine *whole = (PostgresqlEngine *)engine;
    if (sql == dialect.begin && PQstatus(whole->connection) != CONNECTION_OK) PQreset(whole->connection);
    PGresult *result = send_statement(whole, sql, values, value_count);
    const ExecStatusType status = PQresultStatus(result);
    bool went_well = status == PGRES_COMMAND_OK || status == PGRES_TUPLES_OK;
    /* a commit of what had failed before says so by its word alone */
    if (went_well && strcmp(sql, "COMMIT") == 0 && strcmp(PQcmdStatus(result), "COMMIT") != 0)
        went_well = error_set(error, ERROR_IO, "a transaction that was taken back", "one that is kept");
    else if (!went_well)
        fail(whole, result ? PQresultErrorMessage(result) : PQerrorMessage(whole->connection),
             result ? PQresultErrorField(result, PG_DIAG_SQLSTATE) : NULL, error);
    else if (changed)
        *changed = count_changed(result);
    went_well = went_well && hand_rows(result, row, context, error);
    PQclear(result);
    return went_well;
}

/* ---- */

static bool check(StoreEngine *engine, StoreSays *says, void *context, int *found, Error *error)
{
    (void)says;
    (void)context;
    (void)found; /* the server checks its own pages */
    return run(engine, "SELECT 1", NULL, 0, NULL, NULL, NULL, error);
}

/* Rewrites the table, so that what was deleted is in none of its pages. The server's own log and its backups
 * have it until they go. */
static bool forget(StoreEngine *engine, Error *error)
{
    return run(engine, "VACUUM FULL customer", NULL, 0, NULL, NULL, NULL, error);
}

static void close_engine(StoreEngine *engine)
{
    PostgresqlEngine *whole = (PostgresqlEngine *)engine;
    PQfinish(whole->connection);
    free(whole);
}

static void keep_quiet(void *context, const char *message)
{
    (void)context;
    (void)message; /* notices are not for technicians */
}

bool store__open_postgresql(const char *url, StoreEngine **engine, Error *error)
{
    static const char *const keywords[] = {"dbname", "client_encoding", "connect_timeout", "application_name",
                                           NULL};
    const char *const values[] = {url, "UTF8", "10", "ovenwright", NULL};
    PostgresqlEngine *whole = calloc(1, sizeof *whole);
    if (!whole) return error_memory(error);
    whole->engine = (StoreEngine){&dialect, run, check, NULL, forget, close_engine};
    whole->connection = PQconnectdbParams(keywords, values, 1);
    const char *host = whole->connection ? PQhost(whole->connection) : NULL;
    const char *name = whole->connection ? PQdb(whole->connection) : NULL;
    snprintf(whole->place, sizeof whole->place, "postgresql://%s/%s", host ? host : "", name ? name : "");
    if (PQstatus(whole->connection) == CONNECTION_OK) {
        PQsetNoticeProcessor(whole->connection, keep_quiet, NULL);
        *engine = &whole->engine;
        return true;
    }
    fail(whole, PQerrorMessage(whole->connection), NULL, error);
    error_hint(error, "Is the server running, is its name right, and may this user connect?");
    close_engine(&whole->engine);
    return false;
}
