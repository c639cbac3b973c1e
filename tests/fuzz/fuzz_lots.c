/* Any bytes as a spreadsheet of lots, as a list of what was always there, and as a plain CSV file:
 * each is read against a room, and the events it would make can all be written and read. The first
 * byte chooses which, and what the keeper told. */
#include <stdlib.h>
#include <string.h>

#include "app/csv_in.h"
#include "app/moving_in.h"
#include "app/room.h"
#include "app/sheet_in.h"
#include "fuzz/fuzz.h"
#include "json/event_codec.h"

static const fl_id key = {{1, 2, 3, 4, 5, 6, 0x47, 8, 0x89, 10, 11, 12, 13, 14, 15, 16}};

static const fl_room *the_room(void)
{
    static fl_app app;
    static fl_room room;
    static bool is_loaded;
    if (!is_loaded) {
        fl_err err = {0};
        fl_fuzz_room_open(&app);
        fl_fuzz_ok(fl_room_load(&app, &room, &err), &err);
        is_loaded = true;
    }
    return &room;
}

/* What is recorded must be an event of its schema, else the batch fails after it was shown. */
static void check_events(const fl_event *events, size_t n, fl_arena *arena)
{
    for (size_t i = 0; i < n; i++) {
        fl_str text;
        fl_event again;
        fl_err err = {0};
        fl_str_init(&text, (size_t)1 << 20);
        fl_fuzz_ok(fl_event_write(&events[i], &text, &err), &err);
        fl_fuzz_ok(fl_event_read(fl_str_sv(&text), 0, arena, &again, NULL, &err), &err);
        FL_FUZZ_REQUIRE(fl_id_eq(again.id, events[i].id));
        fl_str_done(&text);
    }
}

static void try_sheet(fl_sv bytes, unsigned told_by, fl_arena *arena)
{
    fl_err err = {0};
    fl_sheet_in sheet;
    fl_event *events = NULL;
    size_t n = 0;
    const fl_sheet_options options = {
        .match = (told_by & 2) != 0 ? FL_SV("Menge=count,Art=plant") : FL_SV(""),
        .dates = (fl_sheet_dates)((told_by >> 2) % 3),
        .source = (told_by & 16) != 0 ? FL_SV("Saturday market") : FL_SV(""),
        .place = (told_by & 16) != 0 ? FL_SV("Bench by the sink") : FL_SV(""),
        .form = (told_by & 32) != 0 ? FL_FORM_POTTED : -1,
        .use = (told_by & 32) != 0 ? FL_USE_STOCK : -1,
        .at_s = FL_FUZZ_NOW_S,
        .precision = FL_PRECISION_EXACT,
        .key = key};
    if (fl_sheet_in_read(the_room(), bytes, &options, arena, &sheet, &err) != FL_OK) {
        FL_FUZZ_REQUIRE(err.message[0] != '\0' && strchr(err.message, '\n') == NULL);
        return;
    }
    FL_FUZZ_REQUIRE(sheet.n_rows <= FL_SHEET_LOTS_MAX);
    if (sheet.n_troubles == 0) {
        fl_sheet_in_events(&sheet, the_room(), key, arena, &events, &n);
        check_events(events, n, arena);
    }
}

static void try_list(fl_sv text, fl_arena *arena)
{
    fl_err err = {0};
    fl_moving_in moving;
    fl_event *events = NULL;
    size_t n = 0;
    if (fl_moving_in_read(the_room(), text, key, arena, &moving, &err) == FL_OK) {
        fl_moving_in_events(&moving, key, FL_FUZZ_NOW_S, arena, &events, &n);
        check_events(events, n, arena);
    }
}

static void try_csv(fl_sv text)
{
    fl_csv csv;
    fl_err err = {0};
    if (fl_csv_parse(text, "fuzz", &csv, &err) == FL_OK) {
        for (size_t row = 0; row < csv.n_rows; row++) {
            const double range[2] = {-1e9, 1e9};
            double value = 0.0;
            FL_FUZZ_REQUIRE(row == 0 || csv.lines[row] >= csv.lines[row - 1]);
            (void)!fl_csv_number(&csv, row, csv.n_columns - 1, range, &value, &err);
        }
        fl_csv_done(&csv);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    if (len == 0) {
        return 0;
    }
    fl_arena arena;
    fl_arena_init(&arena);
    char *exact = fl_fuzz_exact(bytes + 1, len - 1);
    const fl_sv text = {exact, len - 1};
    if (bytes[0] == 'M') {
        try_list(text, &arena);
    } else if (bytes[0] == 'C') {
        try_csv(text);
    } else {
        try_sheet(text, bytes[0], &arena);
    }
    free(exact);
    fl_arena_done(&arena);
    return 0;
}
