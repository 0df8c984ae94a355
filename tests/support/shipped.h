/* shipped.h: the appliances of data/appliances, read and built, for tests of the rooms above them. A test
 * that uses it links format_appliance_yaml in its .cmake file. Everything lives in the arena; failing to read
 * a shipped file fails the test. */
#ifndef SUPPORT_SHIPPED_H
#define SUPPORT_SHIPPED_H

#include "core/appliance/appliance.h"

enum { SHIPPED_COUNT = 6 };

extern const char *const shipped_names[SHIPPED_COUNT];

void shipped_read_catalogue(Arena *arena, Catalogue *catalogue);
void shipped_read(const char *name, Arena *arena, Description *description);
void shipped_build(const char *name, Arena *arena, Appliance *appliance);

#endif
