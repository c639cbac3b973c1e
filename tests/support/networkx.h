/* Runs a script of tests/reference that needs networkx (Debian python3-networkx). */
#ifndef FL_TESTS_SUPPORT_NETWORKX_H
#define FL_TESTS_SUPPORT_NETWORKX_H

/* The script reads the file `in` and writes `out`; it must exit 0. On a machine without python or
 * networkx (the script exits 77) the folder is removed and the test is skipped. The first Python on
 * the path may be one without Debian's packages: then the system's own is tried. */
void fl_run_networkx(const char *script, const char *in, const char *out, const char *folder);

#endif
