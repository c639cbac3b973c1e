/* Temporary folders for tests. */
#define _GNU_SOURCE
#include <errno.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"

const char *fl_temp_folder(char path[FL_TEMP_PATH_MAX])
{
    const char *base = getenv("TMPDIR");
    (void)snprintf(path, FL_TEMP_PATH_MAX, "%s/fernlock-test-XXXXXX",
                   base == NULL || base[0] == '\0' ? "/tmp" : base);
    if (mkdtemp(path) == NULL) {
        print_error("%s: %s\n", path, strerror(errno));
        fail();
    }
    return path;
}

static int remove_one(const char *path, const struct stat *info, int kind, struct FTW *walk)
{
    (void)info;
    (void)kind;
    (void)walk;
    return remove(path);
}

void fl_remove_folder(const char *path)
{
    (void)nftw(path, remove_one, 16, FTW_DEPTH | FTW_PHYS);
}
