/* Any text as the file of a history card: refused with one line, or read; what was read has one
 * canonical form that reads back to itself, and can be taken into a room as an arrival with a told
 * past. */
#include <stdlib.h>
#include <string.h>

#include "app/card_take.h"
#include "app/room.h"
#include "fuzz/fuzz.h"

static void take(const fl_card_read *card)
{
    static const fl_id key = {{1, 2, 3, 4, 5, 6, 0x47, 8, 0x89, 10, 11, 12, 13, 14, 15, 16}};
    const fl_card_taking taking = {.key = key,
                                   .source = FL_SV("Saturday market"),
                                   .place = FL_SV("Bench by the sink"),
                                   .use = FL_USE_STOCK,
                                   .at_s = FL_FUZZ_NOW_S};
    fl_app app;
    fl_room room;
    fl_id lot;
    fl_err err = {0};
    fl_verified found;
    fl_fuzz_room_open(&app);
    fl_fuzz_ok(fl_room_load(&app, &room, &err), &err);
    if (fl_card_take(&app, &room, card, &taking, &lot, &err) == FL_OK) {
        fl_fuzz_ok(fl_app_verify(&app, &found, &err), &err);
    } else {
        FL_FUZZ_REQUIRE(err.message[0] != '\0' && strchr(err.message, '\n') == NULL);
    }
    fl_room_done(&room);
    fl_app_close(&app);
    fl_fuzz_room_again();
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    static unsigned n_taken;
    char *exact = fl_fuzz_exact(bytes, len);
    fl_arena arena;
    fl_card_read card;
    fl_card_read again;
    fl_err err = {0};
    fl_arena_init(&arena);
    if (fl_card_parse((fl_sv){exact, len}, &arena, &card, &err) == FL_OK) {
        fl_fuzz_ok(fl_card_parse(card.canonical, &arena, &again, &err), &err);
        FL_FUZZ_REQUIRE(fl_sv_eq(card.canonical, again.canonical));
        if (n_taken++ % 4 == 0) { /* it takes its time */
            take(&card);
        }
    } else {
        FL_FUZZ_REQUIRE(err.message[0] != '\0' && strchr(err.message, '\n') == NULL);
    }
    fl_arena_done(&arena);
    free(exact);
    return 0;
}
