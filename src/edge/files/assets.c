/* assets.c: the files inside the program. The table itself is made by tools/embed.cmake.
 *
 * The files of data/ stand in the program as one table, sorted by name, ended by the address of
 * assets_table_end; so the program runs from any folder and finds the data it was tested with. */
#include "edge/files/files.h"

#include <string.h>

extern const FilesAsset assets_table[], assets_table_end[];

/* One by one: a dozen files, looked for a few times in the life of a process. */
const FilesAsset *files_find_asset(const char *name)
{
    for (const FilesAsset *asset = assets_table; asset < assets_table_end; asset++)
        if (strcmp(asset->name, name) == 0) return asset;
    return NULL;
}

/* Sorted names put a folder's files side by side. */
const FilesAsset *files_list_assets(const char *folder, size_t *count)
{
    const size_t length = strlen(folder);
    const FilesAsset *first = assets_table;
    while (first < assets_table_end && strncmp(first->name, folder, length) != 0) first++;
    const FilesAsset *end = first;
    while (end < assets_table_end && strncmp(end->name, folder, length) == 0) end++;
    *count = (size_t)(end - first);
    return first;
}
