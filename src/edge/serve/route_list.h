/* route_list.h: every route of the server, a row each.
 *
 * Lives here: method, path, who may use it, the largest body. Not here: what a route does (handle_<what>.c),
 * how a row is found (route.c). doc/openapi.json says the same in its own way; tests/http/run holds both
 * against each other and against the server. */
#ifndef EDGE_SERVE_ROUTE_LIST_H
#define EDGE_SERVE_ROUTE_LIST_H

/* Rights, each with all before it. */
#define SERVE_RIGHT_LIST(X)                                                                                  \
    X(ANYBODY, "anybody")                                                                                    \
    X(APPRENTICE, "apprentice") X(TECHNICIAN, "technician") X(OFFICE, "office")

/* Handler, method, path, right, most bytes of a body. A piece in braces stands for any. */
#define SERVE_ROUTE_LIST(X)                                                                                  \
    X(page_show, "GET", "/", ANYBODY, 0)                                                                     \
    X(page_file, "GET", "/{file}", ANYBODY, 0)                                                               \
    X(session_show, "GET", "/api/session", ANYBODY, 0)                                                       \
    X(session_begin, "POST", "/api/session", ANYBODY, 1000)                                                  \
    X(session_end, "DELETE", "/api/session", APPRENTICE, 0)                                                  \
    X(code_make, "POST", "/api/codes", OFFICE, 1000)                                                         \
    X(device_list, "GET", "/api/devices", OFFICE, 0)                                                         \
    X(device_revoke, "DELETE", "/api/devices/{device}", OFFICE, 0)                                           \
    X(appliance_list, "GET", "/api/appliances", APPRENTICE, 0)                                               \
    X(appliance_show, "GET", "/api/appliances/{appliance}", APPRENTICE, 0)                                   \
    X(appliance_draw, "GET", "/api/appliances/{appliance}/drawing", APPRENTICE, 0)                           \
    X(appliance_file, "GET", "/api/appliances/{appliance}/file", APPRENTICE, 0)                              \
    X(description_show, "POST", "/api/descriptions/show", APPRENTICE, 1 << 18)                               \
    X(description_draw, "POST", "/api/descriptions/drawing", APPRENTICE, 1 << 18)                            \
    X(appliance_check, "POST", "/api/descriptions", APPRENTICE, 1 << 18)                                     \
    X(call_list, "GET", "/api/calls", APPRENTICE, 0)                                                         \
    X(call_show, "GET", "/api/calls/{call}", APPRENTICE, 0)                                                  \
    X(call_advice, "GET", "/api/calls/{call}/advice", APPRENTICE, 0)                                         \
    X(call_events, "GET", "/api/calls/{call}/events", APPRENTICE, 0)                                         \
    X(call_appliance, "GET", "/api/calls/{call}/appliance", APPRENTICE, 0)                                   \
    X(call_draw, "GET", "/api/calls/{call}/drawing", APPRENTICE, 0)                                          \
    X(run_show, "GET", "/api/calls/{call}/run", APPRENTICE, 0)                                               \
    X(run_draw, "GET", "/api/calls/{call}/plot", APPRENTICE, 0)                                              \
    X(customer_show, "GET", "/api/calls/{call}/customer", TECHNICIAN, 0)                                     \
    X(customer_set, "PUT", "/api/calls/{call}/customer", TECHNICIAN, 8000)                                   \
    X(customer_erase, "DELETE", "/api/calls/{call}/customer", OFFICE, 0)                                     \
    X(record_add, "POST", "/api/records", TECHNICIAN, 1 << 20)                                               \
    X(attachment_add, "PUT", "/api/attachments", TECHNICIAN, 16 << 20)                                       \
    X(attachment_show, "GET", "/api/attachments/{attachment}", APPRENTICE, 0)                                \
    X(history_show, "GET", "/api/history", OFFICE, 0)

#endif
