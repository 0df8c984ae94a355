/* watch.c: connections that dawdle are ended, and records that came from elsewhere are told.
 *
 * The library ends a connection that is silent. One that sends a letter of its header every few seconds is
 * never silent, so each connection has a moment until which its next step must be done: the first header in
 * ten seconds, a body in sixty, the next request in seventy-five. */
#include "edge/serve/serve_private.h"

#include <stdlib.h>
#include <sys/socket.h>

enum { HEADER_SECOND = 10, LOOKS_A_SECOND = 4 };

struct ServeWatch {
    ServeWatch *next;
    int socket;
    double until_second; /* 0: for ever */
};

static void begin_watch(Server *server, struct MHD_Connection *connection, void **context)
{
    ServeWatch *watch = calloc(1, sizeof *watch);
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    *context = watch;
    if (!watch || !info) return;
    watch->socket = info->connect_fd;
    watch->until_second = serve__second() + HEADER_SECOND;
    pthread_mutex_lock(&server->lock);
    watch->next = server->watches;
    server->watches = watch;
    pthread_mutex_unlock(&server->lock);
}

/* Before the socket is given back, so that no other is ended in its place. */
static void end_watch(Server *server, ServeWatch *watch)
{
    pthread_mutex_lock(&server->lock);
    for (ServeWatch **at = &server->watches; *at; at = &(*at)->next) {
        if (*at != watch) continue;
        *at = watch->next;
        break;
    }
    pthread_mutex_unlock(&server->lock);
    free(watch);
}

void serve__watch(void *server, struct MHD_Connection *connection, void **context,
                  enum MHD_ConnectionNotificationCode what)
{
    if (what == MHD_CONNECTION_NOTIFY_STARTED)
        begin_watch(server, connection, context);
    else if (*context)
        end_watch(server, *context);
}

void serve__allow(ServeRequest *request, int seconds)
{
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(request->connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    ServeWatch *watch = info ? info->socket_context : NULL;
    if (!watch) return;
    pthread_mutex_lock(&request->server->lock);
    watch->until_second = seconds > 0 ? serve__second() + seconds : 0;
    pthread_mutex_unlock(&request->server->lock);
}

static void end_dawdlers(Server *server)
{
    const double now = serve__second();
    pthread_mutex_lock(&server->lock);
    for (ServeWatch *watch = server->watches; watch; watch = watch->next)
        if (watch->until_second > 0 && watch->until_second < now) shutdown(watch->socket, SHUT_RDWR);
    pthread_mutex_unlock(&server->lock);
}

static bool is_ending(Server *server)
{
    pthread_mutex_lock(&server->lock);
    const bool is = server->is_ending;
    pthread_mutex_unlock(&server->lock);
    return is;
}

/* Another program may have the same store open: a look at its last arrival tells. */
static void look_for_records(Server *server, Store *store, int64_t *last)
{
    int64_t arrival = *last;
    Error ignored = {.code = ERROR_NONE};
    if (!store_last_arrival(store, &arrival, &ignored) || arrival == *last) return;
    *last = arrival;
    serve__wake(server, NULL);
}

void *serve__keep_watch(void *context)
{
    Server *server = context;
    Store *store = NULL;
    int64_t last = 0;
    const struct timespec moment = {.tv_nsec = 1000000000L / LOOKS_A_SECOND};
    Error ignored = {.code = ERROR_NONE};
    if (!store_open(server->terms->store, false, &store, &ignored)) store = NULL;
    for (int looks = 0; !is_ending(server); looks++) {
        if (store) look_for_records(server, store, &last);
        end_dawdlers(server);
        if (looks % (5 * LOOKS_A_SECOND) == 0) serve__wake(server, NULL); /* for their beat */
        nanosleep(&moment, NULL);
    }
    store_close(store);
    return NULL;
}
