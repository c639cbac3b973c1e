/* The picture of docs/guide/how-sure.md is made by the program from the demo room, on the day on
 * which the demo ends: made again, it is the same, byte by byte, and the words of the guide are
 * those of the picture. The command stands in the test, so that it can be repeated by hand. */
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "support/check.h"
#include "support/program.h"

#define NOW "2026-11-25T09:00:00Z"
#define BYTES_MAX ((size_t)1 << 20)

static void read_file(const char *path, fl_str *text)
{
    char part[4096];
    size_t n = 0;
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        print_error("no file %s\n", path);
        fail();
    }
    fl_str_init(text, BYTES_MAX);
    while ((n = fread(part, 1, sizeof part, file)) > 0) {
        fl_str_append(text, (fl_sv){part, n});
    }
    check_int(fclose(file), 0);
    check_false(text->is_full);
}

static void run(const char *const *words)
{
    fl_run done = fl_run_program(words, NULL);
    if (done.code != 0) {
        print_error("%s\n", done.err);
    }
    check_int(done.code, 0);
    fl_run_done(&done);
}

/* fernlock --room ROOM --now 2026-11-25T09:00:00Z demo --tz +01:00
 * fernlock --room ROOM --now 2026-11-25T09:00:00Z show lot "lemon button fern" --threat fungus_gnat
 *          --svg docs/guide/how-sure.svg */
static void test_the_picture_of_the_guide(void **state)
{
    (void)state;
    char dir[FL_TEMP_PATH_MAX];
    char room[FL_TEMP_PATH_MAX + 8];
    char svg[FL_TEMP_PATH_MAX + 8];
    fl_str made;
    fl_str kept;
    fl_str guide;
    fl_temp_folder(dir);
    (void)snprintf(room, sizeof room, "%s/room", dir);
    (void)snprintf(svg, sizeof svg, "%s/a.svg", dir);
    run((const char *const[]){"--room", room, "--now", NOW, "demo", "--tz", "+01:00", NULL});
    run((const char *const[]){"--room", room, "--now", NOW, "show", "lot", "lemon button fern",
                              "--threat", "fungus_gnat", "--svg", svg, NULL});
    read_file(svg, &made);
    read_file(FL_SOURCE_DIR "/docs/guide/how-sure.svg", &kept);
    read_file(FL_SOURCE_DIR "/docs/guide/how-sure.md", &guide);
    check_true(fl_sv_eq(fl_str_sv(&made), fl_str_sv(&kept)));
    check_true(strstr(made.ptr, "about 1 in 3 on 19 September, about 1 in 150 now") != NULL);
    check_true(strstr(guide.ptr, "**When it came home: about 1 in 3.**") != NULL);
    check_true(strstr(guide.ptr, "about 1 in 150 now](how-sure.svg)") != NULL);
    fl_str_done(&made);
    fl_str_done(&kept);
    fl_str_done(&guide);
    fl_remove_folder(dir);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_the_picture_of_the_guide)};
FL_TEST_MAIN(tests)
