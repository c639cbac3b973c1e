/* Reading the journal: rows, things that events mention, voidings. Every row is checked
 * against the seal stored with it. */
#include <stdio.h>
#include <string.h>

#include "store/entity.h"
#include "store/query.h"

#define ROW_COLUMNS "position, id, kind, at_s, rank, recorded_s, seal, canonical"

static fl_status take_row(const fl_query *query, fl_arena *arena, void *row, fl_err *err)
{
    fl_sealed got = {
        .position = fl_query_int(query, 0),
        .id = fl_query_id(query, 1),
        .kind = fl_query_view(query, 2),
        .at_s = fl_query_int(query, 3),
        .rank = fl_query_int(query, 4),
        .recorded_s = fl_query_int(query, 5),
        .canonical = fl_query_bytes(query, 7, arena),
    };
    fl_hash want = fl_query_hash(query, 6);
    fl_hash have = fl_journal_seal(&got);
    if (memcmp(want.b, have.b, sizeof want.b) != 0) {
        char what[64];
        snprintf(what, sizeof what, "event %lld differs from its seal", (long long)got.position);
        return fl_db_damaged(query->store, "journal", what, err);
    }
    *(fl_journal_row *)row = (fl_journal_row){got.position, got.id, got.canonical, got.recorded_s};
    return FL_OK;
}

/* Runs a bound query of ROW_COLUMNS. */
static fl_status take_rows(fl_query *query, fl_arena *arena, fl_journal_row **rows, size_t *count,
                           fl_err *err)
{
    fl_rows all = {0};
    fl_status status = fl_query_all(query, arena, sizeof **rows, take_row, &all, err);
    if (status == FL_OK) {
        *rows = all.rows;
        *count = all.count;
    }
    return status;
}

static fl_status take_id(const fl_query *query, fl_arena *arena, void *row, fl_err *err)
{
    (void)arena;
    (void)err;
    *(fl_id *)row = fl_query_id(query, 0);
    return FL_OK;
}

fl_status fl_store_journal_get(fl_store *store, fl_id id, fl_arena *arena, fl_sv *bytes,
                               fl_err *err)
{
    static const char sql[] = "SELECT " ROW_COLUMNS " FROM journal WHERE id = ?";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_id(&query, &id);
    fl_journal_row *rows = NULL;
    size_t count = 0;
    fl_status status = take_rows(&query, arena, &rows, &count, err);
    if (status != FL_OK) {
        return status;
    }
    if (count == 0) {
        char text[FL_ID_TEXT_MAX];
        return fl_fail(err, FL_ENOTFOUND, "there is no event %s", fl_id_format(text, id));
    }
    *bytes = rows[0].bytes;
    return FL_OK;
}

fl_status fl_store_journal_read(fl_store *store, int64_t after, size_t limit, fl_arena *arena,
                                fl_journal_row **rows, size_t *count, fl_err *err)
{
    static const char sql[] = "SELECT " ROW_COLUMNS " FROM journal "
                              "WHERE position > ? ORDER BY position LIMIT ?";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_int(&query, after);
    fl_query_bind_int(&query, limit > INT64_MAX ? INT64_MAX : (int64_t)limit);
    return take_rows(&query, arena, rows, count, err);
}

fl_status fl_store_journal_last(fl_store *store, int64_t *position, fl_err *err)
{
    static const char sql[] = "SELECT coalesce(max(position), 0) FROM journal";
    fl_query query = fl_query_open(store, sql);
    bool is_row = false;
    fl_status status = fl_query_step(&query, &is_row, err);
    if (status == FL_OK && is_row) {
        *position = fl_query_int(&query, 0);
    }
    fl_query_end(&query);
    return status;
}

fl_status fl_store_journal_count(fl_store *store, fl_sv kind, fl_sv text, int64_t *count,
                                 fl_err *err)
{
    static const char sql[] = "SELECT count(*) FROM journal WHERE kind = ? "
                              "AND instr(canonical, ?) > 0";
    fl_query query = fl_query_open(store, sql);
    bool is_row = false;
    fl_query_bind_text(&query, kind);
    fl_query_bind_text(&query, text);
    fl_status status = fl_query_step(&query, &is_row, err);
    if (status == FL_OK && is_row) {
        *count = fl_query_int(&query, 0);
    }
    fl_query_end(&query);
    return status;
}

fl_status fl_store_entity_exists(fl_store *store, fl_entity entity, fl_id id, bool *exists,
                                 fl_err *err)
{
    static const char thing[] = "SELECT 1 FROM fact WHERE thing = ? AND entity = ? "
                                "AND is_definition = 1 LIMIT 1";
    static const char event[] = "SELECT 1 FROM journal WHERE id = ?";
    fl_query query = fl_query_open(store, entity == FL_ENTITY_EVENT ? event : thing);
    fl_query_bind_id(&query, &id);
    if (entity != FL_ENTITY_EVENT) {
        fl_query_bind_text(&query, fl_sv_from_cstr(fl_entity_words[entity].word));
    }
    bool is_row = false;
    fl_status status = fl_query_step(&query, &is_row, err);
    fl_query_end(&query);
    if (status == FL_OK) {
        *exists = is_row;
    }
    return status;
}

fl_status fl_store_entities(fl_store *store, fl_entity entity, fl_arena *arena, fl_id **ids,
                            size_t *count, fl_err *err)
{
    static const char things[] = "SELECT thing FROM fact WHERE entity = ? AND is_definition = 1 "
                                 "GROUP BY thing ORDER BY min(position), thing";
    static const char events[] = "SELECT id FROM journal ORDER BY position";
    fl_query query = fl_query_open(store, entity == FL_ENTITY_EVENT ? events : things);
    if (entity != FL_ENTITY_EVENT) {
        fl_query_bind_text(&query, fl_sv_from_cstr(fl_entity_words[entity].word));
    }
    fl_rows all = {0};
    fl_status status = fl_query_all(&query, arena, sizeof **ids, take_id, &all, err);
    if (status == FL_OK) {
        *ids = all.rows;
        *count = all.count;
    }
    return status;
}

fl_status fl_store_events_of(fl_store *store, const fl_id *ids, size_t n_ids, fl_arena *arena,
                             fl_journal_row **rows, size_t *count, fl_err *err)
{
    static const char sql[] =
        FL_QUERY_WANTED "SELECT " ROW_COLUMNS " FROM journal WHERE position IN ("
                        " SELECT fact.position FROM wanted CROSS JOIN fact "
                        " ON fact.thing = wanted.thing) "
                        "ORDER BY at_s, rank, id";
    fl_query query = fl_query_open(store, sql);
    fl_status status = fl_query_bind_ids(&query, ids, n_ids, err);
    return status == FL_OK ? take_rows(&query, arena, rows, count, err) : status;
}

static fl_status take_fact(const fl_query *query, fl_arena *arena, void *row, fl_err *err)
{
    (void)arena;
    int entity = fl_query_word(query, 1, fl_entity_words, FL_ENTITY_COUNT);
    if (entity < 0) {
        return fl_db_damaged(query->store, "fact", "an unknown entity", err);
    }
    *(fl_fact *)row = (fl_fact){(fl_entity)entity, fl_query_id(query, 0), fl_query_bool(query, 2)};
    return FL_OK;
}

fl_status fl_store_facts_of(fl_store *store, fl_id event, fl_arena *arena, fl_fact **facts,
                            size_t *count, fl_err *err)
{
    static const char sql[] = "SELECT thing, entity, is_definition FROM fact WHERE position = "
                              "(SELECT position FROM journal WHERE id = ?) "
                              "ORDER BY is_definition DESC, entity, thing";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_id(&query, &event);
    fl_rows all = {0};
    fl_status status = fl_query_all(&query, arena, sizeof **facts, take_fact, &all, err);
    if (status == FL_OK) {
        *facts = all.rows;
        *count = all.count;
    }
    return status;
}

static fl_status take_voiding(const fl_query *query, fl_arena *arena, void *row, fl_err *err)
{
    (void)arena;
    (void)err;
    *(fl_voiding *)row = (fl_voiding){fl_query_id(query, 0), fl_query_id(query, 1)};
    return FL_OK;
}

fl_status fl_store_voidings(fl_store *store, fl_arena *arena, fl_voiding **rows, size_t *count,
                            fl_err *err)
{
    static const char sql[] = "SELECT voiding.event, journal.id FROM voiding "
                              "JOIN journal USING (position) ORDER BY voiding.position";
    fl_query query = fl_query_open(store, sql);
    fl_rows all = {0};
    fl_status status = fl_query_all(&query, arena, sizeof **rows, take_voiding, &all, err);
    if (status == FL_OK) {
        *rows = all.rows;
        *count = all.count;
    }
    return status;
}

fl_status fl_store_lots_of_places(fl_store *store, const fl_id *places, size_t n_places,
                                  fl_arena *arena, fl_id **lots, size_t *count, fl_err *err)
{
    static const char sql[] =
        FL_QUERY_WANTED "SELECT DISTINCT stay.lot FROM wanted CROSS JOIN stay "
                        "ON stay.place = wanted.thing ORDER BY stay.lot";
    fl_query query = fl_query_open(store, sql);
    fl_status status = fl_query_bind_ids(&query, places, n_places, err);
    fl_rows all = {0};
    if (status == FL_OK) {
        status = fl_query_all(&query, arena, sizeof **lots, take_id, &all, err);
    }
    if (status == FL_OK) {
        *lots = all.rows;
        *count = all.count;
    }
    return status;
}
