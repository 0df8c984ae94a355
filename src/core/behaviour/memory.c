/* memory.c: what was simulated before, found by content.
 *
 * A table with open addressing (Knuth, The Art of Computer Programming 3, 6.4, linear probing), never more
 * than half full. As bytes: a head with a mark, the origin, the size of a row and their number, the rows, a
 * hash over all of it. Whatever does not fit is not taken: then the ovens are simulated anew. */
#include "core/behaviour/behaviour_private.h"

#include <assert.h>
#include <string.h>

enum { FIRST_CAPACITY = 4096, MOST_ROWS = 1 << 17, SCRATCH_BYTES = 256 << 20 };

static const uint64_t MARK = 0x6f76656e62656831; /* read with the other byte order it is another number */

typedef struct {
    uint64_t mark, origin, row_bytes, count, check;
} Head;

/* SplitMix64's finisher (Steele, Lea, Flood 2014): every bit of the input moves every bit of the result. */
static uint64_t mix(uint64_t x)
{
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9u;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebu;
    return x ^ (x >> 31);
}

static void hash_bytes(const void *bytes, size_t size, uint64_t key[2])
{
    const unsigned char *at = bytes;
    for (; size >= 8; size -= 8, at += 8) {
        uint64_t word;
        memcpy(&word, at, 8);
        key[0] = mix(key[0] ^ word);
        key[1] = mix(key[1] + word * 0x9e3779b97f4a7c15u);
    }
    uint64_t rest = size;
    memcpy(&rest, at, size < 8 ? size : 0);
    key[0] = mix(key[0] ^ rest);
    key[1] = mix(key[1] + rest);
}

/* An oven is zeroed before it is filled and has no holes but behind an int, so equal ovens are equal bytes.
 */
static void key_of(const Oven *oven, const BehaviourTerms *terms, uint64_t key[2])
{
    const double numbers[] = {terms->set_celsius, terms->ambient_celsius, terms->second};
    key[0] = 1;
    key[1] = 2;
    hash_bytes(oven, sizeof *oven, key);
    hash_bytes(numbers, sizeof numbers, key);
    if (key[0] == 0 && key[1] == 0) key[0] = 1;
}

static BehaviourRow *row_for(const BehaviourMemory *memory, const uint64_t key[2])
{
    size_t at = (size_t)key[0] & (size_t)(memory->capacity - 1);
    for (;;) {
        BehaviourRow *row = &memory->rows[at];
        if ((row->key[0] == 0 && row->key[1] == 0) || (row->key[0] == key[0] && row->key[1] == key[1]))
            return row;
        at = (at + 1) & (size_t)(memory->capacity - 1);
    }
}

static bool is_empty(const BehaviourRow *row) { return row->key[0] == 0 && row->key[1] == 0; }

/* Twice the room when half is used. The old rows stay in the arena: together no more than the new ones. */
static bool make_room(BehaviourMemory *memory, int more)
{
    int capacity = memory->capacity > 0 ? memory->capacity : FIRST_CAPACITY;
    while (2 * (memory->count + more) > capacity) capacity *= 2;
    if (capacity == memory->capacity) return true;
    const BehaviourMemory old = *memory;
    memory->rows = ARENA_ARRAY(memory->arena, BehaviourRow, (size_t)capacity);
    if (!memory->rows) {
        memory->rows = old.rows;
        return false;
    }
    memory->capacity = capacity;
    for (int i = 0; i < old.capacity; i++)
        if (!is_empty(&old.rows[i])) *row_for(memory, old.rows[i].key) = old.rows[i];
    return true;
}

bool behaviour_begin(Arena *arena, BehaviourMemory *memory, Error *error)
{
    *memory = (BehaviourMemory){.arena = arena};
    return make_room(memory, 0) || error_memory(error);
}

/* What is not known is gathered first, so that eight lanes are always full. Equal ovens in one question are
 * simulated once: the first takes the row, the others find it. */
static bool find_all(BehaviourMemory *memory, const Oven *const *ovens, int count,
                     const BehaviourTerms *terms, Arena *scratch, Behaviour *behaviours)
{
    const size_t n = (size_t)count;
    uint64_t(*keys)[2] = arena_take_array(scratch, n, sizeof *keys);
    const Oven **unknown = ARENA_ARRAY(scratch, const Oven *, n);
    BehaviourRow **rows = ARENA_ARRAY(scratch, BehaviourRow *, n);
    Behaviour *found = ARENA_ARRAY(scratch, Behaviour, n);
    if (!keys || !unknown || !rows || !found || !make_room(memory, count)) return false;
    int fresh = 0;
    for (int i = 0; i < count; i++) {
        key_of(ovens[i], terms, keys[i]);
        BehaviourRow *row = row_for(memory, keys[i]);
        if (!is_empty(row)) continue;
        memcpy(row->key, keys[i], sizeof row->key);
        memory->count++;
        rows[fresh] = row;
        unknown[fresh++] = ovens[i];
    }
    behaviour__simulate(unknown, fresh, terms, found);
    memory->simulated += fresh;
    for (int i = 0; i < fresh; i++) rows[i]->behaviour = found[i];
    for (int i = 0; i < count; i++) behaviours[i] = row_for(memory, keys[i])->behaviour;
    return true;
}

bool behaviour_find(BehaviourMemory *memory, const Oven *const *ovens, int count, const BehaviourTerms *terms,
                    Behaviour *behaviours, Error *error)
{
    Arena scratch = arena_new(SCRATCH_BYTES);
    const bool went_well = find_all(memory, ovens, count, terms, &scratch, behaviours);
    arena_free(&scratch);
    return went_well || error_memory(error);
}

static uint64_t check_of(const Head *head, const void *rows)
{
    uint64_t key[2] = {head->origin, head->count};
    hash_bytes(rows, (size_t)(head->count * head->row_bytes), key);
    return key[0] ^ key[1];
}

/* Rows as they are in memory: for the same program on the same machine. */
bool behaviour_write(const BehaviourMemory *memory, uint64_t origin, TextBuilder *out)
{
    BehaviourRow *rows = ARENA_ARRAY(out->arena, BehaviourRow, (size_t)memory->count + 1);
    if (!rows) return false;
    Head head = {.mark = MARK, .origin = origin, .row_bytes = sizeof(BehaviourRow)};
    for (int i = 0; i < memory->capacity && head.count < MOST_ROWS; i++)
        if (!is_empty(&memory->rows[i])) rows[head.count++] = memory->rows[i];
    head.check = check_of(&head, rows);
    text_add_bytes(out, (const char *)&head, sizeof head);
    text_add_bytes(out, (const char *)rows, head.count * sizeof *rows);
    return !out->is_cut;
}

bool behaviour_read(BehaviourMemory *memory, uint64_t origin, Text bytes)
{
    Head head;
    if (bytes.length < sizeof head) return false;
    memcpy(&head, bytes.bytes, sizeof head);
    if (head.mark != MARK || head.origin != origin || head.row_bytes != sizeof(BehaviourRow) ||
        head.count > MOST_ROWS || bytes.length != sizeof head + head.count * sizeof(BehaviourRow) ||
        head.check != check_of(&head, bytes.bytes + sizeof head))
        return false;
    if (!make_room(memory, (int)head.count)) return false;
    for (uint64_t i = 0; i < head.count; i++) {
        BehaviourRow row;
        memcpy(&row, bytes.bytes + sizeof head + i * sizeof row, sizeof row);
        if (is_empty(&row)) continue;
        BehaviourRow *at = row_for(memory, row.key);
        memory->count += is_empty(at);
        *at = row;
    }
    return true;
}
