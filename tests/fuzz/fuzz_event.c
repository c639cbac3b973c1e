/* Any text as an event: refused with one line, or read; what is read has one canonical form that
 * reads back to itself, and that the schema-free reader of the journal takes as well. */
#include <stdlib.h>
#include <string.h>

#include "base/limits.h"
#include "fuzz/fuzz.h"
#include "json/event_codec.h"

#define TZ_MIN 60

static void check_message(const fl_err *err)
{
    FL_FUZZ_REQUIRE(err->message[0] != '\0');
    FL_FUZZ_REQUIRE(strchr(err->message, '\n') == NULL);
}

static void check_again(fl_sv canonical, fl_arena *arena)
{
    fl_event again;
    fl_event decoded;
    fl_str second;
    fl_str third;
    fl_err err = {0};
    fl_str_init(&second, (size_t)FL_EVENT_BYTES_MAX * 8);
    fl_str_init(&third, (size_t)FL_EVENT_BYTES_MAX * 8);
    fl_fuzz_ok(fl_event_read(canonical, TZ_MIN, arena, &again, &second, &err), &err);
    FL_FUZZ_REQUIRE(fl_sv_eq(canonical, fl_str_sv(&second)));
    fl_fuzz_ok(fl_event_decode(canonical, TZ_MIN, arena, &decoded, &err), &err);
    fl_fuzz_ok(fl_event_write(&decoded, &third, &err), &err);
    FL_FUZZ_REQUIRE(decoded.kind == again.kind && fl_id_eq(decoded.id, again.id));
    FL_FUZZ_REQUIRE(decoded.at_s == again.at_s);
    fl_str_done(&second);
    fl_str_done(&third);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    char *exact = fl_fuzz_exact(bytes, len);
    const fl_sv text = {exact, len};
    fl_arena arena;
    fl_event event;
    fl_str canonical;
    fl_err err = {0};
    fl_arena_init(&arena);
    fl_str_init(&canonical, (size_t)FL_EVENT_BYTES_MAX * 8);
    if (fl_event_read(text, TZ_MIN, &arena, &event, &canonical, &err) == FL_OK) {
        check_again(fl_str_sv(&canonical), &arena);
    } else {
        check_message(&err);
    }
    if (fl_event_decode(text, TZ_MIN, &arena, &event, &err) != FL_OK) {
        check_message(&err);
    }
    fl_str_done(&canonical);
    fl_arena_done(&arena);
    free(exact);
    return 0;
}
