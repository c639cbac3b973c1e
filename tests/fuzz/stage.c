/* What the fuzz programs share: claims, and a room to try things on. */
#define _GNU_SOURCE
#include <errno.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/alloc.h"
#include "fuzz/fuzz.h"
#include "support/font_leak.h"

#define PATH_BYTES 512

static struct {
    char dir[PATH_BYTES];
    pid_t owner;
    int64_t now_s;
    unsigned char *bytes; /* of the room's file, as it was made */
    size_t len;
} room;

void fl_fuzz_require(bool claim, const char *what, const char *file, int line)
{
    if (!claim) {
        (void)fprintf(stderr, "%s:%d: does not hold: %s\n", file, line, what);
        abort();
    }
}

void fl_fuzz_ok(fl_status status, const fl_err *err)
{
    if (status != FL_OK) {
        (void)fprintf(stderr, "fuzz: %s\n", err->message);
        abort();
    }
}

char *fl_fuzz_exact(const uint8_t *bytes, size_t len)
{
    char *exact = malloc(len > 0 ? len : 1);
    FL_FUZZ_REQUIRE(exact != NULL);
    if (len > 0) {
        memcpy(exact, bytes, len);
    }
    return exact;
}

/* ---- the room ---- */

static int remove_one(const char *path, const struct stat *info, int kind, struct FTW *walk)
{
    (void)info;
    (void)kind;
    (void)walk;
    return remove(path);
}

static void remove_room(void)
{
    if (room.owner == getpid()) {
        (void)nftw(room.dir, remove_one, 16, FTW_DEPTH | FTW_PHYS);
    }
    fl_alloc_free(room.bytes);
    room.bytes = NULL;
}

static unsigned char *read_file(const char *path, size_t *len)
{
    FILE *file = fopen(path, "rb");
    FL_FUZZ_REQUIRE(file != NULL);
    FL_FUZZ_REQUIRE(fseek(file, 0, SEEK_END) == 0);
    long size = ftell(file);
    FL_FUZZ_REQUIRE(size >= 0);
    rewind(file);
    unsigned char *bytes = fl_alloc((size_t)size + 1, 1);
    *len = fread(bytes, 1, (size_t)size, file);
    FL_FUZZ_REQUIRE(*len == (size_t)size);
    (void)fclose(file);
    return bytes;
}

/* Records the lines of a file in one transaction. */
static void record_lines(fl_app *app, const char *path)
{
    enum { LINES_MAX = 200 };
    size_t len = 0;
    size_t n = 0;
    size_t failed_at = 0;
    fl_err err;
    fl_sv lines[LINES_MAX];
    unsigned char *text = read_file(path, &len);
    fl_sv rest = {(const char *)text, len};
    while (rest.len > 0 && n < LINES_MAX) {
        fl_sv line = fl_sv_split(&rest, '\n');
        if (line.len > 0) {
            lines[n++] = line;
        }
    }
    fl_fuzz_ok(fl_app_record_all(app, lines, n, NULL, &failed_at, &err), &err);
    fl_alloc_free(text);
}

static void make_room(void)
{
    fl_app app;
    fl_err err;
    char path[PATH_BYTES + 32];
    const char *base = getenv("TMPDIR");
    (void)snprintf(room.dir, sizeof room.dir, "%s/fernlock-fuzz-XXXXXX",
                   base == NULL || base[0] == '\0' ? "/tmp" : base);
    FL_FUZZ_REQUIRE(mkdtemp(room.dir) != NULL);
    room.owner = getpid();
    room.now_s = FL_FUZZ_NOW_S;
    (void)atexit(remove_room);
    fl_fuzz_ok(fl_app_open(room.dir, true, 0, fl_clock_fixed(&room.now_s), &app, &err), &err);
    record_lines(&app, FL_SOURCE_DIR "/tests/browser/room.jsonl");
    fl_app_close(&app);
    (void)snprintf(path, sizeof path, "%s/room.sqlite", room.dir);
    room.bytes = read_file(path, &room.len);
}

const char *fl_fuzz_room_dir(void)
{
    if (room.owner == 0) {
        make_room();
    }
    return room.dir;
}

const unsigned char *fl_fuzz_room_bytes(size_t *len)
{
    (void)fl_fuzz_room_dir();
    *len = room.len;
    return room.bytes;
}

void fl_fuzz_room_write(const unsigned char *bytes, size_t len)
{
    static const char *const beside[] = {"-wal", "-shm", "-journal"};
    char path[PATH_BYTES + 32];
    for (size_t i = 0; i < sizeof beside / sizeof beside[0]; i++) {
        (void)snprintf(path, sizeof path, "%s/room.sqlite%s", fl_fuzz_room_dir(), beside[i]);
        (void)unlink(path);
    }
    (void)snprintf(path, sizeof path, "%s/room.sqlite", fl_fuzz_room_dir());
    FILE *file = fopen(path, "wb");
    FL_FUZZ_REQUIRE(file != NULL);
    FL_FUZZ_REQUIRE(fwrite(bytes, 1, len, file) == len);
    FL_FUZZ_REQUIRE(fclose(file) == 0);
}

void fl_fuzz_room_again(void)
{
    (void)fl_fuzz_room_dir();
    fl_fuzz_room_write(room.bytes, room.len);
}

void fl_fuzz_room_open(fl_app *app)
{
    fl_err err;
    const char *dir = fl_fuzz_room_dir();
    room.now_s = FL_FUZZ_NOW_S;
    fl_fuzz_ok(fl_app_open(dir, false, 0, fl_clock_fixed(&room.now_s), app, &err), &err);
}
