/* handle_call.c: calls as they are on record, and whose ovens they are about. */
#include "edge/serve/serve_private.h"

#include "edge/desk/desk.h"
#include "format/record_text/record_text.h"

enum { ANSWER_LIMIT = 32 << 20 };

/* ---- lists */

static bool read_filter(const ServeRequest *request, StoreFilter *filter, Error *error)
{
    *filter = (StoreFilter){.appliance = serve__query(request, "appliance"),
                            .technician = serve__query(request, "technician"),
                            .part = serve__query(request, "part"),
                            .fault = serve__query(request, "fault"),
                            .words = serve__query(request, "words"),
                            .is_open = serve__query(request, "all") == NULL};
    /* who may not see customers may not find by them either */
    if (request->right >= SERVE_TECHNICIAN) filter->customer = serve__query(request, "customer");
    return desk_read_day(serve__query(request, "from"), 0, &filter->from_millisecond, error) &&
           desk_read_day(serve__query(request, "until"), 1, &filter->before_millisecond, error);
}

void serve__call_list(ServeRequest *request)
{
    StoreFilter filter;
    StoreSummary *summaries;
    int count;
    TextBuilder out = text_builder(&request->arena, ANSWER_LIMIT);
    Error error = {.code = ERROR_NONE};
    if (read_filter(request, &filter, &error) &&
        store_list(request->server->store, &filter, &request->arena, &summaries, &count, &error) &&
        desk_list_json(summaries, count, &out, &error))
        serve__answer_json(request, 200, &out);
    else
        serve__answer_error(request, &error);
}

/* ---- one */

static const char *const contradictions[] = {[TRAIL_TWO_VALUES] = "two-values",
                                             [TRAIL_TWICE_CLOSED] = "twice-closed",
                                             [TRAIL_AFTER_CLOSE] = "after-close",
                                             [TRAIL_NOTHING_THERE] = "nothing-there"};

/* Identifiers and words of ours need no escaping; a record writes itself. */
static bool write_trail(const DeskCall *found, TextBuilder *out, Error *error)
{
    text_addf(out, "{\"call\":\"%s\",\"phase\":\"%s\",\"records\":[", found->call,
              trail_phase_name(found->state.phase));
    for (int r = 0; r < found->trail.count; r++) {
        text_addf(out, "%s{\"number\":%d,\"struck\":%s,\"record\":", r ? "," : "", r + 1,
                  found->state.is_struck[r] ? "true" : "false");
        if (!record_text_write_json(found->trail.records[r], out, error)) return false;
        text_add(out, "}");
    }
    text_add(out, "],\"contradictions\":[");
    for (int c = 0; c < found->state.conflict_count; c++) {
        const TrailConflict *conflict = &found->state.conflicts[c];
        text_addf(out, "%s{\"contradiction\":\"%s\",\"first\":%d,\"second\":%d}", c ? "," : "",
                  contradictions[conflict->kind], conflict->first + 1, conflict->second + 1);
    }
    text_add(out, "]}\n");
    return true;
}

void serve__call_show(ServeRequest *request)
{
    DeskCall found;
    TextBuilder out = text_builder(&request->arena, ANSWER_LIMIT);
    Error error = {.code = ERROR_NONE};
    if (desk_find_call(request->server->store, request->parameter, &request->arena, &found, &error) &&
        write_trail(&found, &out, &error))
        serve__answer_json(request, 200, &out);
    else
        serve__fail(request, &error);
}

/* ---- its customer */

static void show_customer(ServeRequest *request, const char *call)
{
    StoreCustomer customer;
    Error error = {.code = ERROR_NONE};
    if (!store_read_customer(request->server->store, call, &request->arena, &customer, &error)) {
        serve__answer_error(request, &error);
        return;
    }
    serve__answer_tree(request, 200,
                       json_pack("{s:s, s:s, s:s, s:b}", "name", customer.name, "address", customer.address,
                                 "phone", customer.phone, "erased", customer.is_erased));
}

void serve__customer_show(ServeRequest *request)
{
    char call[TRAIL_ID_SIZE];
    Error error = {.code = ERROR_NONE};
    if (store_find(request->server->store, request->parameter, call, &error))
        show_customer(request, call);
    else
        serve__fail(request, &error);
}

static bool read_customer(ServeRequest *request, json_t *root, StoreCustomer *customer, Error *error)
{
    const char *name = json_string_value(json_object_get(root, "name"));
    const char *address = json_string_value(json_object_get(root, "address"));
    const char *phone = json_string_value(json_object_get(root, "phone"));
    (void)request;
    *customer = (StoreCustomer){name, address, phone, false};
    return (name && address && phone) || error_set(error, ERROR_SYNTAX, "another body",
                                                   "{\"name\": ..., \"address\": ..., \"phone\": ...}");
}

void serve__customer_set(ServeRequest *request)
{
    char call[TRAIL_ID_SIZE];
    StoreCustomer customer;
    Error error = {.code = ERROR_NONE};
    json_t *root =
        json_loadb(text_string(&request->body), request->body.length, JSON_REJECT_DUPLICATES, NULL);
    if (store_find(request->server->store, request->parameter, call, &error) &&
        read_customer(request, root, &customer, &error) &&
        store_set_customer(request->server->store, call, serve__now_millisecond(), &customer, &error))
        show_customer(request, call);
    else
        serve__fail(request, &error);
    json_decref(root);
}

void serve__customer_erase(ServeRequest *request)
{
    char call[TRAIL_ID_SIZE];
    Error error = {.code = ERROR_NONE};
    if (store_find(request->server->store, request->parameter, call, &error) &&
        store_erase_customer(request->server->store, call, serve__now_millisecond(), &error))
        show_customer(request, call);
    else
        serve__fail(request, &error);
}
