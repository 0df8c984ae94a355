/* merge.c: two collections of records made one. */
#include "core/trail/trail.h"

#include <string.h>

#include "base/text.h"

static bool is_same(const TrailRecord *a, const TrailRecord *b)
{
    return a->made_millisecond == b->made_millisecond && a->kind == b->kind && strcmp(a->id, b->id) == 0 &&
           strcmp(a->call, b->call) == 0 && text_equal(a->author, b->author) &&
           text_equal(a->device, b->device) && text_equal(a->subject, b->subject) &&
           text_equal(a->payload, b->payload) && strcmp(a->strikes, b->strikes) == 0 &&
           strcmp(a->attachment, b->attachment) == 0;
}

typedef int Compare(const TrailRecord *a, const TrailRecord *b);

static int by_id(const TrailRecord *a, const TrailRecord *b) { return strcmp(a->id, b->id); }

/* Merge sort from below: stable, no recursion, n log n whatever comes in. `other` has as much room. */
static void sort(const TrailRecord **records, int count, const TrailRecord **other, Compare *compare)
{
    const TrailRecord **from = records, **to = other;
    for (int run = 1; run<count; run = run> count / 2 ? count : 2 * run) {
        for (int start = 0; start<count; start = start> count - 2 * run ? count : start + 2 * run) {
            const int middle = start > count - run ? count : start + run;
            const int end = middle > count - run ? count : middle + run;
            int left = start, right = middle;
            for (int k = start; k < end; k++) {
                const bool takes_left =
                    left < middle && (right >= end || compare(from[left], from[right]) <= 0);
                to[k] = takes_left ? from[left++] : from[right++];
            }
        }
        const TrailRecord **swapped = from;
        from = to;
        to = swapped;
    }
    if (from != records) memcpy(records, from, (size_t)count * sizeof *records);
}

/* Of equal neighbours the first stays. */
static bool drop_doubles(const TrailRecord **records, int *count, Error *error)
{
    int kept = 0;
    for (int r = 0; r < *count; r++) {
        if (kept > 0 && strcmp(records[kept - 1]->id, records[r]->id) == 0) {
            if (!is_same(records[kept - 1], records[r]))
                return error_set(
                    error, ERROR_INCONSISTENT, records[r]->id,
                    "a record that says the same wherever it is kept; two with this identifier differ");
            continue;
        }
        records[kept++] = records[r];
    }
    *count = kept;
    return true;
}

bool trail_merge(const TrailRecord *a, int a_count, const TrailRecord *b, int b_count, Arena *arena,
                 Trail *trail, Error *error)
{
    const size_t most = (size_t)a_count + (size_t)b_count;
    const TrailRecord **records = ARENA_ARRAY(arena, const TrailRecord *, most);
    const TrailRecord **other = ARENA_ARRAY(arena, const TrailRecord *, most);
    int count = 0;
    if (!records || !other) return error_memory(error);
    for (int r = 0; r < a_count; r++) records[count++] = &a[r];
    for (int r = 0; r < b_count; r++) records[count++] = &b[r];
    sort(records, count, other, by_id);
    if (!drop_doubles(records, &count, error)) return false;
    sort(records, count, other, trail_compare);
    *trail = (Trail){.records = records, .count = count};
    return true;
}
