/* identifier.c: names that are made on the spot, and found by their ends. */
#include "edge/store/store_private.h"

#include <sodium.h>
#include <stdio.h>
#include <string.h>

/* Version and variant stand where RFC 9562, section 5.7, has them. */
void store_new_id(int64_t now_millisecond, char id[TRAIL_ID_SIZE])
{
    unsigned char bytes[16];
    randombytes_buf(bytes, sizeof bytes);
    for (int i = 0; i < 6; i++) bytes[i] = (unsigned char)((uint64_t)now_millisecond >> (40 - 8 * i));
    bytes[6] = (unsigned char)(0x70 | (bytes[6] & 0x0f));
    bytes[8] = (unsigned char)(0x80 | (bytes[8] & 0x3f));
    for (int i = 0, at = 0; i < 16; i++) {
        if (i == 4 || i == 6 || i == 8 || i == 10) id[at++] = '-';
        snprintf(&id[at], 3, "%02x", bytes[i]);
        at += 2;
    }
}

typedef struct {
    char call[TRAIL_ID_SIZE];
    int count;
} Found;

static bool take_call(void *context, const StoreValue *columns, Error *error)
{
    Found *found = context;
    (void)error;
    found->count++;
    snprintf(found->call, sizeof found->call, "%.*s", (int)columns[0].length, columns[0].text);
    return true;
}

void store__turn(const char *text, char turned[TRAIL_ID_SIZE])
{
    const size_t length = strlen(text) < TRAIL_ID_SIZE ? strlen(text) : TRAIL_ID_SIZE - 1;
    for (size_t i = 0; i < length; i++) turned[i] = text[length - 1 - i];
    turned[length] = '\0';
}

/* An ending is looked for as the beginning of what is written backwards, which an index finds. */
bool store_find(Store *store, const char *ending, char call[TRAIL_ID_SIZE], Error *error)
{
    char turned[TRAIL_ID_SIZE], until[TRAIL_ID_SIZE + 1];
    Found found = {.count = 0};
    store__turn(ending, turned);
    snprintf(until, sizeof until, "%s~", turned); /* after every letter of an identifier */
    const StoreValue values[] = {store__text(turned), store__text(until)};
    if (strlen(ending) < 4 || strlen(ending) >= TRAIL_ID_SIZE)
        return error_set(error, ERROR_UNKNOWN_WORD, ending,
                         "at least the last four letters of a call, as `call list` shows them");
    if (!store__run(store, "SELECT id FROM call WHERE backwards >= $1 AND backwards < $2 LIMIT 2", values, 2,
                    take_call, &found, NULL, error))
        return false;
    if (found.count != 1)
        return error_set(error, ERROR_UNKNOWN_WORD, ending,
                         found.count ? "more letters: several calls end so"
                                     : "the end of a call, as `call list` shows them");
    memcpy(call, found.call, TRAIL_ID_SIZE);
    return true;
}
