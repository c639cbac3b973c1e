/* Writing the journal: an event, its facts and its voiding go in together or not at all. */
#include <assert.h>

#include "base/limits.h"
#include "store/entity.h"
#include "store/query.h"

/* What one append writes. */
typedef struct fl_append {
    const fl_event *event;
    fl_sv canonical;
    const fl_fact *facts;
    size_t n_facts;
    int64_t recorded_s;
} fl_append;

static fl_status insert_event(fl_store *store, const fl_append *append, int64_t position,
                              fl_err *err)
{
    static const char sql[] =
        "INSERT INTO journal (position, id, kind, at_s, rank, recorded_s, seal, canonical) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?)";
    const fl_kind_info *kind = &fl_kinds[append->event->kind];
    fl_sealed row = {position,
                     append->event->id,
                     fl_sv_from_cstr(kind->word),
                     append->event->at_s,
                     kind->rank,
                     append->recorded_s,
                     append->canonical};
    fl_hash seal = fl_journal_seal(&row);
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_int(&query, row.position);
    fl_query_bind_id(&query, &row.id);
    fl_query_bind_text(&query, row.kind);
    fl_query_bind_int(&query, row.at_s);
    fl_query_bind_int(&query, row.rank);
    fl_query_bind_int(&query, row.recorded_s);
    fl_query_bind_hash(&query, &seal);
    fl_query_bind_text(&query, row.canonical);
    return fl_query_run(&query, err);
}

static fl_status insert_fact(fl_store *store, const fl_fact *fact, int64_t position, fl_err *err)
{
    static const char sql[] = "INSERT INTO fact (thing, entity, position, is_definition) "
                              "VALUES (?, ?, ?, ?)";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_id(&query, &fact->id);
    fl_query_bind_text(&query, fl_sv_from_cstr(fl_entity_words[fact->entity].word));
    fl_query_bind_int(&query, position);
    fl_query_bind_bool(&query, fact->is_definition);
    return fl_query_run(&query, err);
}

static fl_status insert_voiding(fl_store *store, fl_id event, int64_t position, fl_err *err)
{
    static const char sql[] = "INSERT INTO voiding (event, position) VALUES (?, ?)";
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_id(&query, &event);
    fl_query_bind_int(&query, position);
    return fl_query_run(&query, err);
}

static fl_status insert_all(fl_store *store, const fl_append *append, fl_err *err)
{
    const fl_event *event = append->event;
    int64_t position = 0;
    fl_status status = fl_store_journal_last(store, &position, err);
    position++;
    if (status == FL_OK) {
        status = insert_event(store, append, position, err);
    }
    for (size_t i = 0; i < append->n_facts && status == FL_OK; i++) {
        status = insert_fact(store, &append->facts[i], position, err);
    }
    if (status == FL_OK && event->kind == FL_KIND_EVENT_VOIDED) {
        status = insert_voiding(store, event->body.event_voided.event, position, err);
    }
    return status;
}

/* Says in our words what the UNIQUE and CHECK rules of the file would say in SQL's. */
static fl_status check_new(fl_store *store, const fl_event *event, fl_sv canonical, fl_err *err)
{
    static const char sql[] = "SELECT 1 FROM journal WHERE id = ?";
    if (canonical.len < 2) {
        return fl_fail(err, FL_EINVAL, "an event without content cannot be recorded");
    }
    if (canonical.len > FL_EVENT_BYTES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "an event of %zu bytes: at most %d can be recorded",
                       canonical.len, FL_EVENT_BYTES_MAX);
    }
    if (fl_id_is_none(event->id)) {
        return fl_fail(err, FL_EINVAL, "an event without an id cannot be recorded");
    }
    fl_query query = fl_query_open(store, sql);
    fl_query_bind_id(&query, &event->id);
    bool is_row = false;
    fl_status status = fl_query_step(&query, &is_row, err);
    fl_query_end(&query);
    if (status == FL_OK && is_row) {
        char text[FL_ID_TEXT_MAX];
        status = fl_fail(err, FL_ECONFLICT, "event %s is recorded already",
                         fl_id_format(text, event->id));
    }
    return status;
}

/* The statements of a savepoint: an append that fails half-way leaves the transaction as it was. */
static fl_status run_one(fl_store *store, const char *sql, fl_err *err)
{
    fl_query query = fl_query_open(store, sql);
    return fl_query_run(&query, err);
}

fl_status fl_store_journal_append(fl_store *store, const fl_event *event, fl_sv canonical,
                                  const fl_fact *facts, size_t n_facts, int64_t recorded_s,
                                  fl_err *err)
{
    static const char save[] = "SAVEPOINT append";
    static const char undo[] = "ROLLBACK TO append";
    static const char keep[] = "RELEASE append";
    assert(event->kind >= 0 && event->kind < FL_KIND_COUNT);
    fl_status status = fl_db_need_write(store, err);
    if (status == FL_OK) {
        status = check_new(store, event, canonical, err);
    }
    if (status == FL_OK) {
        status = run_one(store, save, err);
    }
    if (status != FL_OK) {
        return status;
    }
    status = insert_all(store, &(fl_append){event, canonical, facts, n_facts, recorded_s}, err);
    if (status == FL_OK) {
        return run_one(store, keep, err);
    }
    /* after a failing disk SQLite may have rolled back all of it: then there is nothing to undo */
    if (fl_db_is_in_transaction(store) &&
        (run_one(store, undo, NULL) != FL_OK || run_one(store, keep, NULL) != FL_OK)) {
        fl_store_rollback(store);
    }
    return status;
}
