/* http/feed.h: one token lets in, no other does, and a closed address stays closed. That it grants
 * nothing else is tests/browser/calendar.test.mjs, against the running server. */
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "http/feed.h"
#include "support/check.h"

static void test_feed(void **state)
{
    char dir[FL_TEMP_PATH_MAX];
    char path[FL_TEMP_PATH_MAX + 40];
    char first[FL_SECRET_TEXT_MAX];
    char second[FL_SECRET_TEXT_MAX];
    fl_err err = {0};
    struct stat info;
    (void)state;
    (void)fl_temp_folder(dir);
    check_false(fl_feed_is_open(dir));
    check_false(fl_feed_takes(dir, FL_SV("")));
    check_ok(fl_feed_open(dir, first, &err), &err);
    check_int(strlen(first), FL_SECRET_TEXT_MAX - 1);
    check_true(fl_feed_is_open(dir));
    check_true(fl_feed_takes(dir, fl_sv_from_cstr(first)));
    check_false(fl_feed_takes(dir, FL_SV("")));
    check_false(fl_feed_takes(dir, (fl_sv){first, strlen(first) - 1}));
    (void)snprintf(path, sizeof path, "%s/%s", dir, FL_FEED_FILE);
    check_int(stat(path, &info), 0);
    check_int(info.st_mode & 0777, 0600);
    char held[200] = "";
    FILE *file = fopen(path, "rb");
    check_true(file != NULL);
    size_t n = fread(held, 1, sizeof held - 1, file);
    check_int(fclose(file), 0);
    check_int(n, 64); /* a SHA-256 in hex; the token itself is not kept */
    check_true(strstr(held, first) == NULL);
    check_false(fl_feed_takes(dir, (fl_sv){held, n}));
    check_ok(fl_feed_open(dir, second, &err), &err);
    check_true(strcmp(first, second) != 0);
    check_false(fl_feed_takes(dir, fl_sv_from_cstr(first)));
    check_true(fl_feed_takes(dir, fl_sv_from_cstr(second)));
    check_ok(fl_feed_close(dir, &err), &err);
    check_false(fl_feed_is_open(dir));
    check_false(fl_feed_takes(dir, fl_sv_from_cstr(second)));
    check_ok(fl_feed_close(dir, &err), &err);
    fl_remove_folder(dir);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_feed)};
FL_TEST_MAIN(tests)
