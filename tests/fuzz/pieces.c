/* pieces.c: any bytes as a call file that goes on record: its head and entries are JSON objects, and the file
 * that they make again has the same ones. */
#include "support/shipped.h"

#include "format/call_file/call_file.h"

#include <stdlib.h>
#include <string.h>

enum { MOST = 64 };

/* The records that such a file would become. */
static int make_records(const CallFilePiece *head, const CallFilePiece *entries, int count,
                        TrailRecord *records)
{
    int made = 0;
    for (; made < MOST && made <= count; made++) {
        const CallFilePiece *piece = made ? &entries[made - 1] : head;
        records[made] = (TrailRecord){.id = "01890a5d-ac96-774b-bcce-b30209900000",
                                      .call = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
                                      .made_millisecond = made,
                                      .author = "a",
                                      .device = "d",
                                      .kind = made ? TRAIL_ENTRY : TRAIL_OPENED,
                                      .subject = made ? piece->subject : "",
                                      .payload = piece->content};
        records[made].id[34] = (char)('a' + made / 16 % 6);
        records[made].id[35] = "0123456789abcdef"[made % 16];
    }
    return made;
}

static void hold_again(const TrailRecord *records, int made, Arena *arena)
{
    Trail trail;
    TrailState state;
    TextBuilder file = text_builder(arena, 8 << 20);
    CallFilePiece head;
    const CallFilePiece *entries;
    int numbers[MOST], count;
    Error error = {0};
    if (!trail_merge(records, made, NULL, 0, arena, &trail, &error) ||
        !trail_replay(&trail, trail.count, arena, &state, &error))
        return; /* a subject that is too long, say */
    if (!call_file_write(&trail, &state, trail.count, &file, numbers, &count, &error)) return;
    if (!call_file_read("again", (Text){text_string(&file), file.length}, arena, &head, &entries, &count,
                        &error)) {
        shipped_check_error(&error);
        return;
    }
    if (count != made - 1) abort();
    for (int e = 0; e < count; e++)
        if (strcmp(entries[e].content, records[e + 1].payload) != 0) abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const Text bytes = {(const char *)data, size};
    Arena arena = arena_new(SHIPPED_ARENA_LIMIT);
    CallFilePiece head;
    const CallFilePiece *entries;
    TrailRecord records[MOST];
    int count;
    Error error = {0};
    if (!call_file_read("fuzz", bytes, &arena, &head, &entries, &count, &error))
        shipped_check_error(&error);
    else
        hold_again(records, make_records(&head, entries, count, records), &arena);
    arena_free(&arena);
    return 0;
}
