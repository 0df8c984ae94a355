/* assets.h: the files of data/ that travel inside the program.
 *
 * Lives here: finding one by its name below data/, listing a folder. Not here: files outside the program
 * (files.h), what the bytes mean. Ownership: everything belongs to the program and is never freed. */
#ifndef EDGE_CLI_ASSETS_H
#define EDGE_CLI_ASSETS_H

#include <stddef.h>

typedef struct {
    const char *name;  /* 'appliances/range-208.yaml' */
    const char *bytes; /* a NUL stands behind the last one */
    size_t length;
} Asset;

/* The file of that name, or NULL. */
const Asset *assets_find(const char *name);

/* The files whose name begins with `folder` ('appliances/'), sorted by name: the first of *count that stand
 * one behind the other. */
const Asset *assets_list(const char *folder, size_t *count);

#endif
