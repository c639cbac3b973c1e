/* A chain of blocks, each twice the size of the last up to a limit; pieces are cut from the newest.
 * A piece larger than a block gets a block of its own. */
#include "base/arena.h"

#include <assert.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"

#define BLOCK_MIN ((size_t)4096)
#define BLOCK_MAX ((size_t)1 << 20)

struct fl_arena_block {
    fl_arena_block *next; /* older */
    size_t used;
    size_t size; /* bytes in data */
    _Alignas(max_align_t) unsigned char data[];
};

void fl_arena_init(fl_arena *arena)
{
    arena->head = NULL;
}

void fl_arena_done(fl_arena *arena)
{
    if (arena == NULL) {
        return;
    }
    fl_arena_block *block = arena->head;
    while (block != NULL) {
        fl_arena_block *next = block->next;
        fl_alloc_free(block);
        block = next;
    }
    arena->head = NULL;
}

static fl_arena_block *add_block(fl_arena *arena, size_t need)
{
    size_t size = arena->head == NULL ? BLOCK_MIN : arena->head->size * 2;
    size = size > BLOCK_MAX ? BLOCK_MAX : size;
    size = size < need ? need : size;
    fl_arena_block *block = fl_alloc(1, sizeof(fl_arena_block) + size);
    block->size = size;
    block->next = arena->head;
    arena->head = block;
    return block;
}

void *fl_arena_alloc(fl_arena *arena, size_t count, size_t size)
{
    const size_t align = _Alignof(max_align_t);
    if (size != 0 && count > (SIZE_MAX / 2) / size) {
        return fl_alloc(count, SIZE_MAX); /* ends the process with the usual line */
    }
    size_t need = count * size;
    need = (need + align - 1) / align * align;
    need = need == 0 ? align : need;
    fl_arena_block *block = arena->head;
    if (block == NULL || block->size - block->used < need) {
        block = add_block(arena, need);
    }
    void *piece = block->data + block->used; /* zeroed when the block was made, used once */
    block->used += need;
    return piece;
}

fl_sv fl_arena_copy_sv(fl_arena *arena, fl_sv text)
{
    char *copy = fl_arena_alloc(arena, text.len + 1, 1);
    if (text.len > 0) {
        memcpy(copy, text.ptr, text.len);
    }
    return (fl_sv){copy, text.len};
}

fl_sv fl_arena_printf(fl_arena *arena, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    int len = vsnprintf(NULL, 0, format, args);
    va_end(args);
    assert(len >= 0);
    char *text = fl_arena_alloc(arena, (size_t)len + 1, 1);
    va_start(args, format);
    (void)vsnprintf(text, (size_t)len + 1, format, args);
    va_end(args);
    return (fl_sv){text, (size_t)len};
}
