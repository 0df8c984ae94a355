/* failing_disk.h: a disk below SQLite that fails at the nth call (a VFS that hands everything on to the real
 * one).
 *
 * Not here: what a program should do then. After the first failure every later write fails too, as on a disk
 * that has died, until failing_disk_set is called again. */
#ifndef SUPPORT_FAILING_DISK_H
#define SUPPORT_FAILING_DISK_H

/* From now on the disk below every file that SQLite opens; once for a process. */
void failing_disk_install(void);

/* Fails at that call of a write, synchronisation, truncation or file that is made, counted from 1 from now
 * on; 0: never. */
void failing_disk_set(int at);

int failing_disk_calls(void); /* since it was set */

#endif
