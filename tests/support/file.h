/* file.h: whole files of the project, for tests of readers.
 *
 * Lives here: reading a file of the project's folder into memory, the example in a page. Not here: anything
 * that knows a format. Ownership: the bytes are the caller's, to be given to free(). */
#ifndef SUPPORT_FILE_H
#define SUPPORT_FILE_H

#include "base/text.h"

/* The bytes of `path` below the project's folder; the test fails when it cannot be read. */
Text file_read(const char *path);

/* The first example of a page: what stands between ```yaml and ``` in it. The test fails when there is none.
 */
Text file_example(Text page);

#endif
