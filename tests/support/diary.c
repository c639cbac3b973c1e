/* The diary: a beginning with the room's things, then one random event after another. */
#include "support/diary.h"

#include <math.h>
#include <string.h>

#include "base/limits.h"
#include "base/rng.h"
#include "json/event_codec.h"
#include "support/check.h"

#define THINGS_MAX 5000
#define N_SOURCES 3
#define N_PLANTS 4
#define N_PLACES 9
#define STEPS_MAX 4
#define LATE_S (20 * (int64_t)FL_DAY_S)

/* Ids that were handed out so far. */
typedef struct things {
    fl_id ids[THINGS_MAX];
    size_t n;
} things;

typedef struct diary {
    fl_rng rng;
    fl_arena *arena;
    int64_t now_s;
    fl_id sources[N_SOURCES];
    fl_id plants[N_PLANTS];
    fl_id places[N_PLACES];
    fl_id bottle;
    fl_id arrival;
    things lots, findings, holds, events, runs;
    fl_id few[3]; /* of a list in the event at hand */
    fl_ev_step steps[STEPS_MAX];
    fl_ev_finding finding;
} diary;

static fl_id new_id(diary *d)
{
    fl_id id;
    uint64_t words[2] = {fl_rng_next(&d->rng), fl_rng_next(&d->rng)};
    memcpy(id.b, words, sizeof id.b);
    id.b[6] = (uint8_t)((id.b[6] & 0x0f) | 0x40);
    id.b[8] = (uint8_t)((id.b[8] & 0x3f) | 0x80);
    return id;
}

static size_t below(diary *d, size_t bound)
{
    return (size_t)fl_rng_below(&d->rng, bound);
}

static bool by_chance(diary *d, double prob)
{
    return fl_rng_uniform(&d->rng) < prob;
}

static fl_id any_of(diary *d, const things *set)
{
    return set->ids[below(d, set->n)];
}

static fl_id keep(things *set, fl_id id)
{
    check_true(set->n < THINGS_MAX);
    set->ids[set->n++] = id;
    return id;
}

static fl_id any_place(diary *d)
{
    return d->places[below(d, N_PLACES)];
}

/* One to three different lots, in d->few. */
static fl_id_list some_lots(diary *d)
{
    size_t tries = 1 + below(d, 3);
    size_t n = 0;
    for (; tries > 0; tries--) {
        fl_id lot = any_of(d, &d->lots);
        bool is_new = true;
        for (size_t i = 0; i < n; i++) {
            is_new = is_new && !fl_id_eq(d->few[i], lot);
        }
        if (is_new) {
            d->few[n++] = lot;
        }
    }
    return (fl_id_list){d->few, n};
}

/* ---- the room's things ---- */

static void place_set(diary *d, size_t i, fl_event *event)
{
    static const fl_place_kind kinds[N_PLACES] = {
        FL_PLACE_BENCH,     FL_PLACE_BIN, FL_PLACE_BIN,       FL_PLACE_BIN,    FL_PLACE_BIN,
        FL_PLACE_OPEN_SPOT, FL_PLACE_JAR, FL_PLACE_ENCLOSURE, FL_PLACE_OUTSIDE};
    event->kind = FL_KIND_PLACE_SET;
    event->body.place_set =
        (fl_ev_place_set){.place = d->places[i],
                          .name = fl_arena_printf(d->arena, "place %zu", i),
                          .kind = kinds[i],
                          .uses = kinds[i] == FL_PLACE_ENCLOSURE ? 1U << FL_USE_AMPHIBIAN : 0,
                          .has_gasket = by_chance(d, 0.5),
                          .set_temp_c = 16.0 + (double)below(d, 10),
                          .volume_l = (double)NAN,
                          .shelf = -1};
}

static void source_set(diary *d, size_t i, fl_event *event)
{
    event->kind = FL_KIND_SOURCE_SET;
    event->body.source_set = (fl_ev_source_set){.source = d->sources[i],
                                                .name = fl_arena_printf(d->arena, "source %zu", i),
                                                .kind = (fl_source_kind)below(d, FL_SOURCE_COUNT),
                                                .has_animals_with_plants = by_chance(d, 0.2)};
}

static void plant_set(diary *d, size_t i, fl_event *event)
{
    event->kind = FL_KIND_PLANT_SET;
    event->body.plant_set =
        (fl_ev_plant_set){.plant = d->plants[i], .name = fl_arena_printf(d->arena, "plant %zu", i)};
}

static void bottle_opened(diary *d, size_t i, fl_event *event)
{
    (void)i;
    event->kind = FL_KIND_BOTTLE_OPENED;
    event->body.bottle_opened = (fl_ev_bottle_opened){.bottle = d->bottle,
                                                      .agent = FL_AGENT_BLEACH,
                                                      .name = FL_SV("bleach"),
                                                      .label_pct = 5.0,
                                                      .specific_gravity = (double)NAN,
                                                      .store_c = (double)NAN};
}

static void already_here(diary *d, size_t i, fl_event *event)
{
    event->kind = FL_KIND_LOT_ALREADY_HERE;
    event->at_s -= (int64_t)below(d, 1000) * FL_DAY_S;
    event->body.lot_already_here = (fl_ev_lot_already_here){.lot = keep(&d->lots, new_id(d)),
                                                            .plant = d->plants[i % N_PLANTS],
                                                            .count = 1 + (int64_t)below(d, 5),
                                                            .form = FL_FORM_POTTED,
                                                            .use = (fl_use)below(d, FL_USE_COUNT),
                                                            .place = any_place(d)};
}

/* ---- random events ---- */

static void arrived(diary *d, fl_event *event)
{
    if (by_chance(d, 0.5)) {
        d->arrival = new_id(d);
    }
    event->kind = FL_KIND_LOT_ARRIVED;
    event->body.lot_arrived =
        (fl_ev_lot_arrived){.lot = keep(&d->lots, new_id(d)),
                            .arrival = d->arrival,
                            .source = d->sources[below(d, N_SOURCES)],
                            .plant = d->plants[below(d, N_PLANTS)],
                            .count = 1 + (int64_t)below(d, 6),
                            .form = (fl_form)below(d, FL_FORM_COUNT),
                            .use = (fl_use)below(d, FL_USE_COUNT),
                            .place = by_chance(d, 0.8) ? d->places[0] : any_place(d),
                            .is_label_clean = by_chance(d, 0.3),
                            .cost = (double)NAN};
}

static void moved(diary *d, fl_event *event)
{
    event->kind = FL_KIND_LOT_MOVED;
    event->body.lot_moved = (fl_ev_lot_moved){.lots = some_lots(d), .to = any_place(d)};
}

static void looked(diary *d, fl_event *event)
{
    static const char *const seen[] = {"", "fungus_gnat", "western_flower_thrips", "perlite"};
    event->kind = FL_KIND_LOOK_DONE;
    fl_ev_look_done *look = &event->body.look_done;
    *look = (fl_ev_look_done){.place = any_place(d),
                              .effort = (fl_effort)below(d, FL_EFFORT_COUNT),
                              .devices = by_chance(d, 0.3) ? 1U << FL_DEVICE_YELLOW_CARD : 0,
                              .frac_examined = by_chance(d, 0.8) ? 1.0 : 0.5,
                              .hands = (fl_hands)below(d, FL_HANDS_COUNT)};
    if (by_chance(d, 0.15)) {
        look->lots = some_lots(d);
    }
    if (by_chance(d, 0.2)) {
        d->finding = (fl_ev_finding){.finding = keep(&d->findings, new_id(d)),
                                     .threat = fl_sv_from_cstr(seen[below(d, 4)]),
                                     .count = 1 + (int64_t)below(d, 3),
                                     .is_removed = by_chance(d, 0.7),
                                     .what = FL_SV("something that moved")};
        look->findings = &d->finding;
        look->n_findings = 1;
        (void)keep(&d->holds, fl_event_hold_of(d->finding.finding));
    }
}

static fl_ev_step one_step(diary *d, fl_id_list lots)
{
    return (fl_ev_step){.lots = lots,
                        .step = (fl_step)below(d, FL_STEP_COUNT),
                        .agent = by_chance(d, 0.2) ? FL_AGENT_SOAP : FL_AGENT_NONE,
                        .dose_mg_per_l = (double)NAN,
                        .pct = (double)NAN,
                        .temp_c = (double)NAN,
                        .minutes = 1.0 + (double)below(d, 30),
                        .tub = by_chance(d, 0.5) ? FL_SV("tub A") : FL_SV("")};
}

static void steps_done(diary *d, fl_event *event)
{
    fl_id_list lots = some_lots(d);
    size_t n = 1 + below(d, STEPS_MAX);
    for (size_t i = 0; i < n; i++) {
        d->steps[i] = one_step(d, lots);
    }
    event->kind = FL_KIND_STEP_DONE;
    event->body.step_done = (fl_ev_step_done){.steps = d->steps, .n_steps = n};
    if (d->runs.n > 0 && by_chance(d, 0.3)) {
        event->body.step_done.run = any_of(d, &d->runs);
    }
}

static void step_started(diary *d, fl_event *event)
{
    event->kind = FL_KIND_STEP_STARTED;
    event->body.step_started = (fl_ev_step_started){
        .run = keep(&d->runs, new_id(d)), .step = one_step(d, some_lots(d)), .planned_s = 600};
}

static void cleaned(diary *d, fl_event *event)
{
    event->kind = FL_KIND_PLACE_CLEANED;
    event->body.place_cleaned = (fl_ev_place_cleaned){
        .place = any_place(d), .agent = FL_AGENT_BLEACH, .efficacy = (double)NAN};
}

static void cut(diary *d, fl_event *event)
{
    event->kind = FL_KIND_LOT_CUT;
    event->body.lot_cut =
        (fl_ev_lot_cut){.mother = any_of(d, &d->lots),
                        .count = 1 + (int64_t)below(d, 6),
                        .form = by_chance(d, 0.7) ? FL_FORM_UNROOTED_CUTTING : FL_FORM_BARE_ROOT,
                        .use = FL_USE_STOCK,
                        .place = any_place(d)};
    event->body.lot_cut.lot = keep(&d->lots, new_id(d));
}

static void split(diary *d, fl_event *event)
{
    event->kind = FL_KIND_LOT_SPLIT;
    event->body.lot_split =
        (fl_ev_lot_split){.lot = any_of(d, &d->lots), .count = 1 + (int64_t)below(d, 3)};
    event->body.lot_split.new_lot = keep(&d->lots, new_id(d));
}

static void lost(diary *d, fl_event *event)
{
    event->kind = FL_KIND_LOT_LOST;
    event->body.lot_lost =
        (fl_ev_lot_lost){.lot = any_of(d, &d->lots), .count = 1, .why = FL_SV("rotted")};
}

static void released(diary *d, fl_event *event)
{
    event->kind = FL_KIND_LOT_RELEASED;
    event->body.lot_released = (fl_ev_lot_released){
        .lot = any_of(d, &d->lots), .to = any_place(d), .is_against_gate = by_chance(d, 0.5)};
}

static void card_set(diary *d, fl_event *event)
{
    event->kind = FL_KIND_CARD_SET;
    event->body.card_set = (fl_ev_card_set){
        .place = any_place(d), .device = FL_DEVICE_YELLOW_CARD, .is_taken_away = by_chance(d, 0.4)};
}

/* Says something more of a finding; a look when there is none yet. */
static void more_of_finding(diary *d, fl_event *event)
{
    if (d->findings.n == 0) {
        looked(d, event);
    } else if (by_chance(d, 0.7)) {
        static const char *const names[] = {"fungus_gnat", "citrus_mealybug", "springtail"};
        event->kind = FL_KIND_FINDING_IDENTIFIED;
        event->body.finding_identified = (fl_ev_finding_identified){
            .finding = any_of(d, &d->findings), .threat = fl_sv_from_cstr(names[below(d, 3)])};
    } else {
        event->kind = FL_KIND_FINDING_RETRACTED;
        event->body.finding_retracted =
            (fl_ev_finding_retracted){.finding = any_of(d, &d->findings), .why = FL_SV("dust")};
    }
}

static void hold(diary *d, fl_event *event)
{
    if (d->holds.n == 0 || by_chance(d, 0.4)) {
        event->kind = FL_KIND_HOLD_SET;
        event->body.hold_set = (fl_ev_hold_set){
            .hold = keep(&d->holds, new_id(d)), .place = any_place(d), .why = FL_SV("wait")};
    } else {
        event->kind = FL_KIND_HOLD_LIFTED;
        event->body.hold_lifted =
            (fl_ev_hold_lifted){.hold = any_of(d, &d->holds), .why = FL_SV("quiet")};
    }
}

static void tolerated(diary *d, fl_event *event)
{
    event->kind = FL_KIND_TOLERATED_SET;
    event->body.tolerated_set = (fl_ev_tolerated_set){
        .place = any_place(d), .threat = FL_SV("fungus_gnat"), .is_tolerated = by_chance(d, 0.6)};
}

static void animal(diary *d, fl_event *event)
{
    event->kind = FL_KIND_ANIMAL_NOTED;
    event->body.animal_noted = (fl_ev_animal_noted){.place = any_place(d),
                                                    .what = (fl_animal_event)below(d, 2),
                                                    .animal = FL_SV("a frog"),
                                                    .sampled_s = INT64_MIN};
    (void)keep(&d->holds, fl_event_hold_of(event->id));
}

static void voided(diary *d, fl_event *event)
{
    event->kind = FL_KIND_EVENT_VOIDED;
    event->body.event_voided =
        (fl_ev_event_voided){.event = any_of(d, &d->events), .why = FL_SV("a slip")};
}

/* The same place with other figures; now and then it becomes another kind of place. */
static void place_changed(diary *d, fl_event *event)
{
    place_set(d, below(d, N_PLACES), event);
    if (by_chance(d, 0.5)) {
        event->body.place_set.kind = (fl_place_kind)below(d, FL_PLACE_COUNT);
    }
}

/* What is neither about lots nor about places. */
static void aside(diary *d, fl_event *event)
{
    switch (below(d, 5)) {
    case 0:
        source_set(d, below(d, N_SOURCES), event);
        return;
    case 1:
        plant_set(d, below(d, N_PLANTS), event);
        return;
    case 2:
        event->kind = FL_KIND_BOTTLE_TESTED;
        event->body.bottle_tested =
            (fl_ev_bottle_tested){.bottle = d->bottle, .strength_pct = 3.0 + (double)below(d, 3)};
        return;
    case 3:
        event->kind = FL_KIND_BUILD_PLANNED;
        event->body.build_planned = (fl_ev_build_planned){
            .build = new_id(d), .name = FL_SV("a wall of moss"), .need_by = FL_SV("2026-09-01")};
        return;
    default:
        event->kind = FL_KIND_KNOWLEDGE_SET;
        event->body.knowledge_set = (fl_ev_knowledge_set){.table = FL_SV("threats"),
                                                          .row = FL_SV("fungus_gnat"),
                                                          .column = FL_SV("prior"),
                                                          .value = 0.25,
                                                          .why = FL_SV("so it seems")};
        return;
    }
}

/* ---- the diary ---- */

static void any_event(diary *d, fl_event *event)
{
    static const struct {
        int share;
        void (*make)(diary *d, fl_event *event);
    } table[] = {{14, arrived},      {22, moved},    {24, looked},  {9, steps_done},
                 {2, step_started},  {6, cleaned},   {4, cut},      {3, split},
                 {3, lost},          {4, released},  {3, card_set}, {4, more_of_finding},
                 {3, hold},          {1, tolerated}, {1, animal},   {4, voided},
                 {1, place_changed}, {30, aside}};
    int sum = 0;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        sum += table[i].share;
    }
    int drawn = (int)below(d, (size_t)sum);
    size_t at = 0;
    for (; drawn >= table[at].share; at++) {
        drawn -= table[at].share;
    }
    table[at].make(d, event);
}

static void settings(diary *d, size_t i, fl_event *event)
{
    (void)d;
    (void)i;
    event->kind = FL_KIND_ROOM_SET;
    event->body.room_set =
        (fl_ev_room_set){.name = FL_SV("a room"), .round_weekday = 6, .round_effort = 1};
}

static void beginning(diary *d, size_t i, fl_event *event)
{
    static const struct {
        size_t n;
        void (*make)(diary *d, size_t i, fl_event *event);
    } table[] = {{1, settings},         {N_SOURCES, source_set}, {N_PLANTS, plant_set},
                 {N_PLACES, place_set}, {1, bottle_opened},      {6, already_here}};
    for (size_t t = 0; t < sizeof table / sizeof table[0]; t++) {
        if (i < table[t].n) {
            table[t].make(d, i, event);
            return;
        }
        i -= table[t].n;
    }
    any_event(d, event);
}

static fl_sv next_event(diary *d, size_t i)
{
    fl_err err;
    fl_str text;
    bool is_late = by_chance(d, 0.1);
    fl_event event = {.id = new_id(d)};
    event.at_s = d->now_s - (is_late ? (int64_t)below(d, LATE_S) : 0);
    beginning(d, i, &event);
    (void)keep(&d->events, event.id);
    fl_str_init(&text, FL_EVENT_BYTES_MAX);
    check_ok(fl_event_write(&event, &text, &err), &err);
    fl_sv copy = fl_arena_copy_sv(d->arena, fl_str_sv(&text));
    fl_str_done(&text);
    return copy;
}

fl_sv *fl_diary(uint64_t seed, size_t n, fl_arena *arena)
{
    diary *d = FL_ARENA_NEW(arena, diary);
    fl_sv *lines = FL_ARENA_ARRAY(arena, fl_sv, n);
    check_true(n >= 30 && n <= THINGS_MAX / 2);
    *d = (diary){.rng = {seed}, .arena = arena};
    int64_t step_s = 400 * (int64_t)FL_DAY_S / (int64_t)n;
    d->now_s = FL_DIARY_END_S - 401 * (int64_t)FL_DAY_S;
    for (size_t i = 0; i < N_SOURCES; i++) {
        d->sources[i] = new_id(d);
    }
    for (size_t i = 0; i < N_PLANTS; i++) {
        d->plants[i] = new_id(d);
    }
    for (size_t i = 0; i < N_PLACES; i++) {
        d->places[i] = new_id(d);
    }
    d->bottle = new_id(d);
    d->arrival = new_id(d);
    for (size_t i = 0; i < n; i++) {
        lines[i] = next_event(d, i);
        d->now_s += step_s;
    }
    return lines;
}
