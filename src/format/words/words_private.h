/* words_private.h: what the files of this room share. */
#ifndef FORMAT_WORDS_PRIVATE_H
#define FORMAT_WORDS_PRIVATE_H

#include "format/words/words.h"

enum { WORDS_NUMBER_LENGTH = 40 }; /* bytes of a number with its unit */

/* A builder of its own for a value that goes into a sentence. */
TextBuilder words__part_of(const TextBuilder *out);
void words__write_percent(double probability, char *out);

/* A run, a spot or a setting in a line. */
void words__say_temperature(const Words *words, const Entry *entry, TextBuilder *out);

/* An outcome that is a temperature, an offset, or how a run went. */
void words__say_oven(const Words *words, const Outcome *outcome, TextBuilder *out);

/* A set temperature as a dial has it, in steps of 5 F, or of 5 C alone: '350 F (177 C)', '175 C'. An offset
 * as a control has it: '+12 F (+6.7 K)'. */
void words__write_dial(const Words *words, double celsius, char *out, size_t size);
void words__write_offset(const Words *words, double kelvin, char *out, size_t size);

#endif
