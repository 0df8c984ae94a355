/* material.h: what ovens are made of, as numbers for heat that flows and heat that is kept.
 *
 * Lives here: density, specific heat, conductivity and emissivity of a solid or of water, as straight lines
 * over temperature where they change, and the resistance of a heating wire over temperature; finding a
 * material by its name. Not here: air (heat), how much of a material an oven holds (appliance), reading
 * data/parts/materials.yaml (format/appliance_yaml). This room is low: it knows no ovens.
 * Units: SI, celsius. Ownership: plain data in the arena of whoever read it; nothing here allocates. */
#ifndef CORE_MATERIAL_H
#define CORE_MATERIAL_H

/* One point of a measured curve. */
typedef struct {
    double celsius, ratio;
} MaterialPoint;

/* A property that is not known for a material, or of no use, is 0. */
typedef struct {
    const char *name;                /* 'mineral-wool' */
    double density;                  /* kg/m3 */
    double specific_heat;            /* J/kgK at 20 celsius */
    double specific_heat_slope;      /* J/kgK for each kelvin above 20 celsius */
    double conductivity;             /* W/mK at 20 celsius */
    double conductivity_slope;       /* W/mK for each kelvin above 20 celsius */
    double emissivity;               /* of its surface for heat radiation, 0 to 1 */
    const MaterialPoint *resistance; /* heating wire: ohms over those at 20 celsius, temperatures rising */
    int resistance_count;
    const char *source; /* handbook or standard, or 'from memory' */
} Material;

typedef struct {
    const Material *rows;
    int count;
} MaterialTable;

/* The material with this name; NULL when there is none. It lives as long as the table. */
const Material *material_find(const MaterialTable *table, const char *name);

/* Specific heat (J/kgK) and conductivity (W/mK) at a temperature: the straight line, but below 0 and above
 * 1000 celsius the value there, and never less than a tenth of the value at 20 celsius. */
double material_specific_heat(const Material *material, double celsius);
double material_conductivity(const Material *material, double celsius);

/* Heat that one kilogram takes up from one temperature to another, J/kg; negative when it cools. The exact
 * integral of material_specific_heat where the line holds. */
double material_heat_between(const Material *material, double from_celsius, double to_celsius);

/* Ohms at a temperature over ohms at 20 celsius, by straight lines between the points, the nearest point
 * beyond them; 1 for a material without points. */
double material_resistance_ratio(const Material *material, double celsius);

#endif
