/* Snapshots of the room, and how a person names things in it. */
#include "app/room.h"

#include <string.h>

#include "app/fold.h"
#include "base/alloc.h"
#include "base/str.h"

#define NAMES_LISTED_MAX 5

/* ---- loading ---- */

/* Both days, or nothing: a span that cannot be read is none. */
static void read_away(fl_room *room, const fl_ev_room_set *set)
{
    int64_t from_s;
    int64_t until_s;
    fl_precision precision;
    if (set->away_from.len == 0 || set->away_until.len == 0 ||
        fl_civil_parse(set->away_from, room->tz_offset_min, &from_s, &precision, NULL) != FL_OK ||
        fl_civil_parse(set->away_until, room->tz_offset_min, &until_s, &precision, NULL) != FL_OK) {
        return;
    }
    room->away_from_s = from_s;
    room->away_until_s = until_s;
}

bool fl_room_is_away(const fl_room *room, int64_t at_s)
{
    static const int64_t half_day_s = FL_DAY_S / 2; /* the days begin half a day before noon */
    return room->away_from_s != INT64_MAX && at_s >= room->away_from_s - half_day_s &&
           at_s < room->away_until_s - half_day_s;
}

/* The keeper's settings; Sunday and a careful look until told. */
static void read_settings(fl_room *room)
{
    room->round_weekday = 6;
    room->round_effort = FL_EFFORT_CAREFUL;
    room->name = FL_SV("the plant room");
    room->away_from_s = INT64_MAX;
    room->away_until_s = INT64_MAX;
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind != FL_KIND_ROOM_SET) {
            continue;
        }
        const fl_ev_room_set *set = &event->body.room_set;
        if (set->name.len > 0) {
            room->name = set->name;
        }
        if (set->round_weekday >= 0) {
            room->round_weekday = (int)set->round_weekday;
        }
        room->round_effort = set->round_effort;
        room->is_demo = room->is_demo || set->is_demo;
        read_away(room, set);
    }
}

/* A temperature is asked for thousands of times, and told a few times a place: among 200,000 events
 * looking for those was nearly all that `today` did. */
static void list_place_sets(fl_room *room)
{
    size_t n = 0;
    for (size_t i = 0; i < room->n_events; i++) {
        n += room->events[i].kind == FL_KIND_PLACE_SET;
    }
    room->place_sets = FL_ARENA_ARRAY(&room->arena, const fl_event *, n + 1);
    for (size_t i = 0; i < room->n_events; i++) {
        if (room->events[i].kind == FL_KIND_PLACE_SET) {
            room->place_sets[room->n_place_sets++] = &room->events[i];
        }
    }
}

static void take_history(fl_room *room, const fl_history *history)
{
    room->events = history->events;
    room->n_events = history->n_events;
    room->voided = history->voided;
    room->n_voided = history->n_voided;
    fl_history_defs(history, &room->arena, &room->defs);
    list_place_sets(room);
    read_settings(room);
}

static void merge_series(fl_room *room)
{
    fl_series_merge(room->batches, room->n_batches, room->events, room->n_events, &room->arena,
                    &room->series, &room->n_series);
}

static fl_status read_series(fl_app *app, fl_room *room, fl_series_past *past, fl_err *err)
{
    fl_series_batch *batches = NULL;
    fl_status status = fl_series_read(app, room->events, room->n_events, past, &room->arena,
                                      &batches, &room->n_batches, err);
    room->batches = batches;
    if (status == FL_OK) {
        merge_series(room);
    }
    return status;
}

static fl_status read_history(fl_app *app, fl_room *room, fl_history *out, fl_err *err)
{
    fl_journal_row *rows = NULL;
    size_t count = 0;
    fl_status status =
        fl_store_journal_read(app->store, 0, SIZE_MAX, &room->arena, &rows, &count, err);
    return status == FL_OK
               ? fl_history_of_rows(rows, count, app->tz_offset_min, &room->arena, out, err)
               : status;
}

/* ---- what was read before ---- */

void fl_room_past_done(fl_room_past *past)
{
    fl_alloc_free(past->events);
    fl_alloc_free(past->series.batches);
    fl_arena_done(&past->arena);
    *past = (fl_room_past){.position = 0};
}

/* Puts an event where it stands in the order: most are the last. */
static void put_in_order(fl_room_past *past, const fl_event *event)
{
    if (past->n_events == past->cap) {
        past->cap = past->cap == 0 ? 256 : past->cap + past->cap / 2;
        past->events = fl_alloc_resize(past->events, past->cap, sizeof past->events[0]);
    }
    size_t low = 0;
    size_t high = past->n_events;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (fl_event_compare(&past->events[middle], event) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    memmove(&past->events[low + 1], &past->events[low],
            (past->n_events - low) * sizeof past->events[0]);
    past->events[low] = *event;
    past->n_events++;
}

static fl_status take_rows(fl_app *app, fl_room_past *past, const fl_journal_row *rows, size_t n,
                           fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        fl_event event;
        status = fl_history_decode(&rows[i], app->tz_offset_min, &past->arena, &event, err);
        if (status == FL_OK) {
            put_in_order(past, &event);
            past->position = rows[i].position;
            past->last = rows[i].id;
        }
    }
    return status;
}

/* Reads on from the last row that is known, which is asked for again: another file has another. */
static fl_status read_on(fl_app *app, fl_room_past *past, fl_arena *arena, fl_err *err)
{
    fl_journal_row *rows = NULL;
    size_t n = 0;
    int64_t after = past->position > 0 ? past->position - 1 : 0;
    fl_status status = fl_store_journal_read(app->store, after, SIZE_MAX, arena, &rows, &n, err);
    if (status != FL_OK || past->position == 0) {
        return status == FL_OK ? take_rows(app, past, rows, n, err) : status;
    }
    if (n > 0 && rows[0].position == past->position && fl_id_eq(rows[0].id, past->last)) {
        return take_rows(app, past, &rows[1], n - 1, err);
    }
    fl_room_past_done(past);
    status = fl_store_journal_read(app->store, 0, SIZE_MAX, arena, &rows, &n, err);
    return status == FL_OK ? take_rows(app, past, rows, n, err) : status;
}

/* The rows as they were read are let go with an arena of their own. */
static fl_status history_on(fl_app *app, fl_room_past *past, fl_room *room, fl_history *out,
                            fl_err *err)
{
    fl_arena of_rows;
    fl_arena_init(&of_rows);
    fl_status status = read_on(app, past, &of_rows, err);
    fl_arena_done(&of_rows);
    if (status == FL_OK) {
        fl_history_of_events(past->events, past->n_events, &room->arena, out);
    }
    return status;
}

static fl_status load(fl_app *app, fl_room_past *past, fl_room *room, fl_err *err)
{
    fl_history history;
    fl_status status = fl_store_journal_last(app->store, &room->position, err);
    if (status == FL_OK) {
        status = past != NULL ? history_on(app, past, room, &history, err)
                              : read_history(app, room, &history, err);
    }
    if (status == FL_OK) {
        take_history(room, &history);
        status = fl_store_meaning_read(app->store, &room->arena, &room->meaning, err);
    }
    if (status == FL_OK && past != NULL) {
        past->series.arena = &past->arena;
    }
    return status == FL_OK ? read_series(app, room, past != NULL ? &past->series : NULL, err)
                           : status;
}

fl_status fl_room_load_on(fl_app *app, fl_room_past *past, fl_room *out, fl_err *err)
{
    fl_room room = {.now_s = fl_app_now(app), .tz_offset_min = app->tz_offset_min};
    fl_arena_init(&room.arena);
    fl_status status = fl_store_begin_read(app->store, err);
    if (status == FL_OK) {
        status = load(app, past, &room, err);
        if (status == FL_OK) {
            status = fl_store_commit(app->store, err);
        } else {
            fl_store_rollback(app->store);
        }
    }
    if (status != FL_OK) {
        fl_arena_done(&room.arena);
        return status;
    }
    *out = room;
    return FL_OK;
}

fl_status fl_room_load(fl_app *app, fl_room *out, fl_err *err)
{
    return fl_room_load_on(app, NULL, out, err);
}

void fl_room_done(fl_room *room)
{
    fl_arena_done(&room->arena);
}

fl_status fl_room_with(const fl_room *room, const fl_event *extra, size_t n_extra, fl_room *out,
                       fl_err *err)
{
    (void)err; /* total today; the signature leaves room for limits */
    fl_room with = {
        .position = room->position, .now_s = room->now_s, .tz_offset_min = room->tz_offset_min};
    fl_history history;
    size_t n_all = room->n_events + n_extra;
    fl_arena_init(&with.arena);
    fl_event *all = FL_ARENA_ARRAY(&with.arena, fl_event, n_all);
    if (room->n_events > 0) {
        memcpy(all, room->events, room->n_events * sizeof all[0]);
    }
    if (n_extra > 0) {
        memcpy(&all[room->n_events], extra, n_extra * sizeof all[0]);
    }
    fl_history_of_events(all, n_all, &with.arena, &history);
    take_history(&with, &history);
    fl_history_fold(&history, &with.arena, &with.meaning);
    with.batches = room->batches;
    with.n_batches = room->n_batches;
    merge_series(&with);
    *out = with;
    return FL_OK;
}

/* ---- timed steps ---- */

const fl_event *fl_room_end_of_run(const fl_room *room, fl_id run)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        bool is_end =
            (event->kind == FL_KIND_STEP_DONE && fl_id_eq(event->body.step_done.run, run)) ||
            (event->kind == FL_KIND_STEP_ABANDONED &&
             fl_id_eq(event->body.step_abandoned.run, run));
        if (is_end) {
            return event;
        }
    }
    return NULL;
}

/* ---- lineage ---- */

/* The lot's mother, when she has a row. Following mothers always ends (event/meaning.h). */
static const fl_lot *mother_of(const fl_room *room, const fl_lot *lot)
{
    return fl_id_is_none(lot->mother) ? NULL : fl_meaning_lot(&room->meaning, lot->mother);
}

const fl_lot *fl_room_unsplit(const fl_room *room, const fl_lot *lot)
{
    const fl_lot *mother = mother_of(room, lot);
    while (mother != NULL && lot->origin == FL_KIND_LOT_SPLIT) {
        lot = mother;
        mother = mother_of(room, lot);
    }
    return lot;
}

const fl_lot *fl_room_origin_of(const fl_room *room, const fl_lot *lot)
{
    const fl_lot *mother = mother_of(room, lot);
    while (mother != NULL) {
        lot = mother;
        mother = mother_of(room, lot);
    }
    return lot;
}

const fl_series *fl_room_series(const fl_room *room, fl_id place)
{
    for (size_t i = 0; i < room->n_series; i++) {
        if (fl_id_eq(room->series[i].place, place)) {
            return &room->series[i];
        }
    }
    return NULL;
}

/* ---- names ---- */

fl_sv fl_room_lot_name(const fl_room *room, const fl_lot *lot)
{
    const fl_ev_plant_set *plant = fl_defs_plant(&room->defs, lot->plant);
    if (plant != NULL && plant->name.len > 0) {
        return plant->name;
    }
    if (lot->name.len > 0) {
        return lot->name;
    }
    return fl_sv_from_cstr(fl_words_form[lot->form].text);
}

fl_sv fl_room_place_name(const fl_room *room, fl_id place)
{
    const fl_ev_place_set *set = fl_defs_place(&room->defs, place);
    return set != NULL && set->name.len > 0 ? set->name : FL_SV("a place without a name");
}

fl_sv fl_room_source_name(const fl_room *room, fl_id source)
{
    const fl_ev_source_set *set = fl_defs_source(&room->defs, source);
    return set != NULL && set->name.len > 0 ? set->name : FL_SV("a source not told");
}

const fl_know_plant *fl_room_plant_row(const fl_room *room, const fl_lot *lot)
{
    const fl_ev_plant_set *plant = fl_defs_plant(&room->defs, lot->plant);
    if (plant == NULL) {
        return NULL;
    }
    return fl_know_plant_find(plant->taxon.len > 0 ? plant->taxon : plant->name);
}

/* ---- finding by what a person typed ---- */

/* How well `text` names something: 3 the whole id or code, 2 the whole name, 1 its beginning. */
static int match(fl_sv text, fl_id id, fl_sv name)
{
    char uuid[FL_ID_TEXT_MAX];
    char code[FL_CODE_TEXT_MAX];
    if (fl_sv_eq_nocase(text, fl_sv_from_cstr(fl_id_format(uuid, id))) ||
        fl_sv_eq_nocase(text, fl_sv_from_cstr(fl_id_code(code, id)))) {
        return 3;
    }
    if (fl_sv_eq_nocase(text, name)) {
        return 2;
    }
    fl_sv head = {name.ptr, text.len < name.len ? text.len : name.len};
    return text.len > 0 && fl_sv_eq_nocase(text, head) ? 1 : 0;
}

/* Best match so far, and the names that tie with it. */
typedef struct search {
    fl_sv text;
    const char *what;
    int best;
    size_t n_ties;
    size_t found;
    fl_str names;
} search;

/* What is still there comes before what is gone, where both fit equally well. */
static void consider(search *s, size_t index, fl_id id, fl_sv name, bool is_gone)
{
    int grade = 2 * match(s->text, id, name) + (is_gone ? 0 : 1);
    if (grade < 2 || grade < s->best) {
        return;
    }
    if (grade > s->best) {
        s->best = grade;
        s->n_ties = 0;
        fl_str_clear(&s->names);
    }
    s->found = index;
    s->n_ties++;
    if (s->n_ties <= NAMES_LISTED_MAX) {
        char code[FL_CODE_TEXT_MAX];
        fl_str_appendf(&s->names, "%s%.*s (%s)", s->names.len > 0 ? ", " : "", FL_SV_ARG(name),
                       fl_id_code(code, id));
    }
}

static search begin_search(fl_sv text, const char *what)
{
    search s = {.text = text, .what = what};
    fl_str_init(&s.names, 160);
    return s;
}

static fl_status conclude(search *s, fl_err *err)
{
    fl_status status = FL_OK;
    if (s->n_ties == 0) {
        status = fl_fail(err, FL_ENOTFOUND,
                         "there is no %s \"%.*s\": give a name, the beginning of one, or a code",
                         s->what, FL_SV_ARG(s->text));
    } else if (s->n_ties > 1) {
        status = fl_fail(err, FL_EINVAL, "%zu of them fit \"%.*s\" (%.*s): give the code",
                         s->n_ties, FL_SV_ARG(s->text), FL_SV_ARG(fl_str_sv(&s->names)));
    }
    fl_str_done(&s->names);
    return status;
}

fl_status fl_room_find_lot(const fl_room *room, fl_sv text, const fl_lot **out, fl_err *err)
{
    search s = begin_search(text, "lot");
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        consider(&s, i, lot->id, fl_room_lot_name(room, lot), lot->is_gone);
    }
    fl_status status = conclude(&s, err);
    if (status == FL_OK) {
        *out = &room->meaning.lots[s.found];
    }
    return status;
}

fl_status fl_room_find_place(const fl_room *room, fl_sv text, const fl_ev_place_set **out,
                             fl_err *err)
{
    search s = begin_search(text, "place");
    for (size_t i = 0; i < room->defs.places.count; i++) {
        const fl_ev_place_set *place = &room->defs.places.events[i]->body.place_set;
        consider(&s, i, place->place, place->name, place->is_retired);
    }
    fl_status status = conclude(&s, err);
    if (status == FL_OK) {
        *out = &room->defs.places.events[s.found]->body.place_set;
    }
    return status;
}

fl_status fl_room_find_source(const fl_room *room, fl_sv text, const fl_ev_source_set **out,
                              fl_err *err)
{
    search s = begin_search(text, "source");
    for (size_t i = 0; i < room->defs.sources.count; i++) {
        const fl_ev_source_set *source = &room->defs.sources.events[i]->body.source_set;
        consider(&s, i, source->source, source->name, false);
    }
    fl_status status = conclude(&s, err);
    if (status == FL_OK) {
        *out = &room->defs.sources.events[s.found]->body.source_set;
    }
    return status;
}

fl_status fl_room_find_plant(const fl_room *room, fl_sv text, const fl_ev_plant_set **out,
                             fl_err *err)
{
    search s = begin_search(text, "plant");
    for (size_t i = 0; i < room->defs.plants.count; i++) {
        const fl_ev_plant_set *plant = &room->defs.plants.events[i]->body.plant_set;
        consider(&s, i, plant->plant, plant->name, false);
    }
    fl_status status = conclude(&s, err);
    if (status == FL_OK) {
        *out = &room->defs.plants.events[s.found]->body.plant_set;
    }
    return status;
}
