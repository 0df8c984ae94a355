/* handle_page.c: the page, which travels inside the program (page/, built by ./dev). Its files are the only
 * ones that are ever given out as what they are. */
#include "edge/serve/serve_private.h"

#include <stdio.h>
#include <string.h>

#include "edge/files/files.h"

static const char *const types[][2] = {{".html", "text/html; charset=utf-8"},
                                       {".js", "text/javascript; charset=utf-8"},
                                       {".css", "text/css; charset=utf-8"},
                                       {".svg", "image/svg+xml"},
                                       {".webmanifest", "application/manifest+json"}};

/* NULL: a file of a kind that no page has; among them the compressed twins, which have no name of their own.
 */
static const char *type_of(const char *file)
{
    const char *ending = strrchr(file, '.');
    for (size_t t = 0; ending && t < sizeof types / sizeof *types; t++)
        if (strcmp(ending, types[t][0]) == 0) return types[t][1];
    return NULL;
}

static const FilesAsset *find(const char *file, const char *ending)
{
    char name[SERVE_PARAMETER + 40];
    snprintf(name, sizeof name, "page/%s%s", file, ending);
    return files_find_asset(name);
}

static void give(ServeRequest *request, const char *file)
{
    const char *type = type_of(file);
    const char *accepted =
        MHD_lookup_connection_value(request->connection, MHD_HEADER_KIND, "Accept-Encoding");
    const FilesAsset *packed = accepted && strstr(accepted, "gzip") ? find(file, ".gz") : NULL;
    const FilesAsset *asset = packed ? packed : find(file, "");
    if (!type || !asset) {
        serve__refuse(request, 404, file, "a file of the page, or a path in doc/http.md");
        return;
    }
    request->status = 200;
    request->type = type;
    request->is_packed = packed != NULL;
    request->answer = (Text){asset->bytes, asset->length};
}

void serve__page_show(ServeRequest *request) { give(request, "index.html"); }

void serve__page_file(ServeRequest *request) { give(request, request->parameter); }
