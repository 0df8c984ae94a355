/* build.c: the healthy oven's coefficients, from its dimensions and what it is made of.
 *
 * What an appliance file says: the cavity's width, height and depth, the sheet of its liner, the thickness of
 * its insulation, the panes of its door, the length of its gasket; elements by their watts. What follows is
 * textbook heat transfer (core/heat) at the temperatures of an oven that bakes. Laws that bend (natural
 * convection, the draught) keep their shape in the network and get their size here.
 *
 * Numbers in capitals are what no file says. They are common practice, no source, unless something else
 * stands beside them; how far real ovens differ from them is the family's spread (thermal.h).
 *
 * Bad at: uneven heat within one panel, and doors that are half window. One node stands for each. */
#include "core/thermal/thermal_private.h"

#include "base/mathematics.h"
#include "base/text.h"
#include "core/heat/heat.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Where the laws that bend get their size: an oven that bakes in a kitchen. */
static const double HOT = 180, WARM = 45, KITCHEN = 23;
/* Elements: load of the sheath's surface (a thesis on oven elements measured 42 to 87 kW/m2), its diameter,
 * the thickness of its wall. */
static const double SURFACE_LOAD = 50e3, SHEATH = 8e-3, SHEATH_WALL = 0.7e-3;
static const double TO_FLOOR = 0.35, TO_CEILING = 0.45, TO_BACK = 0.6; /* share of an element's radiation */
static const double HIDDEN_TO_BACK = 0.9;  /* of a ring behind the cover of its fan */
static const double HIDDEN_TO_FLOOR = 1.0; /* of one below the floor: its casing sends back what it gets */
/* W/K, from an element below the floor through its casing, half as hot, into the wool: 0.6 W/K at 0.3 m2. */
static const double HIDDEN_TO_WOOL = 0.25;
/* Sensor in its tube, bulb of a capillary, bead of a probe: diameter, length, joule per kelvin. */
static const double TUBE = 5e-3, TUBE_LENGTH = 60e-3, TUBE_CAPACITY = 1.5;
static const double BULB = 6e-3, BULB_LENGTH = 180e-3, BULB_CAPACITY = 9.0;
static const double BEAD_AREA = 3.1e-6, BEAD_CAPACITY = 2.1e-3, BEAD_COEFFICIENT = 35;
static const double SENSOR_EMISSIVITY = 0.5, BEAD_EMISSIVITY = 0.6,
                    BRACKET = 0.05; /* touches the wall: of the air */
static const double RACK_AREA = 0.30, RACK_WIRE = 5e-3;
static const double GLASS = 4e-3, PANE_GAP = 15e-3,
                    FRAME_SHARE = 1.3; /* panes of a door; its frame beside them */
static const double SKIN_SHEET = 0.7e-3, SKIN_RATIO = 1.3, SKIN_EMISSIVITY = 0.85;
static const double BRIDGE = 0.35; /* W/K for each metre of the front frame, past the insulation */

/* Names that a file may use, and a typical oven's sizes for what it does not say: metres, panes, kilograms,
 * square metres of the vent's low opening and of its high one. A name that ends in a dot goes on with a
 * material. */
enum {
    WIDTH,
    HEIGHT,
    DEPTH,
    PANES,
    GASKET_LENGTH,
    RACK_MASS,
    VENT_AREA,
    FLOOR,
    LINER,
    INSULATION,
    SIZE_COUNT
};
static const struct {
    const char *name;
    double typical;
} known[SIZE_COUNT] = {
    [WIDTH] = {"cavity.width", 0.6},
    [HEIGHT] = {"cavity.height", 0.42},
    [DEPTH] = {"cavity.depth", 0.48},
    [PANES] = {"door.panes", 2},
    [GASKET_LENGTH] = {"door.gasket-length", 1.9},
    [RACK_MASS] = {"rack.mass", 2.5},
    [VENT_AREA] = {"vent.area", 8e-4},
    [FLOOR] = {"floor.", 1.0e-3},
    [LINER] = {"liner.", 1.0e-3},
    [INSULATION] = {"insulation.", 45e-3},
};

static double size_said(const ThermalModel *model, int size)
{
    const Description *description = model->appliance->description;
    for (int i = 0; i < description->thermal_count; i++)
        if (text_equal(description->thermal[i].name, known[size].name)) return description->thermal[i].value;
    return known[size].typical;
}

/* 'liner.steel': the thickness, and the material after the dot. */
static double layer(const ThermalModel *model, int group, double otherwise, const char **material)
{
    const Description *description = model->appliance->description;
    for (int i = 0; i < description->thermal_count; i++)
        if (strncmp(description->thermal[i].name, known[group].name, strlen(known[group].name)) == 0) {
            *material = description->thermal[i].name + strlen(known[group].name);
            return description->thermal[i].value;
        }
    return otherwise;
}

static const Material *material(const ThermalModel *model, const char *name)
{
    return material_find(&model->appliance->catalogue->materials, name);
}

static bool refuse(const ThermalModel *model, const DescribedNumber *number, const char *expected,
                   Error *error)
{
    error_set(error, ERROR_UNKNOWN_WORD, number->name, "%s", expected);
    return error_at(error, model->appliance->description->file, number->line, 0);
}

/* Names and sizes of the thermal data. A factor of ten too much is a slip of the pen. */
static bool check_numbers(const ThermalModel *model, Error *error)
{
    const Description *description = model->appliance->description;
    for (int i = 0; i < description->thermal_count; i++) {
        const DescribedNumber *number = &description->thermal[i];
        int k = 0;
        while (k < SIZE_COUNT && strncmp(number->name, known[k].name, strlen(known[k].name)) != 0) k++;
        const bool is_layer = k < SIZE_COUNT && known[k].name[strlen(known[k].name) - 1] == '.';
        if (k == SIZE_COUNT || (!is_layer && !text_equal(number->name, known[k].name)))
            return refuse(
                model, number,
                "thermal data: cavity (width, height, depth), liner, floor and insulation (material: "
                "thickness), door (panes, gasket-length), rack (mass), vent (area)",
                error);
        if (is_layer && !material(model, number->name + strlen(known[k].name)))
            return refuse(model, number, "a material of data/parts/materials.yaml", error);
        if (number->value > known[k].typical / 10 && number->value < known[k].typical * 10) continue;
        error_set(error, ERROR_OUT_OF_RANGE, number->name,
                  "between a tenth and ten times that of a typical oven");
        return error_at(error, description->file, number->line, 0);
    }
    return true;
}

static ThermalSize size_of(const ThermalModel *model)
{
    ThermalSize size = {.width = size_said(model, WIDTH),
                        .height = size_said(model, HEIGHT),
                        .depth = size_said(model, DEPTH),
                        .panes = (int)size_said(model, PANES),
                        .gasket_length = size_said(model, GASKET_LENGTH)};
    size.floor_area = size.width * size.depth;
    size.wall_area = 2 * size.height * size.depth + size.width * size.height;
    size.door_area = size.width * size.height;
    return size;
}

static void set_capacity(OvenNetwork *network, OvenNode node, double joule_per_kelvin)
{
    assert(joule_per_kelvin > 0);
    network->per_capacity[node] = 1 / joule_per_kelvin;
}

/* The coefficient of the laminar law with this area, from a textbook's value at one difference. */
static double free_law(double coefficient, double area, double difference)
{
    return coefficient * area / sqrt(sqrt(fabs(difference)));
}

static void build_elements(ThermalModel *model, OvenNetwork *network)
{
    const Material *sheath = material(model, "sheath"), *powder = material(model, "magnesium-oxide");
    const double inner = SHEATH - 2 * SHEATH_WALL;
    const double per_area =
        (sheath->density * material_specific_heat(sheath, 600) * (SHEATH * SHEATH - inner * inner) +
         powder->density * material_specific_heat(powder, 700) * inner * inner) /
        (4 * SHEATH);
    const double coefficient = heat_convection_cylinder(SHEATH, 600, HOT);
    for (int e = 0; e < OVEN_HEATS; e++) {
        double watt = 0;
        bool is_hidden = false;
        for (int i = 0; i < model->heater_count; i++) {
            if (model->heat_of[i] != e) continue;
            const Branch *branch = &model->appliance->branches[model->heaters[i]];
            watt += branch->rated_watt;
            is_hidden |= model->appliance->parts[branch->part].described->is_hidden;
        }
        const double area = fmax(watt, 1) / SURFACE_LOAD, black = HEAT_STEFAN * sheath->emissivity * area;
        const OvenNode node = (OvenNode)(OVEN_BOTTOM + e);
        model->area[node] = area;
        set_capacity(network, node, per_area * area);
        const double to_panel = is_hidden && e == 0 ? HIDDEN_TO_FLOOR
                                : e == 0            ? TO_FLOOR
                                : e == 1            ? TO_CEILING
                                : is_hidden         ? HIDDEN_TO_BACK
                                                    : TO_BACK;
        network->facing[e] = to_panel * black;
        const bool is_below = is_hidden && e == 0;
        network->star[node] = is_below ? 0 : (1 - to_panel) * black;
        network->free[node] = is_below ? 0 : free_law(coefficient, area, 600 - HOT);
        if (is_below) network->wool[3] = HIDDEN_TO_WOOL;
    }
}

static void build_panels(const ThermalModel *model, const ThermalSize *size, OvenNetwork *network)
{
    const char *sheet_name = "steel", *wool_name = "glass-wool";
    const double sheet = layer(model, LINER, known[LINER].typical, &sheet_name),
                 thickness = layer(model, INSULATION, known[INSULATION].typical, &wool_name);
    const Material *steel = material(model, sheet_name), *wool = material(model, wool_name);
    const double per_area = sheet * steel->density * material_specific_heat(steel, HOT);
    const char *plate_name = sheet_name; /* above an element that is out of sight */
    const double plate = layer(model, FLOOR, sheet, &plate_name);
    const Material *floor = material(model, plate_name);
    set_capacity(network, OVEN_FLOOR,
                 plate * floor->density * material_specific_heat(floor, HOT) * size->floor_area);
    set_capacity(network, OVEN_CEILING, per_area * size->floor_area);
    set_capacity(network, OVEN_WALLS, per_area * size->wall_area);
    const double area = 2 * size->floor_area + size->wall_area, outer = SKIN_RATIO * area;
    set_capacity(network, OVEN_WOOL,
                 wool->density * thickness * (area + outer) / 2 * material_specific_heat(wool, 110));
    set_capacity(network, OVEN_SKIN,
                 outer * SKIN_SHEET * steel->density * material_specific_heat(steel, WARM));
    /* Each half of the insulation carries twice the whole one's conductance, at the mean of its two ends. */
    const double per_face = wool->conductivity * 2 / thickness;
    network->wool_slope[0] = wool->conductivity_slope / wool->conductivity / 2;
    network->wool[0] = network->wool[2] = per_face * size->floor_area * (1 + SKIN_RATIO) / 2;
    network->wool[1] = per_face * size->wall_area * (1 + SKIN_RATIO) / 2;
    network->wool[4] = per_face * outer * (1 + SKIN_RATIO) / (2 * SKIN_RATIO);
    const double edge = size->width + 2 * size->depth;
    network->metal[0] = network->metal[1] =
        material_conductivity(steel, HOT) * sheet * edge / (size->height / 2);
    network->metal[2] = BRIDGE * 2 * (size->width + size->height);
    const double across = size->floor_area / (2 * (size->width + size->depth));
    network->free[OVEN_FLOOR] =
        free_law(heat_convection_horizontal(across, HOT + 20, HOT, true), size->floor_area, 20);
    network->free[OVEN_CEILING] =
        free_law(heat_convection_horizontal(across, HOT - 20, HOT, true), size->floor_area, 20);
    network->free[OVEN_WALLS] =
        free_law(heat_convection_vertical(size->height, HOT - 20, HOT), size->wall_area, 20);
    network->outside_free[0] =
        free_law(heat_convection_vertical(size->height, WARM, KITCHEN), outer, WARM - KITCHEN);
    network->outside_radiate[0] = HEAT_STEFAN * SKIN_EMISSIVITY * outer;
}

static void build_door(const ThermalModel *model, const ThermalSize *size, OvenNetwork *network)
{
    const Material *glass = material(model, "glass");
    const double capacity =
        FRAME_SHARE * size->door_area * GLASS * glass->density * material_specific_heat(glass, 120);
    const int gaps = size->panes > 1 ? size->panes - 1 : 0;
    set_capacity(network, OVEN_DOOR,
                 capacity * (gaps > 1 ? gaps : 1)); /* panes between count to the inner side */
    set_capacity(network, OVEN_PANE, capacity);
    const double across = gaps > 0 ? heat_convection_gap(PANE_GAP, size->height, HOT, WARM + 20) / gaps
                                   : glass->conductivity / GLASS;
    const double grey = 1 / (2 / glass->emissivity - 1);
    network->metal[3] = size->door_area * across;
    network->facing[3] = gaps > 0 ? HEAT_STEFAN * size->door_area * grey / gaps : 0;
    network->free[OVEN_DOOR] =
        free_law(heat_convection_vertical(size->height, HOT - 20, HOT), size->door_area, 20);
    network->outside_free[1] = free_law(heat_convection_vertical(size->height, WARM + 20, KITCHEN),
                                        size->door_area, WARM + 20 - KITCHEN);
    network->outside_radiate[1] = HEAT_STEFAN * SKIN_EMISSIVITY * size->door_area;
}

static void build_inside(const ThermalModel *model, const ThermalSize *size, OvenNetwork *network)
{
    const HeatAir air = heat_air(HOT);
    const Material *steel = material(model, "steel");
    const double mass = size_said(model, RACK_MASS);
    set_capacity(network, OVEN_AIR, size->floor_area * size->height * air.density * air.specific_heat);
    set_capacity(network, OVEN_RACK, mass * material_specific_heat(steel, HOT));
    network->free[OVEN_RACK] = free_law(heat_convection_cylinder(RACK_WIRE, HOT - 20, HOT), RACK_AREA, 20);
    set_capacity(network, OVEN_CORE, 1); /* nothing stands on the rack */
    const bool is_tube = thermal__has_tube(model);
    const double area = MATH_PI * (is_tube ? TUBE * TUBE_LENGTH : BULB * BULB_LENGTH);
    set_capacity(network, OVEN_SENSOR, is_tube ? TUBE_CAPACITY : BULB_CAPACITY);
    network->free[OVEN_SENSOR] = heat_convection_cylinder(is_tube ? TUBE : BULB, HOT - 10, HOT) * area;
    network->metal[5] = BRACKET * network->free[OVEN_SENSOR];
    network->star[OVEN_SENSOR] = HEAT_STEFAN * SENSOR_EMISSIVITY * area;
    set_capacity(network, OVEN_CENTRE, BEAD_CAPACITY);
    network->free[OVEN_CENTRE] = BEAD_COEFFICIENT * BEAD_AREA;
    network->star[OVEN_CENTRE] = HEAT_STEFAN * BEAD_EMISSIVITY * BEAD_AREA;
}

/* Areas as black ones that see the common node: panels of the box by Carroll's factors, small bodies as they
 * are. */
static void build_star(ThermalModel *model, const ThermalSize *size, OvenNetwork *network)
{
    const double enamel = material(model, "enamelled-steel")->emissivity,
                 glass = material(model, "glass")->emissivity;
    const double area[4] = {size->floor_area, size->wall_area, size->floor_area, size->door_area};
    const double emissivity[4] = {enamel, enamel, enamel, glass};
    double factor[4];
    heat_star_factors(4, area, factor);
    model->area[OVEN_RACK] = RACK_AREA;
    for (int i = 0; i < 4; i++) model->area[OVEN_FLOOR + i] = area[i];
    for (int i = 0; i < 4; i++)
        network->star[OVEN_FLOOR + i] = HEAT_STEFAN * heat_star_area(area[i], emissivity[i], factor[i]);
    network->star[OVEN_RACK] = HEAT_STEFAN * material(model, "oxidised-steel")->emissivity * RACK_AREA / 2;
    network->open_star[0] = HEAT_STEFAN * size->door_area;
}

void thermal__sum_star(OvenNetwork *network)
{
    double sum = 0;
    for (int i = 0; i < OVEN_STARRED; i++) sum += network->star[i];
    assert(sum > 0);
    network->star_closed[0] = 1 / sum;
    network->star_opened[0] = 1 / (sum + network->open_star[0]) - 1 / sum;
}

/* heat_stack_flow has the shape sqrt(difference / inside) of the network's law; one point gives its size. */
static double draught(double area, double height)
{
    const double inside = HOT + OVEN_ZERO_CELSIUS, difference = HOT - KITCHEN;
    return heat_stack_flow(area, area, height, HEAT_DISCHARGE, HOT, KITCHEN) *
           heat_air(KITCHEN).specific_heat / sqrt(difference / inside);
}

static void build_air_flow(ThermalModel *model, const ThermalSize *size, OvenNetwork *network)
{
    const double vent = size_said(model, VENT_AREA);
    /* Half of a gap around the door lies low, half of it high. */
    model->gap_vent = draught(size->gasket_length / 2, size->height);
    network->vent[0] = draught(vent, size->height) + THERMAL_GASKET_GAP * model->gap_vent;
    /* One large opening takes cold air in below and hot air out above: a third of its area for each, half its
     * height between them (flow through doorways, ASHRAE Handbook of Fundamentals, from memory). */
    network->open_vent[0] = draught(size->door_area / 3, size->height / 2);
}

/* Cubic through the conductance (1 / ratio) of the heating wire at four temperatures, by Lagrange, in
 * kelvin/1000; over that at work, for which the watts are. */
static void build_wire(const ThermalModel *model, OvenNetwork *network)
{
    static const double at[4] = {20, 300, 500, 900};
    const Material *wire = material(model, "nichrome");
    const double work = material_resistance_ratio(wire, 800);
    double sum[4] = {0};
    for (int i = 0; i < 4; i++) {
        double term[4] = {work / material_resistance_ratio(wire, at[i]), 0, 0, 0};
        const double x = (at[i] + OVEN_ZERO_CELSIUS) / 1000;
        for (int j = 0, degree = 0; j < 4; j++) {
            if (j == i) continue;
            const double other = (at[j] + OVEN_ZERO_CELSIUS) / 1000;
            for (int k = ++degree; k >= 0; k--)
                term[k] = ((k > 0 ? term[k - 1] : 0) - other * term[k]) / (x - other);
        }
        for (int k = 0; k < 4; k++) sum[k] += term[k];
    }
    for (int k = 0; k < 4; k++) network->wire[k] = sum[k];
}

bool thermal__build(ThermalModel *model, Error *error)
{
    OvenNetwork *network = &model->network;
    if (!check_numbers(model, error)) return false;
    const ThermalSize size = size_of(model);
    model->has_own_dimensions = model->appliance->description->thermal_count > 0;
    *network = (OvenNetwork){.wire = {1, 0, 0, 0}};
    build_elements(model, network);
    build_panels(model, &size, network);
    build_door(model, &size, network);
    build_inside(model, &size, network);
    build_star(model, &size, network);
    build_air_flow(model, &size, network);
    build_wire(model, network);
    thermal__sum_star(network);
    const double ambient = model->circuit->ambient_celsius + OVEN_ZERO_CELSIUS;
    network->ambient[0] = ambient;
    network->ambient_fourth[0] = ambient * ambient * ambient * ambient;
    return true;
}
