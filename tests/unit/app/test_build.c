/* Builds of a room: what its plan says, stock before cuttings before purchases, days asked of the
 * gate, what is short, and plans that cannot be read. */
#include <math.h>

#include "app/build.h"
#include "base/str.h"
#include "support/keeper.h"

#define DAY(n) (FL_KEEPER_START_S + (int64_t)(n)*FL_DAY_S)

typedef struct stage {
    fl_keeper k;
    fl_id lab, store, bench, bin_1, bin_2, shelf, tank, fern, fig;
    fl_arena arena;
    fl_build *builds;
    size_t n_builds;
    fl_build_study study;
} stage;

static fl_id plant(fl_keeper *k, const char *name, const char *taxon, bool is_mother)
{
    fl_event event = {.kind = FL_KIND_PLANT_SET};
    event.body.plant_set = (fl_ev_plant_set){.plant = fl_keeper_id(k),
                                             .name = fl_sv_from_cstr(name),
                                             .taxon = fl_sv_from_cstr(taxon),
                                             .is_mother = is_mother};
    fl_keeper_record(k, &event);
    return event.body.plant_set.plant;
}

static void settings(fl_keeper *k)
{
    fl_event event = {.kind = FL_KIND_ROOM_SET};
    event.body.room_set = (fl_ev_room_set){
        .name = FL_SV("a room"), .round_weekday = 6, .round_effort = FL_EFFORT_CAREFUL};
    fl_keeper_record(k, &event);
}

static fl_id own(stage *s, fl_id plant_id, fl_id place, int count, fl_use use)
{
    fl_event event = {.kind = FL_KIND_LOT_ALREADY_HERE};
    event.body.lot_already_here = (fl_ev_lot_already_here){.lot = fl_keeper_id(&s->k),
                                                           .plant = plant_id,
                                                           .count = count,
                                                           .form = FL_FORM_POTTED,
                                                           .use = use,
                                                           .place = place};
    fl_keeper_record(&s->k, &event);
    return event.body.lot_already_here.lot;
}

static fl_id planned(stage *s, fl_id build, const char *need_by, const char *plan)
{
    fl_event event = {.kind = FL_KIND_BUILD_PLANNED};
    event.body.build_planned =
        (fl_ev_build_planned){.build = fl_id_is_none(build) ? fl_keeper_id(&s->k) : build,
                              .enclosure = s->tank,
                              .name = FL_SV("wall"),
                              .need_by = fl_sv_from_cstr(need_by),
                              .plan_json = fl_sv_from_cstr(plan)};
    fl_keeper_record(&s->k, &event);
    return event.body.build_planned.build;
}

static void set_stage(stage *s)
{
    *s = (stage){0};
    fl_arena_init(&s->arena);
    fl_keeper_init(&s->k);
    settings(&s->k);
    s->lab = fl_keeper_source(&s->k, "lab", FL_SOURCE_TISSUE_CULTURE_LAB, false);
    s->store = fl_keeper_source(&s->k, "store", FL_SOURCE_CHAIN_STORE, false);
    s->bench = fl_keeper_place(&s->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    s->bin_1 = fl_keeper_place(&s->k, "bin 1", FL_PLACE_BIN, 0, 23.0);
    s->shelf = fl_keeper_place(&s->k, "mothers", FL_PLACE_BIN, 1U << FL_USE_STOCK, 23.0);
    s->tank = fl_keeper_place(&s->k, "tank", FL_PLACE_ENCLOSURE, 1U << FL_USE_PLANTS_ONLY, 23.0);
    s->fern = plant(&s->k, "fern", "", false);
    s->fig = plant(&s->k, "fig", "Ficus pumila", true);
}

static void study(stage *s)
{
    fl_keeper_ask(&s->k);
    fl_builds_open(&s->k.room, &s->arena, &s->builds, &s->n_builds);
    check_ok(fl_build_study_make(&s->k.room, &s->k.app, s->builds, s->n_builds, &s->arena,
                                 &s->study, &s->k.err),
             &s->k.err);
}

static void strike_stage(stage *s)
{
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
    fl_arena_done(&s->arena);
}

/* A later plan replaces the earlier; finished and long past ones are not open; one that cannot be
 * read says why. */
static void test_which_are_open(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    const fl_id first =
        planned(&s, (fl_id){{0}}, "2026-09-01", "{\"plants\":[{\"name\":\"fern\"}]}");
    fl_keeper_day(&s.k, 0, 1);
    (void)planned(&s, first, "2026-08-01",
                  "{\"settle_days\":10,\"size_mm\":[600,450,450],\"substrate_mm\":80,"
                  "\"plants\":[{\"name\":\"fern\",\"count\":3},{\"name\":\"Ficus pumila\"}],"
                  "\"materials\":[\"leaf_litter\",{\"name\":\"epiphyte\",\"volume_l\":12}]}");
    const fl_id done = planned(&s, (fl_id){{0}}, "2026-07-01", "{}");
    (void)planned(&s, (fl_id){{0}}, "2026-01-01", "{}");
    (void)planned(&s, (fl_id){{0}}, "2026-10-01", "{\"plants\":[{\"name\":\"fern\",\"count\":0}]}");
    fl_keeper_day(&s.k, 0, 2);
    (void)planned(&s, done, "2026-07-01", "{\"is_done\":true}");
    study(&s);
    check_int(s.n_builds, 2);
    const fl_build *b = &s.builds[0];
    check_true(fl_id_eq(b->body->build, first));
    check_int(b->n_items, 2);
    check_int(b->items[0].count, 3);
    check_true(fl_id_eq(b->items[0].plant, s.fern));
    check_true(fl_id_eq(b->items[1].plant, s.fig));
    check_true(b->items[1].row != NULL);
    check_int(b->items[1].count, 1);
    check_int(b->settle_days, 10);
    check_close(b->length_mm * b->width_mm * b->substrate_mm / 1e6, 21.6, 1e-12, 0.0);
    check_int(b->n_materials, 2);
    check_true(isnan(b->materials[0].volume_l));
    check_close(b->materials[1].volume_l, 12.0, 1e-12, 0.0);
    check_int(b->uses, 1U << FL_USE_PLANTS_ONLY);
    check_contains(s.builds[1].trouble.ptr, "count of \"fern\": give 1 to 1000");
    check_int(s.study.builds[1].n_lines, 0);
    strike_stage(&s);
}

/* What stands ready goes first, a climbing mother gives three cuttings a plant, the rest is bought;
 * nothing is given twice, and the earlier need comes first. */
static void test_stock_then_cut_then_buy(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    s.bin_2 = fl_keeper_place(&s.k, "bin 2", FL_PLACE_BIN, 0, 23.0);
    const fl_id ready = own(&s, s.fern, s.shelf, 2, FL_USE_PLANTS_ONLY);
    const fl_id mother = own(&s, s.fig, s.shelf, 1, FL_USE_STOCK);
    (void)planned(&s, (fl_id){{0}}, "2026-12-01",
                  "{\"plants\":[{\"name\":\"fern\",\"count\":3},{\"name\":\"fig\",\"count\":4}]}");
    (void)planned(&s, (fl_id){{0}}, "2026-11-01", "{\"plants\":[{\"name\":\"fern\"}]}");
    study(&s);
    const fl_build_outlook *early = &s.study.builds[0];
    const fl_build_outlook *late = &s.study.builds[1];
    check_int(early->n_lines, 1);
    check_int(early->lines[0].means, FL_BUILD_FROM_STOCK);
    check_true(fl_id_eq(early->lines[0].lot->id, ready));
    check_int(late->n_lines, 4);
    check_int(late->lines[0].means, FL_BUILD_FROM_STOCK);
    check_int(late->lines[0].count, 1);
    check_int(late->lines[1].means, FL_BUILD_BY_BUYING);
    check_int(late->lines[1].count, 2);
    check_int(late->lines[2].means, FL_BUILD_BY_CUTTING);
    check_int(late->lines[2].count, 3);
    check_true(fl_id_eq(late->lines[2].prospect->mother->id, mother));
    check_int(late->lines[3].means, FL_BUILD_BY_BUYING);
    check_int(late->lines[3].count, 1);
    check_int(s.study.plan.late_days, 0);
    check_true(late->ready_s <= late->plant_s);
    check_true(late->lines[1].from_s <= late->lines[1].by_s);
    check_int(s.study.n_bins, 2); /* the mothers' bin is not free */
    check_int(s.study.n_bins_shut, 1);
    check_true(late->sum > 0.0 && late->worst != NULL);
    strike_stage(&s);
}

/* The days of a purchase are the gate's own: bought on that day and treated as planned, the lot
 * opens when the study said; tissue culture sooner than a chain store; frogs later than plants. */
static void test_days_are_the_gates(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    (void)planned(&s, (fl_id){{0}}, "2026-12-01", "{\"plants\":[{\"name\":\"fern\"}]}");
    (void)planned(&s, (fl_id){{0}}, "2026-12-02",
                  "{\"uses\":[\"amphibian\"],\"plants\":[{\"name\":\"fern\"}]}");
    study(&s);
    const fl_build_line *plain = &s.study.builds[0].lines[0];
    const fl_build_line *frogs = &s.study.builds[1].lines[0];
    check_int(plain->n_prospects, 2);
    check_true(fl_id_eq(plain->prospects[0].source->source, s.lab));
    check_true(plain->prospects[0].gate_days < plain->prospects[1].gate_days);
    check_true(plain->prospects[0].gate_days <= frogs->prospects[0].gate_days);
    check_true(plain->prospects[1].gate_days < frogs->prospects[1].gate_days);
    check_true(plain->prospects[1].gate_days >= 14); /* the least days of plants only */
    check_true(frogs->prospects[0].gate_days >= 28); /* of amphibians */
    strike_stage(&s);
}

/* One bin and two sources told: the second must wait for the first, and one more bin would help. */
static void test_short_of_bins(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    (void)own(&s, s.fig, s.shelf, 1, FL_USE_STOCK);
    const fl_id market = fl_keeper_source(&s.k, "market", FL_SOURCE_MARKET_STALL, false);
    char a[FL_ID_TEXT_MAX];
    char b[FL_ID_TEXT_MAX];
    fl_str text;
    fl_str_init(&text, 400);
    fl_str_appendf(&text,
                   "{\"plants\":[{\"name\":\"fern\",\"source\":\"%s\"},"
                   "{\"name\":\"moss\",\"source\":\"%s\"}]}",
                   fl_id_format(a, s.store), fl_id_format(b, market));
    (void)planned(&s, (fl_id){{0}}, "2026-05-20", text.ptr);
    study(&s);
    check_int(s.study.n_bins, 1);
    check_true(s.study.plan.late_days > 0);
    check_true(s.study.plan.bound <= s.study.plan.late_days);
    check_int(s.study.plan.bound, s.study.plan.late_days); /* one bin: due order is the best */
    check_true(s.study.help_late_days[FL_BUILD_HELP_BIN] < s.study.plan.late_days);
    check_true(s.study.help_late_days[FL_BUILD_HELP_CULTURE] < s.study.plan.late_days);
    check_true(s.study.help_late_days[FL_BUILD_HELP_WARM] >= 0);
    check_true(s.study.builds[0].first_need_s > s.study.builds[0].build->need_s);
    fl_str_done(&text);
    strike_stage(&s);
}

/* Nothing sells it and no mother has it: said, not guessed. */
static void test_no_way(void **state)
{
    (void)state;
    stage s;
    fl_keeper_init(&s.k);
    fl_arena_init(&s.arena);
    settings(&s.k);
    s.tank = (fl_id){{0}};
    (void)fl_keeper_place(&s.k, "bin", FL_PLACE_BIN, 0, 23.0);
    (void)planned(&s, (fl_id){{0}}, "2026-12-01", "{\"plants\":[{\"name\":\"fern\"}]}");
    study(&s);
    check_int(s.study.builds[0].lines[0].means, FL_BUILD_NOT_AT_ALL);
    check_int(s.study.builds[0].lines[0].n_prospects, 0);
    check_true(s.study.builds[0].first_need_s == FL_GATE_NEVER);
    strike_stage(&s);
}

/* 21 days at 23 C, by a Q10 of 2: half as long 10 degrees warmer, were it not clamped at 28. */
static void test_rooting_days(void **state)
{
    (void)state;
    check_close(fl_build_rooting_days(21.0, 23.0), 21.0, 1e-12, 0.0);
    check_close(fl_build_rooting_days(21.0, 18.0), 21.0 * sqrt(2.0), 1e-12, 0.0);
    check_close(fl_build_rooting_days(21.0, 33.0), 21.0 / sqrt(2.0), 1e-12, 0.0);
    check_close(fl_build_rooting_days(21.0, 5.0), 21.0 * sqrt(2.0), 1e-12, 0.0);
    check_true(isnan(fl_build_rooting_days((double)NAN, 23.0)));
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_which_are_open),
    cmocka_unit_test(test_stock_then_cut_then_buy),
    cmocka_unit_test(test_days_are_the_gates),
    cmocka_unit_test(test_short_of_bins),
    cmocka_unit_test(test_no_way),
    cmocka_unit_test(test_rooting_days),
};
FL_TEST_MAIN(tests)
