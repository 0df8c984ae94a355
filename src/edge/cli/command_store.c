/* command_store.c: `ovenwright store check`, `backup` and `sync`. */
#include "edge/cli/shelf.h"

static void say(void *context, const char *sentence)
{
    text_add(context, sentence);
    text_add(context, "\n");
}

bool cli__store_check(Invocation *invocation, Error *error)
{
    Shelf shelf;
    int found = 0;
    if (!shelf_open(invocation, false, &shelf, error)) return false;
    const bool went_well = store_check(shelf.store, say, &invocation->out, &found, error);
    shelf_close(&shelf);
    text_addf(&invocation->out, found ? "%d findings\n" : "nothing wrong\n", found);
    invocation->exit_status = found ? error_exit_status(ERROR_IO) : 0;
    return went_well;
}

bool cli__store_backup(Invocation *invocation, Error *error)
{
    Shelf shelf;
    if (!shelf_open(invocation, false, &shelf, error)) return false;
    const bool went_well = store_backup(shelf.store, invocation->arguments[0], error);
    shelf_close(&shelf);
    return went_well;
}

bool cli__store_sync(Invocation *invocation, Error *error)
{
    Shelf shelf;
    Store *other;
    int given, taken;
    if (!shelf_open(invocation, true, &shelf, error)) return false;
    bool went_well = store_open(invocation->arguments[0], false, &other, error);
    if (went_well) {
        went_well = store_sync(shelf.store, other, &given, &taken, error);
        store_close(other);
    }
    shelf_close(&shelf);
    if (went_well) text_addf(&invocation->out, "%d records given, %d taken\n", given, taken);
    return went_well;
}
