/* rows.c: the rungs of the ladder.
 *
 * What hangs together without passing a rail is a group. In a group every branch gets a direction, away from
 * the left rail and towards the right ones; then the group is walked depth first. A line begins at a rail or
 * at a mark that already stands, and runs until it meets a rail or such a mark again: an ear decomposition
 * (Whitney 1932), in which each branch and each mark between the rails stands exactly once.
 *
 * Invariants, asserted at the end or tested: (1) every branch that conducts stands in one row or one feed;
 * (2) every mark between the rails has one row of its own, in all others it is a joint or a flag; (3) the
 * answer depends on the order of the file and on no voltage.
 *
 * Bad at: elegance. It finds a ladder for every wiring, also for one that no person would draw as one;
 * where lines must cross, flags stand instead. */
#include "format/drawing/drawing_private.h"

#include <assert.h>

enum { BEYOND = 1 << 20, PAST_A_LOAD = 1 << 10 }; /* distances; see find_sides */

typedef enum { SIDE_NONE, SIDE_LEFT, SIDE_RIGHT } Side;

typedef struct {
    int first; /* lowest branch of the group: its name */
    int root;  /* where it begins */
    int order; /* groups that end on inner rails come first, so that rails need not be crossed */
} Group;

typedef struct {
    Sheet *sheet;
    Error *error;
    int *group_of; /* of each branch: lowest branch of its group; -1: not drawn in rows */
    int *owner;    /* of each mark: some branch at it, while groups are found */
    Group *groups;
    int group_count;
    int id;        /* of the group that is walked */
    Side *side;    /* of each mark of the group */
    int *distance; /* from its side's rail, in branches; a load counts as many */
    int *stack;
    int *marks_left, *x_left, *branches_left; /* what rows may still take */
} Walk;

/* Rails, marks of the feed and the control's input: what stands already, where lines begin and end. */
static bool is_anchor(const Walk *walk, int mark) { return walk->sheet->rank[mark] < RANK_NONE; }

static bool take_arrays(Walk *walk)
{
    Sheet *sheet = walk->sheet;
    const size_t marks = (size_t)sheet->appliance->mark_count,
                 branches = (size_t)sheet->appliance->branch_count;
    walk->group_of = ARENA_ARRAY(sheet->arena, int, branches);
    walk->owner = ARENA_ARRAY(sheet->arena, int, marks);
    walk->groups = ARENA_ARRAY(sheet->arena, Group, branches);
    walk->side = ARENA_ARRAY(sheet->arena, Side, marks);
    walk->distance = ARENA_ARRAY(sheet->arena, int, marks);
    walk->stack = ARENA_ARRAY(sheet->arena, int, marks + 1);
    walk->marks_left = ARENA_ARRAY(sheet->arena, int, 2 * branches);
    walk->x_left = ARENA_ARRAY(sheet->arena, int, 2 * branches);
    walk->branches_left = ARENA_ARRAY(sheet->arena, int, branches);
    sheet->rows = ARENA_ARRAY(sheet->arena, Row, branches);
    sheet->row_of = ARENA_ARRAY(sheet->arena, int, marks);
    if (!walk->group_of || !walk->owner || !walk->groups || !walk->side || !walk->distance || !walk->stack ||
        !walk->marks_left || !walk->x_left || !walk->branches_left || !sheet->rows || !sheet->row_of)
        return error_memory(walk->error);
    for (size_t m = 0; m < marks; m++) sheet->row_of[m] = -1;
    return true;
}

/* --- groups --- */

static int name_of(const int *group_of, int branch)
{
    while (group_of[branch] != branch) branch = group_of[branch];
    return branch;
}

/* Union by lowest number: groups are named by their first branch, so their order is that of the file. */
static void join_at(Walk *walk, int branch, int mark)
{
    if (is_anchor(walk, mark)) return;
    if (walk->owner[mark] < 0) walk->owner[mark] = branch;
    const int one = name_of(walk->group_of, branch), two = name_of(walk->group_of, walk->owner[mark]);
    walk->group_of[one < two ? two : one] = one < two ? one : two;
}

static void find_groups(Walk *walk)
{
    const Appliance *appliance = walk->sheet->appliance;
    for (int m = 0; m < appliance->mark_count; m++) walk->owner[m] = -1;
    for (int b = 0; b < appliance->branch_count; b++) {
        walk->group_of[b] = walk->sheet->is_done[b] ? -1 : b;
        if (walk->sheet->is_done[b]) continue;
        join_at(walk, b, appliance->branches[b].from);
        join_at(walk, b, appliance->branches[b].to);
    }
    for (int b = 0; b < appliance->branch_count; b++)
        if (walk->group_of[b] >= 0) walk->group_of[b] = name_of(walk->group_of, b);
}

/* The control's input closes the loop of its sensor. Where that loop touches nothing else, it is cut open
 * there and drawn as a rung from one mark of the input to the other. */
static void open_input(Walk *walk)
{
    const Appliance *appliance = walk->sheet->appliance;
    const int input = appliance->control_input;
    if (input < 0 || walk->group_of[input] < 0) return;
    bool has_others = false;
    for (int b = 0; b < appliance->branch_count; b++) {
        if (walk->group_of[b] != walk->group_of[input]) continue;
        has_others = has_others || b != input;
        if (is_anchor(walk, appliance->branches[b].from) || is_anchor(walk, appliance->branches[b].to))
            return;
    }
    if (!has_others) return;
    walk->sheet->is_done[input] = true;
    walk->sheet->rank[appliance->branches[input].from] = RANK_INPUT;
    walk->sheet->rank[appliance->branches[input].to] = RANK_INPUT_RETURN;
    find_groups(walk);
}

/* The root is the anchor of the lowest rank: the left rail if the group reaches it. */
static void add_group(Walk *walk, int first)
{
    const Appliance *appliance = walk->sheet->appliance;
    const int *rank = walk->sheet->rank;
    Group group = {.first = first, .root = appliance->branches[first].from, .order = RANK_NONE};
    for (int b = first; b < appliance->branch_count; b++) {
        if (walk->group_of[b] != first) continue;
        const int ends[2] = {appliance->branches[b].from, appliance->branches[b].to};
        for (int e = 0; e < 2; e++)
            if (rank[ends[e]] < rank[group.root]) group.root = ends[e];
    }
    int inner = RANK_NONE, outer = 0;
    for (int b = first; b < appliance->branch_count; b++) {
        if (walk->group_of[b] != first) continue;
        const int ends[2] = {appliance->branches[b].from, appliance->branches[b].to};
        for (int e = 0; e < 2; e++) {
            if (ends[e] == group.root || !is_anchor(walk, ends[e])) continue;
            if (rank[ends[e]] < inner) inner = rank[ends[e]];
            if (rank[ends[e]] > outer) outer = rank[ends[e]];
        }
    }
    group.order = inner * (RANK_NONE + 1) + outer;
    int at = walk->group_count++;
    for (; at > 0 && walk->groups[at - 1].order > group.order; at--) walk->groups[at] = walk->groups[at - 1];
    walk->groups[at] = group;
}

/* --- directions --- */

/* Spreads a side from the marks that have it to those that have none, the nearest first. */
static void spread(Walk *walk, Side side, bool past_loads)
{
    const Appliance *appliance = walk->sheet->appliance;
    for (;;) {
        int best = -1, nearest = BEYOND;
        for (int b = walk->id; b < appliance->branch_count; b++) {
            const Branch *branch = &appliance->branches[b];
            if (walk->group_of[b] != walk->id || (drawing__is_load(branch) && !past_loads)) continue;
            const int near = walk->side[branch->from] == side ? branch->from : branch->to;
            const int far = drawing__other_end(branch, near);
            if (walk->side[near] != side || walk->side[far] != SIDE_NONE) continue;
            const int distance = walk->distance[near] + (drawing__is_load(branch) ? PAST_A_LOAD : 1);
            if (distance >= nearest) continue;
            nearest = distance;
            best = far;
        }
        if (best < 0) return;
        walk->side[best] = side;
        walk->distance[best] = nearest;
    }
}

/* Left is what the root reaches without passing a load, right is what another rail reaches so; what lies
 * between two loads counts to the left, beyond the first of them. */
static void find_sides(Walk *walk, int root)
{
    const Appliance *appliance = walk->sheet->appliance;
    for (int m = 0; m < appliance->mark_count; m++) {
        walk->side[m] = is_anchor(walk, m) ? SIDE_RIGHT : SIDE_NONE;
        walk->distance[m] = 0;
    }
    walk->side[root] = SIDE_LEFT;
    spread(walk, SIDE_LEFT, false);
    spread(walk, SIDE_RIGHT, false);
    spread(walk, SIDE_LEFT, true);
}

/* Does `far` stand to the right of `near`? */
static bool is_onward(const Walk *walk, int near, int far)
{
    if (walk->side[near] != walk->side[far]) return walk->side[near] == SIDE_LEFT;
    const int step = walk->distance[far] - walk->distance[near];
    if (step == 0) return far > near;
    return walk->side[near] == SIDE_LEFT ? step > 0 : step < 0;
}

/* --- lines --- */

/* The first in the file that leads onward: a technician's diagram and ours then agree on what comes first. */
static int next_branch(const Walk *walk, int mark)
{
    const Appliance *appliance = walk->sheet->appliance;
    for (int b = walk->id; b < appliance->branch_count; b++) {
        const Branch *branch = &appliance->branches[b];
        if (walk->group_of[b] != walk->id || walk->sheet->is_done[b]) continue;
        if (branch->from != mark && branch->to != mark) continue;
        if (is_onward(walk, mark, drawing__other_end(branch, mark))) return b;
    }
    return -1;
}

static RowEnd end_at(const Walk *walk, int mark, bool is_left)
{
    const int rank = walk->sheet->rank[mark];
    if (rank < walk->sheet->rail_count) return is_left == (rank == 0) ? END_RAIL : END_REPEATED;
    if (rank == RANK_FEED) return END_REPEATED;
    if (rank != RANK_NONE) return END_CONTROL;
    return walk->sheet->row_of[mark] >= 0 ? END_JOINT : END_OPEN;
}

/* Begins a row at `mark` and follows it to its end; new marks go on the stack. */
static void follow(Walk *walk, int mark, int *stacked)
{
    Sheet *sheet = walk->sheet;
    const int number = sheet->row_count++;
    Row *row = &sheet->rows[number];
    *row = (Row){.marks = walk->marks_left, .x = walk->x_left, .branches = walk->branches_left};
    row->begins = end_at(walk, mark, true);
    if (row->begins == END_OPEN) sheet->row_of[mark] = number;
    row->marks[0] = mark;
    for (int branch = next_branch(walk, mark); branch >= 0; branch = next_branch(walk, mark)) {
        sheet->is_done[branch] = true;
        mark = drawing__other_end(&sheet->appliance->branches[branch], mark);
        row->branches[row->count++] = branch;
        row->marks[row->count] = mark;
        row->ends = end_at(walk, mark, false);
        if (row->ends != END_OPEN) break;
        sheet->row_of[mark] = number;
        walk->stack[(*stacked)++] = mark;
    }
    assert(row->count > 0);
    walk->marks_left += row->count + 1;
    walk->x_left += row->count + 1;
    walk->branches_left += row->count;
}

/* Depth first: what splits off last is drawn next, so that lines nest instead of crossing. */
static void walk_from(Walk *walk, int mark)
{
    int stacked = 0;
    walk->stack[stacked++] = mark;
    while (stacked > 0) {
        const int top = walk->stack[stacked - 1];
        if (next_branch(walk, top) < 0)
            stacked--;
        else
            follow(walk, top, &stacked);
    }
}

/* A mark that only leads onward, such as the end of a wire that nothing is joined to, is reached from
 * nowhere: a line of its own begins there. */
static void walk_group(Walk *walk, const Group *group)
{
    const Appliance *appliance = walk->sheet->appliance;
    walk->id = group->first;
    find_sides(walk, group->root);
    walk_from(walk, group->root);
    for (int b = group->first; b < appliance->branch_count; b++) {
        if (walk->group_of[b] != walk->id || walk->sheet->is_done[b]) continue;
        const Branch *branch = &appliance->branches[b];
        int mark = is_onward(walk, branch->from, branch->to) ? branch->from : branch->to;
        for (int earlier = b; earlier >= 0;) { /* back along undrawn branches to where they begin */
            earlier = -1;
            for (int c = group->first; c < appliance->branch_count && earlier < 0; c++) {
                const Branch *before = &appliance->branches[c];
                if (walk->group_of[c] != walk->id || walk->sheet->is_done[c]) continue;
                if (before->from != mark && before->to != mark) continue;
                if (is_onward(walk, drawing__other_end(before, mark), mark)) earlier = c;
            }
            if (earlier >= 0) mark = drawing__other_end(&appliance->branches[earlier], mark);
        }
        walk_from(walk, mark);
    }
}

/* Each branch is its own group until it is joined; a group's name is its lowest branch, so that is where it
 * is added. */
bool drawing__find_rows(Sheet *sheet, Error *error)
{
    Walk walk = {.sheet = sheet, .error = error};
    if (!take_arrays(&walk)) return false;
    find_groups(&walk);
    open_input(&walk);
    for (int b = 0; b < sheet->appliance->branch_count; b++)
        if (walk.group_of[b] == b) add_group(&walk, b);
    for (int g = 0; g < walk.group_count; g++) walk_group(&walk, &walk.groups[g]);
    for (int b = 0; b < sheet->appliance->branch_count; b++) assert(sheet->is_done[b]);
    return true;
}
