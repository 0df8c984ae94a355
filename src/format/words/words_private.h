/* words_private.h: what the files of this room share. */
#ifndef FORMAT_WORDS_PRIVATE_H
#define FORMAT_WORDS_PRIVATE_H

#include "format/words/words.h"

/* A run, a spot or a setting in a line. */
void words__say_temperature(const Words *words, const Entry *entry, TextBuilder *out);

#endif
