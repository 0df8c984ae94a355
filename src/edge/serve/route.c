/* route.c: from method and path to a row of the list. */
#include "edge/serve/serve_private.h"

#include <string.h>

static const ServeRoute routes[] = {
#define X(handler, method, path, right, bytes)                                                               \
    {#handler, method, path, SERVE_##right, bytes, serve__##handler},
    SERVE_ROUTE_LIST(X)
#undef X
};

static const char *const rights[SERVE_RIGHT_COUNT] = {
#define X(code, name) name,
    SERVE_RIGHT_LIST(X)
#undef X
};

const char *serve__right_name(ServeRight right) { return rights[right]; }

bool serve__right_of(const char *name, ServeRight *right)
{
    for (int r = 0; r < SERVE_RIGHT_COUNT; r++) {
        if (!text_equal(rights[r], name)) continue;
        *right = (ServeRight)r;
        return true;
    }
    return false;
}

/* Piece by piece; what stands for braces is taken down. */
static bool fits(const char *pattern, const char *path, char parameter[SERVE_PARAMETER])
{
    while (*pattern) {
        if (*pattern != '{') {
            if (*pattern++ != *path++) return false;
            continue;
        }
        const size_t length = strcspn(path, "/");
        if (length == 0 || length >= SERVE_PARAMETER) return false;
        memcpy(parameter, path, length);
        parameter[length] = '\0';
        path += length;
        pattern += strcspn(pattern, "}") + 1;
    }
    return *path == '\0';
}

const ServeRoute *serve__find_route(const char *method, const char *path, char parameter[SERVE_PARAMETER],
                                    bool *is_path)
{
    *is_path = false;
    for (size_t r = 0; r < sizeof routes / sizeof *routes; r++) {
        if (!fits(routes[r].path, path, parameter)) continue;
        *is_path = true;
        if (strcmp(routes[r].method, method) == 0) return &routes[r];
    }
    return NULL;
}
