/* Any bytes as a logger's file: what it seems to be, the readings in it within their stated ranges,
 * and their stored form, which reads back to the same. The first byte says what the keeper told;
 * and the same bytes as a stored batch, which is refused or in order. */
#include <stdlib.h>
#include <string.h>

#include "app/readings_pack.h"
#include "base/civil.h"
#include "fuzz/fuzz.h"

#define KEPT_MAX 4096

static void check_pack(const fl_readings *readings, fl_arena *arena)
{
    fl_sv stored;
    fl_readings again;
    fl_err err = {0};
    if (readings->count == 0) {
        return;
    }
    fl_fuzz_ok(fl_readings_pack(readings, arena, &stored, &err), &err);
    fl_fuzz_ok(fl_readings_unpack(stored, arena, &again, &err), &err);
    FL_FUZZ_REQUIRE(again.count == readings->count && again.unit == readings->unit);
    for (size_t i = 0; i < again.count; i++) {
        FL_FUZZ_REQUIRE(again.list[i].offset_s == readings->list[i].offset_s);
        FL_FUZZ_REQUIRE(again.list[i].temp_milli == readings->list[i].temp_milli);
        FL_FUZZ_REQUIRE(again.list[i].rh_milli == readings->list[i].rh_milli);
    }
}

/* A reading joins the batch when it comes after the last: what packing asks for. */
static void keep(fl_readings *batch, const fl_probe_reading *one, int64_t *first_s)
{
    if (batch->count == 0) {
        *first_s = one->at_s;
    }
    int64_t offset_s = one->at_s - *first_s;
    bool is_next = batch->count == 0 || offset_s > batch->list[batch->count - 1].offset_s;
    if (is_next && batch->count < KEPT_MAX) {
        batch->list[batch->count++] = (fl_logged){offset_s, one->temp_milli, one->rh_milli};
    }
}

static void read_rows(fl_sv text, const fl_probe_shape *shape, int64_t now_s)
{
    fl_arena arena;
    fl_arena_init(&arena);
    fl_readings batch = {.list = FL_ARENA_ARRAY(&arena, fl_logged, KEPT_MAX), .unit = shape->unit};
    fl_probe_cursor cursor = fl_probe_begin(text, shape);
    int64_t first_s = 0;
    for (size_t n = 0;; n++) {
        fl_probe_reading one;
        const char *why = NULL;
        fl_probe_row what = fl_probe_next(&cursor, &one, &why);
        FL_FUZZ_REQUIRE(n <= text.len + 1);
        if (what == FL_PROBE_END) {
            break;
        }
        FL_FUZZ_REQUIRE(what != FL_PROBE_BAD || why != NULL);
        if (what == FL_PROBE_READING) {
            double temp_c = fl_probe_temp_c(one.temp_milli, shape->unit);
            FL_FUZZ_REQUIRE(one.temp_milli == FL_PROBE_MISSING ||
                            (temp_c >= -30.0 && temp_c <= 60.0));
            FL_FUZZ_REQUIRE(one.rh_milli == FL_PROBE_MISSING ||
                            (one.rh_milli >= 0 && one.rh_milli <= 110000));
            if (one.at_s > now_s + (int64_t)FL_DAY_S) {
                continue; /* as app/readings does: a clock that is far ahead */
            }
            keep(&batch, &one, &first_s);
        }
    }
    check_pack(&batch, &arena);
    fl_arena_done(&arena);
}

static void try_file(fl_sv raw, unsigned told_by)
{
    fl_err err = {0};
    fl_probe_shape shape;
    fl_probe_encoding encoding = fl_probe_encoding_of(raw);
    char *buffer = malloc(fl_probe_decode_bound(encoding, raw.len) + 1);
    FL_FUZZ_REQUIRE(buffer != NULL);
    fl_sv text = fl_probe_decode(encoding, raw, buffer);
    fl_probe_told told = {.order = (int)(told_by & 3) - 1,
                          .unit = (int)((told_by >> 2) % 3) - 1,
                          .tz_offset_min = 60,
                          .now_s = FL_FUZZ_NOW_S};
    told.temp_column = (told_by & 16) != 0 ? FL_SV("2") : FL_SV("");
    told.rh_column = (told_by & 32) != 0 ? FL_SV("none") : FL_SV("");
    told.shift_s = (told_by & 64) != 0 ? -3600 : 0;
    if (fl_probe_sniff(text, &told, &shape, &err) != FL_OK) {
        FL_FUZZ_REQUIRE(err.message[0] != '\0' && strchr(err.message, '\n') == NULL);
    } else if (shape.questions == 0) {
        read_rows(text, &shape, told.now_s);
    }
    free(buffer);
}

static void try_stored(fl_sv bytes)
{
    fl_arena arena;
    fl_readings batch;
    fl_err err = {0};
    fl_arena_init(&arena);
    if (fl_readings_unpack(bytes, &arena, &batch, &err) == FL_OK) {
        FL_FUZZ_REQUIRE(batch.count <= FL_READINGS_MAX);
        for (size_t i = 1; i < batch.count; i++) {
            FL_FUZZ_REQUIRE(batch.list[i].offset_s > batch.list[i - 1].offset_s);
        }
    }
    fl_arena_done(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    if (len == 0) {
        return 0;
    }
    char *exact = fl_fuzz_exact(bytes + 1, len - 1);
    const fl_sv raw = {exact, len - 1};
    if (bytes[0] == 'P') {
        try_stored(raw);
    } else {
        try_file(raw, bytes[0]);
    }
    free(exact);
    return 0;
}
