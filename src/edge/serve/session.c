/* session.c: who may use the server: the one place where that is decided.
 *
 * A request is let through when it was sent to a name of this server (a page elsewhere that has made its own
 * name point here is refused), comes from no other site, is no more than its device may send, and the device
 * has the right that the route asks for. A device keeps 256 random bits in a cookie that no script can read;
 * the store keeps their SHA-256 (FIPS 180-4). */
#include "edge/serve/serve_private.h"

#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

enum { CODE_MINUTES = 10, TOKEN_BYTES = 32, MOST_NAME = 100 };

/* Requests a second and how many may come at once: of a device, of all strangers, of guesses at codes. */
static const double DEVICE_RATE = 400, DEVICE_BURST = 800;
static const double STRANGER_RATE = 50, STRANGER_BURST = 100;
static const double GUESS_RATE = 1.0 / 6, GUESS_BURST = 10;

static const char *header(const ServeRequest *request, const char *name)
{
    return MHD_lookup_connection_value(request->connection, MHD_HEADER_KIND, name);
}

/* ---- host and origin */

/* `host` with or without a port, as a browser writes it. */
static bool is_ours(const Server *server, const char *host)
{
    static const char *const loopback[] = {"localhost", "127.0.0.1", "[::1]"};
    char port[16];
    const char *colon = host[0] == '[' ? strstr(host, "]:") : strchr(host, ':');
    if (colon && host[0] == '[') colon++;
    const size_t length = colon ? (size_t)(colon - host) : strlen(host);
    snprintf(port, sizeof port, ":%d", server->port);
    if (colon && strcmp(colon, port) != 0) return false;
    for (size_t l = 0; l < sizeof loopback / sizeof *loopback; l++)
        if (strlen(loopback[l]) == length && strncasecmp(host, loopback[l], length) == 0) return true;
    for (int n = 0; n < server->terms->name_count; n++)
        if (strlen(server->terms->names[n]) == length &&
            strncasecmp(host, server->terms->names[n], length) == 0)
            return true;
    return false;
}

/* A browser always says where a request that changes something comes from. */
static bool is_same_site(const ServeRequest *request)
{
    const char *origin = header(request, "Origin"), *site = header(request, "Sec-Fetch-Site");
    const char *scheme = request->server->terms->certificate ? "https://" : "http://";
    if (origin)
        return strncmp(origin, scheme, strlen(scheme)) == 0 &&
               is_ours(request->server, origin + strlen(scheme));
    return !site || strcmp(site, "same-origin") == 0 || strcmp(site, "none") == 0;
}

/* ---- how much */

static bool take_from(ServeBucket *bucket, double rate, double burst)
{
    const double now = serve__second(), since = now - bucket->at_second;
    bucket->left = bucket->at_second > 0 ? bucket->left + rate * since : burst;
    if (bucket->left > burst) bucket->left = burst;
    bucket->at_second = now;
    if (bucket->left < 1) return false;
    bucket->left -= 1;
    return true;
}

/* Of more devices than there are buckets two may share one. */
static bool is_within_rate(ServeRequest *request)
{
    Server *server = request->server;
    if (request->device.id == 0) return take_from(&server->buckets[0], STRANGER_RATE, STRANGER_BURST);
    ServeBucket *bucket = &server->buckets[1 + request->device.id % (SERVE_BUCKETS - 1)];
    return take_from(bucket, DEVICE_RATE, DEVICE_BURST);
}

/* ---- the device */

static void hash_token(const char *token, char hash[TRAIL_HASH_SIZE])
{
    unsigned char digest[crypto_hash_sha256_BYTES];
    crypto_hash_sha256(digest, (const unsigned char *)token, strlen(token));
    sodium_bin2hex(hash, TRAIL_HASH_SIZE, digest, sizeof digest);
}

/* No cookie, a revoked one, one of another store: a stranger. */
static bool find_device(ServeRequest *request, Error *error)
{
    const char *token = MHD_lookup_connection_value(request->connection, MHD_COOKIE_KIND, "ovenwright");
    char hash[TRAIL_HASH_SIZE];
    request->device = (StoreDevice){.id = 0, .name = "", .may = ""};
    request->right = SERVE_ANYBODY;
    if (!token || strlen(token) != 2 * TOKEN_BYTES) return true;
    hash_token(token, hash);
    if (!store_find_device(request->server->store, hash, &request->arena, &request->device, error))
        return false;
    if (request->device.is_revoked || !serve__right_of(request->device.may, &request->right))
        request->device = (StoreDevice){.id = 0, .name = "", .may = ""};
    return true;
}

void serve__admit(ServeRequest *request)
{
    const char *host = header(request, "Host");
    Error error = {.code = ERROR_NONE};
    if (!host || !is_ours(request->server, host))
        serve__refuse(request, 421, "another host", "the name or address that the server was started with");
    else if (!is_same_site(request))
        serve__refuse(request, 403, "another site", "the page of this server");
    else if (!find_device(request, &error))
        serve__answer_error(request, &error);
    else if (!is_within_rate(request))
        serve__refuse(request, 429, "too many requests", "a little patience");
    else if (request->device.id == 0 && request->route->right > SERVE_ANYBODY)
        serve__refuse(request, 401, "a device that is not known here",
                      "a code from the office or the server");
    else if (request->right < request->route->right)
        serve__refuse(request, 403, serve__right_name(request->right),
                      serve__right_name(request->route->right));
}

/* ---- codes */

/* Ten letters that nobody mistakes for another: 48 bits and more, for ten minutes, ten guesses a minute. */
void serve__make_code(Server *server, ServeRight right, char code[12])
{
    static const char letters[] = "23456789abcdefghjkmnpqrstuvwxyz";
    int oldest = 0;
    for (int c = 1; c < SERVE_CODES; c++)
        if (server->codes[c].until_second < server->codes[oldest].until_second) oldest = c;
    for (int i = 0; i < 11; i++) code[i] = i == 5 ? '-' : letters[randombytes_uniform(sizeof letters - 1)];
    code[11] = '\0';
    server->codes[oldest] =
        (ServeCode){.right = right, .until_second = (int64_t)serve__second() + 60 * CODE_MINUTES};
    memcpy(server->codes[oldest].code, code, sizeof server->codes[oldest].code);
}

/* Works once. */
static bool use_code(Server *server, const char *typed, ServeRight *right)
{
    for (int c = 0; c < SERVE_CODES; c++) {
        ServeCode *code = &server->codes[c];
        if (code->until_second < (int64_t)serve__second() || strlen(typed) != strlen(code->code) ||
            sodium_memcmp(typed, code->code, strlen(code->code)) != 0)
            continue;
        *right = code->right;
        code->until_second = 0;
        return true;
    }
    return false;
}

static bool make_device(ServeRequest *request, const char *name, ServeRight right, Error *error)
{
    unsigned char bytes[TOKEN_BYTES];
    char token[2 * TOKEN_BYTES + 1], hash[TRAIL_HASH_SIZE];
    TextBuilder cookie = text_builder(&request->arena, 1000);
    const StoreDevice device = {
        .made_millisecond = serve__now_millisecond(), .name = name, .may = serve__right_name(right)};
    randombytes_buf(bytes, sizeof bytes);
    sodium_bin2hex(token, sizeof token, bytes, sizeof bytes);
    hash_token(token, hash);
    text_addf(&cookie, "ovenwright=%s; HttpOnly; SameSite=Strict; Path=/; Max-Age=31536000%s", token,
              request->server->terms->certificate ? "; Secure" : "");
    request->cookie = text_string(&cookie);
    return store_add_device(request->server->store, hash, &device, error);
}

/* ---- routes */

static void say_session(ServeRequest *request, int status, const char *name, ServeRight right)
{
    serve__answer_tree(request, status,
                       json_pack("{s:s, s:s}", "name", name, "right", serve__right_name(right)));
}

void serve__session_show(ServeRequest *request)
{
    say_session(request, 200, request->device.name, request->right);
}

static void begin_session(ServeRequest *request, const char *code, const char *name)
{
    ServeRight right;
    Error error = {.code = ERROR_NONE};
    if (!take_from(&request->server->guesses, GUESS_RATE, GUESS_BURST))
        serve__refuse(request, 429, "too many guesses", "a few minutes without any");
    else if (!name[0] || strlen(name) > MOST_NAME)
        serve__refuse(request, 422, name[0] ? "a long name" : "no name",
                      "whose device it is, at most 100 letters");
    else if (!use_code(request->server, code, &right))
        serve__refuse(request, 403, "a code that is wrong, used or too old",
                      "a new one from the office or the server");
    else if (!make_device(request, name, right, &error))
        serve__answer_error(request, &error);
    else
        say_session(request, 201, name, right);
}

void serve__session_begin(ServeRequest *request)
{
    json_t *root =
        json_loadb(text_string(&request->body), request->body.length, JSON_REJECT_DUPLICATES, NULL);
    const char *code = json_string_value(json_object_get(root, "code"));
    const char *name = json_string_value(json_object_get(root, "name"));
    if (code && name)
        begin_session(request, code, name);
    else
        serve__refuse(request, 400, "another body", "{\"code\": ..., \"name\": ...}");
    json_decref(root);
}

static void revoke(ServeRequest *request, int64_t id)
{
    TextBuilder out = text_builder(&request->arena, 10);
    Error error = {.code = ERROR_NONE};
    text_add(&out, "{}");
    if (store_revoke_device(request->server->store, id, &error))
        serve__answer_json(request, 200, &out);
    else if (error.code == ERROR_UNKNOWN_WORD)
        serve__refuse(request, 404, error.found, error.expected);
    else
        serve__answer_error(request, &error);
}

void serve__session_end(ServeRequest *request)
{
    revoke(request, request->device.id);
    request->cookie = "ovenwright=; HttpOnly; SameSite=Strict; Path=/; Max-Age=0";
}

void serve__device_revoke(ServeRequest *request)
{
    double id = 0;
    if (text_read_number(text_of(request->parameter), &id) && id >= 1 && id < 1e15)
        revoke(request, (int64_t)id);
    else
        serve__refuse(request, 404, request->parameter, "the number of a device");
}

void serve__code_make(ServeRequest *request)
{
    json_t *root =
        json_loadb(text_string(&request->body), request->body.length, JSON_REJECT_DUPLICATES, NULL);
    const char *name = json_string_value(json_object_get(root, "right"));
    ServeRight right;
    char code[12];
    TextBuilder out = text_builder(&request->arena, 200);
    if (!name || !serve__right_of(name, &right) || right == SERVE_ANYBODY) {
        serve__refuse(request, 422, name ? name : "no right", "apprentice, technician or office");
    } else {
        serve__make_code(request->server, right, code);
        text_addf(&out, "{\"code\":\"%s\",\"right\":\"%s\",\"minutes\":%d}", code, serve__right_name(right),
                  CODE_MINUTES);
        serve__answer_json(request, 201, &out);
    }
    json_decref(root);
}

static void append_device(json_t *list, const StoreDevice *device)
{
    json_array_append_new(list,
                          json_pack("{s:I, s:s, s:s, s:I, s:b}", "device", (json_int_t)device->id, "name",
                                    device->name, "right", device->may, "made_millisecond",
                                    (json_int_t)device->made_millisecond, "revoked", device->is_revoked));
}

void serve__device_list(ServeRequest *request)
{
    StoreDevice *devices;
    int count;
    Error error = {.code = ERROR_NONE};
    if (!store_list_devices(request->server->store, &request->arena, &devices, &count, &error)) {
        serve__answer_error(request, &error);
        return;
    }
    json_t *list = json_array();
    for (int d = 0; d < count; d++) append_device(list, &devices[d]);
    serve__answer_tree(request, 200, json_pack("{s:o}", "devices", list));
}
