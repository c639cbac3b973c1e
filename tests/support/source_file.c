/* Reads files of the source tree. */
#include "support/source_file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"

char *fl_source_file(const char *path)
{
    char full[1024];
    (void)snprintf(full, sizeof full, "%s/%s", FL_SOURCE_DIR, path);
    FILE *file = fopen(full, "rb");
    if (file == NULL) {
        print_error("%s: %s\n", full, strerror(errno));
        fail();
    }
    char *text = NULL;
    size_t len = 0;
    size_t got = 0;
    do {
        text = realloc(text, len + 4097);
        got = fread(text + len, 1, 4096, file);
        len += got;
    } while (got > 0);
    text[len] = '\0';
    (void)fclose(file);
    return text;
}
