/* handle_history.c: how calls went; of an appliance, what is to be expected. */
#include "edge/serve/serve_private.h"

enum { ANSWER_LIMIT = 4 << 20 };

static bool tell(ServeRequest *request, const char *appliance, TextBuilder *out, Error *error)
{
    HistoryAnswer answer;
    HistoryTerms terms;
    PlanTerms costs;
    return desk_load_terms(NULL, &request->arena, &costs, &terms, error) &&
           desk_history(request->server->store, &terms, appliance, &request->arena, &answer, error) &&
           call_json_history(&answer, out, error);
}

void serve__history_show(ServeRequest *request)
{
    const char *appliance = serve__query(request, "appliance");
    TextBuilder out = text_builder(&request->arena, ANSWER_LIMIT);
    Error error = {.code = ERROR_NONE};
    if (appliance && !desk_is_shipped(appliance))
        serve__refuse(request, 404, appliance, "an appliance that /api/appliances lists");
    else if (tell(request, appliance, &out, &error))
        serve__answer_json(request, 200, &out);
    else
        serve__answer_error(request, &error);
}
