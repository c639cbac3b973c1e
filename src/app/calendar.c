/* What was published, what is planned, and the difference. */
#include "app/calendar.h"

#include <stdlib.h>
#include <string.h>

#include "app/calendar_work.h"
#include "base/num.h"
#include "json/json.h"

#define ZONE "calendar_zone"
#define MINUTE "calendar_minute"
#define PUBLISHED "calendar_published"
#define MINUTE_USUAL (18 * 60)
#define MINUTES_A_DAY (24 * 60)
#define PUBLISHED_BYTES_MAX ((size_t)4 << 20)
/* Sequence numbers count minutes from here: they only grow, also when a change was given out by a
 * reader that could not remember it. 2020-01-01. */
#define SEQUENCE_FROM_S 1577836800

/* ---- settings ---- */

/* A setting, or the empty text. */
static fl_status get(fl_app *app, const char *name, fl_arena *arena, fl_sv *out, fl_err *err)
{
    fl_err why = {0};
    fl_status status = fl_store_setting_get(app->store, fl_sv_from_cstr(name), arena, out, &why);
    if (status == FL_ENOTFOUND) {
        *out = FL_SV("");
        return FL_OK;
    }
    return status == FL_OK ? FL_OK : fl_fail(err, status, "%s", why.message);
}

fl_status fl_calendar_settings_get(fl_app *app, fl_arena *arena, fl_calendar_settings *out,
                                   fl_err *err)
{
    int64_t minute = MINUTE_USUAL;
    fl_sv text;
    fl_calendar_settings settings;
    fl_status status = get(app, ZONE, arena, &settings.zone, err);
    if (status == FL_OK) {
        status = get(app, MINUTE, arena, &text, err);
    }
    if (status == FL_OK && text.len > 0) {
        status = fl_num_parse_int(text, "minute", 0, MINUTES_A_DAY - 1, &minute, err);
    }
    if (status == FL_OK) {
        settings.minute = (int)minute;
        *out = settings;
    }
    return status;
}

fl_status fl_calendar_settings_put(fl_app *app, const fl_calendar_settings *settings, fl_err *err)
{
    fl_arena arena;
    if (settings->minute < 0 || settings->minute >= MINUTES_A_DAY) {
        return fl_fail(err, FL_EDOMAIN, "minute %d of the day: give 0 to %d", settings->minute,
                       MINUTES_A_DAY - 1);
    }
    fl_arena_init(&arena);
    fl_status status = fl_store_setting_put(app->store, FL_SV(ZONE), settings->zone, err);
    if (status == FL_OK) {
        status = fl_store_setting_put(app->store, FL_SV(MINUTE),
                                      fl_arena_printf(&arena, "%d", settings->minute), err);
    }
    fl_arena_done(&arena);
    return status;
}

/* ---- what was published ---- */

static void write_entry(fl_json_writer *w, const fl_calendar_entry *e)
{
    char id[FL_ID_TEXT_MAX];
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "uid", fl_id_format(id, e->uid));
    fl_json_put_cstr(w, "kind", fl_words_calendar[e->kind].word);
    fl_json_put_int(w, "day", e->day);
    fl_json_put_int(w, "minute", e->minute);
    if (e->at_s != INT64_MIN) {
        fl_json_put_int(w, "at", e->at_s);
    }
    fl_json_put_text(w, "summary", e->summary);
    fl_json_put_text(w, "text", e->text);
    fl_json_put_int(w, "sequence", e->sequence);
    fl_json_put_int(w, "stamp", e->stamp_s);
    fl_json_put_bool(w, "cancelled", e->is_cancelled);
    fl_json_end(w);
}

static int64_t int_of(const fl_json_value *object, const char *key, int64_t fallback)
{
    int64_t value = fallback;
    (void)fl_json_int(fl_json_get(object, key), &value);
    return value;
}

static fl_status read_entry(const fl_json_value *value, fl_arena *arena, fl_calendar_entry *out,
                            fl_err *err)
{
    int kind = fl_word_find(fl_words_calendar, FL_CALENDAR_COUNT,
                            fl_json_text(fl_json_get(value, "kind")));
    fl_calendar_entry e = {
        .kind = (fl_calendar_kind)(kind >= 0 ? kind : 0),
        .day = int_of(value, "day", 0),
        .minute = (int)int_of(value, "minute", -1),
        .at_s = int_of(value, "at", INT64_MIN),
        .summary = fl_arena_copy_sv(arena, fl_json_text(fl_json_get(value, "summary"))),
        .text = fl_arena_copy_sv(arena, fl_json_text(fl_json_get(value, "text"))),
        .sequence = int_of(value, "sequence", 0),
        .stamp_s = int_of(value, "stamp", 0),
        .is_cancelled = fl_json_bool(fl_json_get(value, "cancelled"), false)};
    fl_status status = fl_id_parse(fl_json_text(fl_json_get(value, "uid")), &e.uid, err);
    if (status == FL_OK) {
        *out = e;
    }
    return status;
}

static fl_status read_published(fl_app *app, fl_arena *arena, fl_calendar_entry **out,
                                size_t *count, fl_err *err)
{
    fl_sv text;
    fl_json_doc *doc = NULL;
    fl_status status = get(app, PUBLISHED, arena, &text, err);
    *count = 0;
    *out = NULL;
    if (status != FL_OK || text.len == 0) {
        return status;
    }
    status = fl_json_parse(text, &doc, err);
    size_t n = status == FL_OK ? fl_json_size(fl_json_root(doc)) : 0;
    fl_calendar_entry *entries = FL_ARENA_ARRAY(arena, fl_calendar_entry, n);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        status = read_entry(fl_json_at(fl_json_root(doc), i), arena, &entries[i], err);
    }
    fl_json_free(doc);
    if (status == FL_OK) {
        *out = entries;
        *count = n;
    }
    return status;
}

fl_status fl_calendar_publish(fl_app *app, const fl_calendar_entry *entries, size_t count,
                              fl_err *err)
{
    fl_str text;
    fl_sv before;
    fl_arena arena;
    fl_json_writer *w = fl_json_writer_new();
    fl_arena_init(&arena);
    fl_str_init(&text, PUBLISHED_BYTES_MAX);
    fl_json_begin_array(w, NULL);
    for (size_t i = 0; i < count; i++) {
        write_entry(w, &entries[i]);
    }
    fl_json_end(w);
    fl_json_write(w, false, &text);
    fl_status status = text.is_full ? fl_fail(err, FL_ETOOBIG, "the calendar is too large")
                                    : get(app, PUBLISHED, &arena, &before, err);
    if (status == FL_OK && !fl_sv_eq(before, fl_str_sv(&text))) {
        status = fl_store_setting_put(app->store, FL_SV(PUBLISHED), fl_str_sv(&text), err);
    }
    fl_json_writer_free(w);
    fl_str_done(&text);
    fl_arena_done(&arena);
    return status;
}

/* ---- the difference ---- */

static bool is_same(const fl_calendar_entry *a, const fl_calendar_entry *b)
{
    return a->kind == b->kind && a->day == b->day && a->minute == b->minute && a->at_s == b->at_s &&
           fl_sv_eq(a->summary, b->summary) && fl_sv_eq(a->text, b->text);
}

static const fl_calendar_entry *find(const fl_calendar_entry *entries, size_t n, fl_id uid)
{
    for (size_t i = 0; i < n; i++) {
        if (fl_id_eq(entries[i].uid, uid)) {
            return &entries[i];
        }
    }
    return NULL;
}

static int64_t next_sequence(const fl_calendar_entry *old, int64_t now_s)
{
    int64_t minutes = (now_s - SEQUENCE_FROM_S) / 60;
    return minutes > old->sequence ? minutes : old->sequence + 1;
}

static void number(fl_calendar_plan *p, const fl_calendar_entry *old, size_t n_old)
{
    for (size_t i = 0; i < p->n; i++) {
        fl_calendar_entry *e = &p->entries[i];
        const fl_calendar_entry *was = find(old, n_old, e->uid);
        if (was == NULL) { /* of the hour: asked again before it is remembered, it is the same */
            e->stamp_s = p->room->now_s - p->room->now_s % FL_HOUR_S;
        } else if (is_same(was, e) && !was->is_cancelled) {
            e->sequence = was->sequence;
            e->stamp_s = was->stamp_s;
        } else {
            e->sequence = next_sequence(was, p->room->now_s);
            e->stamp_s = p->room->now_s;
        }
    }
}

/* What was published and is no longer planned: of the past it simply ends; what lay ahead is
 * cancelled, and that is told until some time after its day. */
static void add_cancelled(fl_calendar_plan *p, const fl_calendar_entry *old, size_t n_old)
{
    size_t n_planned = p->n;
    for (size_t i = 0; i < n_old; i++) {
        fl_calendar_entry e = old[i];
        bool is_planned = find(p->entries, n_planned, e.uid) != NULL;
        bool is_past = e.is_cancelled ? e.day + FL_CALENDAR_KEPT_DAYS < p->today : e.day < p->today;
        if (is_planned || is_past || p->n == FL_CALENDAR_ENTRIES_MAX) {
            continue;
        }
        if (!e.is_cancelled) {
            e.is_cancelled = true;
            e.sequence = next_sequence(&old[i], p->room->now_s);
            e.stamp_s = p->room->now_s;
        }
        p->entries[p->n++] = e;
    }
}

static int compare(const void *left, const void *right)
{
    const fl_calendar_entry *a = left;
    const fl_calendar_entry *b = right;
    if (a->day != b->day) {
        return a->day < b->day ? -1 : 1;
    }
    return fl_id_compare(a->uid, b->uid);
}

/* The id of the first event that was recorded: it is the same in every copy of the room. */
static fl_status read_root(fl_app *app, fl_arena *arena, fl_id *out, fl_err *err)
{
    fl_journal_row *rows = NULL;
    size_t count = 0;
    fl_status status = fl_store_journal_read(app->store, 0, 1, arena, &rows, &count, err);
    if (status == FL_OK) {
        *out = count > 0 ? rows[0].id : (fl_id){{0}};
    }
    return status;
}

fl_status fl_calendar_make(fl_app *app, const fl_room *room, fl_chances *chances, fl_arena *arena,
                           fl_calendar_entry **out, size_t *count, fl_err *err)
{
    fl_calendar_settings settings;
    fl_calendar_entry *old = NULL;
    size_t n_old = 0;
    fl_calendar_plan plan = {
        .room = room, .arena = arena, .today = fl_calendar_day(room, room->now_s)};
    plan.entries = FL_ARENA_ARRAY(arena, fl_calendar_entry, FL_CALENDAR_ENTRIES_MAX);
    fl_status status = fl_calendar_settings_get(app, arena, &settings, err);
    if (status == FL_OK) {
        plan.minute = settings.minute;
        status = read_root(app, arena, &plan.root, err);
    }
    if (status == FL_OK) {
        status = read_published(app, arena, &old, &n_old, err);
    }
    if (status == FL_OK) {
        status = fl_calendar_plan_all(&plan, chances, err);
    }
    if (status != FL_OK) {
        return status;
    }
    number(&plan, old, n_old);
    add_cancelled(&plan, old, n_old);
    if (plan.n > 1) {
        qsort(plan.entries, plan.n, sizeof plan.entries[0], compare);
    }
    *out = plan.entries;
    *count = plan.n;
    return FL_OK;
}
