/* materials_yaml.c: materials.yaml, what ovens are made of.
 *
 * Lives here: one row for each material, each figure a plain number in the unit that its key is documented
 * with at the head of the file (compound units such as W/mK are no quantities that people type at an oven).
 * Not here: what the figures are used for (core/material, core/heat).
 *
 * Every row must name its source, and every figure has limits: a slip of a power of ten is refused where it
 * stands, long before a simulated oven comes out strange. */
#include "format/appliance_yaml/appliance_yaml_private.h"

/* `[400C, 1.025]`, a point of the resistance curve. */
static bool read_point(const YamlReader *reader, const YamlNode *node, MaterialPoint *point, Error *error)
{
    if (!yaml_need_list(reader, node, 2, "a temperature and a ratio, like [400C, 1.025]", error))
        return false;
    const YamlNode *celsius = node->first, *ratio = celsius->next;
    return yaml_read_number(reader, celsius, UNIT_CELSIUS, 0, 2000, &point->celsius, error) &&
           yaml_read_number(reader, ratio, UNIT_NONE, 0.5, 20, &point->ratio, error);
}

/* Points from cold to hot, so that whoever interpolates need not sort them. */
static bool read_resistance(const YamlReader *reader, const YamlField *field, const YamlNode *node,
                            void *into, Error *error)
{
    (void)field;
    Material *material = into;
    if (!yaml_need_list(reader, node, 0, "a list of points, like [[20C, 1], [400C, 1.025]]", error))
        return false;
    MaterialPoint *points = ARENA_ARRAY(reader->arena, MaterialPoint, (size_t)node->count);
    if (!points) return error_memory(error);
    int count = 0;
    for (const YamlNode *child = node->first; child; child = child->next, count++) {
        if (!read_point(reader, child, &points[count], error)) return false;
        if (count && points[count].celsius <= points[count - 1].celsius)
            return yaml_refuse(reader, child, ERROR_INCONSISTENT, error,
                               "a point hotter than the one before");
    }
    material->resistance = points;
    material->resistance_count = count;
    return true;
}

/* Limits hold everything from an insulating wool to copper. A slope may fall. */
static const YamlField material_fields[] = {
    {"density", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(Material, density), .least = 1,
     .most = 25000},
    {"specific-heat", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(Material, specific_heat),
     .least = 50, .most = 10000},
    {"specific-heat-slope", YAML_AS_NUMBER, .offset = offsetof(Material, specific_heat_slope), .least = -20,
     .most = 20},
    {"conductivity", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(Material, conductivity),
     .least = 0.01, .most = 1000},
    {"conductivity-slope", YAML_AS_NUMBER, .offset = offsetof(Material, conductivity_slope), .least = -10,
     .most = 10},
    {"emissivity", YAML_AS_NUMBER, .offset = offsetof(Material, emissivity), .least = 0.005, .most = 1},
    {"resistance", YAML_AS_FUNCTION, .function = read_resistance},
    {"source", YAML_AS_TEXT, .is_required = true, .offset = offsetof(Material, source)},
};

static const YamlSchema material_schema = {
    .what = "a material",
    .size = sizeof(Material),
    .fields = material_fields,
    .field_count = ROWS(material_fields),
    .has_name = true,
    .name_offset = offsetof(Material, name),
};

static const YamlField materials_fields[] = {
    {"materials", YAML_AS_STRUCTS, .is_required = true, .offset = offsetof(MaterialTable, rows),
     .count_offset = offsetof(MaterialTable, count), .schema = &material_schema},
};

static const YamlSchema materials_schema = {
    .what = "the file of materials", .fields = materials_fields, .field_count = ROWS(materials_fields)};

bool appliance_yaml__read_materials(const YamlReader *reader, const YamlNode *root, Catalogue *catalogue,
                                    Error *error)
{
    return yaml_read_struct(reader, root, &materials_schema, &catalogue->materials, error);
}
