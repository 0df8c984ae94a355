/* oven.h: a small oven of 230 V written in C, for where no file can be read: a supply, a selector and two
 * elements. Its figures are made up for the test. */
#ifndef WASM_OVEN_H
#define WASM_OVEN_H

#include "core/appliance/appliance.h"

bool oven_build(Arena *arena, Appliance *appliance, Error *error) MUST_CHECK;

#endif
