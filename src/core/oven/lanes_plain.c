/* lanes_plain.c: many ovens side by side, for any processor: the compiler splits the vectors into whatever
 * there is. Same bits as lanes_wide.c. */
#define RUN(kind) oven__run_##kind
#include "core/oven/lanes_private.h"
