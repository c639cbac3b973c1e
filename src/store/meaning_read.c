/* Reading what the ledger said, in the order that fl_meaning demands. */
#include <stdlib.h>

#include "store/entity.h"
#include "store/query.h"

/* The column's word as an index; a word that no fernlock wrote sets *is_known to false. */
static int word_of(const fl_query *query, int column, const fl_word *list, int count,
                   bool *is_known)
{
    int index = fl_query_word(query, column, list, count);
    *is_known = *is_known && index >= 0;
    return index < 0 ? 0 : index;
}

static int kind_of(const fl_query *query, int column, bool *is_known)
{
    int kind = fl_kind_find(fl_query_view(query, column));
    *is_known = *is_known && kind >= 0;
    return kind < 0 ? 0 : kind;
}

static fl_status known(const fl_query *query, bool is_known, const char *table, fl_err *err)
{
    return is_known ? FL_OK : fl_db_damaged(query->store, table, "an unknown word", err);
}

static fl_status take_lot(const fl_query *query, fl_arena *arena, void *row, fl_err *err)
{
    bool is_known = true;
    *(fl_lot *)row = (fl_lot){
        .id = fl_query_id(query, 0),
        .born_by = fl_query_id(query, 1),
        .origin = (fl_kind)kind_of(query, 2, &is_known),
        .born_s = fl_query_int(query, 3),
        .precision =
            (fl_precision)word_of(query, 4, fl_precision_words, FL_PRECISION_COUNT, &is_known),
        .mother = fl_query_id(query, 5),
        .arrival = fl_query_id(query, 6),
        .source = fl_query_id(query, 7),
        .plant = fl_query_id(query, 8),
        .name = fl_query_bytes(query, 9, arena),
        .form = (fl_form)word_of(query, 10, fl_words_form, FL_FORM_COUNT, &is_known),
        .use = (fl_use)word_of(query, 11, fl_words_use, FL_USE_COUNT, &is_known),
        .label_active = fl_query_bytes(query, 12, arena),
        .is_label_clean = fl_query_bool(query, 13),
        .count_born = fl_query_int(query, 14),
        .count = fl_query_int(query, 15),
        .place = fl_query_id(query, 16),
        .is_gone = fl_query_bool(query, 17),
        .released_by = fl_query_id(query, 18),
    };
    return known(query, is_known, "lot_now", err);
}

static fl_status take_stay(const fl_query *query, fl_arena *arena, void *row, fl_err *err)
{
    (void)arena;
    (void)err;
    *(fl_stay *)row = (fl_stay){
        .lot = fl_query_id(query, 0),
        .place = fl_query_id(query, 1),
        .from_s = fl_query_int(query, 2),
        .to_s = fl_query_until(query, 3),
        .from_event = fl_query_id(query, 4),
        .to_event = fl_query_id(query, 5),
    };
    return FL_OK;
}

static fl_status take_fill(const fl_query *query, fl_arena *arena, void *row, fl_err *err)
{
    (void)arena;
    (void)err;
    *(fl_fill *)row = (fl_fill){
        .id = fl_query_id(query, 0),
        .place = fl_query_id(query, 1),
        .from_s = fl_query_int(query, 2),
        .to_s = fl_query_until(query, 3),
        .from_event = fl_query_id(query, 4),
        .to_event = fl_query_id(query, 5),
        .began_with_lots = fl_query_bool(query, 6),
    };
    return FL_OK;
}

static fl_status take_hold(const fl_query *query, fl_arena *arena, void *row, fl_err *err)
{
    bool is_known = true;
    *(fl_hold *)row = (fl_hold){
        .id = fl_query_id(query, 0),
        .place = fl_query_id(query, 1),
        .cause = (fl_hold_cause)word_of(query, 2, fl_cause_words, FL_HOLD_BY_ANIMAL + 1, &is_known),
        .from_event = fl_query_id(query, 3),
        .finding = fl_query_id(query, 4),
        .from_s = fl_query_int(query, 5),
        .to_s = fl_query_until(query, 6),
        .to_event = fl_query_id(query, 7),
        .why = fl_query_bytes(query, 8, arena),
    };
    return known(query, is_known, "place_hold", err);
}

static fl_status take_finding(const fl_query *query, fl_arena *arena, void *row, fl_err *err)
{
    (void)err;
    *(fl_finding_now *)row = (fl_finding_now){
        .finding = fl_query_id(query, 0),
        .look = fl_query_id(query, 1),
        .place = fl_query_id(query, 2),
        .lot = fl_query_id(query, 3),
        .at_s = fl_query_int(query, 4),
        .threat = fl_query_bytes(query, 5, arena),
        .stage = fl_query_bytes(query, 6, arena),
        .count = fl_query_int(query, 7),
        .is_removed = fl_query_bool(query, 8),
        .is_retracted = fl_query_bool(query, 9),
        .what = fl_query_bytes(query, 10, arena),
    };
    return FL_OK;
}

static fl_status take_conflict(const fl_query *query, fl_arena *arena, void *row, fl_err *err)
{
    (void)arena;
    bool is_known = true;
    *(fl_conflict *)row = (fl_conflict){
        .kind =
            (fl_conflict_kind)word_of(query, 0, fl_words_conflict, FL_CONFLICT_COUNT, &is_known),
        .event = fl_query_id(query, 1),
        .other = fl_query_id(query, 2),
        .lot = fl_query_id(query, 3),
        .place = fl_query_id(query, 4),
        .at_s = fl_query_int(query, 5),
    };
    return known(query, is_known, "conflict", err);
}

/* By moment, event, kind and other, as fl_meaning says; then by lot and place. In C, because the
 * order of kinds is the enum's, not the words'. */
static int compare_conflicts(const void *left, const void *right)
{
    const fl_conflict *a = left;
    const fl_conflict *b = right;
    if (a->at_s != b->at_s) {
        return a->at_s < b->at_s ? -1 : 1;
    }
    int order = fl_id_compare(a->event, b->event);
    if (order == 0 && a->kind != b->kind) {
        order = a->kind < b->kind ? -1 : 1;
    }
    if (order == 0) {
        order = fl_id_compare(a->other, b->other);
    }
    if (order == 0) {
        order = fl_id_compare(a->lot, b->lot);
    }
    return order == 0 ? fl_id_compare(a->place, b->place) : order;
}

static const char sql_lots[] =
    "SELECT lot, born_by, origin, born_s, precision, mother, arrival, source, plant, name, form, "
    "use, label_active, is_label_clean, count_born, count, place, is_gone, released_by "
    "FROM lot_now ORDER BY lot";
static const char sql_stays[] = "SELECT lot, place, from_s, to_s, from_event, to_event FROM stay "
                                "ORDER BY lot, from_s, number";
static const char sql_fills[] =
    "SELECT fill, place, from_s, to_s, from_event, to_event, began_with_lots FROM fill "
    "ORDER BY place, from_s, number";
static const char sql_holds[] =
    "SELECT hold, place, cause, from_event, finding, from_s, to_s, to_event, why FROM place_hold "
    "ORDER BY place, from_s, hold, number";
static const char sql_findings[] =
    "SELECT finding, look, place, lot, at_s, threat, stage, count, is_removed, is_retracted, what "
    "FROM finding_now ORDER BY at_s, finding, look, number";
static const char sql_conflicts[] = "SELECT kind, event, other, lot, place, at_s FROM conflict";

/* One table of what is read, in the order of the enum below. */
typedef struct fl_part {
    const char *sql;
    size_t size;
    fl_row_take take;
} fl_part;
enum { LOTS, STAYS, FILLS, HOLDS, FINDINGS, CONFLICTS, PARTS };
static const fl_part parts[PARTS] = {
    [LOTS] = {sql_lots, sizeof(fl_lot), take_lot},
    [STAYS] = {sql_stays, sizeof(fl_stay), take_stay},
    [FILLS] = {sql_fills, sizeof(fl_fill), take_fill},
    [HOLDS] = {sql_holds, sizeof(fl_hold), take_hold},
    [FINDINGS] = {sql_findings, sizeof(fl_finding_now), take_finding},
    [CONFLICTS] = {sql_conflicts, sizeof(fl_conflict), take_conflict},
};

static fl_status read_parts(fl_store *store, fl_arena *arena, fl_meaning *out, fl_err *err)
{
    fl_rows got[PARTS] = {{0}};
    for (int i = 0; i < PARTS; i++) {
        fl_query query = fl_query_open(store, parts[i].sql);
        fl_status status = fl_query_all(&query, arena, parts[i].size, parts[i].take, &got[i], err);
        if (status != FL_OK) {
            return status;
        }
    }
    if (got[CONFLICTS].count > 1) {
        qsort(got[CONFLICTS].rows, got[CONFLICTS].count, sizeof(fl_conflict), compare_conflicts);
    }
    *out = (fl_meaning){
        .lots = got[LOTS].rows,
        .n_lots = got[LOTS].count,
        .stays = got[STAYS].rows,
        .n_stays = got[STAYS].count,
        .fills = got[FILLS].rows,
        .n_fills = got[FILLS].count,
        .holds = got[HOLDS].rows,
        .n_holds = got[HOLDS].count,
        .findings = got[FINDINGS].rows,
        .n_findings = got[FINDINGS].count,
        .conflicts = got[CONFLICTS].rows,
        .n_conflicts = got[CONFLICTS].count,
    };
    return FL_OK;
}

fl_status fl_store_meaning_read(fl_store *store, fl_arena *arena, fl_meaning *out, fl_err *err)
{
    if (fl_db_is_in_transaction(store)) {
        return read_parts(store, arena, out, err);
    }
    fl_status status = fl_store_begin_read(store, err); /* the tables of one moment */
    if (status == FL_OK) {
        status = read_parts(store, arena, out, err);
        fl_store_rollback(store);
    }
    return status;
}
