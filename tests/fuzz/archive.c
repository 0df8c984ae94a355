/* archive.c: any bytes as an archive; what is read must be written and read again the same. */
#include "support/shipped.h"

#include "format/archive/archive.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const Text bytes = {(const char *)data, size};
    Arena arena = arena_new((size_t)600 << 20);
    Archive archive, again;
    Error error = {0};
    Text written, rewritten;
    if (!archive_read("fuzz", bytes, &arena, &archive, &error)) {
        /* an archive has no lines; its records do */
        if (error.code == ERROR_NONE || error.code == ERROR_MEMORY || error.code == ERROR_DEFECT ||
            !error.found[0] || !error.file[0] || archive.records || archive.attachments)
            abort();
    } else if (!archive_write(&archive, &arena, &written, &error) ||
               !archive_read("fuzz", written, &arena, &again, &error) ||
               again.record_count != archive.record_count ||
               again.attachment_count != archive.attachment_count ||
               !archive_write(&again, &arena, &rewritten, &error) || rewritten.length != written.length ||
               memcmp(rewritten.bytes, written.bytes, written.length) != 0) {
        abort();
    }
    arena_free(&arena);
    return 0;
}
