/* assets.c: see assets.h. The table itself is made by tools/embed.cmake.
 *
 * The files of data/ stand in the program as one table, sorted by name, ended by the address of
 * assets_table_end; so the program runs from any folder and finds the data it was tested with. */
#include "edge/cli/assets.h"

#include <string.h>

extern const Asset assets_table[], assets_table_end[];

/* One by one: a dozen files, looked for a few times in the life of a process. */
const Asset *assets_find(const char *name)
{
    for (const Asset *asset = assets_table; asset < assets_table_end; asset++)
        if (strcmp(asset->name, name) == 0) return asset;
    return NULL;
}

/* Sorted names put a folder's files side by side. */
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
