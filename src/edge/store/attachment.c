/* attachment.c: logs and photos, kept by what they are: SHA-256 (FIPS 180-4) of their bytes. */
#include "edge/store/store_private.h"

#include <sodium.h>
#include <string.h>

static void hash_of(Text bytes, char hash[TRAIL_HASH_SIZE])
{
    unsigned char digest[crypto_hash_sha256_BYTES];
    crypto_hash_sha256(digest, (const unsigned char *)(bytes.bytes ? bytes.bytes : ""), bytes.length);
    sodium_bin2hex(hash, TRAIL_HASH_SIZE, digest, sizeof digest);
}

bool store_attach(Store *store, Text bytes, char hash[TRAIL_HASH_SIZE], Error *error)
{
    if (bytes.length > STORE_MOST_ATTACHMENT)
        return error_set(error, ERROR_TOO_LARGE, "an attachment of more than 64 MiB", "a log or a photo");
    hash_of(bytes, hash);
    const StoreValue values[] = {
        store__text(hash),
        {.text = bytes.bytes ? bytes.bytes : "", .length = bytes.length, .is_bytes = true}};
    return store__run(store,
                      "INSERT INTO attachment (hash, content) VALUES ($1, $2) ON CONFLICT (hash) DO NOTHING",
                      values, 2, NULL, NULL, NULL, error);
}

typedef struct {
    Arena *arena;
    Text *bytes;
} Taking;

static bool take_content(void *context, const StoreValue *columns, Error *error)
{
    const Taking *taking = context;
    const char *copy = arena_copy_text(taking->arena, columns[0].text, columns[0].length);
    if (!copy) return error_memory(error);
    *taking->bytes = (Text){copy, columns[0].length};
    return true;
}

/* What does not hash to its name any more is damaged, and not given out. */
bool store_read_attachment(Store *store, const char *hash, Arena *arena, Text *bytes, Error *error)
{
    const StoreValue values[] = {store__text(hash)};
    Taking taking = {arena, bytes};
    char is[TRAIL_HASH_SIZE];
    *bytes = (Text){NULL, 0};
    if (!store__run(store, "SELECT content FROM attachment WHERE hash = $1", values, 1, take_content, &taking,
                    NULL, error))
        return false;
    if (!bytes->bytes) return true;
    hash_of(*bytes, is);
    if (strcmp(is, hash) == 0) return true;
    error_set(error, ERROR_IO, hash, "an attachment that is what its hash says");
    return error_hint(error, "It is damaged on this disk: take it from a backup or another device.");
}
