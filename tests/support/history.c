/* A history made from numbers, recorded through the store's interface and compared with it. */
#include "support/history.h"

#include <stdio.h>
#include <string.h>

#include "base/num.h"

#define FACTS_MAX 8
#define LOTS 5

typedef struct made_event {
    fl_event event;
    fl_id lot; /* for the lists of the body */
    fl_sv bytes;
    fl_fact facts[FACTS_MAX];
    size_t n_facts;
} made_event;

static fl_id id_of(uint64_t number)
{
    fl_id id = {{0x11}};
    for (int i = 0; i < 8; i++) {
        id.b[15 - i] = (uint8_t)(number >> (8 * i));
    }
    return id;
}

/* Spreads a number over 32 bits (multiplication by the golden ratio). */
static uint64_t mix(uint64_t number)
{
    return (number * 0x9e3779b97f4a7c15u) >> 32;
}

uint64_t fl_history_events(uint64_t t)
{
    return 1 + mix(t) % 4;
}

/* Event i of transaction t; made->lot must not move while the event is used. */
static void make_event(made_event *made, fl_arena *arena, uint64_t t, uint64_t i)
{
    uint64_t number = t * 8 + i;
    *made = (made_event){.lot = id_of(1000000 + number)};
    made->event = (fl_event){.id = id_of(number), .at_s = (int64_t)(mix(number) % 1000)};
    if (number % 5 == 0 && t > 1) {
        made->event.kind = FL_KIND_EVENT_VOIDED;
        made->event.body.event_voided.event = id_of((t - 1) * 8);
    } else if (number % 5 == 1) {
        made->event.kind = FL_KIND_LOT_MOVED;
        made->event.body.lot_moved =
            (fl_ev_lot_moved){.lots = {&made->lot, 1}, .to = id_of(2000000 + t % 7)};
    } else {
        made->event.kind = FL_KIND_LOT_ARRIVED;
        made->event.body.lot_arrived = (fl_ev_lot_arrived){.lot = made->lot,
                                                           .arrival = id_of(3000000 + t),
                                                           .source = id_of(4000000 + t % 3),
                                                           .place = id_of(2000000)};
    }
    int pad = (int)(mix(number) % 2000);
    made->bytes = fl_arena_printf(arena, "{\"n\":%llu,\"pad\":\"%0*llu\"}",
                                  (unsigned long long)number, pad, (unsigned long long)number);
    if (fl_event_facts(&made->event, made->facts, FACTS_MAX, &made->n_facts, NULL) != FL_OK) {
        made->n_facts = 0; /* the comparison will show it */
    }
}

static fl_sv blob_of(fl_arena *arena, uint64_t t)
{
    size_t len = 1 + (size_t)(mix(t) % 9000);
    char *bytes = fl_arena_alloc(arena, len, 1);
    for (size_t i = 0; i < len; i++) {
        bytes[i] = (char)mix(t * 100000 + i);
    }
    return (fl_sv){bytes, len};
}

static fl_sv memo_of(fl_arena *arena, uint64_t t)
{
    return fl_arena_printf(arena, "state %llu %0*d", (unsigned long long)t, (int)(mix(t) % 500), 0);
}

static fl_status put_meaning(fl_store *store, uint64_t t, fl_err *err)
{
    fl_lot lot = {.id = id_of(1 + t % LOTS), .count = (int64_t)t};
    fl_stay stay = {
        .lot = lot.id, .place = id_of(2000000), .from_s = (int64_t)t, .to_s = FL_TIME_OPEN};
    fl_meaning meaning = {.lots = &lot, .n_lots = 1, .stays = &stay, .n_stays = 1};
    return fl_store_meaning_replace(store, &lot.id, 1, NULL, 0, &meaning, err);
}

static fl_status put_last(fl_store *store, uint64_t t, fl_err *err)
{
    char text[32];
    int len = snprintf(text, sizeof text, "%llu", (unsigned long long)t);
    return fl_store_setting_put(store, FL_SV("last"), (fl_sv){text, (size_t)len}, err);
}

static fl_status put_all(fl_store *store, fl_arena *arena, uint64_t t, fl_err *err)
{
    fl_status status = FL_OK;
    for (uint64_t i = 0; i < fl_history_events(t) && status == FL_OK; i++) {
        made_event made;
        make_event(&made, arena, t, i);
        status = fl_store_journal_append(store, &made.event, made.bytes, made.facts, made.n_facts,
                                         (int64_t)t, err);
    }
    if (status == FL_OK) {
        status = put_meaning(store, t, err);
    }
    if (status == FL_OK && t % 4 == 0) {
        fl_sv bytes = blob_of(arena, t);
        status = fl_store_blob_put(store, fl_hash_of(bytes.ptr, bytes.len), bytes, err);
    }
    return status == FL_OK ? put_last(store, t, err) : status;
}

fl_status fl_history_record(fl_store *store, uint64_t t, fl_err *err)
{
    fl_arena arena;
    fl_arena_init(&arena);
    fl_status status = fl_store_begin(store, err);
    if (status == FL_OK) {
        status = put_all(store, &arena, t, err);
        if (status == FL_OK) {
            status = fl_store_commit(store, err);
        } else {
            fl_store_rollback(store);
        }
    }
    fl_arena_done(&arena);
    return status;
}

fl_status fl_history_memo(fl_store *store, uint64_t t, fl_err *err)
{
    fl_arena arena;
    fl_arena_init(&arena);
    fl_status status = fl_store_memo_put(store, fl_hash_of(&t, sizeof t), memo_of(&arena, t), err);
    fl_arena_done(&arena);
    return status;
}

/* ---- comparing ---- */

static bool same(fl_sv a, fl_sv b)
{
    return a.len == b.len && (a.len == 0 || memcmp(a.ptr, b.ptr, a.len) == 0);
}

/* A difference that the store did not notice. */
#define WRONG(err, ...) fl_fail((err), FL_ECONFLICT, __VA_ARGS__)

static fl_status check_facts(fl_store *store, fl_arena *arena, const made_event *made, fl_err *err)
{
    fl_fact *facts = NULL;
    size_t count = 0;
    fl_status status = fl_store_facts_of(store, made->event.id, arena, &facts, &count, err);
    if (status != FL_OK) {
        return status;
    }
    size_t found = 0;
    for (size_t i = 0; i < made->n_facts; i++) {
        for (size_t j = 0; j < count; j++) {
            found += facts[j].entity == made->facts[i].entity &&
                     facts[j].is_definition == made->facts[i].is_definition &&
                     fl_id_eq(facts[j].id, made->facts[i].id);
        }
    }
    if (made->n_facts == 0 || count != made->n_facts || found != count) {
        return WRONG(err, "an event of %zu facts has %zu, %zu of them right", made->n_facts, count,
                     found);
    }
    return FL_OK;
}

/* Events of transactions 1 to `present`, in order, with their facts; counts voidings. */
static fl_status check_events(fl_store *store, fl_arena *arena, uint64_t present, size_t *voidings,
                              fl_err *err)
{
    fl_journal_row *rows = NULL;
    size_t count = 0;
    size_t next = 0;
    *voidings = 0;
    fl_status status = fl_store_journal_read(store, 0, SIZE_MAX, arena, &rows, &count, err);
    for (uint64_t t = 1; t <= present && status == FL_OK; t++) {
        for (uint64_t i = 0; i < fl_history_events(t) && status == FL_OK; i++, next++) {
            made_event made;
            make_event(&made, arena, t, i);
            *voidings += made.event.kind == FL_KIND_EVENT_VOIDED;
            if (next >= count || !fl_id_eq(rows[next].id, made.event.id) ||
                !same(rows[next].bytes, made.bytes) || rows[next].recorded_s != (int64_t)t ||
                rows[next].position != (int64_t)next + 1) {
                return WRONG(err, "event %llu of transaction %llu is missing or changed",
                             (unsigned long long)i, (unsigned long long)t);
            }
            status = check_facts(store, arena, &made, err);
        }
    }
    if (status == FL_OK && next != count) {
        return WRONG(err, "%zu events after transaction %llu", count - next,
                     (unsigned long long)present);
    }
    return status;
}

static fl_status check_voidings(fl_store *store, fl_arena *arena, size_t want, fl_err *err)
{
    fl_voiding *rows = NULL;
    size_t count = 0;
    fl_status status = fl_store_voidings(store, arena, &rows, &count, err);
    if (status == FL_OK && count != want) {
        return WRONG(err, "%zu voidings, not %zu", count, want);
    }
    return status;
}

/* Lot k stands as the last transaction of its turn left it. */
static fl_status check_live(fl_store *store, fl_arena *arena, uint64_t present, fl_err *err)
{
    fl_meaning meaning;
    fl_status status = fl_store_meaning_read(store, arena, &meaning, err);
    if (status != FL_OK) {
        return status;
    }
    size_t want = present < LOTS ? (size_t)present : LOTS;
    if (meaning.n_lots != want || meaning.n_stays != want) {
        return WRONG(err, "%zu lots and %zu stays, not %zu", meaning.n_lots, meaning.n_stays, want);
    }
    for (size_t i = 0; i < want; i++) {
        uint64_t t = (uint64_t)meaning.lots[i].count;
        if (t > present || t + LOTS <= present || meaning.stays[i].from_s != (int64_t)t ||
            !fl_id_eq(meaning.lots[i].id, id_of(1 + t % LOTS)) ||
            !fl_id_eq(meaning.stays[i].lot, meaning.lots[i].id)) {
            return WRONG(err, "lot %zu is of transaction %llu", i, (unsigned long long)t);
        }
    }
    return FL_OK;
}

static fl_status check_blobs(fl_store *store, fl_arena *arena, uint64_t present, fl_err *err)
{
    for (uint64_t t = 4; t <= present; t += 4) {
        fl_sv want = blob_of(arena, t);
        fl_sv got;
        fl_status status =
            fl_store_blob_get(store, fl_hash_of(want.ptr, want.len), arena, &got, err);
        if (status != FL_OK) {
            return status;
        }
        if (!same(got, want)) {
            return WRONG(err, "blob %llu is changed", (unsigned long long)t);
        }
    }
    return FL_OK;
}

/* A memo may be gone; one that is there is right. */
static fl_status check_memos(fl_store *store, fl_arena *arena, uint64_t present, fl_err *err)
{
    for (uint64_t t = 1; t <= present + 1; t++) {
        fl_sv got;
        fl_status status = fl_store_memo_get(store, fl_hash_of(&t, sizeof t), arena, &got, err);
        if (status != FL_OK && status != FL_ENOTFOUND) {
            return status;
        }
        if (status == FL_OK && !same(got, memo_of(arena, t))) {
            return WRONG(err, "memo %llu is changed", (unsigned long long)t);
        }
    }
    return FL_OK;
}

static fl_status read_last(fl_store *store, fl_arena *arena, uint64_t *last, fl_err *err)
{
    fl_sv text;
    int64_t number = 0;
    fl_status status = fl_store_setting_get(store, FL_SV("last"), arena, &text, err);
    if (status == FL_ENOTFOUND) {
        *last = 0;
        return FL_OK;
    }
    if (status == FL_OK) {
        status = fl_num_parse_int(text, "last", 0, INT64_MAX, &number, err);
    }
    if (status == FL_OK) {
        *last = (uint64_t)number;
    }
    return status;
}

static fl_status check_all(fl_store *store, fl_arena *arena, uint64_t acked, uint64_t *present,
                           fl_err *err)
{
    uint64_t last = 0;
    size_t voidings = 0;
    fl_status status = read_last(store, arena, &last, err);
    if (status == FL_OK && last != acked && last != acked + 1) {
        status = WRONG(err, "transaction %llu was acknowledged, %llu is the last that is there",
                       (unsigned long long)acked, (unsigned long long)last);
    }
    if (status == FL_OK) {
        status = check_events(store, arena, last, &voidings, err);
    }
    if (status == FL_OK) {
        status = check_voidings(store, arena, voidings, err);
    }
    if (status == FL_OK) {
        status = check_live(store, arena, last, err);
    }
    if (status == FL_OK) {
        status = check_blobs(store, arena, last, err);
    }
    if (status == FL_OK) {
        status = check_memos(store, arena, last, err);
    }
    if (status == FL_OK) {
        status = fl_store_check(store, err);
    }
    if (status == FL_OK) {
        *present = last;
    }
    return status;
}

fl_status fl_history_check(fl_store *store, uint64_t acked, uint64_t *present, fl_err *err)
{
    fl_arena arena;
    fl_arena_init(&arena);
    fl_status status = check_all(store, &arena, acked, present, err);
    fl_arena_done(&arena);
    return status;
}

fl_status fl_history_last(fl_store *store, uint64_t *last, fl_err *err)
{
    fl_arena arena;
    fl_arena_init(&arena);
    fl_status status = read_last(store, &arena, last, err);
    fl_arena_done(&arena);
    return status;
}

/* The number that id_of made into an id. */
static uint64_t number_of(fl_id id)
{
    uint64_t number = 0;
    for (int i = 8; i < 16; i++) {
        number = number << 8 | id.b[i];
    }
    return number;
}

/* How many events the transactions before t have. */
static uint64_t events_before(uint64_t t)
{
    uint64_t sum = 0;
    for (uint64_t i = 1; i < t; i++) {
        sum += fl_history_events(i);
    }
    return sum;
}

static bool is_genuine(const fl_journal_row *row, fl_arena *arena, uint64_t n)
{
    uint64_t t = number_of(row->id) / 8;
    uint64_t i = number_of(row->id) % 8;
    if (t < 1 || t > n || i >= fl_history_events(t)) {
        return false;
    }
    made_event made;
    make_event(&made, arena, t, i);
    return fl_id_eq(row->id, made.event.id) && same(row->bytes, made.bytes) &&
           row->recorded_s == (int64_t)t && row->position == (int64_t)(events_before(t) + i + 1);
}

fl_status fl_history_check_rows(fl_store *store, uint64_t n, bool must_be_all, fl_err *err)
{
    fl_arena arena;
    fl_arena_init(&arena);
    fl_journal_row *rows = NULL;
    size_t count = 0;
    fl_status status = fl_store_journal_read(store, 0, SIZE_MAX, &arena, &rows, &count, err);
    for (size_t i = 0; i < count && status == FL_OK; i++) {
        if (!is_genuine(&rows[i], &arena, n)) {
            status = WRONG(err, "row %zu came out changed", i);
        }
    }
    if (status == FL_OK && must_be_all && count != events_before(n + 1)) {
        status = WRONG(err, "%zu rows are missing", (size_t)events_before(n + 1) - count);
    }
    fl_arena_done(&arena);
    return status;
}
