/* assets.c: see assets.h. The table itself is made by tools/embed.cmake. */
#include "edge/cli/assets.h"

#include <string.h>

extern const Asset assets_table[], assets_table_end[];

const Asset *assets_find(const char *name)
{
    for (const Asset *asset = assets_table; asset < assets_table_end; asset++)
        if (strcmp(asset->name, name) == 0) return asset;
    return NULL;
}

const Asset *assets_list(const char *folder, size_t *count)
{
    const size_t length = strlen(folder);
    const Asset *first = assets_table;
    while (first < assets_table_end && strncmp(first->name, folder, length) != 0) first++;
    const Asset *end = first;
    while (end < assets_table_end && strncmp(end->name, folder, length) == 0) end++;
    *count = (size_t)(end - first);
    return first;
}
