/* feed.c: the rails of the ladder, and what lies between the house and each of them.
 *
 * Invariants: (1) a branch stands in one feed at the most; (2) rails are ranked from left to right as they
 * stand: first leg, second leg, neutral, frame; (3) the earth is no mark of the drawing, only where feeds
 * begin.
 *
 * Bad at: two ways from the house to one rail. The shortest is drawn as the feed, the other turns up as a
 * rung. */
#include "format/drawing/drawing_private.h"

#include <assert.h>
#include <string.h>

int drawing__other_end(const Branch *branch, int mark)
{
    assert(branch->from == mark || branch->to == mark);
    return branch->from == mark ? branch->to : branch->from;
}

bool drawing__is_load(const Branch *branch)
{
    return branch->type == BRANCH_HEATER || branch->type == BRANCH_LOAD || branch->type == BRANCH_SENSOR;
}

/* Neutral and frame may be one mark (a three-wire supply): then they are one rail. */
static void add_rail(Sheet *sheet, int mark)
{
    if (mark < 0) return;
    for (int i = 0; i < sheet->rail_count; i++)
        if (sheet->rails[i].mark == mark) return;
    sheet->rank[mark] = sheet->rail_count;
    sheet->rails[sheet->rail_count++].mark = mark;
}

/* Breadth first from the rail's mark up to the earth, through what conducts and past no other rail.
 * came_by[m] is the branch by which m was reached, -1 where it was not. */
static bool search(const Sheet *sheet, int mark, int *came_by, int *queue)
{
    const Appliance *appliance = sheet->appliance;
    int first = 0, count = 0;
    for (int m = 0; m < appliance->mark_count; m++) came_by[m] = -1;
    queue[count++] = mark;
    while (first < count) {
        const int at = queue[first++];
        for (int b = 0; b < appliance->branch_count; b++) {
            const Branch *branch = &appliance->branches[b];
            if (branch->type != BRANCH_LINK && branch->type != BRANCH_CONTACT) continue;
            if (branch->from != at && branch->to != at) continue;
            const int next = drawing__other_end(branch, at);
            if (came_by[next] >= 0 || next == mark || sheet->rank[next] < sheet->rail_count) continue;
            came_by[next] = b;
            if (next == APPLIANCE_EARTH) return true;
            queue[count++] = next;
        }
    }
    return false;
}

/* Written from the earth down, since the search went up. No way is no error: a description may lack one,
 * and appliance_judge says so. */
static bool find_feed(Sheet *sheet, Rail *rail, int *came_by, int *queue, Error *error)
{
    const Appliance *appliance = sheet->appliance;
    rail->feed = ARENA_ARRAY(sheet->arena, int, (size_t)appliance->mark_count);
    rail->feed_mark = ARENA_ARRAY(sheet->arena, int, (size_t)appliance->mark_count);
    if (!rail->feed || !rail->feed_mark) return error_memory(error);
    if (!search(sheet, rail->mark, came_by, queue)) return true;
    for (int at = APPLIANCE_EARTH; at != rail->mark;) {
        const int branch = came_by[at];
        at = drawing__other_end(&appliance->branches[branch], at);
        rail->feed[rail->feed_count] = branch;
        rail->feed_mark[rail->feed_count++] = at;
        sheet->is_done[branch] = true;
        if (at != rail->mark) sheet->rank[at] = RANK_FEED;
    }
    return true;
}

/* A part stands below all that come before it on any conductor, and level with itself on all of them. Parts
 * that come in two orders on two conductors would push each other down for ever: hence the limit. */
static void find_levels(Sheet *sheet)
{
    const Appliance *appliance = sheet->appliance;
    for (int p = 0; p < appliance->part_count; p++) sheet->level[p] = -1;
    for (int pass = 0; pass < MOST_RAILS + 1; pass++)
        for (int r = 0; r < sheet->rail_count; r++) {
            int least = 0;
            for (int i = 0; i < sheet->rails[r].feed_count; i++) {
                int *level = &sheet->level[appliance->branches[sheet->rails[r].feed[i]].part];
                if (*level < least) *level = least;
                least = *level + 1;
            }
            if (least > sheet->level_count) sheet->level_count = least;
        }
}

bool drawing__find_feeds(Sheet *sheet, Error *error)
{
    const Appliance *appliance = sheet->appliance;
    const size_t marks = (size_t)appliance->mark_count;
    sheet->rank = ARENA_ARRAY(sheet->arena, int, marks);
    sheet->is_done = ARENA_ARRAY(sheet->arena, bool, (size_t)appliance->branch_count);
    sheet->level = ARENA_ARRAY(sheet->arena, int, (size_t)appliance->part_count);
    int *came_by = ARENA_ARRAY(sheet->arena, int, marks), *queue = ARENA_ARRAY(sheet->arena, int, marks);
    if (!sheet->rank || !sheet->is_done || !sheet->level || !came_by || !queue) return error_memory(error);
    for (size_t m = 0; m < marks; m++) sheet->rank[m] = RANK_NONE;
    sheet->rank[APPLIANCE_EARTH] = RANK_FEED;
    add_rail(sheet, appliance->legs[0]);
    add_rail(sheet, appliance->legs[1]);
    add_rail(sheet, appliance->neutral);
    add_rail(sheet, appliance->frame);
    for (int r = 0; r < sheet->rail_count; r++)
        if (!find_feed(sheet, &sheet->rails[r], came_by, queue, error)) return false;
    for (int b = 0; b < appliance->branch_count; b++) { /* insulation is no conductor */
        const Branch *branch = &appliance->branches[b];
        if (branch->type == BRANCH_GAP || branch->from == branch->to) sheet->is_done[b] = true;
    }
    find_levels(sheet);
    return true;
}
