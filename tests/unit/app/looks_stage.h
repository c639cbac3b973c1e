/* The stage of the tests of look plans and what-ifs: one lot from a store in one bin. */
#ifndef FL_TESTS_UNIT_APP_LOOKS_STAGE_H
#define FL_TESTS_UNIT_APP_LOOKS_STAGE_H

#include "app/looks.h"
#include "support/keeper.h"

#define NO_ID ((fl_id){{0}})
#define CARD (1U << FL_DEVICE_YELLOW_CARD)

typedef struct stage {
    fl_keeper k;
    fl_id store, bench, bin, lot;
    fl_arena arena;
    fl_looks *looks;
} stage;

static inline void set_round(stage *s, fl_effort effort)
{
    fl_event event = {.kind = FL_KIND_ROOM_SET};
    event.body.room_set =
        (fl_ev_room_set){.name = FL_SV("a room"), .round_weekday = 5, .round_effort = effort};
    fl_keeper_record(&s->k, &event);
}

static inline void hang(stage *s, fl_device device)
{
    fl_event event = {.kind = FL_KIND_CARD_SET};
    event.body.card_set = (fl_ev_card_set){.place = s->bin, .device = device};
    fl_keeper_record(&s->k, &event);
}

/* A potted lot from a store, cleaned and put into a bin on a Monday; rounds on Saturdays. */
static inline void set_stage(stage *s, fl_use use, double temp_c, fl_effort effort)
{
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
    s->looks = NULL;
    set_round(s, effort);
    s->store = fl_keeper_source(&s->k, "a store", FL_SOURCE_CHAIN_STORE, false);
    s->bench = fl_keeper_place(&s->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    s->bin = fl_keeper_place(&s->k, "bin", FL_PLACE_BIN, 0, temp_c);
    s->lot =
        fl_keeper_arrive(&s->k, s->store, fl_keeper_id(&s->k), s->bench, FL_FORM_POTTED, use, 3);
    fl_keeper_day(&s->k, 0, 1);
    fl_keeper_step(&s->k, &s->lot, 1, FL_STEP_STRIP, FL_AGENT_NONE, "a");
    fl_keeper_step(&s->k, &s->lot, 1, FL_STEP_RINSE, FL_AGENT_NONE, "a");
    fl_keeper_step(&s->k, &s->lot, 1, FL_STEP_POT_UP, FL_AGENT_NONE, "");
    fl_keeper_day(&s->k, 0, 2);
    fl_keeper_move(&s->k, s->lot, s->bin);
}

static inline void open_looks(stage *s)
{
    fl_keeper_ask(&s->k);
    check_ok(fl_looks_open(s->k.chances, &s->k.room, fl_keeper_lot(&s->k, s->lot), 0, &s->arena,
                           &s->looks, &s->k.err),
             &s->k.err);
}

static inline void strike_stage(stage *s)
{
    fl_arena_done(&s->arena);
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
}

static inline double days_from_now(const stage *s, int64_t at_s)
{
    return (double)(at_s - s->k.now_s) / FL_DAY_S;
}

#endif
