/* The keeper's lines, each an event. */
#include "support/keeper.h"

#include <math.h>
#include <string.h>

void fl_keeper_init(fl_keeper *k)
{
    memset(k, 0, sizeof *k);
    (void)fl_temp_folder(k->dir);
    k->now_s = FL_KEEPER_START_S;
    k->next_id = 1;
    check_ok(fl_app_open(k->dir, true, 60, fl_clock_fixed(&k->now_s), &k->app, &k->err), &k->err);
}

static void forget(fl_keeper *k)
{
    fl_chances_free(k->chances);
    k->chances = NULL;
    fl_room_done(&k->room);
    memset(&k->room, 0, sizeof k->room);
}

void fl_keeper_done(fl_keeper *k)
{
    forget(k);
    fl_app_close(&k->app);
    fl_remove_folder(k->dir);
}

void fl_keeper_day(fl_keeper *k, int day, int hour)
{
    k->now_s = FL_KEEPER_START_S + (int64_t)day * FL_DAY_S + (int64_t)hour * FL_HOUR_S;
}

fl_id fl_keeper_id(fl_keeper *k)
{
    fl_id id = {{0}};
    uint64_t number = k->next_id++;
    id.b[0] = 0x10;
    id.b[6] = 0x40;
    id.b[8] = 0x80;
    for (int i = 0; i < 4; i++) {
        id.b[15 - i] = (uint8_t)(number >> (8 * i));
    }
    return id;
}

void fl_keeper_record(fl_keeper *k, fl_event *event)
{
    event->id = fl_keeper_id(k);
    event->at_s = k->now_s;
    check_ok(fl_app_record_events(&k->app, event, 1, &k->err), &k->err);
}

fl_id fl_keeper_source(fl_keeper *k, const char *name, fl_source_kind kind, bool has_animals)
{
    fl_event event = {.kind = FL_KIND_SOURCE_SET};
    event.body.source_set = (fl_ev_source_set){.source = fl_keeper_id(k),
                                               .name = fl_sv_from_cstr(name),
                                               .kind = kind,
                                               .has_animals_with_plants = has_animals};
    fl_keeper_record(k, &event);
    return event.body.source_set.source;
}

fl_id fl_keeper_place(fl_keeper *k, const char *name, fl_place_kind kind, unsigned uses,
                      double temp_c)
{
    fl_event event = {.kind = FL_KIND_PLACE_SET};
    event.body.place_set = (fl_ev_place_set){.place = fl_keeper_id(k),
                                             .name = fl_sv_from_cstr(name),
                                             .kind = kind,
                                             .uses = uses,
                                             .has_gasket = true,
                                             .set_temp_c = temp_c,
                                             .volume_l = (double)NAN,
                                             .shelf = -1};
    fl_keeper_record(k, &event);
    return event.body.place_set.place;
}

fl_id fl_keeper_arrive(fl_keeper *k, fl_id source, fl_id arrival, fl_id place, fl_form form,
                       fl_use use, int count)
{
    fl_event event = {.kind = FL_KIND_LOT_ARRIVED};
    event.body.lot_arrived = (fl_ev_lot_arrived){.lot = fl_keeper_id(k),
                                                 .arrival = arrival,
                                                 .source = source,
                                                 .name = FL_SV("a plant"),
                                                 .count = count,
                                                 .form = form,
                                                 .use = use,
                                                 .place = place,
                                                 .cost = (double)NAN};
    fl_keeper_record(k, &event);
    return event.body.lot_arrived.lot;
}

fl_id fl_keeper_already_here(fl_keeper *k, fl_id place, int count)
{
    fl_event event = {.kind = FL_KIND_LOT_ALREADY_HERE};
    event.body.lot_already_here = (fl_ev_lot_already_here){.lot = fl_keeper_id(k),
                                                           .name = FL_SV("an old plant"),
                                                           .count = count,
                                                           .form = FL_FORM_POTTED,
                                                           .use = FL_USE_STOCK,
                                                           .place = place};
    fl_keeper_record(k, &event);
    return event.body.lot_already_here.lot;
}

fl_id fl_keeper_cut(fl_keeper *k, fl_id mother, fl_id place, int count)
{
    fl_event event = {.kind = FL_KIND_LOT_CUT};
    event.body.lot_cut = (fl_ev_lot_cut){.mother = mother,
                                         .lot = fl_keeper_id(k),
                                         .count = count,
                                         .form = FL_FORM_UNROOTED_CUTTING,
                                         .use = FL_USE_STOCK,
                                         .place = place};
    fl_keeper_record(k, &event);
    return event.body.lot_cut.lot;
}

void fl_keeper_move(fl_keeper *k, fl_id lot, fl_id to)
{
    fl_event event = {.kind = FL_KIND_LOT_MOVED};
    event.body.lot_moved = (fl_ev_lot_moved){.lots = {&lot, 1}, .to = to};
    fl_keeper_record(k, &event);
}

void fl_keeper_step(fl_keeper *k, const fl_id *lots, size_t n, fl_step step, fl_agent agent,
                    const char *tub)
{
    fl_ev_step one = {.lots = {lots, n},
                      .step = step,
                      .agent = agent,
                      .dose_mg_per_l = (double)NAN,
                      .pct = (double)NAN,
                      .temp_c = (double)NAN,
                      .minutes = 10.0,
                      .tub = fl_sv_from_cstr(tub)};
    fl_event event = {.kind = FL_KIND_STEP_DONE};
    event.body.step_done = (fl_ev_step_done){.steps = &one, .n_steps = 1};
    fl_keeper_record(k, &event);
}

void fl_keeper_step_as(fl_keeper *k, fl_id lot, fl_ev_step step)
{
    step.lots = (fl_id_list){&lot, 1};
    fl_event event = {.kind = FL_KIND_STEP_DONE};
    event.body.step_done = (fl_ev_step_done){.steps = &step, .n_steps = 1};
    fl_keeper_record(k, &event);
}

fl_id fl_keeper_split(fl_keeper *k, fl_id lot, int count)
{
    fl_event event = {.kind = FL_KIND_LOT_SPLIT};
    event.body.lot_split =
        (fl_ev_lot_split){.lot = lot, .new_lot = fl_keeper_id(k), .count = count};
    fl_keeper_record(k, &event);
    return event.body.lot_split.new_lot;
}

void fl_keeper_release(fl_keeper *k, fl_id lot, fl_id to)
{
    fl_event event = {.kind = FL_KIND_LOT_RELEASED};
    event.body.lot_released = (fl_ev_lot_released){.lot = lot, .to = to};
    fl_keeper_record(k, &event);
}

void fl_keeper_animals(fl_keeper *k, fl_id place, const char *name, unsigned uses, bool has_animals)
{
    fl_event event = {.kind = FL_KIND_PLACE_SET};
    event.body.place_set = (fl_ev_place_set){.place = place,
                                             .name = fl_sv_from_cstr(name),
                                             .kind = FL_PLACE_ENCLOSURE,
                                             .uses = uses,
                                             .has_animals = has_animals,
                                             .set_temp_c = 23.0,
                                             .volume_l = (double)NAN,
                                             .shelf = -1};
    fl_keeper_record(k, &event);
}

void fl_keeper_clean(fl_keeper *k, fl_id place)
{
    fl_event event = {.kind = FL_KIND_PLACE_CLEANED};
    event.body.place_cleaned =
        (fl_ev_place_cleaned){.place = place, .agent = FL_AGENT_BLEACH, .efficacy = (double)NAN};
    fl_keeper_record(k, &event);
}

fl_id fl_keeper_look(fl_keeper *k, fl_id place, fl_effort effort, unsigned devices,
                     const char *threat, fl_id lot)
{
    fl_ev_finding finding = {.finding = fl_keeper_id(k),
                             .lot = lot,
                             .threat = fl_sv_from_cstr(threat),
                             .count = 1,
                             .is_removed = true,
                             .what = FL_SV("seen")};
    fl_event event = {.kind = FL_KIND_LOOK_DONE};
    event.body.look_done = (fl_ev_look_done){.place = place,
                                             .effort = effort,
                                             .devices = devices,
                                             .frac_examined = 1.0,
                                             .hands = FL_HANDS_CLEANED,
                                             .findings = &finding,
                                             .n_findings = threat == NULL ? 0 : 1};
    fl_keeper_record(k, &event);
    return finding.finding;
}

void fl_keeper_ask(fl_keeper *k)
{
    forget(k);
    check_ok(fl_room_load(&k->app, &k->room, &k->err), &k->err);
    check_ok(fl_chances_new(&k->room, &k->app, &k->chances, &k->err), &k->err);
}

const fl_lot *fl_keeper_lot(fl_keeper *k, fl_id lot)
{
    const fl_lot *found = fl_meaning_lot(&k->room.meaning, lot);
    check_true(found != NULL);
    return found;
}

fl_lot_chance fl_keeper_chance(fl_keeper *k, fl_id lot, const char *threat)
{
    fl_lot_chance chances[64];
    size_t n = 0;
    check_true(fl_know_threat_count() <= 64);
    check_ok(fl_chances_of_lot(k->chances, fl_keeper_lot(k, lot), chances, &n, &k->err), &k->err);
    for (size_t i = 0; i < n; i++) {
        if (strcmp(chances[i].threat->code, threat) == 0) {
            return chances[i];
        }
    }
    fail_msg("the lot has no chance of %s", threat);
    return chances[0];
}

fl_gate_report fl_keeper_gate(fl_keeper *k, fl_id lot, unsigned uses)
{
    fl_gate_report report;
    memset(&report, 0, sizeof report);
    check_ok(fl_gate_ask(k->chances, &k->room, fl_keeper_lot(k, lot), uses, &k->room.arena, &report,
                         &k->err),
             &k->err);
    return report;
}

fl_condition fl_keeper_condition(fl_keeper *k, fl_id lot, unsigned uses, fl_condition_kind kind)
{
    return fl_keeper_gate(k, lot, uses).answer.conditions[kind];
}

void fl_keeper_verify(fl_keeper *k)
{
    fl_verified verified;
    check_ok(fl_app_verify(&k->app, &verified, &k->err), &k->err);
}
