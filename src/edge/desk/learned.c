/* learned.c: from the store's counts to the families of core/history, and its weights into an appliance. */
#include "edge/desk/desk_private.h"

#include <stdio.h>
#include <string.h>

enum { MOST_FAMILIES = 64, MOST_KEYS = 2000, KEY_LENGTH = 120 };

/* A way of failing has one key wherever the kind of part is built in. */
typedef struct {
    Arena *arena;
    const char *names[MOST_KEYS]; /* [0] is 'nothing wrong' */
    int count;
} Keys;

typedef struct {
    Keys keys;
    HistoryFamily families[MOST_FAMILIES];
    const Appliance *appliances[MOST_FAMILIES];
    const char *names[MOST_FAMILIES];
    int count, calls[MOST_FAMILIES];
} Shop;

static int find_key(Keys *keys, const Fault *fault, const Appliance *appliance)
{
    char name[KEY_LENGTH];
    snprintf(name, sizeof name, "%s.%s", appliance->parts[fault->part].kind->name, fault->mode->name);
    for (int k = 0; k < keys->count; k++)
        if (text_equal(keys->names[k], name)) return k;
    if (keys->count == MOST_KEYS) return -1;
    keys->names[keys->count] = arena_copy_text(keys->arena, name, strlen(name));
    return keys->names[keys->count] ? keys->count++ : -1;
}

static bool add_family(Shop *shop, const char *name, const Appliance *appliance, Error *error)
{
    const size_t count = (size_t)appliance->fault_count + 1;
    double *prior = ARENA_ARRAY(shop->keys.arena, double, count);
    double *counts = ARENA_ARRAY(shop->keys.arena, double, count);
    int *key = ARENA_ARRAY(shop->keys.arena, int, count);
    if (!prior || !counts || !key) return error_memory(error);
    prior[0] = appliance->nothing_wrong_prior;
    for (int f = 0; f < appliance->fault_count; f++) {
        prior[f + 1] = appliance->faults[f].prior;
        key[f + 1] = find_key(&shop->keys, &appliance->faults[f], appliance);
        if (key[f + 1] < 0) return error_memory(error);
    }
    shop->families[shop->count] = (HistoryFamily){prior, key, counts, (int)count};
    shop->appliances[shop->count] = appliance;
    shop->names[shop->count++] = name;
    return true;
}

/* -1: its file cannot be read any more, or there are too many. */
static int find_family(Shop *shop, const char *name)
{
    for (int f = 0; f < shop->count; f++)
        if (text_equal(shop->names[f], name)) return shop->appliances[f] ? f : -1;
    if (shop->count == MOST_FAMILIES) return -1;
    Appliance *appliance = ARENA_ARRAY(shop->keys.arena, Appliance, 1);
    if (appliance &&
        desk_load_appliance(name, NULL, 0, shop->keys.arena, appliance, &(Error){.code = ERROR_NONE}) &&
        add_family(shop, name, appliance, &(Error){.code = ERROR_NONE}))
        return shop->count - 1;
    shop->names[shop->count++] = name; /* a family of no faults */
    return -1;
}

static void count_faults(Shop *shop, int family, const StoreConfirmed *confirmed)
{
    double *counts = (double *)shop->families[family].count;
    for (const char *at = confirmed->confirmed; *at;) {
        char fault[KEY_LENGTH];
        const size_t length = strcspn(at, "\n");
        snprintf(fault, sizeof fault, "%.*s", (int)length, at);
        const int number = text_equal(fault, "nothing-wrong")
                               ? 0
                               : appliance_find_fault(shop->appliances[family], fault) + 1;
        if (number > 0 || text_equal(fault, "nothing-wrong")) counts[number] += confirmed->calls;
        at += length + (at[length] == '\n');
    }
    shop->calls[family] += confirmed->calls;
}

static bool count_calls(Shop *shop, Store *store, DeskLearned *learned, Error *error)
{
    StoreConfirmed *confirmed;
    int count;
    if (!store_confirmed(store, shop->keys.arena, &confirmed, &count, error)) return false;
    for (int c = 0; c < count; c++) {
        const int family = find_family(shop, confirmed[c].appliance);
        if (family < 0) continue;
        count_faults(shop, family, &confirmed[c]);
        learned->all += confirmed[c].calls;
        if (family == 0) learned->calls += confirmed[c].calls;
    }
    return true;
}

static bool set_chances(Appliance *appliance, const double *weights, Arena *arena, Error *error)
{
    Fault *faults = ARENA_ARRAY(arena, Fault, (size_t)appliance->fault_count);
    if (!faults) return error_memory(error);
    memcpy(faults, appliance->faults, sizeof *faults * (size_t)appliance->fault_count);
    for (int f = 0; f < appliance->fault_count; f++) faults[f].prior = weights[f + 1];
    appliance->faults = faults;
    appliance->nothing_wrong_prior = weights[0];
    return true;
}

bool desk__learn(Store *store, const HistoryTerms *terms, const char *name, Arena *arena,
                 Appliance *appliance, DeskLearned *learned, Error *error)
{
    Shop *shop = ARENA_ARRAY(arena, Shop, 1);
    double *weights = ARENA_ARRAY(arena, double, (size_t)appliance->fault_count + 1);
    *learned = (DeskLearned){.share = {.prior = 1}};
    if (!shop || !weights) return error_memory(error);
    shop->keys = (Keys){.arena = arena, .names = {"nothing-wrong"}, .count = 1};
    if (!add_family(shop, name, appliance, error) || !count_calls(shop, store, learned, error)) return false;
    learned->before = shop->families[0].prior;
    learned->counts = shop->families[0].count;
    learned->now = learned->before;
    if (learned->all == 0) return true;
    HistoryFamily *known = ARENA_ARRAY(arena, HistoryFamily, (size_t)shop->count);
    int known_count = 0;
    if (!known) return error_memory(error);
    for (int f = 0; f < shop->count; f++)
        if (shop->families[f].fault_count > 0) known[known_count++] = shop->families[f];
    learned->now = weights;
    return history_weights(known, known_count, shop->keys.count, terms, 0, arena, weights, &learned->share,
                           error) &&
           set_chances(appliance, weights, arena, error);
}
