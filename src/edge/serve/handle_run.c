/* handle_run.c: what the temperature log of a record says, in figures and as a picture. */
#include "edge/serve/serve_private.h"

#include "edge/desk/desk.h"
#include "format/call_json/call_json.h"

enum { ANSWER_LIMIT = 4 << 20 };

/* Its file may be anybody's: the head says which appliance it is. */
static bool find_run(ServeRequest *request, DeskRun *run, Error *error)
{
    DeskCall found;
    const char *typed = serve__query(request, "record");
    double number = 0;
    if (!desk_find_call(request->server->store, request->parameter, &request->arena, &found, error) ||
        !serve__may_load_call(request, &found, error))
        return false;
    if (!typed || !text_read_number(text_of(typed), &number) || number < 1 || number > found.trail.count ||
        number != (double)(int)number)
        return error_set(error, ERROR_OUT_OF_RANGE, typed ? typed : "no record", "record=N, from 1 to %d",
                         found.trail.count);
    return desk_read_run(request->server->store, &found, (int)number, &request->arena, run, error);
}

void serve__run_show(ServeRequest *request)
{
    DeskRun run;
    Words words;
    TextBuilder out = text_builder(&request->arena, ANSWER_LIMIT);
    Error error = {.code = ERROR_NONE};
    if (!serve__load_words(request, &words, &error) || !find_run(request, &run, &error)) {
        serve__fail(request, &error);
        return;
    }
    const char *column = run.log.column_names[run.log.column];
    const RunAnswer answer = {.runs = &run.run,
                              .run_count = 1,
                              .advice = &run.advice,
                              .tolerance_kelvin = run.tolerance_kelvin,
                              .columns = &column};
    if (call_json_run(&words, &answer, &out, &error))
        serve__answer_json(request, 200, &out);
    else
        serve__answer_error(request, &error);
}

void serve__run_draw(ServeRequest *request)
{
    DeskRun run;
    Words words;
    Plot plot;
    TextBuilder out = text_builder(&request->arena, ANSWER_LIMIT);
    Error error = {.code = ERROR_NONE};
    if (!serve__load_words(request, &words, &error) || !find_run(request, &run, &error) ||
        !desk_draw_run(&words, &run.log.log, &run.run, run.tolerance_kelvin, &request->arena, &plot,
                       &error)) {
        serve__fail(request, &error);
        return;
    }
    plot.sound = run.sound.sound;
    plot.sound_count = run.sound.sound_count;
    plot.sound_from_second = run.sound.sound_from_second;
    plot.sound_every_second = run.sound.sound_every_second;
    plot_svg(&plot, &out);
    serve__answer_json(request, 200, &out);
    if (request->status == 200) request->type = "image/svg+xml";
}
