/* command_serve.c: `ovenwright serve`: calls over HTTP, until it is told to stop. */
#include "edge/cli/shelf.h"
#include "edge/files/files.h"
#include "edge/serve/serve.h"

#include <stdio.h>

enum { PEM_LIMIT = 1 << 20 };

/* At once, not with the answer at the end: somebody waits for the code. */
static void say(void *context, const char *address, const char *code)
{
    const ServeTerms *terms = context;
    printf("%s\ncode %s, for ten minutes and one device; it may do everything\n", address, code);
    if (terms->is_open && !terms->certificate)
        printf("Anybody on the way can read what devices send: --certificate and --key encrypt it.\n");
    fflush(stdout);
}

static bool read_port(const Invocation *invocation, int *port, Error *error)
{
    const char *typed = cli__option(invocation, OPTION_PORT, NULL);
    double number = SERVE_PORT;
    if (typed && (!text_read_number(text_of(typed), &number) || number < 0 || number > 65535 ||
                  number != (double)(int)number))
        return error_set(error, ERROR_USAGE, typed, "a port from 0 to 65535");
    *port = (int)number;
    return true;
}

static bool read_pem(const Invocation *invocation, OptionCode code, const char **pem, Error *error)
{
    const char *path = cli__option(invocation, code, NULL);
    Text text;
    *pem = NULL;
    if (!path) return true;
    if (!files_read(path, PEM_LIMIT, invocation->arena, &text, error)) return false;
    *pem = text.bytes;
    return true;
}

static bool read_names(const Invocation *invocation, ServeTerms *terms, Error *error)
{
    for (int i = 0; i < invocation->option_count; i++) {
        if (invocation->options[i].code != OPTION_HOST) continue;
        if (terms->name_count == SERVE_MOST_NAMES)
            return error_set(error, ERROR_USAGE, "--host", "at most %d of them", SERVE_MOST_NAMES);
        terms->names[terms->name_count++] = invocation->options[i].words[0];
    }
    if (terms->is_open && terms->name_count == 0)
        return error_set(error, ERROR_USAGE, "--network alone",
                         "--host with the name or address that devices use");
    if (!terms->certificate == !terms->key) return true;
    return error_set(error, ERROR_USAGE, "half a pair", "--certificate and --key together");
}

bool cli__serve(Invocation *invocation, Error *error)
{
    ServeTerms terms = {.is_open = cli__has_option(invocation, OPTION_NETWORK)};
    terms.store = shelf_path(invocation, error);
    return terms.store && read_port(invocation, &terms.port, error) &&
           read_pem(invocation, OPTION_CERTIFICATE, &terms.certificate, error) &&
           read_pem(invocation, OPTION_KEY, &terms.key, error) && read_names(invocation, &terms, error) &&
           serve_run(&terms, say, &terms, error);
}
