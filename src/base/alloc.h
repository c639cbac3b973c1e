/* The only door to malloc. When memory is gone the process ends with a line on stderr. */
#ifndef FL_BASE_ALLOC_H
#define FL_BASE_ALLOC_H

#include <stddef.h>

/* Zeroed; never NULL. An overflow of count * size ends the process. */
void *fl_alloc(size_t count, size_t size);

/* Grows or shrinks; new bytes are not zeroed; never NULL. */
void *fl_alloc_resize(void *old, size_t count, size_t size);

/* NULL is fine. */
void fl_alloc_free(void *memory);

#endif
