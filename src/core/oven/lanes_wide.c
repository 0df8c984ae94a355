/* lanes_wide.c: the same for processors with 256-bit vectors; compiled for them by a flag of its own
 * (CMakeLists.txt), and called only where the processor says that it has them (simulate.c). Without the flag
 * it is the plain code under another name. */
#define RUN(kind) oven__run_##kind##_wide
#include "core/oven/lanes_private.h"
