/* file.c: see file.h. */
#include "support/file.h"
#include "support/near.h"

#include <stdio.h>
#include <stdlib.h>

Text file_read(const char *path)
{
    enum { MOST = 4 << 20 };
    char name[600];
    snprintf(name, sizeof name, "%s/%s", PROJECT_FOLDER, path);
    FILE *file = fopen(name, "rb");
    if (!file) fail_msg("cannot open %s", name);
    char *bytes = malloc(MOST);
    assert_non_null(bytes);
    const size_t length = fread(bytes, 1, MOST, file);
    fclose(file);
    /* Exactly as long as the file, so that the sanitizer sees a step beyond its end. */
    char *exact = realloc(bytes, length ? length : 1);
    assert_non_null(exact);
    return (Text){exact, length};
}
