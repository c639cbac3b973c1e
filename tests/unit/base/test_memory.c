/* base/alloc.h and base/arena.h. That running out of memory ends the process, a child shows. */
#define _GNU_SOURCE
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/alloc.h"
#include "base/arena.h"
#include "support/check.h"

static bool is_zero(const unsigned char *bytes, size_t len)
{
    for (size_t i = 0; i < len; i++) {
        if (bytes[i] != 0) {
            return false;
        }
    }
    return true;
}

static void test_alloc(void **state)
{
    (void)state;
    unsigned char *memory = fl_alloc(100, 3);
    check_true(is_zero(memory, 300));
    memset(memory, 7, 300);
    memory = fl_alloc_resize(memory, 1000, 3);
    check_int(memory[299], 7);
    memory = fl_alloc_resize(memory, 0, 3);
    check_true(memory != NULL);
    fl_alloc_free(memory);
    fl_alloc_free(NULL);
    void *nothing = fl_alloc(0, 8);
    check_true(nothing != NULL);
    fl_alloc_free(nothing);
    memory = fl_alloc_resize(NULL, 4, 1);
    check_true(memory != NULL);
    fl_alloc_free(memory);
}

static void ask_alloc(void)
{
    (void)fl_alloc(SIZE_MAX / 2, 4);
}

static void ask_resize(void)
{
    (void)fl_alloc_resize(NULL, SIZE_MAX / 2, 4);
}

static void ask_arena(void)
{
    fl_arena arena;
    fl_arena_init(&arena);
    (void)fl_arena_alloc(&arena, SIZE_MAX / 2, 4);
}

/* Runs `ask` in a child; returns its exit code and what it said. */
static int run_in_child(void (*ask)(void), char *said, size_t size)
{
    int ends[2];
    int status = 0;
    check_int(pipe(ends), 0);
    pid_t child = fork();
    check_true(child >= 0);
    if (child == 0) {
        (void)dup2(ends[1], STDERR_FILENO);
        ask();
        _exit(0);
    }
    (void)close(ends[1]);
    ssize_t got = read(ends[0], said, size - 1);
    said[got < 0 ? 0 : got] = '\0';
    (void)close(ends[0]);
    check_int(waitpid(child, &status, 0), child);
    check_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static void test_out_of_memory_ends_the_process(void **state)
{
    (void)state;
    void (*const asks[])(void) = {ask_alloc, ask_resize, ask_arena};
    for (size_t i = 0; i < sizeof asks / sizeof asks[0]; i++) {
        char said[200];
        check_int(run_in_child(asks[i], said, sizeof said), 3);
        check_contains(said, "out of memory");
    }
}

static void test_arena_pieces(void **state)
{
    (void)state;
    fl_arena arena;
    fl_arena_init(&arena);
    unsigned char *pieces[300];
    for (size_t i = 0; i < 300; i++) {
        pieces[i] = fl_arena_alloc(&arena, i + 1, 3);
        check_int((uintptr_t)pieces[i] % _Alignof(max_align_t), 0);
        check_true(is_zero(pieces[i], 3 * (i + 1)));
        memset(pieces[i], (int)i, 3 * (i + 1));
    }
    for (size_t i = 0; i < 300; i++) { /* none overlaps another */
        check_int(pieces[i][0], i & 0xff);
        check_int(pieces[i][3 * i + 2], i & 0xff);
    }
    unsigned char *large = fl_arena_alloc(&arena, 5u << 20, 1);
    check_true(is_zero(large, 5u << 20));
    check_true(fl_arena_alloc(&arena, 0, 8) != NULL);
    fl_arena_done(&arena);
    check_true(arena.head == NULL);
    check_int(*FL_ARENA_NEW(&arena, int), 0); /* reusable */
    fl_arena_done(&arena);
    fl_arena_done(&arena);
    fl_arena_done(NULL);
}

static void test_arena_text(void **state)
{
    (void)state;
    fl_arena arena;
    fl_arena_init(&arena);
    char source[] = "fern";
    fl_sv copy = fl_arena_copy_sv(&arena, fl_sv_from_cstr(source));
    source[0] = 'x';
    check_sv(copy, "fern");
    check_int(copy.ptr[copy.len], 0);
    fl_sv empty = fl_arena_copy_sv(&arena, (fl_sv){NULL, 0});
    check_int(empty.len, 0);
    check_int(empty.ptr[0], 0);
    check_sv(fl_arena_printf(&arena, "%d of %s", 3, "nine"), "3 of nine");
    check_sv(fl_arena_printf(&arena, "%s", ""), "");
    int *numbers = FL_ARENA_ARRAY(&arena, int, 10);
    check_int(numbers[9], 0);
    fl_arena_done(&arena);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_alloc),
    cmocka_unit_test(test_out_of_memory_ends_the_process),
    cmocka_unit_test(test_arena_pieces),
    cmocka_unit_test(test_arena_text),
};
FL_TEST_MAIN(tests)
