/* command_draw.c: `ovenwright draw A [--function F] [-o FILE.svg]`: the wiring as a ladder, as a drawing or,
 * with
 * --rungs, as text. */
#include "edge/cli/load.h"
#include "edge/files/files.h"
#include "format/drawing/drawing.h"

#include <stdio.h>

/* The drawing knows codes only; its captions come from the sentences like everything that is said. */
static bool find_captions(Arena *arena, const Words *words, DrawingCaptions *captions, Error *error)
{
    for (int c = 0; c < CAPTION_COUNT; c++) {
        char key[64];
        TextBuilder text = text_builder(arena, 2000);
        snprintf(key, sizeof key, "drawing.%s", drawing_caption_key((Caption)c));
        words_say(words, &text, key, NULL, 0);
        if (text.is_cut) return error_memory(error);
        captions->text[c] = text_string(&text);
    }
    return true;
}

/* Rungs say names only and need no sentences, so they are there even without a file of words. */
static bool draw(Invocation *invocation, const Appliance *appliance, int function, Error *error)
{
    DrawingCaptions captions;
    Words words;
    if (cli__has_option(invocation, OPTION_RUNGS))
        return drawing_rungs(appliance, function, invocation->arena, &invocation->out, error);
    return desk_load_words(cli__language(), invocation->arena, &words, error) &&
           find_captions(invocation->arena, &words, &captions, error) &&
           drawing_svg(appliance, function, &captions, invocation->arena, &invocation->out, error);
}

/* A file is written only when the drawing is whole: an old one is not replaced by half a new one. */
bool cli__draw(Invocation *invocation, Error *error)
{
    Appliance appliance;
    int function = -1;
    const char *typed = cli__option(invocation, OPTION_FUNCTION, NULL);
    const char *file = cli__option(invocation, OPTION_OUTPUT, NULL);
    if (!load_appliance_with_options(invocation, invocation->arguments[0], &appliance, error)) return false;
    if (typed && !appliance_need_function(&appliance, typed, &function, error)) return false;
    if (!draw(invocation, &appliance, function, error)) return false;
    if (!file) return true;
    if (invocation->out.is_cut) return error_memory(error);
    if (!files_write(file, (Text){text_string(&invocation->out), invocation->out.length}, error))
        return false;
    invocation->out = text_builder(invocation->arena, 0); /* the answer is in the file */
    return true;
}
