/* cli.h: the command line.
 *
 * Lives here: what the person typed, which command that is, where its answer goes. Not here: any
 * computation (core), any format (format). Errors go to standard error, the answer to standard output in
 * one piece and only when it is whole. */
#ifndef EDGE_CLI_H
#define EDGE_CLI_H

/* Runs the command in argv[1]...; gives the exit status: 0 done, 2 wrong usage, 3 bad input data, 4 a file
 * failed, 70 a defect of ours. */
int cli_run(int argc, char *const *argv);

#endif
