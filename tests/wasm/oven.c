/* oven.c: see oven.h. */
#include "oven.h"

#define COUNT(array) (int)(sizeof(array) / sizeof((array)[0]))

static const FaultMode element_modes[] = {
    {.name = "open", .effect = EFFECT_OPEN, .weight = 20},
    {.name = "weak",
     .effect = EFFECT_SCALE,
     .has_severity = true,
     .severity = {.from = 1.25, .to = 2, .samples = 3},
     .weight = 1},
    {.name = "grounded",
     .effect = EFFECT_CLOSE,
     .branch = 1,
     .has_severity = true,
     .severity = {.from = 1, .to = 20000, .is_log = true, .samples = 3},
     .weight = 3},
};
static const KindBranch element_branches[] = {
    {.name = "heater", .type = BRANCH_HEATER, .from = 0, .to = 1, .hot_ratio = 1.008, .tolerance = 0.04},
    {.name = "insulation", .type = BRANCH_GAP, .from = 0, .to = KIND_FRAME},
};
static const FaultMode contact_modes[] = {
    {.name = "open", .effect = EFFECT_OPEN, .branch = KIND_EACH_WAY, .weight = 3},
    {.name = "high-resistance",
     .effect = EFFECT_ADD_OHM,
     .branch = KIND_EACH_WAY,
     .has_severity = true,
     .severity = {.from = 2, .to = 60, .is_log = true, .samples = 3},
     .weight = 2},
};
static const FaultMode supply_modes[] = {
    {.name = "lost", .effect = EFFECT_OPEN, .branch = KIND_EACH_WAY, .weight = 1},
};
static const char *const ratings[] = {"watts", "volts"};
static const PartKind kinds[] = {
    {.name = "supply",
     .says = "supply",
     .role = "supply",
     .has_ways = true,
     .way = {.type = BRANCH_LINK, .ohm = 0.03},
     .modes = supply_modes,
     .mode_count = COUNT(supply_modes)},
    {.name = "selector",
     .says = "selector",
     .has_ways = true,
     .way = {.type = BRANCH_CONTACT, .ohm = 0.015},
     .modes = contact_modes,
     .mode_count = COUNT(contact_modes),
     .is_measured = true},
    {.name = "element",
     .says = "element",
     .terminal_count = 2,
     .branches = element_branches,
     .branch_count = COUNT(element_branches),
     .modes = element_modes,
     .mode_count = COUNT(element_modes),
     .properties = ratings,
     .property_count = COUNT(ratings),
     .is_measured = true},
};
static const Catalogue catalogue = {
    .kinds = kinds, .kind_count = COUNT(kinds), .nothing_wrong_weight = 12, .second_fault = 0.04};

static const DescribedWay supply_ways[] = {{.name = "L", .from = "mains", .to = "L"},
                                           {.name = "N", .from = "mains", .to = "N"},
                                           {.name = "E", .from = "mains", .to = "E"}};
static const DescribedWay selector_ways[] = {{.name = "bottom", .from = "L", .to = "B1"},
                                             {.name = "top", .from = "L", .to = "T1"}};
static const char *const bottom_terminals[] = {"B1", "N"}, *const top_terminals[] = {"T1", "N"};
static const DescribedNumber bottom_rating[] = {{.name = "watts", .value = 1100},
                                                {.name = "volts", .value = 230}};
static const DescribedNumber top_rating[] = {{.name = "watts", .value = 900},
                                             {.name = "volts", .value = 230}};
static const DescribedPart parts[] = {
    {.name = "supply", .kind = "supply", .ways = supply_ways, .way_count = COUNT(supply_ways)},
    {.name = "selector", .kind = "selector", .ways = selector_ways, .way_count = COUNT(selector_ways)},
    {.name = "bottom-element",
     .kind = "element",
     .heats = "bottom",
     .terminals = bottom_terminals,
     .terminal_count = 2,
     .numbers = bottom_rating,
     .number_count = 2},
    {.name = "top-element",
     .kind = "element",
     .heats = "top",
     .terminals = top_terminals,
     .terminal_count = 2,
     .numbers = top_rating,
     .number_count = 2},
};
static const char *const both[] = {"selector.bottom", "selector.top"};
static const DescribedFunction functions[] = {{.name = "bake", .closes = both, .close_count = 2}};
static const DescribedPlace places[] = {{.name = "kitchen"}};
static const Description description = {
    .name = "test-oven",
    .says = "an oven of four parts",
    .currency = "EUR",
    .supply = {.system = SUPPLY_SINGLE_PHASE,
               .volt = 230,
               .hertz = 50,
               .legs = {"L"},
               .leg_count = 1,
               .neutral = "N",
               .frame = "E",
               .breaker_ampere = 16},
    .places = places,
    .place_count = COUNT(places),
    .parts = parts,
    .part_count = COUNT(parts),
    .functions = functions,
    .function_count = COUNT(functions),
    .file = "oven.c",
};

bool oven_build(Arena *arena, Appliance *appliance, Error *error)
{
    return appliance_build(&description, &catalogue, NULL, 0, arena, appliance, error);
}
