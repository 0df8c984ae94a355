/* shipped.h: the shipped files, for fuzz targets that need a sound catalogue or appliance around the bytes.
 *
 * Lives here: reading them once. Not here: what is fuzzed. A file that is not there or not sound is a defect
 * of ours and aborts. Ownership: everything lives as long as the process. */
#ifndef FUZZ_SHIPPED_H
#define FUZZ_SHIPPED_H

#include "core/appliance/appliance.h"

#include <stdint.h>

enum { SHIPPED_ARENA_LIMIT = 64 << 20 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

Text shipped_file(const char *path); /* below the project's folder */
const Catalogue *shipped_catalogue(void);
const Appliance *shipped_appliance(void); /* range-relay-control */

/* Every error must say something and come with a place in `file`; otherwise aborts. */
void shipped_check_error(const Error *error);

#endif
