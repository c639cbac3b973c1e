/* Allocation that never fails: when memory is gone the process ends, and SQLite rolls back whatever
 * was not committed. Sizes that a user chooses are checked against limits.h before they get here.
 */
#include "base/alloc.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

static _Noreturn void out_of_memory(size_t count, size_t size)
{
    (void)fprintf(stderr, "fernlock: out of memory (%zu x %zu bytes)\n", count, size);
    _Exit(3);
}

void *fl_alloc(size_t count, size_t size)
{
    if (size != 0 && count > SIZE_MAX / size) {
        out_of_memory(count, size);
    }
    /* at least one byte, so that NULL always means failure */
    void *memory = (count == 0 || size == 0) ? calloc(1, 1) : calloc(count, size);
    if (memory == NULL) {
        out_of_memory(count, size);
    }
    return memory;
}

void *fl_alloc_resize(void *old, size_t count, size_t size)
{
    if (size != 0 && count > SIZE_MAX / size) {
        out_of_memory(count, size);
    }
    size_t bytes = count * size;
    void *memory = realloc(old, bytes == 0 ? 1 : bytes);
    if (memory == NULL) {
        out_of_memory(count, size);
    }
    return memory;
}

void fl_alloc_free(void *memory)
{
    free(memory);
}
