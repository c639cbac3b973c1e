/* Stripped photos against Pillow (Debian python3-pil): the same pixels, and neither place, time,
 * device, profile nor comment are left. */
#include <stdio.h>
#include <stdlib.h>

#include "app/files.h"
#include "core/picture/jpeg.h"
#include "support/check.h"
#include "support/outside.h"

#define FILE_BYTES_MAX 65536

static void strip_file(const char *from, const char *to)
{
    static char in[FILE_BYTES_MAX];
    static unsigned char out[FILE_BYTES_MAX + FL_JPEG_BYTES_MORE];
    fl_err err;
    fl_jpeg jpeg;
    FILE *file = fopen(from, "rb");
    check_true(file != NULL);
    size_t len = fread(in, 1, sizeof in, file);
    (void)fclose(file);
    check_ok(fl_jpeg_strip((fl_sv){in, len}, out, &jpeg, &err), &err);
    check_int(jpeg.width_px, 67);
    check_int(jpeg.height_px, 41);
    check_ok(fl_files_write(to, (fl_sv){(const char *)out, jpeg.bytes}, false, &err), &err);
}

static void test_photos_of_pillow(void **state)
{
    static const char *const kinds[] = {"baseline", "progressive", "subsampled", "gray", "cmyk"};
    char folder[FL_TEMP_PATH_MAX];
    fl_arena arena;
    (void)state;
    fl_arena_init(&arena);
    (void)fl_temp_folder(folder);
    OUTSIDE("/usr/bin/python3", FL_TEST_DATA_DIR "/photo_pillow.py", "make", folder);
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        const char *from =
            fl_files_join(&arena, folder, fl_arena_printf(&arena, "%s.jpg", kinds[i]).ptr);
        const char *to =
            fl_files_join(&arena, folder, fl_arena_printf(&arena, "%s.out.jpg", kinds[i]).ptr);
        strip_file(from, to);
    }
    fl_run run = OUTSIDE("/usr/bin/python3", FL_TEST_DATA_DIR "/photo_pillow.py", "check", folder);
    check_contains(run.out, "5 photos");
    fl_run_done(&run);
    fl_remove_folder(folder);
    fl_arena_done(&arena);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_photos_of_pillow)};
FL_TEST_MAIN(tests)
