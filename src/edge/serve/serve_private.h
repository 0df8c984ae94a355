/* serve_private.h: what the files of the server share.
 *
 * Two threads: one carries bytes and does what is quick, with a store of its own; the adviser, with another
 * store, works out what a call says, which takes tenths of a second. A request that needs it is set aside and
 * taken up again. A third one only watches: connections that dawdle, records that came from elsewhere. */
#ifndef EDGE_SERVE_PRIVATE_H
#define EDGE_SERVE_PRIVATE_H

#include <jansson.h>
#include <microhttpd.h>
#include <pthread.h>
#include <time.h>

#include "base/text.h"
#include "edge/desk/desk.h"
#include "edge/serve/route_list.h"
#include "edge/serve/serve.h"
#include "edge/store/store.h"

typedef enum {
#define X(code, name) SERVE_##code,
    SERVE_RIGHT_LIST(X)
#undef X
        SERVE_RIGHT_COUNT
} ServeRight;

typedef struct Server Server;
typedef struct ServeRequest ServeRequest;
typedef void ServeHandler(ServeRequest *request);

typedef struct {
    const char *name, *method, *path;
    ServeRight right;
    size_t most_bytes;
    ServeHandler *handle;
} ServeRoute;

enum { SERVE_PARAMETER = 80 };

struct ServeRequest {
    Server *server;
    struct MHD_Connection *connection;
    const ServeRoute *route;
    char parameter[SERVE_PARAMETER]; /* what stood for the braces */
    Arena arena;
    TextBuilder body;
    StoreDevice device; /* id 0: a stranger */
    ServeRight right;
    bool is_refused;
    int failing_record; /* of several that were sent, from 1; 0: not of one */
    /* ---- the answer; status 0: none yet */
    int status;
    const char *type, *cookie;
    Text answer;
    bool is_download, is_packed; /* packed: with gzip, RFC 1952 */
    struct MHD_Response *stream; /* instead of `answer` */
    /* ---- work of the adviser */
    ServeRequest *next_job;
    bool is_aside; /* the adviser has it: nothing of it is looked at until it comes back */
};

/* ---- route.c */

const char *serve__right_name(ServeRight right);
bool serve__right_of(const char *name, ServeRight *right); /* false: no such right */
/* NULL: no such path (*is_path false), or not with this method. */
const ServeRoute *serve__find_route(const char *method, const char *path, char parameter[SERVE_PARAMETER],
                                    bool *is_path);

/* ---- answer.c */

void serve__answer_json(ServeRequest *request, int status, const TextBuilder *json);
void serve__answer_tree(ServeRequest *request, int status,
                        json_t *root); /* takes the tree; NULL: no memory */
void serve__answer_error(ServeRequest *request, const Error *error);
void serve__refuse(ServeRequest *request, int status, const char *found, const char *expected);
void serve__fail(ServeRequest *request, const Error *error); /* a call that is not there is 404 */
/* A call that was put on record elsewhere may name any file of this machine as its appliance: that is not
 * read for whoever asks, only what is part of the program or came with the call. */
bool serve__may_load(const DeskSource *source, Arena *arena, Error *error);
bool serve__may_load_call(ServeRequest *request, const DeskCall *found, Error *error);
enum MHD_Result serve__send(ServeRequest *request);
/* Of the query; NULL when it is not there. */
const char *serve__query(const ServeRequest *request, const char *name);
/* The sentences that the query asks for: in which language, with which degrees. */
bool serve__load_words(ServeRequest *request, Words *words, Error *error) MUST_CHECK;

/* ---- session.c: who may, in one place */

void serve__admit(ServeRequest *request); /* host, origin, device, right, rate; refuses, or lets through */
void serve__make_code(Server *server, ServeRight right, char code[12]);

/* ---- events.c */

typedef struct ServeStream ServeStream;
/* Wakes who listens to that call; NULL: everybody. */
void serve__wake(Server *server, const char *call);
void serve__end_streams(Server *server);

/* ---- advise.c */

void *serve__advise(void *server); /* the thread */

/* ---- watch.c */

typedef struct ServeWatch ServeWatch;
void serve__watch(void *server, struct MHD_Connection *connection, void **context,
                  enum MHD_ConnectionNotificationCode what);
/* The connection has until then for its next step; 0: for ever. */
void serve__allow(ServeRequest *request, int seconds);
void *serve__keep_watch(void *server); /* the thread */

/* ---- */

enum { SERVE_CODES = 8, SERVE_BUCKETS = 64, SERVE_CACHED = 128 };

typedef struct {
    char code[12];
    ServeRight right;
    int64_t until_second; /* 0: not in use */
} ServeCode;

typedef struct {
    int64_t device;
    double left, at_second;
} ServeBucket;

typedef struct {
    char *key, *text; /* malloc'd; NULL: empty */
    int status;
} ServeAdvice;

struct Server {
    const ServeTerms *terms;
    struct MHD_Daemon *daemon;
    Store *store; /* of the thread that carries bytes */
    int port;
    ServeCode codes[SERVE_CODES];
    ServeBucket buckets[SERVE_BUCKETS]; /* [0] is of all strangers together */
    ServeBucket guesses;                /* of codes */
    pthread_mutex_t lock;               /* of what follows */
    pthread_cond_t has_work;
    ServeRequest *jobs; /* oldest first */
    ServeAdvice advice[SERVE_CACHED];
    int next_advice;
    ServeStream *streams;
    ServeWatch *watches;
    bool is_ending;
};

int64_t serve__now_millisecond(void); /* since 1970 */
double serve__second(void);           /* of a clock that only goes on */

#define X(handler, method, path, right, bytes) ServeHandler serve__##handler;
SERVE_ROUTE_LIST(X)
#undef X

#endif
