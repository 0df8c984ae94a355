/* main.c: the program `ovenwright`; everything it does is in edge/cli. */
#include "edge/cli/cli.h"

int main(int argc, char **argv) { return cli_run(argc, argv); }
