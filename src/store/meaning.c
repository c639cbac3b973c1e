/* Writing what the ledger says: the rows of some lots and places give way to their new ones. */
#include <stdlib.h>

#include "base/alloc.h"
#include "store/entity.h"
#include "store/query.h"

/* Which lots or places are replaced. */
typedef struct fl_id_set {
    bool is_all;
    fl_id *sorted; /* owned */
    size_t count;
} fl_id_set;

static int compare_ids(const void *a, const void *b)
{
    return fl_id_compare(*(const fl_id *)a, *(const fl_id *)b);
}

static fl_id_set set_of(const fl_id *ids, size_t count)
{
    fl_id_set set = {.is_all = false, .sorted = fl_alloc(count + 1, sizeof *ids), .count = count};
    for (size_t i = 0; i < count; i++) {
        set.sorted[i] = ids[i];
    }
    qsort(set.sorted, count, sizeof *set.sorted, compare_ids);
    return set;
}

static bool set_has(const fl_id_set *set, fl_id id)
{
    return set->is_all ||
           bsearch(&id, set->sorted, set->count, sizeof *set->sorted, compare_ids) != NULL;
}

/* Deletes the rows of each id of the set, or all of them. */
static fl_status delete_rows(fl_store *store, const fl_id_set *set, const char *sql_of,
                             const char *sql_all, fl_err *err)
{
    fl_status status = FL_OK;
    if (set->is_all) {
        fl_query query = fl_query_open(store, sql_all);
        return fl_query_run(&query, err);
    }
    for (size_t i = 0; i < set->count && status == FL_OK; i++) {
        fl_query query = fl_query_open(store, sql_of);
        fl_query_bind_id(&query, &set->sorted[i]);
        status = fl_query_run(&query, err);
    }
    return status;
}

static fl_status put_lot(fl_store *store, const fl_lot *lot, fl_err *err)
{
    static const char sql[] =
        "INSERT INTO lot_now (lot, born_by, origin, born_s, precision, mother, arrival, source, "
        "plant, name, form, use, label_active, is_label_clean, count_born, count, place, is_gone, "
        "released_by) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_id(&query, &lot->id);
    fl_query_bind_id(&query, &lot->born_by);
    fl_query_bind_text(&query, fl_sv_from_cstr(fl_kinds[lot->origin].word));
    fl_query_bind_int(&query, lot->born_s);
    fl_query_bind_text(&query, fl_sv_from_cstr(fl_precision_words[lot->precision].word));
    fl_query_bind_id(&query, &lot->mother);
    fl_query_bind_id(&query, &lot->arrival);
    fl_query_bind_id(&query, &lot->source);
    fl_query_bind_id(&query, &lot->plant);
    fl_query_bind_text(&query, lot->name);
    fl_query_bind_text(&query, fl_sv_from_cstr(fl_words_form[lot->form].word));
    fl_query_bind_text(&query, fl_sv_from_cstr(fl_words_use[lot->use].word));
    fl_query_bind_text(&query, lot->label_active);
    fl_query_bind_bool(&query, lot->is_label_clean);
    fl_query_bind_int(&query, lot->count_born);
    fl_query_bind_int(&query, lot->count);
    fl_query_bind_id(&query, &lot->place);
    fl_query_bind_bool(&query, lot->is_gone);
    fl_query_bind_id(&query, &lot->released_by);
    return fl_query_run(&query, err);
}

static fl_status put_stay(fl_store *store, const fl_stay *stay, fl_err *err)
{
    static const char sql[] = "INSERT INTO stay (lot, place, from_s, to_s, from_event, to_event) "
                              "VALUES (?, ?, ?, ?, ?, ?)";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_id(&query, &stay->lot);
    fl_query_bind_id(&query, &stay->place);
    fl_query_bind_int(&query, stay->from_s);
    fl_query_bind_until(&query, stay->to_s);
    fl_query_bind_id(&query, &stay->from_event);
    fl_query_bind_id(&query, &stay->to_event);
    return fl_query_run(&query, err);
}

static fl_status put_fill(fl_store *store, const fl_fill *fill, fl_err *err)
{
    static const char sql[] = "INSERT INTO fill (fill, place, from_s, to_s, from_event, to_event, "
                              "began_with_lots) VALUES (?, ?, ?, ?, ?, ?, ?)";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_id(&query, &fill->id);
    fl_query_bind_id(&query, &fill->place);
    fl_query_bind_int(&query, fill->from_s);
    fl_query_bind_until(&query, fill->to_s);
    fl_query_bind_id(&query, &fill->from_event);
    fl_query_bind_id(&query, &fill->to_event);
    fl_query_bind_bool(&query, fill->began_with_lots);
    return fl_query_run(&query, err);
}

static fl_status put_hold(fl_store *store, const fl_hold *hold, fl_err *err)
{
    static const char sql[] =
        "INSERT INTO place_hold (hold, place, cause, from_event, finding, from_s, to_s, to_event, "
        "why) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_id(&query, &hold->id);
    fl_query_bind_id(&query, &hold->place);
    fl_query_bind_text(&query, fl_sv_from_cstr(fl_cause_words[hold->cause].word));
    fl_query_bind_id(&query, &hold->from_event);
    fl_query_bind_id(&query, &hold->finding);
    fl_query_bind_int(&query, hold->from_s);
    fl_query_bind_until(&query, hold->to_s);
    fl_query_bind_id(&query, &hold->to_event);
    fl_query_bind_text(&query, hold->why);
    return fl_query_run(&query, err);
}

static fl_status put_finding(fl_store *store, const fl_finding_now *finding, fl_err *err)
{
    static const char sql[] =
        "INSERT INTO finding_now (finding, look, place, lot, at_s, threat, stage, count, "
        "is_removed, is_retracted, what) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_id(&query, &finding->finding);
    fl_query_bind_id(&query, &finding->look);
    fl_query_bind_id(&query, &finding->place);
    fl_query_bind_id(&query, &finding->lot);
    fl_query_bind_int(&query, finding->at_s);
    fl_query_bind_text(&query, finding->threat);
    fl_query_bind_text(&query, finding->stage);
    fl_query_bind_int(&query, finding->count);
    fl_query_bind_bool(&query, finding->is_removed);
    fl_query_bind_bool(&query, finding->is_retracted);
    fl_query_bind_text(&query, finding->what);
    return fl_query_run(&query, err);
}

static fl_status put_conflict(fl_store *store, const fl_conflict *conflict, fl_err *err)
{
    static const char sql[] = "INSERT INTO conflict (kind, event, other, lot, place, at_s) "
                              "VALUES (?, ?, ?, ?, ?, ?)";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_text(&query, fl_sv_from_cstr(fl_words_conflict[conflict->kind].word));
    fl_query_bind_id(&query, &conflict->event);
    fl_query_bind_id(&query, &conflict->other);
    fl_query_bind_id(&query, &conflict->lot);
    fl_query_bind_id(&query, &conflict->place);
    fl_query_bind_int(&query, conflict->at_s);
    return fl_query_run(&query, err);
}

static fl_status delete_of_lots(fl_store *store, const fl_id_set *lots, fl_err *err)
{
    static const char lot[] = "DELETE FROM lot_now WHERE lot = ?";
    static const char lot_all[] = "DELETE FROM lot_now";
    static const char stay[] = "DELETE FROM stay WHERE lot = ?";
    static const char stay_all[] = "DELETE FROM stay";
    static const char conflict[] = "DELETE FROM conflict WHERE lot = ?";
    static const char conflict_all[] = "DELETE FROM conflict WHERE lot IS NOT NULL";
    fl_status status = delete_rows(store, lots, lot, lot_all, err);
    if (status == FL_OK) {
        status = delete_rows(store, lots, stay, stay_all, err);
    }
    if (status == FL_OK) {
        status = delete_rows(store, lots, conflict, conflict_all, err);
    }
    return status;
}

/* IS, not =: the none id stands for "no place at all". */
static fl_status delete_of_places(fl_store *store, const fl_id_set *places, fl_err *err)
{
    static const char fill[] = "DELETE FROM fill WHERE place IS ?";
    static const char fill_all[] = "DELETE FROM fill";
    static const char hold[] = "DELETE FROM place_hold WHERE place IS ?";
    static const char hold_all[] = "DELETE FROM place_hold";
    static const char finding[] = "DELETE FROM finding_now WHERE place IS ?";
    static const char finding_all[] = "DELETE FROM finding_now";
    static const char conflict[] = "DELETE FROM conflict WHERE lot IS NULL AND place IS ?";
    static const char conflict_all[] = "DELETE FROM conflict WHERE lot IS NULL";
    fl_status status = delete_rows(store, places, fill, fill_all, err);
    if (status == FL_OK) {
        status = delete_rows(store, places, hold, hold_all, err);
    }
    if (status == FL_OK) {
        status = delete_rows(store, places, finding, finding_all, err);
    }
    if (status == FL_OK) {
        status = delete_rows(store, places, conflict, conflict_all, err);
    }
    return status;
}

static fl_status put_of_lots(fl_store *store, const fl_id_set *lots, const fl_meaning *meaning,
                             fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < meaning->n_lots && status == FL_OK; i++) {
        if (set_has(lots, meaning->lots[i].id)) {
            status = put_lot(store, &meaning->lots[i], err);
        }
    }
    for (size_t i = 0; i < meaning->n_stays && status == FL_OK; i++) {
        if (set_has(lots, meaning->stays[i].lot)) {
            status = put_stay(store, &meaning->stays[i], err);
        }
    }
    return status;
}

static fl_status put_of_places(fl_store *store, const fl_id_set *places, const fl_meaning *meaning,
                               fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < meaning->n_fills && status == FL_OK; i++) {
        if (set_has(places, meaning->fills[i].place)) {
            status = put_fill(store, &meaning->fills[i], err);
        }
    }
    for (size_t i = 0; i < meaning->n_holds && status == FL_OK; i++) {
        if (set_has(places, meaning->holds[i].place)) {
            status = put_hold(store, &meaning->holds[i], err);
        }
    }
    for (size_t i = 0; i < meaning->n_findings && status == FL_OK; i++) {
        if (set_has(places, meaning->findings[i].place)) {
            status = put_finding(store, &meaning->findings[i], err);
        }
    }
    return status;
}

static fl_status replace(fl_store *store, const fl_id_set *lots, const fl_id_set *places,
                         const fl_meaning *meaning, fl_err *err)
{
    fl_status status = delete_of_lots(store, lots, err);
    if (status == FL_OK) {
        status = delete_of_places(store, places, err);
    }
    if (status == FL_OK) {
        status = put_of_lots(store, lots, meaning, err);
    }
    if (status == FL_OK) {
        status = put_of_places(store, places, meaning, err);
    }
    for (size_t i = 0; i < meaning->n_conflicts && status == FL_OK; i++) {
        const fl_conflict *conflict = &meaning->conflicts[i];
        bool belongs = fl_id_is_none(conflict->lot) ? set_has(places, conflict->place)
                                                    : set_has(lots, conflict->lot);
        if (belongs) {
            status = put_conflict(store, conflict, err);
        }
    }
    return status;
}

fl_status fl_store_meaning_replace(fl_store *store, const fl_id *lots, size_t n_lots,
                                   const fl_id *places, size_t n_places, const fl_meaning *meaning,
                                   fl_err *err)
{
    fl_status status = fl_db_need_write(store, err);
    if (status != FL_OK) {
        return status;
    }
    fl_id_set lot_set = set_of(lots, n_lots);
    fl_id_set place_set = set_of(places, n_places);
    status = replace(store, &lot_set, &place_set, meaning, err);
    fl_alloc_free(lot_set.sorted);
    fl_alloc_free(place_set.sorted);
    return status;
}

fl_status fl_store_meaning_replace_all(fl_store *store, const fl_meaning *meaning, fl_err *err)
{
    static const fl_id_set all = {.is_all = true};
    fl_status status = fl_db_need_write(store, err);
    return status == FL_OK ? replace(store, &all, &all, meaning, err) : status;
}
