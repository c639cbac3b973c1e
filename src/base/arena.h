/* Memory for one request or one command: many small pieces, freed at once.
 * When the machine has no memory left the process ends (SQLite rolls back). */
#ifndef FL_BASE_ARENA_H
#define FL_BASE_ARENA_H

#include <stddef.h>

#include "base/sv.h"

typedef struct fl_arena_block fl_arena_block;

typedef struct fl_arena {
    fl_arena_block *head; /* newest block first; NULL when empty */
} fl_arena;

/* An empty arena; no memory yet. */
void fl_arena_init(fl_arena *arena);

/* Frees everything; the arena is empty and reusable. NULL is fine. */
void fl_arena_done(fl_arena *arena);

/* `count` zeroed objects of `size` bytes, aligned for any type; never NULL. An overflow of
 * count * size ends the process. Zero bytes give a valid pointer. */
void *fl_arena_alloc(fl_arena *arena, size_t count, size_t size);

/* A terminated copy that lives as long as the arena. */
fl_sv fl_arena_copy_sv(fl_arena *arena, fl_sv text);

/* printf into the arena. */
fl_sv fl_arena_printf(fl_arena *arena, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

#define FL_ARENA_NEW(arena, type) ((type *)fl_arena_alloc((arena), 1, sizeof(type)))
#define FL_ARENA_ARRAY(arena, type, count) ((type *)fl_arena_alloc((arena), (count), sizeof(type)))

#endif
