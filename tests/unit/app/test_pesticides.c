/* The record of pesticides: what belongs into a span, when a timed one was begun, what stood where;
 * the CSV row by row; and that sprays recorded so count in residues of cuttings as ever. */
#include <math.h>

#include "app/past.h"
#include "app/pesticides.h"
#include "support/keeper.h"

typedef struct stage {
    fl_keeper k;
    fl_arena arena;
    fl_id bench, bin, fig, fern;
    fl_pesticides record;
} stage;

static void set_stage(stage *s)
{
    fl_id source, arrival;
    *s = (stage){0};
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
    s->bench = fl_keeper_place(&s->k, "bench 1", FL_PLACE_BENCH, 0, 21.0);
    s->bin = fl_keeper_place(&s->k, "bin 2", FL_PLACE_BIN, 1U << FL_USE_STOCK, 21.0);
    source = fl_keeper_source(&s->k, "Corner Nursery", FL_SOURCE_NURSERY, false);
    arrival = fl_keeper_id(&s->k);
    s->fig = fl_keeper_arrive(&s->k, source, arrival, s->bench, FL_FORM_POTTED, FL_USE_STOCK, 4);
    s->fern = fl_keeper_arrive(&s->k, source, arrival, s->bin, FL_FORM_POTTED, FL_USE_STOCK, 2);
}

static void clear_stage(stage *s)
{
    fl_arena_done(&s->arena);
    fl_keeper_done(&s->k);
}

static fl_ev_step spray(const fl_id_list lots)
{
    const double untold = (double)NAN;
    return (fl_ev_step){.lots = lots,
                        .step = FL_STEP_SOAK,
                        .agent = FL_AGENT_PESTICIDE,
                        .product = FL_SV("imidacloprid"),
                        .brand = FL_SV("Example SC"),
                        .dose_mg_per_l = untold,
                        .pct = untold,
                        .temp_c = untold,
                        .minutes = untold,
                        .amount_ml = 1.5,
                        .units = 6};
}

static fl_id done(stage *s, fl_id run, fl_ev_step step)
{
    fl_event event = {.kind = FL_KIND_STEP_DONE};
    event.body.step_done = (fl_ev_step_done){.run = run, .steps = &step, .n_steps = 1};
    fl_keeper_record(&s->k, &event);
    return event.id;
}

static void list(stage *s, const char *from, const char *to)
{
    int64_t from_s = 0;
    int64_t to_s = 0;
    fl_keeper_ask(&s->k);
    check_ok(fl_pesticides_span(&s->k.room, fl_sv_from_cstr(from), fl_sv_from_cstr(to), &from_s,
                                &to_s, &s->k.err),
             &s->k.err);
    fl_pesticides_list(&s->k.room, from_s, to_s, &s->arena, &s->record);
}

static void test_an_entry(void **state)
{
    stage s;
    (void)state;
    set_stage(&s);
    const fl_id both[] = {s.fig, s.fern};
    fl_keeper_day(&s.k, 1, 0);
    (void)done(&s, (fl_id){{0}}, spray((fl_id_list){both, 2}));
    fl_keeper_step(&s.k, both, 2, FL_STEP_DIP, FL_AGENT_BLEACH, "tub A"); /* no pesticide */
    list(&s, "", "");
    check_int(s.record.n_entries, 1);
    check_sv(s.record.entries[0].places, "bench 1; bin 2");
    check_sv(s.record.entries[0].step->brand, "Example SC");
    check_close(s.record.entries[0].step->amount_ml, 1.5, 0, 0);
    check_int(s.record.entries[0].step->units, 6);
    check_true(s.record.entries[0].step->rate_g_per_l == 0.0); /* not told comes back so */
    check_int(s.record.entries[0].has, 1U << FL_RECORD_BRAND | 1U << FL_RECORD_DATE |
                                           1U << FL_RECORD_START | 1U << FL_RECORD_AMOUNT |
                                           1U << FL_RECORD_SIZE | 1U << FL_RECORD_CROP);
    fl_keeper_verify(&s.k);
    clear_stage(&s);
}

/* Both days of a span are in it, whole; the room's zone (+01:00) says when a day begins. */
static void test_the_span(void **state)
{
    stage s;
    (void)state;
    set_stage(&s);
    for (int day = 1; day <= 3; day++) { /* 4, 5 and 6 March 2026, 00:00 +01:00 */
        fl_keeper_day(&s.k, day, 11);
        (void)done(&s, (fl_id){{0}}, spray((fl_id_list){&s.fig, 1}));
    }
    list(&s, "2026-03-04", "2026-03-04");
    check_int(s.record.n_entries, 1);
    check_int(s.record.entries[0].start_s, FL_KEEPER_START_S + FL_DAY_S + 11 * FL_HOUR_S);
    list(&s, "2026-03-05", "");
    check_int(s.record.n_entries, 2);
    list(&s, "", "2026-03-03");
    check_int(s.record.n_entries, 0);
    list(&s, "", "2026-03-04");
    check_int(s.record.n_entries, 1);
    list(&s, "2026-03-07", "2026-03-08");
    check_int(s.record.n_entries, 0);
    int64_t from_s = 1;
    int64_t to_s = 2;
    check_int(fl_pesticides_span(&s.k.room, FL_SV("2026-03-05"), FL_SV("2026-03-04"), &from_s,
                                 &to_s, &s.k.err),
              FL_EINVAL);
    check_int(fl_pesticides_span(&s.k.room, FL_SV("2026-03"), FL_SV(""), &from_s, &to_s, &s.k.err),
              FL_EFORMAT);
    check_true(from_s == 1 && to_s == 2);
    clear_stage(&s);
}

/* Of a timed step the time it was begun counts, also for the span. */
static void test_begun_and_done(void **state)
{
    stage s;
    (void)state;
    set_stage(&s);
    fl_keeper_day(&s.k, 1, 10); /* 23:00 on the 3rd */
    fl_event begun = {.kind = FL_KIND_STEP_STARTED};
    begun.body.step_started = (fl_ev_step_started){
        .run = fl_keeper_id(&s.k), .step = spray((fl_id_list){&s.fig, 1}), .planned_s = 7200};
    fl_keeper_record(&s.k, &begun);
    list(&s, "", "");
    check_int(s.record.n_entries, 0); /* not yet done */
    fl_keeper_day(&s.k, 1, 12);       /* 01:00 on the 4th */
    (void)done(&s, begun.body.step_started.run, spray((fl_id_list){&s.fig, 1}));
    list(&s, "2026-03-03", "2026-03-03");
    check_int(s.record.n_entries, 1);
    check_int(s.record.entries[0].start_s, FL_KEEPER_START_S + FL_DAY_S + 10 * FL_HOUR_S);
    clear_stage(&s);
}

static void test_voided(void **state)
{
    stage s;
    (void)state;
    set_stage(&s);
    fl_keeper_day(&s.k, 1, 0);
    const fl_id event = done(&s, (fl_id){{0}}, spray((fl_id_list){&s.fig, 1}));
    fl_event undo = {.kind = FL_KIND_EVENT_VOIDED};
    undo.body.event_voided.event = event;
    fl_keeper_record(&s.k, &undo);
    list(&s, "", "");
    check_int(s.record.n_entries, 0);
    clear_stage(&s);
}

/* The record's fields change nothing of what is reckoned: a mother's spray is a cutting's. */
static void test_cuttings_carry_it(void **state)
{
    stage s;
    fl_residue_spray sprays[4];
    (void)state;
    set_stage(&s);
    fl_keeper_day(&s.k, 1, 0);
    (void)done(&s, (fl_id){{0}}, spray((fl_id_list){&s.fig, 1}));
    fl_keeper_day(&s.k, 5, 0);
    const fl_id cutting = fl_keeper_cut(&s.k, s.fig, s.bin, 3);
    fl_keeper_day(&s.k, 11, 0);
    fl_keeper_ask(&s.k);
    check_int(fl_past_sprays(&s.k.room, fl_keeper_lot(&s.k, cutting), sprays, 4), 1);
    check_sv(sprays[0].active, "imidacloprid");
    check_close(sprays[0].days_since, 10.0, 1e-12, 0.0);
    check_int(fl_past_sprays(&s.k.room, fl_keeper_lot(&s.k, s.fern), sprays, 4), 0);
    clear_stage(&s);
}

static void test_csv(void **state)
{
    stage s;
    fl_csv_out csv;
    (void)state;
    set_stage(&s);
    fl_keeper_day(&s.k, 1, 0);
    fl_ev_step step = spray((fl_id_list){&s.fig, 1});
    step.site = FL_SV("=bench 2, \"north\""); /* what a spreadsheet would run, and quotes */
    (void)done(&s, (fl_id){{0}}, step);
    list(&s, "", "");
    fl_csv_out_init(&csv, FL_PESTICIDES_COLUMNS);
    fl_pesticides_csv(&s.k.room, &s.record, &csv);
    fl_str_append_char(&csv.text, '\0');
    check_contains(csv.text.ptr, ",2026-03-03T12:00:00Z,exact,2026-03-03,13:00,Example SC,,"
                                 "imidacloprid,,1.5,,,,,,,6,");
    check_contains(csv.text.ptr, "\"'=bench 2, \"\"north\"\"\"");
    check_contains(csv.text.ptr, "registration rate eppo_code,registration operator_name,\r\n");
    fl_csv_out_done(&csv);
    clear_stage(&s);
}

static void test_quantities(void **state)
{
    fl_arena arena;
    (void)state;
    fl_arena_init(&arena);
    const fl_ev_step step = {.rate_ml_per_l = 0.75, .amount_g = 2.0, .area_m2 = 2.4, .units = 12};
    check_sv(fl_pesticides_rate(&step, &arena), "0.75 mL/L");
    check_sv(fl_pesticides_amount(&step, &arena), "2 g");
    check_sv(fl_pesticides_size(&step, &arena), "2.4 m², 12 plants");
    check_sv(fl_pesticides_rate(&(fl_ev_step){.units = 1}, &arena), "");
    fl_arena_done(&arena);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_an_entry),          cmocka_unit_test(test_the_span),
    cmocka_unit_test(test_begun_and_done),    cmocka_unit_test(test_voided),
    cmocka_unit_test(test_cuttings_carry_it), cmocka_unit_test(test_csv),
    cmocka_unit_test(test_quantities),
};
FL_TEST_MAIN(tests)
