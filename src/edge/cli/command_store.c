/* command_store.c: `ovenwright store check`, `backup`, `restore`, `migrate`, `export` and `sync`. */
#include "edge/cli/shelf.h"
#include "edge/files/files.h"
#include "format/record_text/record_text.h"

static void say(void *context, const char *sentence)
{
    text_add(context, sentence);
    text_add(context, "\n");
}

static bool check(Invocation *invocation, const Shelf *shelf, Error *error)
{
    int found = 0;
    if (!store_check(shelf->store, say, &invocation->out, &found, error)) return false;
    text_addf(&invocation->out, found ? "%d findings\n" : "nothing wrong\n", found);
    invocation->exit_status = found ? error_exit_status(ERROR_IO) : 0;
    return true;
}

bool cli__store_check(Invocation *invocation, Error *error)
{
    return shelf_do(invocation, false, check, error);
}

static bool backup(Invocation *invocation, const Shelf *shelf, Error *error)
{
    return store_backup(shelf->store, invocation->arguments[0], error);
}

bool cli__store_backup(Invocation *invocation, Error *error)
{
    return shelf_do(invocation, false, backup, error);
}

/* A union: nothing that came after the backup is lost. */
static bool restore(Invocation *invocation, const Shelf *shelf, Error *error)
{
    Store *from;
    int taken;
    if (!store_open(invocation->arguments[0], false, &from, error)) return false;
    const bool went_well = store_take(shelf->store, from, &taken, error);
    store_close(from);
    if (went_well) text_addf(&invocation->out, "%d records taken\n", taken);
    return went_well;
}

bool cli__store_restore(Invocation *invocation, Error *error)
{
    return shelf_do(invocation, true, restore, error);
}

/* Whoever opens an older store brings it up to date; this is for doing so on purpose, and for saying it. */
static bool migrate(Invocation *invocation, const Shelf *shelf, Error *error)
{
    const int found = store_found_schema(shelf->store);
    (void)error;
    if (found == STORE_SCHEMA)
        text_addf(&invocation->out, "schema %d, up to date\n", found);
    else if (found == 0)
        text_addf(&invocation->out, "made with schema %d\n", STORE_SCHEMA);
    else
        text_addf(&invocation->out, "schema %d was brought to %d\n", found, STORE_SCHEMA);
    return true;
}

bool cli__store_migrate(Invocation *invocation, Error *error)
{
    return shelf_do(invocation, true, migrate, error);
}

/* ---- everything, for a spreadsheet or another program */

enum { PIECE_LIMIT = 256 << 20 };

typedef struct {
    FilesWriter writer;
    bool is_table;
} Export;

static bool write_records(void *context, const TrailRecord *records, int count, Error *error)
{
    Export *export = context;
    Arena arena = arena_new(PIECE_LIMIT);
    TextBuilder text = text_builder(&arena, PIECE_LIMIT);
    bool went_well = true;
    for (int r = 0; r < count && went_well; r++) {
        if (export->is_table)
            record_text_write_csv(&records[r], &text);
        else
            went_well = record_text_write_json(&records[r], &text, error);
    }
    if (went_well && text.is_cut) went_well = error_memory(error);
    went_well = went_well && files_add(&export->writer, (Text){text_string(&text), text.length}, error);
    arena_free(&arena);
    return went_well;
}

static bool export_all(Invocation *invocation, const Shelf *shelf, Error *error)
{
    Export export = {.is_table = cli__has_option(invocation, OPTION_CSV)};
    TextBuilder head = text_builder(invocation->arena, 1000);
    if (export.is_table) record_text_write_csv_head(&head);
    if (!files_begin(cli__option(invocation, OPTION_OUTPUT, NULL), &export.writer, error)) return false;
    const bool went_well = files_add(&export.writer, (Text){text_string(&head), head.length}, error) &&
                           store_each(shelf->store, write_records, &export, error);
    return files_end(&export.writer, went_well, error);
}

bool cli__store_export(Invocation *invocation, Error *error)
{
    return shelf_do(invocation, false, export_all, error);
}

/* ---- two stores */

static bool sync(Invocation *invocation, const Shelf *shelf, Error *error)
{
    Store *other;
    int given, taken;
    if (!store_open(invocation->arguments[0], false, &other, error)) return false;
    const bool went_well =
        store_take(other, shelf->store, &given, error) && store_take(shelf->store, other, &taken, error);
    store_close(other);
    if (went_well) text_addf(&invocation->out, "%d records given, %d taken\n", given, taken);
    return went_well;
}

bool cli__store_sync(Invocation *invocation, Error *error) { return shelf_do(invocation, true, sync, error); }
