/* Files around the data base: folders, parts, and names that are given only once. */
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "store/file.h"
#include "store/store.h"
#include "support/check.h"

typedef struct bench {
    char dir[FL_TEMP_PATH_MAX];
    char path[FL_TEMP_PATH_MAX + 32];
    char other[FL_TEMP_PATH_MAX + 32];
    fl_err err;
} bench;

static int setup(void **state)
{
    static bench b;
    b = (bench){0};
    fl_temp_folder(b.dir);
    (void)snprintf(b.path, sizeof b.path, "%s/a", b.dir);
    (void)snprintf(b.other, sizeof b.other, "%s/b", b.dir);
    *state = &b;
    return 0;
}

static int teardown(void **state)
{
    fl_remove_folder(((bench *)*state)->dir);
    return 0;
}

static void write_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "wb");
    check_true(file != NULL && fputs(text, file) >= 0);
    check_int(fclose(file), 0);
}

static void check_file(const char *path, const char *want)
{
    char got[64] = "";
    FILE *file = fopen(path, "rb");
    check_true(file != NULL);
    size_t len = fread(got, 1, sizeof got - 1, file);
    check_int(fclose(file), 0);
    check_int(len, strlen(want));
    check_str(got, want);
}

static void test_join(void **state)
{
    bench *b = *state;
    fl_str path;
    check_ok(fl_file_join("x", "y", &path, &b->err), &b->err);
    check_str(path.ptr, "x/y");
    fl_str_done(&path);
    check_ok(fl_file_join("/", "y", &path, &b->err), &b->err);
    check_str(path.ptr, "/y");
    fl_str_done(&path);
    check_int(fl_file_join(NULL, "y", &path, &b->err), FL_EINVAL);
    fl_str_done(&path);
    static char longest[FL_FILE_PATH_MAX + 1];
    memset(longest, 'x', sizeof longest - 1);
    check_int(fl_file_join(longest, "y", &path, &b->err), FL_ETOOBIG);
    fl_str_done(&path);
    fl_store *store = NULL;
    check_int(fl_store_open(longest, true, &store, &b->err), FL_ETOOBIG);
    fl_str part;
    check_int(fl_file_make_part(longest, &part, &b->err), FL_ETOOBIG);
    fl_str_done(&part);
}

static void test_folder(void **state)
{
    bench *b = *state;
    fl_store *store = NULL;
    check_ok(fl_file_make_folder(b->path, &b->err), &b->err);
    check_ok(fl_file_make_folder(b->path, &b->err), &b->err); /* it is there: fine */
    write_text(b->other, "text");
    check_int(fl_file_make_folder(b->other, &b->err), FL_EIO);
    check_contains(b->err.message, "not a folder");
    check_int(fl_store_open(b->other, true, &store, &b->err), FL_EIO);
    check_int(fl_file_make_folder("", &b->err), FL_EINVAL);
    check_true(store == NULL);
}

static void test_parts(void **state)
{
    bench *b = *state;
    fl_str first;
    fl_str second;
    check_ok(fl_file_make_part(b->path, &first, &b->err), &b->err);
    check_ok(fl_file_make_part(b->path, &second, &b->err), &b->err);
    check_true(strcmp(first.ptr, second.ptr) != 0);
    check_true(fl_file_is_empty(first.ptr));
    write_text(first.ptr, "one");
    write_text(second.ptr, "two");
    check_false(fl_file_is_empty(first.ptr));
    check_false(fl_file_is_empty(b->path)); /* not there */
    check_ok(fl_file_install(first.ptr, b->path, &b->err), &b->err);
    check_false(fl_file_exists(first.ptr));
    check_int(fl_file_install(second.ptr, b->path, &b->err), FL_ECONFLICT);
    check_contains(b->err.message, b->path);
    check_file(b->path, "one");
    check_true(fl_file_exists(second.ptr)); /* the part stays */
    check_ok(fl_file_replace(second.ptr, b->path, &b->err), &b->err);
    check_file(b->path, "two");
    check_false(fl_file_exists(second.ptr));
    check_int(fl_file_install(second.ptr, b->other, &b->err), FL_EIO); /* no such part */
    check_int(fl_file_replace(second.ptr, b->path, &b->err), FL_EIO);
    check_file(b->path, "two");
    fl_str_done(&first);
    fl_str_done(&second);
}

static void test_second_name(void **state)
{
    bench *b = *state;
    write_text(b->path, "one");
    check_ok(fl_file_link(b->path, b->other, &b->err), &b->err);
    check_file(b->path, "one");
    check_file(b->other, "one");
    check_int(fl_file_link(b->path, b->other, &b->err), FL_ECONFLICT);
    fl_file_remove(b->other);
    fl_file_remove(b->other); /* silent */
    check_false(fl_file_exists(b->other));
    check_int(fl_file_link(b->other, b->path, &b->err), FL_ECONFLICT);
    fl_file_remove(b->path);
    check_int(fl_file_link(b->path, b->other, &b->err), FL_EIO);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_join, setup, teardown),
    cmocka_unit_test_setup_teardown(test_folder, setup, teardown),
    cmocka_unit_test_setup_teardown(test_parts, setup, teardown),
    cmocka_unit_test_setup_teardown(test_second_name, setup, teardown),
};
FL_TEST_MAIN(tests)
