/* pattern.c: in which order marks are eliminated, and which links that takes; see network.c for what it is
 * for.
 *
 * Every branch has some admittance, be it that of its insulation, so which marks are joined never changes:
 * the pattern is found once for an appliance and serves all its networks, faulted and whole.
 * Marks with few neighbours go first, so there are hardly more links than branches.
 * Invariants: (1) marks are eliminated once each, the earth never; (2) the links of an elimination point to
 * marks that go later, and any two of those marks are linked; (3) ties go to the lower number.
 *
 * Bad at: large networks. Looking for the mark with the fewest neighbours takes marks^3 steps in all, done
 * once for an appliance; at some sixty marks nobody notices. */
#include "core/circuit/circuit_private.h"

#include <assert.h>

/* Marks while they are being taken out. */
typedef struct {
    int marks;
    bool *is_linked; /* [marks][marks], symmetric, without the earth */
    bool *is_gone;   /* [marks] */
} Mesh;

static bool *linked(Mesh *mesh, int i, int j) { return &mesh->is_linked[i * mesh->marks + j]; }

/* The earth is no mark to link to: what leads there is a leak, kept apart. */
static void link_marks(Mesh *mesh, int i, int j)
{
    if (i != j && i != APPLIANCE_EARTH && j != APPLIANCE_EARTH)
        *linked(mesh, i, j) = *linked(mesh, j, i) = true;
}

static int count_neighbours(Mesh *mesh, int mark)
{
    int count = 0;
    for (int j = 1; j < mesh->marks; j++) count += !mesh->is_gone[j] && *linked(mesh, mark, j);
    return count;
}

static int pick_mark(Mesh *mesh)
{
    int best = -1, fewest = 0;
    for (int i = 1; i < mesh->marks; i++) {
        if (mesh->is_gone[i]) continue;
        const int neighbours = count_neighbours(mesh, i);
        if (best < 0 || neighbours < fewest) {
            best = i;
            fewest = neighbours;
        }
    }
    return best;
}

/* Taking a mark out joins each two of its neighbours: that is the mesh for its star. */
static void eliminate(Mesh *mesh, CircuitPattern *pattern, Elimination *elimination)
{
    *elimination = (Elimination){.mark = pick_mark(mesh), .first = pattern->links};
    mesh->is_gone[elimination->mark] = true;
    for (int j = 1; j < mesh->marks; j++)
        if (!mesh->is_gone[j] && *linked(mesh, elimination->mark, j))
            pattern->link_mark[pattern->links++] = j;
    elimination->count = pattern->links - elimination->first;
    for (int a = elimination->first; a < pattern->links; a++)
        for (int b = elimination->first; b < a; b++) {
            link_marks(mesh, pattern->link_mark[a], pattern->link_mark[b]);
            pattern->fills++;
        }
}

/* The link between two marks: it stands with the one that goes first. */
static int find_link(const CircuitPattern *pattern, const int *turn, int i, int j)
{
    const int sooner = turn[i] < turn[j] ? i : j, later = sooner == i ? j : i;
    const Elimination *gone = &pattern->eliminations[turn[sooner]];
    for (int a = gone->first; a < gone->first + gone->count; a++)
        if (pattern->link_mark[a] == later) return a;
    assert(false && "every branch and every fill has a link");
    return -1;
}

/* In the very order in which circuit__factorise comes by them, so that it only has to count on. */
static void find_fills(CircuitPattern *pattern, const int *turn)
{
    int fill = 0;
    for (int i = 0; i < pattern->marks - 1; i++) {
        const Elimination *gone = &pattern->eliminations[i];
        for (int a = gone->first; a < gone->first + gone->count; a++)
            for (int b = gone->first; b < a; b++)
                pattern->fill_link[fill++] =
                    find_link(pattern, turn, pattern->link_mark[a], pattern->link_mark[b]);
    }
    assert(fill == pattern->fills);
}

static void find_branches(CircuitPattern *pattern, const Branch *wiring, const int *turn)
{
    for (int b = 0; b < pattern->branches; b++) {
        const int from = wiring[b].from, to = wiring[b].to;
        const bool is_linked = from != to && from != APPLIANCE_EARTH && to != APPLIANCE_EARTH;
        pattern->branch_link[b] = is_linked ? find_link(pattern, turn, from, to) : -1;
    }
}

/* link_mark has room for every pair of marks once; fills are counted while marks go and placed afterwards. */
CircuitPattern *circuit__pattern(const Appliance *appliance, Arena *arena)
{
    const size_t marks = (size_t)appliance->mark_count, branches = (size_t)appliance->branch_count;
    CircuitPattern *pattern = ARENA_ARRAY(arena, CircuitPattern, 1);
    Mesh mesh = {appliance->mark_count, ARENA_ARRAY(arena, bool, marks *marks),
                 ARENA_ARRAY(arena, bool, marks)};
    int *turn = ARENA_ARRAY(arena, int, marks);
    if (!pattern || !mesh.is_linked || !mesh.is_gone || !turn) return NULL;
    *pattern = (CircuitPattern){.marks = appliance->mark_count,
                                .branches = appliance->branch_count,
                                .eliminations = ARENA_ARRAY(arena, Elimination, marks),
                                .link_mark = ARENA_ARRAY(arena, int, marks *marks / 2),
                                .branch_link = ARENA_ARRAY(arena, int, branches)};
    if (!pattern->eliminations || !pattern->link_mark || !pattern->branch_link) return NULL;
    for (size_t b = 0; b < branches; b++)
        link_marks(&mesh, appliance->branches[b].from, appliance->branches[b].to);
    for (int i = 0; i < pattern->marks - 1; i++) {
        eliminate(&mesh, pattern, &pattern->eliminations[i]);
        turn[pattern->eliminations[i].mark] = i;
    }
    pattern->fill_link = ARENA_ARRAY(arena, int, (size_t)pattern->fills);
    if (!pattern->fill_link) return NULL;
    find_fills(pattern, turn);
    find_branches(pattern, appliance->branches, turn);
    return pattern;
}
