/* command_version.c: `ovenwright --version`. */
#include "edge/cli/command.h"

bool cli__version(Invocation *invocation, Error *error)
{
    (void)error;
    text_add(&invocation->out, "ovenwright 0.1\n");
    return true;
}
