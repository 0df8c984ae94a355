/* command_call_attachment.c: `ovenwright call attachment C N`: the photo or log of a record, as it was
 * attached.
 */
#include "edge/cli/shelf.h"
#include "edge/files/files.h"

static bool give(Invocation *invocation, const Shelf *shelf, Error *error)
{
    const char *path = cli__option(invocation, OPTION_OUTPUT, NULL);
    DeskCall found;
    Text bytes;
    int number;
    if (!desk_find_call(shelf->store, invocation->arguments[0], shelf->arena, &found, error) ||
        !shelf_read_number(invocation->arguments[1], &found, &number, error))
        return false;
    const char *hash = found.trail.records[number - 1]->attachment;
    if (!hash[0])
        return error_set(error, ERROR_MISSING, invocation->arguments[1], "a record with something attached");
    if (!store_read_attachment(shelf->store, hash, shelf->arena, &bytes, error)) return false;
    if (!bytes.bytes) return error_set(error, ERROR_IO, hash, "an attachment that is in the store");
    if (path) return files_write(path, bytes, error);
    text_add_bytes(&invocation->out, bytes.bytes, bytes.length);
    return true;
}

bool cli__call_attachment(Invocation *invocation, Error *error)
{
    return shelf_do(invocation, false, give, error);
}
