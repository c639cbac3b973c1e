/* The way in for every event: read, check, append, refold what it touches; all in one transaction.
 * Nothing is refused for contradicting what is known: the ledger shows it as a conflict. */
#include <stdio.h>
#include <string.h>

#include "app/app.h"
#include "app/fold.h"
#include "base/limits.h"
#include "core/know/know.h"
#include "json/event_codec.h"

/* Ids touched by a batch: their live rows are made anew before the commit. */
typedef struct touched {
    fl_id *ids;
    size_t count;
    size_t cap;
} touched;

/* An event of the journal, decoded once however often it is asked for. */
typedef struct decoded {
    int64_t position;
    fl_event event;
} decoded;

typedef struct batch {
    fl_app *app;
    fl_arena arena;
    touched lots;
    touched places;
    decoded **decoded; /* open addressing by position */
    size_t cap_decoded, n_decoded;
    bool has_held; /* what holds a place, or what kind it is, may have changed */
    fl_err *err;
} batch;

static void touch(batch *b, touched *set, fl_id id)
{
    for (size_t i = 0; i < set->count; i++) {
        if (fl_id_eq(set->ids[i], id)) {
            return;
        }
    }
    if (set->count == set->cap) {
        size_t cap = set->cap == 0 ? 16 : 2 * set->cap;
        fl_id *ids = FL_ARENA_ARRAY(&b->arena, fl_id, cap);
        if (set->count > 0) {
            memcpy(ids, set->ids, set->count * sizeof ids[0]);
        }
        set->ids = ids;
        set->cap = cap;
    }
    set->ids[set->count++] = id;
}

static void touch_facts(batch *b, const fl_fact *facts, size_t n_facts)
{
    for (size_t i = 0; i < n_facts; i++) {
        if (facts[i].entity == FL_ENTITY_LOT) {
            touch(b, &b->lots, facts[i].id);
        } else if (facts[i].entity == FL_ENTITY_PLACE) {
            touch(b, &b->places, facts[i].id);
        }
    }
}

/* ---- what is refused ---- */

static fl_status check_code(fl_sv code, fl_err *err)
{
    if (code.len == 0 || fl_know_threat_find(code) != NULL) {
        return FL_OK;
    }
    for (size_t i = 0; i < fl_know_lookalike_count(); i++) {
        if (fl_sv_eq_cstr(code, fl_know_lookalike_at(i)->code)) {
            return FL_OK;
        }
    }
    return fl_fail(err, FL_EINVAL,
                   "threat \"%.*s\" is not known: `fernlock show threats` lists the codes",
                   FL_SV_ARG(code));
}

static fl_status check_codes(const fl_event *event, fl_err *err)
{
    fl_status status = FL_OK;
    switch ((int)event->kind) {
    case FL_KIND_LOOK_DONE:
        for (size_t i = 0; i < event->body.look_done.n_findings && status == FL_OK; i++) {
            status = check_code(event->body.look_done.findings[i].threat, err);
        }
        return status;
    case FL_KIND_FINDING_IDENTIFIED:
        return check_code(event->body.finding_identified.threat, err);
    case FL_KIND_TOLERATED_SET:
        return check_code(event->body.tolerated_set.threat, err);
    case FL_KIND_ANIMAL_NOTED:
        return check_code(event->body.animal_noted.threat, err);
    case FL_KIND_COMPLAINT_NOTED:
        return check_code(event->body.complaint_noted.threat, err);
    default:
        return FL_OK;
    }
}

static fl_status check_time(const batch *b, const fl_event *event)
{
    int64_t now = fl_app_now(b->app);
    char at[FL_CIVIL_TEXT_MAX];
    char clock[FL_CIVIL_TEXT_MAX];
    /* A vague time stands for its middle, which may lie ahead while the day, month or year has
     * begun; one that has not begun is refused. */
    static const int64_t slack_s[FL_PRECISION_COUNT] = {
        0, FL_HOUR_S / 2, FL_DAY_S / 2, 29 * (int64_t)FL_DAY_S / 2, 365 * (int64_t)FL_DAY_S / 2};
    if (event->at_s <= now + FL_FUTURE_S_MAX + slack_s[event->precision]) {
        return FL_OK;
    }
    return fl_fail(
        b->err, FL_EDOMAIN,
        "occurred_at %s is ahead of this machine's clock (%s): give a time that has been",
        fl_civil_format_utc(at, event->at_s), fl_civil_format_utc(clock, now));
}

static fl_status check_references(const batch *b, const fl_fact *facts, size_t n_facts)
{
    static const char *const names[FL_ENTITY_COUNT] = {"source",  "plant", "place",      "bottle",
                                                       "arrival", "lot",   "timed step", "finding",
                                                       "hold",    "build", "event"};
    for (size_t i = 0; i < n_facts; i++) {
        bool exists = facts[i].is_definition;
        char text[FL_ID_TEXT_MAX];
        if (!exists) {
            fl_status status = fl_store_entity_exists(b->app->store, facts[i].entity, facts[i].id,
                                                      &exists, b->err);
            if (status != FL_OK) {
                return status;
            }
        }
        if (!exists) {
            return fl_fail(b->err, FL_ENOTFOUND, "there is no %s %s: record what defines it first",
                           names[facts[i].entity], fl_id_format(text, facts[i].id));
        }
    }
    return FL_OK;
}

/* The subject of a photo may be of four kinds, so that it is not among the facts' references. */
static fl_status check_subject(const batch *b, const fl_event *event)
{
    static const fl_entity kinds[] = {FL_ENTITY_LOT, FL_ENTITY_PLACE, FL_ENTITY_FINDING,
                                      FL_ENTITY_PLANT};
    const fl_id subject = event->body.photo_attached.subject;
    char text[FL_ID_TEXT_MAX];
    bool exists = false;
    fl_status status = FL_OK;
    if (event->kind != FL_KIND_PHOTO_ATTACHED) {
        return FL_OK;
    }
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0] && !exists && status == FL_OK; i++) {
        status = fl_store_entity_exists(b->app->store, kinds[i], subject, &exists, b->err);
    }
    if (status == FL_OK && !exists) {
        status = fl_fail(b->err, FL_ENOTFOUND,
                         "there is no lot, place, finding or plant %s: record what defines it "
                         "first",
                         fl_id_format(text, subject));
    }
    return status;
}

/* The bytes that an event names come before it. */
static fl_status check_blob(const batch *b, const fl_event *event)
{
    const fl_sv blob = fl_event_blob(event);
    bool exists = blob.len == 0;
    fl_status status = exists ? FL_OK : fl_app_has_blob(b->app, blob, &exists, b->err);
    if (status == FL_OK && !exists) {
        status = fl_fail(b->err, FL_ENOTFOUND,
                         "the bytes of %.*s are not in this room: keep them first, with `fernlock "
                         "photo` or POST /api/v1/photos; readings with `fernlock readings`",
                         FL_SV_ARG(blob));
    }
    return status;
}

/* Photos that were taken back count too: their bytes are kept. */
static fl_status check_photos(const batch *b, const fl_event *event)
{
    char id[FL_ID_TEXT_MAX];
    char text[FL_ID_TEXT_MAX + 16];
    int64_t n = 0;
    if (event->kind != FL_KIND_PHOTO_ATTACHED) {
        return FL_OK;
    }
    /* canonical text is written in one way only */
    (void)snprintf(text, sizeof text, "\"subject\":\"%s\"",
                   fl_id_format(id, event->body.photo_attached.subject));
    fl_status status =
        fl_store_journal_count(b->app->store, fl_sv_from_cstr(fl_kinds[event->kind].word),
                               fl_sv_from_cstr(text), &n, b->err);
    if (status == FL_OK && n >= FL_PHOTOS_OF_ONE_MAX) {
        status = fl_fail(b->err, FL_ETOOBIG,
                         "there are %lld photos of this already, and more are not kept: split the "
                         "lot, or keep them elsewhere",
                         (long long)n);
    }
    return status;
}

/* Demo data never enters another room: the first event of an empty room may say that it is one. */
static fl_status check_demo(const batch *b, const fl_event *event)
{
    static const fl_sv mark = {"demo", sizeof("demo") - 1};
    int64_t last = 0;
    fl_arena arena;
    fl_sv value;
    if (event->kind != FL_KIND_ROOM_SET || !event->body.room_set.is_demo) {
        return FL_OK;
    }
    fl_status status = fl_store_journal_last(b->app->store, &last, b->err);
    if (status == FL_OK && last == 0) {
        return fl_store_setting_put(b->app->store, mark, FL_SV("yes"), b->err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_arena_init(&arena);
    bool is_demo = fl_store_setting_get(b->app->store, mark, &arena, &value, NULL) == FL_OK;
    fl_arena_done(&arena);
    return is_demo ? FL_OK
                   : fl_fail(b->err, FL_EINVAL,
                             "is_demo true: this room holds a record of its own; `fernlock demo` "
                             "makes a room for demo data");
}

/* ---- one event ---- */

static fl_status already_there(batch *b, const fl_event *event, fl_sv canonical, bool *is_there)
{
    fl_sv bytes;
    char text[FL_ID_TEXT_MAX];
    fl_status status = fl_store_journal_get(b->app->store, event->id, &b->arena, &bytes, b->err);
    *is_there = status == FL_OK;
    if (status == FL_ENOTFOUND) {
        fl_err_clear(b->err);
        return FL_OK;
    }
    if (status == FL_OK && !fl_sv_eq(bytes, canonical)) {
        return fl_fail(b->err, FL_ECONFLICT,
                       "event %s is recorded with other content: give the new one an id of its own",
                       fl_id_format(text, event->id));
    }
    return status;
}

/* A finding named later is held where its look was. */
static fl_status touch_look_of_finding(batch *b, const fl_fact *facts, size_t n_facts)
{
    for (size_t i = 0; i < n_facts; i++) {
        fl_journal_row *rows = NULL;
        size_t count = 0;
        bool is_named =
            (facts[i].entity == FL_ENTITY_FINDING || facts[i].entity == FL_ENTITY_HOLD) &&
            !facts[i].is_definition;
        if (!is_named) {
            continue;
        }
        fl_status status =
            fl_store_events_of(b->app->store, &facts[i].id, 1, &b->arena, &rows, &count, b->err);
        for (size_t k = 0; k < count && status == FL_OK; k++) {
            fl_fact *more = NULL;
            size_t n_more = 0;
            status =
                fl_store_facts_of(b->app->store, rows[k].id, &b->arena, &more, &n_more, b->err);
            touch_facts(b, more, n_more);
        }
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}

/* A voiding also changes what the voided event touched. */
static fl_status touch_voided(batch *b, const fl_event *event)
{
    fl_fact *facts = NULL;
    size_t count = 0;
    if (event->kind != FL_KIND_EVENT_VOIDED) {
        return FL_OK;
    }
    fl_id target = event->body.event_voided.event;
    fl_status status = fl_store_facts_of(b->app->store, target, &b->arena, &facts, &count, b->err);
    for (size_t depth = 0; status == FL_OK && depth < 64; depth++) {
        touch_facts(b, facts, count);
        status = touch_look_of_finding(b, facts, count);
        fl_id next = {0}; /* a voided voiding brings its own target back */
        for (size_t i = 0; i < count; i++) {
            if (facts[i].entity == FL_ENTITY_EVENT && !facts[i].is_definition) {
                next = facts[i].id;
            }
        }
        if (status != FL_OK || fl_id_is_none(next)) {
            break;
        }
        status = fl_store_facts_of(b->app->store, next, &b->arena, &facts, &count, b->err);
    }
    return status;
}

/* True for what may set or end a hold, or make a place another kind: that shows in the rows of the
 * lots that stood there, which the event need not name. */
static bool may_hold(const fl_event *event)
{
    switch ((int)event->kind) {
    case FL_KIND_LOOK_DONE:
        return event->body.look_done.n_findings > 0;
    case FL_KIND_FINDING_IDENTIFIED:
    case FL_KIND_FINDING_RETRACTED:
    case FL_KIND_TOLERATED_SET:
    case FL_KIND_ANIMAL_NOTED:
    case FL_KIND_HOLD_SET:
    case FL_KIND_HOLD_LIFTED:
    case FL_KIND_PLACE_SET:
    case FL_KIND_EVENT_VOIDED:
        return true;
    default:
        return false;
    }
}

static fl_status append(batch *b, const fl_event *event, fl_sv canonical, fl_recorded *what)
{
    fl_fact facts[2 * FL_LIST_MAX];
    size_t n_facts = 0;
    bool is_there = false;
    fl_status status = already_there(b, event, canonical, &is_there);
    *what = is_there ? FL_RECORDED_ALREADY : FL_RECORDED_NEW;
    if (status != FL_OK || is_there) {
        return status;
    }
    status = check_time(b, event);
    if (status == FL_OK) {
        status = check_codes(event, b->err);
    }
    if (status == FL_OK) {
        status = check_demo(b, event);
    }
    if (status == FL_OK) {
        status = check_subject(b, event);
    }
    if (status == FL_OK) {
        status = check_blob(b, event);
    }
    if (status == FL_OK) {
        status = check_photos(b, event);
    }
    if (status == FL_OK) {
        status = fl_event_facts(event, facts, sizeof facts / sizeof facts[0], &n_facts, b->err);
    }
    if (status == FL_OK) {
        status = check_references(b, facts, n_facts);
    }
    if (status == FL_OK) {
        status = fl_store_journal_append(b->app->store, event, canonical, facts, n_facts,
                                         fl_app_now(b->app), b->err);
    }
    if (status == FL_OK) {
        touch_facts(b, facts, n_facts);
        b->has_held = b->has_held || may_hold(event);
        status = touch_voided(b, event);
    }
    return status == FL_OK ? touch_look_of_finding(b, facts, n_facts) : status;
}

static fl_status append_text(batch *b, fl_sv json, fl_recorded *what)
{
    fl_event event;
    fl_str canonical;
    fl_str_init(&canonical, FL_EVENT_BYTES_MAX);
    fl_status status =
        fl_event_read(json, b->app->tz_offset_min, &b->arena, &event, &canonical, b->err);
    if (status == FL_OK && canonical.is_full) {
        status = fl_fail(b->err, FL_ETOOBIG, "an event has more than %d bytes: split it",
                         FL_EVENT_BYTES_MAX);
    }
    if (status == FL_OK) {
        status = append(b, &event, fl_str_sv(&canonical), what);
    }
    fl_str_done(&canonical);
    return status;
}

/* ---- the live tables ---- */

static fl_status events_of(batch *b, const touched *lots, const touched *places,
                           fl_journal_row **rows, size_t *count)
{
    size_t n = lots->count + places->count;
    fl_id *ids = FL_ARENA_ARRAY(&b->arena, fl_id, n);
    if (lots->count > 0) {
        memcpy(ids, lots->ids, lots->count * sizeof ids[0]);
    }
    if (places->count > 0) {
        memcpy(&ids[lots->count], places->ids, places->count * sizeof ids[0]);
    }
    return fl_store_events_of(b->app->store, ids, n, &b->arena, rows, count, b->err);
}

static size_t decoded_slot(const batch *b, int64_t position)
{
    size_t slot = (size_t)position & (b->cap_decoded - 1);
    while (b->decoded[slot] != NULL && b->decoded[slot]->position != position) {
        slot = (slot + 1) & (b->cap_decoded - 1);
    }
    return slot;
}

static void grow_decoded(batch *b)
{
    decoded **old = b->decoded;
    size_t old_cap = b->cap_decoded;
    b->cap_decoded = old_cap == 0 ? 256 : 2 * old_cap;
    b->decoded = FL_ARENA_ARRAY(&b->arena, decoded *, b->cap_decoded);
    for (size_t i = 0; i < old_cap; i++) {
        if (old[i] != NULL) {
            b->decoded[decoded_slot(b, old[i]->position)] = old[i];
        }
    }
}

static fl_status decode(batch *b, const fl_journal_row *row, const fl_event **out)
{
    if (2 * (b->n_decoded + 1) > b->cap_decoded) {
        grow_decoded(b);
    }
    decoded **place = &b->decoded[decoded_slot(b, row->position)];
    fl_status status = FL_OK;
    if (*place == NULL) {
        decoded *one = FL_ARENA_NEW(&b->arena, decoded);
        one->position = row->position;
        status = fl_history_decode(row, b->app->tz_offset_min, &b->arena, &one->event, b->err);
        if (status != FL_OK) {
            return status;
        }
        *place = one;
        b->n_decoded++;
    }
    *out = &(*place)->event;
    return FL_OK;
}

/* As fl_history_of_rows. */
static fl_status history_of(batch *b, const fl_journal_row *rows, size_t count, fl_history *out)
{
    fl_event *all = FL_ARENA_ARRAY(&b->arena, fl_event, count);
    fl_status status = FL_OK;
    for (size_t i = 0; i < count && status == FL_OK; i++) {
        const fl_event *event = NULL;
        status = decode(b, &rows[i], &event);
        if (status == FL_OK) {
            all[i] = *event;
        }
    }
    if (status == FL_OK) {
        fl_history_of_events(all, count, &b->arena, out);
    }
    return status;
}

/* Adds what those events mention of the entities in the mask (1u << fl_entity). An event's facts
 * are those that were stored with it. */
static fl_status add_mentioned(batch *b, const fl_journal_row *rows, size_t count, unsigned mask,
                               touched *set)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < count && status == FL_OK; i++) {
        fl_fact facts[2 * FL_LIST_MAX];
        size_t n_facts = 0;
        const fl_event *event = NULL;
        status = decode(b, &rows[i], &event);
        if (status == FL_OK) {
            status = fl_event_facts(event, facts, sizeof facts / sizeof facts[0], &n_facts, b->err);
        }
        for (size_t k = 0; k < n_facts; k++) {
            if ((mask & (1U << facts[k].entity)) != 0) {
                touch(b, set, facts[k].id);
            }
        }
    }
    return status;
}

#define MASK_LOTS (1U << FL_ENTITY_LOT)
#define MASK_PLACES (1U << FL_ENTITY_PLACE)
/* What is said later of findings and holds mentions only them. */
#define MASK_LATER ((1U << FL_ENTITY_FINDING) | (1U << FL_ENTITY_HOLD))

/* Adds mothers and offspring until there are no more: cuttings inherit, and a split stands where
 * its lot stood. */
static fl_status close_lineage(batch *b, touched *lots)
{
    size_t before = SIZE_MAX;
    fl_status status = FL_OK;
    while (status == FL_OK && lots->count != before) {
        const touched none = {0};
        fl_journal_row *rows = NULL;
        fl_history history = {0};
        size_t count = 0;
        before = lots->count;
        status = events_of(b, lots, &none, &rows, &count);
        if (status == FL_OK) {
            status = history_of(b, rows, count, &history);
        }
        for (size_t i = 0; i < history.n_events && status == FL_OK; i++) {
            const fl_event *event = &history.events[i];
            if (event->kind == FL_KIND_LOT_CUT) {
                touch(b, lots, event->body.lot_cut.mother);
                touch(b, lots, event->body.lot_cut.lot);
            } else if (event->kind == FL_KIND_LOT_SPLIT) {
                touch(b, lots, event->body.lot_split.lot);
                touch(b, lots, event->body.lot_split.new_lot);
            }
        }
    }
    return status;
}

/* Adds the lots that ever stood in those places, by the live tables. */
static fl_status add_stood(batch *b, const touched *places, touched *lots)
{
    fl_id *stood = NULL;
    size_t n_stood = 0;
    fl_status status = fl_store_lots_of_places(b->app->store, places->ids, places->count, &b->arena,
                                               &stood, &n_stood, b->err);
    for (size_t i = 0; i < n_stood && status == FL_OK; i++) {
        touch(b, lots, stood[i]);
    }
    return status;
}

/* Adds the lots that stood in the touched places, or were sent there: of what went outside no stay
 * is left. */
static fl_status add_concerned(batch *b)
{
    const touched none = {0};
    fl_journal_row *rows = NULL;
    size_t count = 0;
    fl_status status = add_stood(b, &b->places, &b->lots);
    if (status == FL_OK) {
        status = events_of(b, &none, &b->places, &rows, &count);
    }
    return status == FL_OK ? add_mentioned(b, rows, count, MASK_LOTS, &b->lots) : status;
}

static bool is_among(const fl_journal_row *rows, size_t count, const touched *ids, fl_id event)
{
    for (size_t i = 0; i < count; i++) {
        if (fl_id_eq(rows[i].id, event)) {
            return true;
        }
    }
    for (size_t i = 0; i < ids->count; i++) {
        if (fl_id_eq(ids->ids[i], event)) {
            return true;
        }
    }
    return false;
}

/* What voids those events, and what voids that: it mentions neither lot nor place, and without it
 * the voided event would count again. */
static fl_status add_voidings(batch *b, const fl_journal_row *rows, size_t count, touched *ids)
{
    fl_voiding *voidings = NULL;
    size_t n_voidings = 0;
    size_t before = SIZE_MAX;
    fl_status status = fl_store_voidings(b->app->store, &b->arena, &voidings, &n_voidings, b->err);
    while (status == FL_OK && ids->count != before) {
        before = ids->count;
        for (size_t i = 0; i < n_voidings; i++) {
            if (is_among(rows, count, ids, voidings[i].event)) {
                touch(b, ids, voidings[i].by);
            }
        }
    }
    return status;
}

/* Everything the rows of the touched lots and places rest on: their lineage; every lot that ever
 * stood in the places, with its lineage; the kinds of all places those lots saw; what was said
 * later of findings and holds; and what voids any of it. */
static fl_status gather(batch *b, fl_journal_row **rows, size_t *count)
{
    touched lots = {0};
    touched places = {0};
    touched later = {0};
    fl_status status = b->has_held ? add_concerned(b) : FL_OK;
    if (status == FL_OK) {
        status = close_lineage(b, &b->lots);
    }
    if (status == FL_OK) {
        status = events_of(b, &b->lots, &b->places, rows, count);
    }
    if (status == FL_OK) {
        status = add_mentioned(b, *rows, *count, MASK_PLACES, &b->places);
    }
    if (status == FL_OK) {
        status = events_of(b, &b->lots, &b->places, rows, count);
    }
    if (status == FL_OK) {
        status = add_mentioned(b, *rows, *count, MASK_LOTS, &lots);
    }
    if (status == FL_OK) {
        status = add_stood(b, &b->places, &lots);
    }
    if (status == FL_OK) {
        status = close_lineage(b, &lots);
    }
    if (status == FL_OK) {
        status = events_of(b, &lots, &b->places, rows, count);
    }
    if (status == FL_OK) {
        status = add_mentioned(b, *rows, *count, MASK_PLACES, &places);
    }
    if (status == FL_OK) {
        status = add_mentioned(b, *rows, *count, MASK_LATER, &later);
    }
    for (size_t i = 0; i < later.count && status == FL_OK; i++) {
        touch(b, &lots, later.ids[i]); /* ids of any sort may be asked for together */
    }
    if (status == FL_OK) {
        status = events_of(b, &lots, &places, rows, count);
    }
    size_t n_known = lots.count;
    if (status == FL_OK) {
        status = add_voidings(b, *rows, *count, &lots);
    }
    return status == FL_OK && lots.count > n_known ? events_of(b, &lots, &places, rows, count)
                                                   : status;
}

/* Makes the rows of the touched lots and places anew. */
static fl_status refold(batch *b)
{
    fl_journal_row *rows = NULL;
    size_t count = 0;
    fl_history history;
    fl_meaning meaning;
    if (b->lots.count == 0 && b->places.count == 0) {
        return FL_OK;
    }
    fl_status status = gather(b, &rows, &count);
    if (status == FL_OK) {
        status = history_of(b, rows, count, &history);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_history_fold(&history, &b->arena, &meaning);
    return fl_store_meaning_replace(b->app->store, b->lots.ids, b->lots.count, b->places.ids,
                                    b->places.count, &meaning, b->err);
}

/* ---- the ways in ---- */

static fl_status begin(batch *b, fl_app *app, fl_err *err)
{
    *b = (batch){.app = app, .err = err};
    fl_arena_init(&b->arena);
    return fl_store_begin(app->store, err);
}

/* A few events are recorded before anybody could say no. */
static fl_status tell_progress(const batch *b, size_t done, size_t total)
{
    return done == 0 ? FL_OK
                     : fl_progress_tick(b->app->progress, FL_WORK_RECORD, (int64_t)done,
                                        (int64_t)total, b->err);
}

static fl_status finish(batch *b, fl_status status)
{
    if (status == FL_OK) {
        status = refold(b);
    }
    if (status == FL_OK) {
        status = fl_store_commit(b->app->store, b->err);
    } else {
        fl_store_rollback(b->app->store);
    }
    fl_arena_done(&b->arena);
    return status;
}

fl_status fl_app_record_all(fl_app *app, const fl_sv *jsons, size_t n, fl_recorded *results,
                            size_t *failed_at, fl_err *err)
{
    batch b;
    fl_status status = begin(&b, app, err);
    size_t at = 0;
    for (; at < n && status == FL_OK; at++) {
        fl_recorded what = FL_RECORDED_NEW;
        status = tell_progress(&b, at, n);
        if (status == FL_OK) {
            status = append_text(&b, jsons[at], &what);
        }
        if (results != NULL) {
            results[at] = what;
        }
    }
    if (failed_at != NULL) {
        *failed_at = at > 0 ? at - 1 : 0;
    }
    return finish(&b, status);
}

fl_status fl_app_record(fl_app *app, fl_sv json, fl_recorded *what, fl_err *err)
{
    return fl_app_record_all(app, &json, 1, what, NULL, err);
}

fl_status fl_app_record_events(fl_app *app, const fl_event *events, size_t n, fl_err *err)
{
    batch b;
    fl_status status = begin(&b, app, err);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        fl_str text;
        fl_recorded what = FL_RECORDED_NEW;
        fl_str_init(&text, FL_EVENT_BYTES_MAX);
        status = tell_progress(&b, i, n);
        if (status == FL_OK) {
            status = fl_event_write(&events[i], &text, err);
        }
        if (status == FL_OK) { /* through the same door as everybody's events */
            status = append_text(&b, fl_str_sv(&text), &what);
        }
        fl_str_done(&text);
    }
    return finish(&b, status);
}
