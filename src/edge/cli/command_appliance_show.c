/* command_appliance_show.c: `ovenwright appliance show A`: one appliance in words: supply, parts with marks,
 * places and prices, what its rating plate means in ohms and amperes, functions, the words for a call.
 *
 * The order is that of a visit: what arrives at the terminal block, what is built in and where, how it is
 * switched, how to get to it, and in which words to write it down. */
#include "edge/cli/load.h"
#include "format/call_json/call_json.h"

#include <stdio.h>

/* What every routine below needs. */
typedef struct {
    const Appliance *appliance;
    const Words *words;
    const double *amperes; /* of each branch at work */
    TextBuilder *out;
    Arena *arena;
} Show;

enum { QUANTITY_LENGTH = 32, NAME_LENGTH = 40, LIST_LIMIT = 2000 };

static void say_line(const Show *show, const char *key, const WordValue *values, int count)
{
    words_say(show->words, show->out, key, values, count);
    text_add(show->out, "\n");
}

static void add_listed(TextBuilder *list, const char *word)
{
    text_addf(list, "%s%s", list->length ? ", " : "", word);
}

static void show_supply(const Show *show)
{
    const DescribedSupply *supply = &show->appliance->description->supply;
    char volt[QUANTITY_LENGTH], hertz[QUANTITY_LENGTH], breaker[QUANTITY_LENGTH], leg[QUANTITY_LENGTH];
    TextBuilder marks = text_builder(show->arena, LIST_LIMIT);
    quantity_format(supply->volt, UNIT_VOLT, volt, sizeof volt);
    quantity_format(supply->hertz, UNIT_HERTZ, hertz, sizeof hertz);
    quantity_format(supply->breaker_ampere, UNIT_AMPERE, breaker, sizeof breaker);
    quantity_format(show->appliance->leg_volt[0], UNIT_VOLT, leg, sizeof leg);
    for (int i = 0; i < supply->leg_count; i++) add_listed(&marks, supply->legs[i]);
    if (supply->neutral) add_listed(&marks, supply->neutral);
    if (supply->frame) add_listed(&marks, supply->frame);
    say_line(show, "appliance.supply",
             (WordValue[]){{"system", description_supply_name(supply->system)},
                           {"volt", volt},
                           {"hertz", hertz},
                           {"breaker", breaker},
                           {"marks", text_string(&marks)}},
             5);
    if (supply->leg_count > 1) say_line(show, "appliance.legs", (WordValue[]){{"leg", leg}}, 1);
}

/* The marks that the part's branches join, each once; its insulation's other end, the frame, is not its own.
 */
static void show_terminals(const Show *show, const Part *part)
{
    const Appliance *appliance = show->appliance;
    TextBuilder marks = text_builder(show->arena, LIST_LIMIT);
    bool *is_listed = ARENA_ARRAY(show->arena, bool, (size_t)appliance->mark_count);
    for (int b = part->first_branch; is_listed && b < part->first_branch + part->branch_count; b++) {
        const Branch *branch = &appliance->branches[b];
        const int ends[] = {branch->from, branch->to};
        for (int e = 0; e < 2 && branch->type != BRANCH_GAP; e++) {
            if (ends[e] == APPLIANCE_EARTH || is_listed[ends[e]]) continue;
            is_listed[ends[e]] = true;
            add_listed(&marks, appliance->marks[ends[e]].name);
        }
    }
    const char *place = appliance->description->places[part->place].name;
    if (marks.length)
        say_line(show, "appliance.terminals", (WordValue[]){{"marks", text_string(&marks)}, {"place", place}},
                 2);
    else
        say_line(show, "appliance.no-terminals", (WordValue[]){{"place", place}}, 1);
}

static void show_rating(const Show *show, int number)
{
    const Branch *branch = &show->appliance->branches[number];
    char watt[QUANTITY_LENGTH], volt[QUANTITY_LENGTH], cold[QUANTITY_LENGTH], hot[QUANTITY_LENGTH],
        ampere[QUANTITY_LENGTH];
    if (!(branch->rated_watt > 0)) return;
    snprintf(watt, sizeof watt, "%.0f W", branch->rated_watt);
    quantity_format(branch->rated_volt, UNIT_VOLT, volt, sizeof volt);
    quantity_format(branch->cold_ohm, UNIT_OHM, cold, sizeof cold);
    quantity_format(branch->hot_ohm, UNIT_OHM, hot, sizeof hot);
    quantity_format(show->amperes[number], UNIT_AMPERE, ampere, sizeof ampere);
    say_line(show, "appliance.rating",
             (WordValue[]){{"watt", watt}, {"volt", volt}, {"cold", cold}, {"hot", hot}, {"ampere", ampere}},
             5);
}

/* A part that is bought as another one names that one instead of a price; a price of 0 is one that nobody
 * has written down. */
static void show_price(const Show *show, const Part *part, int number)
{
    char price[QUANTITY_LENGTH], priced[QUANTITY_LENGTH + 8], minutes[QUANTITY_LENGTH];
    const Part *bought = &show->appliance->parts[part->replaced_with];
    if (part->replaced_with != number) {
        say_line(show, "appliance.price-of-other", (WordValue[]){{"part", bought->name}}, 1);
        return;
    }
    if (!(part->described->price_minor > 0)) return;
    quantity_format((double)part->described->price_minor, UNIT_MONEY, price, sizeof price);
    snprintf(priced, sizeof priced, "%s %s", price, show->appliance->description->currency);
    quantity_format(part->described->replace_second, UNIT_SECOND, minutes, sizeof minutes);
    say_line(show, "appliance.price", (WordValue[]){{"price", priced}, {"minutes", minutes}}, 2);
}

static void show_looks(const Show *show, const PartKind *kind)
{
    TextBuilder looks = text_builder(show->arena, LIST_LIMIT);
    for (int i = 0; i < kind->look_count; i++)
        add_listed(&looks, show->appliance->catalogue->looks[kind->looks[i]].name);
    if (looks.length) say_line(show, "appliance.sees", (WordValue[]){{"words", text_string(&looks)}}, 1);
}

static void show_parts(const Show *show)
{
    say_line(show, "appliance.parts", NULL, 0);
    for (int p = 0; p < show->appliance->part_count; p++) {
        const Part *part = &show->appliance->parts[p];
        char name[NAME_LENGTH];
        if (!part->described) continue; /* a wire: the functions and the drawing show those */
        snprintf(name, sizeof name, "%-18s", part->name);
        say_line(show, "appliance.part",
                 (WordValue[]){{"part", name}, {"says", words_translate(show->words, part->says)}}, 2);
        show_terminals(show, part);
        for (int b = 0; b < part->branch_count; b++) show_rating(show, part->first_branch + b);
        show_price(show, part, p);
        show_looks(show, part->kind);
    }
}

/* Only functions that share the time between elements have one. */
static void show_pattern(const Show *show, const DescribedFunction *function)
{
    char period[QUANTITY_LENGTH];
    TextBuilder duties = text_builder(show->arena, LIST_LIMIT);
    if (!(function->pattern.period_second > 0)) return;
    quantity_format(function->pattern.period_second, UNIT_SECOND, period, sizeof period);
    for (int i = 0; i < function->pattern.duty_count; i++)
        text_addf(&duties, "%s%s %g..%g s", i ? ", " : "", function->pattern.duties[i].contact,
                  function->pattern.duties[i].from_second, function->pattern.duties[i].to_second);
    say_line(show, "appliance.pattern", (WordValue[]){{"period", period}, {"duties", text_string(&duties)}},
             2);
}

static void show_functions(const Show *show)
{
    const Description *description = show->appliance->description;
    say_line(show, "appliance.functions", NULL, 0);
    for (int i = 0; i < description->function_count; i++) {
        const DescribedFunction *function = &description->functions[i];
        char name[NAME_LENGTH];
        TextBuilder contacts = text_builder(show->arena, LIST_LIMIT);
        snprintf(name, sizeof name, "%-18s", function->name);
        for (int c = 0; c < function->close_count; c++) add_listed(&contacts, function->closes[c]);
        say_line(show, "appliance.function",
                 (WordValue[]){{"function", name},
                               {"says", function->says ? words_translate(show->words, function->says) : ""}},
                 2);
        if (contacts.length)
            say_line(show, "appliance.closes", (WordValue[]){{"contacts", text_string(&contacts)}}, 1);
        show_pattern(show, function);
    }
}

static void show_place(const Show *show, const DescribedPlace *place)
{
    char name[NAME_LENGTH], open[QUANTITY_LENGTH], close[QUANTITY_LENGTH];
    snprintf(name, sizeof name, "%-18s", place->name);
    quantity_format(place->open_second, UNIT_SECOND, open, sizeof open);
    quantity_format(place->close_second, UNIT_SECOND, close, sizeof close);
    words_say(show->words, show->out, "appliance.place",
              (WordValue[]){{"place", name}, {"open", open}, {"close", close}}, 3);
    if (place->needs_power_off) words_say(show->words, show->out, "appliance.place-power", NULL, 0);
    if (place->needs_cool_oven) words_say(show->words, show->out, "appliance.place-cool", NULL, 0);
    if (place->after)
        words_say(show->words, show->out, "appliance.place-after", (WordValue[]){{"place", place->after}}, 1);
    text_add(show->out, "\n");
}

static void show_word(const Show *show, const char *name, const char *says)
{
    char padded[NAME_LENGTH];
    snprintf(padded, sizeof padded, "%-18s", name);
    say_line(show, "appliance.word", (WordValue[]){{"word", padded}, {"says", says}}, 2);
}

/* All words, although a part shows only some of them (`sees`): this is the page to keep open while writing
 * a call. */
static void show_vocabulary(const Show *show)
{
    const Catalogue *catalogue = show->appliance->catalogue;
    say_line(show, "appliance.complaints", NULL, 0);
    for (int i = 0; i < catalogue->complaint_count; i++)
        show_word(show, catalogue->complaints[i].name,
                  words_translate(show->words, catalogue->complaints[i].says));
    say_line(show, "appliance.looks", NULL, 0);
    for (int i = 0; i < catalogue->look_count; i++)
        show_word(show, catalogue->looks[i].name, words_translate(show->words, catalogue->looks[i].says));
}

static void show_all(const Show *show)
{
    const Description *description = show->appliance->description;
    text_addf(show->out, "%s\n%s\n\n", description->name, words_translate(show->words, description->says));
    show_supply(show);
    text_add(show->out, "\n");
    show_parts(show);
    text_add(show->out, "\n");
    show_functions(show);
    text_add(show->out, "\n");
    say_line(show, "appliance.places", NULL, 0);
    for (int i = 0; i < description->place_count; i++) show_place(show, &description->places[i]);
    text_add(show->out, "\n");
    show_vocabulary(show);
    text_add(show->out, "\n");
    say_line(show, "appliance.caution", NULL, 0);
}

bool cli__appliance_show(Invocation *invocation, Error *error)
{
    Appliance appliance;
    Words words;
    if (!load_appliance_with_options(invocation, invocation->arguments[0], &appliance, error)) return false;
    const double *amperes = desk_supplied_amperes(&appliance, invocation->arena);
    if (!amperes) return error_memory(error);
    if (!desk_load_words(cli__language(), invocation->arena, &words, error)) return false;
    if (cli__has_option(invocation, OPTION_JSON))
        return call_json_appliance(&words, &appliance, amperes, &invocation->out, error);
    show_all(&(Show){&appliance, &words, amperes, &invocation->out, invocation->arena});
    return true;
}
