/* file.c: see file.h. */
#include "support/file.h"
#include "support/near.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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

Text file_example(Text text)
{
    static const char opening[] = "```yaml\n";
    const char *const end = text.bytes + text.length;
    for (const char *at = text.bytes; at + sizeof opening < end; at++) {
        if (strncmp(at, opening, sizeof opening - 1) != 0) continue;
        const char *const from = at + sizeof opening - 1;
        for (const char *to = from; to + 3 < end; to++)
            if (strncmp(to, "\n```", 4) == 0) return (Text){from, (size_t)(to + 1 - from)};
    }
    fail_msg("no example");
    return text;
}
