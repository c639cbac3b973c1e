/* What is planned: from the room as it is now. */
#include <stdlib.h>
#include <string.h>

#include "app/build.h"
#include "app/calendar_work.h"
#include "app/gate.h"
#include "app/mothers.h"
#include "app/routine.h"
#include "app/today.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_calendar[FL_CALENDAR_COUNT] = {FL_CALENDAR_LIST(FL_WORD_ENTRY)};

#define WEEK_D 7
#define UNKNOWN_WEEKS 8 /* rounds shown for what has no date as things go */
#define NAMES_MAX 12

int64_t fl_calendar_day(const fl_room *room, int64_t at_s)
{
    fl_civil c = fl_civil_from_utc(at_s, room->tz_offset_min);
    return fl_civil_days(c.year, c.month, c.day);
}

static fl_id uid_of(const fl_calendar_plan *p, const char *kind, const void *what, size_t len)
{
    fl_id of_kind = fl_id_derive(p->root, fl_sv_from_cstr(kind));
    return fl_id_derive(of_kind, (fl_sv){what, len});
}

static void push(fl_calendar_plan *p, fl_calendar_entry entry)
{
    if (p->n < FL_CALENDAR_ENTRIES_MAX) {
        p->entries[p->n++] = entry;
    }
}

/* ---- rounds ---- */

/* What a round day looks at. */
typedef struct round_day {
    size_t n_places;
    fl_sv names;
} round_day;

static int64_t next_round_day(const fl_room *room, int64_t from_day)
{
    /* 1970-01-01 was a Thursday: weekday 3, Monday being 0 */
    int64_t weekday = (from_day % WEEK_D + 3 + WEEK_D) % WEEK_D;
    return from_day + (room->round_weekday - weekday + WEEK_D) % WEEK_D;
}

/* The last look at a place that was not only at some of its lots; INT64_MIN. */
static int64_t last_look_day(const fl_calendar_plan *p, fl_id place)
{
    int64_t day = INT64_MIN;
    for (size_t i = 0; i < p->room->n_events; i++) {
        const fl_event *event = &p->room->events[i];
        if (event->kind == FL_KIND_LOOK_DONE && fl_id_eq(event->body.look_done.place, place)) {
            day = fl_calendar_day(p->room, event->at_s);
        }
    }
    return day;
}

/* When the last lot in the place is expected to be quiet enough; INT64_MAX: no date. */
static fl_status opens_on(fl_calendar_plan *p, fl_chances *chances, fl_id place, int64_t *day,
                          fl_err *err)
{
    const fl_meaning *meaning = &p->room->meaning;
    fl_status status = FL_OK;
    *day = p->today;
    for (size_t i = 0; i < meaning->n_lots && status == FL_OK; i++) {
        const fl_lot *lot = &meaning->lots[i];
        fl_gate_report report;
        fl_phase phase = fl_phase_of(p->room, lot);
        if (lot->is_gone || !fl_id_eq(lot->place, place) ||
            (phase != FL_PHASE_QUARANTINE && phase != FL_PHASE_HELD)) {
            continue;
        }
        status = fl_gate_ask(chances, p->room, lot, 0, p->arena, &report, err);
        if (status == FL_OK && report.answer.earliest_s == FL_GATE_NEVER) {
            *day = INT64_MAX;
        } else if (status == FL_OK && *day != INT64_MAX) {
            int64_t own = fl_calendar_day(p->room, report.answer.earliest_s);
            *day = own > *day ? own : *day;
        }
    }
    return status;
}

static void name_place(fl_calendar_plan *p, round_day *day, fl_id place)
{
    fl_sv name = fl_room_place_name(p->room, place);
    if (day->n_places == 0) {
        day->names = name;
    } else if (day->n_places < NAMES_MAX) {
        day->names =
            fl_arena_printf(p->arena, "%.*s, %.*s", FL_SV_ARG(day->names), FL_SV_ARG(name));
    }
    day->n_places++;
}

/* The release of a place is an entry of its own, with each of its lots. */
static void push_release(fl_calendar_plan *p, const fl_ev_place_set *place, int64_t day)
{
    const fl_fill *fill = fl_meaning_fill_at(&p->room->meaning, place->place, p->room->now_s);
    fl_id about = fill != NULL ? fill->id : place->place;
    fl_sv lots = FL_SV("");
    for (size_t i = 0; i < p->room->meaning.n_lots; i++) {
        const fl_lot *lot = &p->room->meaning.lots[i];
        fl_phase phase = fl_phase_of(p->room, lot);
        if (!lot->is_gone && fl_id_eq(lot->place, place->place) &&
            (phase == FL_PHASE_QUARANTINE || phase == FL_PHASE_HELD)) {
            fl_sv name = fl_room_lot_name(p->room, lot);
            lots = fl_arena_printf(p->arena, "%.*s%s%.*s", FL_SV_ARG(lots),
                                   lots.len > 0 ? ", " : "", FL_SV_ARG(name));
        }
    }
    push(p, (fl_calendar_entry){
                .kind = FL_CALENDAR_RELEASE,
                .uid = uid_of(p, "release", about.b, sizeof about.b),
                .day = day,
                .minute = -1,
                .at_s = INT64_MIN,
                .summary =
                    fl_arena_printf(p->arena, "%.*s could be quiet enough", FL_SV_ARG(place->name)),
                .text = fl_arena_printf(p->arena,
                                        "%.*s. Expected if every look until then finds nothing; a "
                                        "look may move it. Ask the gate before anything leaves.",
                                        FL_SV_ARG(lots))});
}

static fl_status plan_place(fl_calendar_plan *p, fl_chances *chances, const fl_ev_place_set *place,
                            round_day *days, fl_err *err)
{
    int64_t opens = 0;
    fl_status status = opens_on(p, chances, place->place, &opens, err);
    if (status != FL_OK) {
        return status;
    }
    int64_t last_look = last_look_day(p, place->place);
    int64_t first = next_round_day(p->room, p->today);
    if (last_look >= p->today || last_look + 4 > first) { /* today's look was done */
        first = next_round_day(p->room, (last_look > p->today ? last_look : p->today) + 1);
    }
    int64_t end = opens == INT64_MAX ? p->today + (int64_t)UNKNOWN_WEEKS * WEEK_D : opens;
    if (end < first) { /* a look is what it waits for */
        end = first;
    }
    for (int64_t day = first; day <= end && day < p->today + FL_CALENDAR_AHEAD_DAYS;
         day += WEEK_D) {
        name_place(p, &days[day - p->today], place->place);
    }
    if (opens != INT64_MAX && opens > p->today && opens < p->today + FL_CALENDAR_AHEAD_DAYS) {
        push_release(p, place, opens);
    }
    return FL_OK;
}

static fl_status plan_rounds(fl_calendar_plan *p, fl_chances *chances, fl_err *err)
{
    fl_status status = FL_OK;
    round_day *days = FL_ARENA_ARRAY(p->arena, round_day, FL_CALENDAR_AHEAD_DAYS);
    for (size_t i = 0; i < p->room->defs.places.count && status == FL_OK; i++) {
        const fl_ev_place_set *place = &p->room->defs.places.events[i]->body.place_set;
        bool is_looked_at = place->kind != FL_PLACE_BENCH && place->kind != FL_PLACE_OUTSIDE;
        if (is_looked_at && fl_routine_count_in(p->room, place->place).quarantine > 0) {
            status = plan_place(p, chances, place, days, err);
        }
    }
    for (int64_t k = 0; k < FL_CALENDAR_AHEAD_DAYS && status == FL_OK; k++) {
        int64_t day = p->today + k;
        if (days[k].n_places == 0) {
            continue;
        }
        fl_sv key = fl_arena_printf(p->arena, "%lld", (long long)day);
        size_t more = days[k].n_places > NAMES_MAX ? days[k].n_places - NAMES_MAX : 0;
        push(p,
             (fl_calendar_entry){
                 .kind = FL_CALENDAR_ROUND,
                 .uid = uid_of(p, "round", key.ptr, key.len),
                 .day = day,
                 .minute = p->minute,
                 .at_s = INT64_MIN,
                 .summary = fl_arena_printf(p->arena, "Round of looks: %zu place%s",
                                            days[k].n_places, days[k].n_places == 1 ? "" : "s"),
                 .text = more > 0 ? fl_arena_printf(p->arena, "%.*s and %zu more.",
                                                    FL_SV_ARG(days[k].names), more)
                                  : fl_arena_printf(p->arena, "%.*s.", FL_SV_ARG(days[k].names))});
    }
    return status;
}

/* ---- soaks, upkeep, builds ---- */

static void plan_soaks(fl_calendar_plan *p)
{
    for (size_t i = 0; i < p->room->n_events; i++) {
        const fl_event *event = &p->room->events[i];
        const fl_ev_step_started *started = &event->body.step_started;
        if (event->kind != FL_KIND_STEP_STARTED || started->planned_s < FL_CALENDAR_SOAK_LEAST_S ||
            fl_room_end_of_run(p->room, started->run) != NULL) {
            continue;
        }
        int64_t due_s = event->at_s + started->planned_s;
        bool has_agent = started->step.agent != FL_AGENT_NONE;
        push(p, (fl_calendar_entry){
                    .kind = FL_CALENDAR_SOAK,
                    .uid = uid_of(p, "soak", started->run.b, sizeof started->run.b),
                    .day = fl_calendar_day(p->room, due_s),
                    .minute = -1,
                    .at_s = due_s,
                    .summary = fl_arena_printf(
                        p->arena, "End of the %s%s%s", fl_words_step[started->step.step].word,
                        has_agent ? " in " : "",
                        has_agent ? fl_words_agent[started->step.agent].text : ""),
                    .text = fl_arena_printf(p->arena, "%zu lot%s.", started->step.lots.count,
                                            started->step.lots.count == 1 ? "" : "s")});
    }
}

/* Mothers whose chance has crept up do not wait for the routine's day. */
static fl_status plan_upkeep(fl_calendar_plan *p, fl_chances *chances, fl_err *err)
{
    const fl_routine_look *looks = NULL;
    fl_mothers_look *mothers = NULL;
    size_t n_mothers = 0;
    fl_status status = fl_mothers_due(chances, p->room, p->arena, &mothers, &n_mothers, err);
    if (status != FL_OK) {
        return status;
    }
    size_t n = fl_routine_looks(p->room, p->arena, &looks);
    for (size_t i = 0; i < n; i++) {
        int64_t due_s = looks[i].due_s;
        fl_sv text = FL_SV("A routine look at what is established.");
        for (size_t k = 0; k < n_mothers; k++) {
            if (fl_id_eq(mothers[k].place, looks[i].place) && mothers[k].due_s < due_s) {
                due_s = mothers[k].due_s;
                text = fl_arena_printf(p->arena, "Mothers: %.*s.",
                                       FL_SV_ARG(fl_mothers_why(&mothers[k], p->arena)));
            }
        }
        int64_t day = fl_calendar_day(p->room, due_s);
        fl_sv name = fl_room_place_name(p->room, looks[i].place);
        if (day >= p->today + FL_CALENDAR_AHEAD_DAYS) {
            continue;
        }
        push(p, (fl_calendar_entry){
                    .kind = FL_CALENDAR_UPKEEP,
                    .uid = uid_of(p, "upkeep", looks[i].place.b, sizeof looks[i].place.b),
                    .day = day > p->today ? day : p->today,
                    .minute = -1,
                    .at_s = INT64_MIN,
                    .summary = fl_arena_printf(p->arena, "Look over %.*s", FL_SV_ARG(name)),
                    .text = text});
    }
    return FL_OK;
}

static void plan_builds(fl_calendar_plan *p)
{
    fl_build *builds = NULL;
    size_t n = 0;
    fl_builds_open(p->room, p->arena, &builds, &n);
    for (size_t i = 0; i < n; i++) {
        const fl_ev_build_planned *body = builds[i].body;
        push(p, (fl_calendar_entry){
                    .kind = FL_CALENDAR_BUILD,
                    .uid = uid_of(p, "build", body->build.b, sizeof body->build.b),
                    .day = fl_calendar_day(p->room, builds[i].need_s),
                    .minute = -1,
                    .at_s = INT64_MIN,
                    .summary = fl_arena_printf(p->arena, "%.*s is needed", FL_SV_ARG(body->name)),
                    .text = FL_SV("What to begin by when: the program's page of builds.")});
        if (builds[i].settle_days > 0) {
            push(p, (fl_calendar_entry){
                        .kind = FL_CALENDAR_BUILD,
                        .uid = uid_of(p, "plant", body->build.b, sizeof body->build.b),
                        .day = fl_calendar_day(p->room, builds[i].need_s) - builds[i].settle_days,
                        .minute = -1,
                        .at_s = INT64_MIN,
                        .summary = fl_arena_printf(p->arena, "Plant %.*s", FL_SV_ARG(body->name)),
                        .text = FL_SV("So that it settles until it is needed.")});
        }
    }
}

fl_status fl_calendar_plan_all(fl_calendar_plan *plan, fl_chances *chances, fl_err *err)
{
    fl_status status = plan_rounds(plan, chances, err);
    if (status == FL_OK) {
        plan_soaks(plan);
        plan_builds(plan);
        status = plan_upkeep(plan, chances, err);
    }
    return status;
}
