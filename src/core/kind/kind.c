/* kind.c: names in the catalogue, and the points that stand for a severity; see kind.h.
 *
 * Names are looked up one by one: a catalogue has some dozens of rows, and that only while files are read.
 * Nothing here judges the catalogue; whoever reads it does (format/appliance_yaml/kinds_yaml.c). */
#include "core/kind/kind.h"

#include "base/mathematics.h"
#include "base/text.h"

#include <assert.h>

int kind_find(const Catalogue *catalogue, const char *name)
{
    for (int i = 0; i < catalogue->kind_count; i++)
        if (text_equal(catalogue->kinds[i].name, name)) return i;
    return -1;
}

int kind_find_look(const Catalogue *catalogue, const char *name)
{
    for (int i = 0; i < catalogue->look_count; i++)
        if (text_equal(catalogue->looks[i].name, name)) return i;
    return -1;
}

int kind_find_complaint(const Catalogue *catalogue, const char *name)
{
    for (int i = 0; i < catalogue->complaint_count; i++)
        if (text_equal(catalogue->complaints[i].name, name)) return i;
    return -1;
}

int kind_find_sound(const Catalogue *catalogue)
{
    int word = 0;
    while (word + 1 < catalogue->look_count &&
           !(catalogue->looks[word].is_sound && catalogue->looks[word].way == LOOK_CLOSE))
        word++;
    return word;
}

bool kind_is_sign(const LookWord *look, LookWay way)
{
    return way != LOOK_POWER && look->way == way && !look->is_sound;
}

Condition kind_first_cause(const ComplaintWord *word)
{
    int first = 0;
    for (int c = 1; c < CONDITION_COUNT; c++)
        if (word->when[c] > word->when[first]) first = c;
    return (Condition)first;
}

/* Ends and middles of slices that each hold an equal share of the spread. A spread over several powers of
 * ten (a burnt contact: an ohm or a kilohm?) is cut evenly in the logarithm; one that touches or crosses 0,
 * as a sensor's drift does, has none and is cut evenly. */
double kind_severity_point(const Severity *severity, int i)
{
    assert(severity->samples >= 1 && severity->samples <= KIND_MOST_SAMPLES);
    assert(i >= 0 && i < KIND_POINTS(severity->samples));
    /* 0 at the lower end of the first slice, 1 at the upper end of the last. */
    const double share = i / (2.0 * severity->samples);
    const bool has_logarithm = severity->from > 0 && severity->to > 0;
    if (severity->is_log && has_logarithm)
        return severity->from * math_pow(severity->to / severity->from, share);
    return severity->from + (severity->to - severity->from) * share;
}
