/* serve.h: calls over HTTP.
 *
 * Lives here: the server, its routes, who may use them, event streams. Not here: what a call says
 * (edge/desk), how it is written (format), where it is kept (edge/store). Routes and answers: doc/http.md.
 *
 * Loopback only, unless it is opened on purpose. A device gets in with a code that works once, and keeps a
 * token that can be revoked. Ownership: serve_run takes what it needs and gives it back before it returns. */
#ifndef EDGE_SERVE_H
#define EDGE_SERVE_H

#include "base/error.h"

enum { SERVE_MOST_NAMES = 8, SERVE_PORT = 8741 };

typedef struct {
    const char *store;                   /* as store_open takes it */
    int port;                            /* 0: any that is free */
    bool is_open;                        /* to the network, not only to this machine */
    const char *names[SERVE_MOST_NAMES]; /* by which it may be called, beside localhost and its address */
    int name_count;
    const char *certificate, *key; /* PEM, the texts themselves; NULL: no TLS */
} ServeTerms;

/* What the person who starts it must know: where it is, and the first code. */
typedef void ServeSays(void *context, const char *address, const char *code);

/* Serves until SIGINT or SIGTERM. One server in a process. */
bool serve_run(const ServeTerms *terms, ServeSays *says, void *context, Error *error) MUST_CHECK;

#endif
