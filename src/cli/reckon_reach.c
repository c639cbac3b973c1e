/* reckon reach: who could have passed something to whom, from a table of contacts. Nodes are whole
 * numbers of the caller's choosing; they are numbered densely for the pass. */
#include <assert.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "cli/csv_in.h"
#include "cli/reckon.h"
#include "core/trace/reach.h"

#define WHOLE_MAX (INT64_C(1) << 53) /* exact in JSON */

enum { CONTACTS, ROOT, FROM, TO, DIRECTION, STRICT, CLEANINGS, COUNT_ONLY, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [CONTACTS] = {"contacts", FL_ARG_TEXT, .is_required = true,
                  .help = "CSV file with columns u,v,t: from, to, time"},
    [ROOT] = {"root", FL_ARG_INT, .is_required = true, .help = "the node it starts from"},
    [FROM] = {"from", FL_ARG_INT, .is_required = true, .help = "first time of the window"},
    [TO] = {"to", FL_ARG_INT, .is_required = true, .help = "last time of the window, inclusive"},
    [DIRECTION] = {"direction", FL_ARG_TEXT, .is_required = true, .choices = "forward|backward",
                   .help = "whom the root reached, or who reached the root"},
    [STRICT] = {"strict", FL_ARG_FLAG, .help = "pass on only later, never at the time of arrival"},
    [CLEANINGS] = {"cleanings", FL_ARG_TEXT, .help = "CSV file with columns node,t"},
    [COUNT_ONLY] = {"count-only", FL_ARG_FLAG, .help = "leave the list of nodes out"},
};

/* Everything of one question. */
typedef struct reach_task {
    fl_contact *contacts;
    fl_cleaning *cleanings;
    int64_t *contact_ids; /* u, v of each contact, as in the file */
    int64_t *cleaning_ids;
    int64_t *ids; /* sorted, each once: node i is ids[i] */
    fl_reach_node *nodes;
    fl_reach_link *links;
    fl_reach_query query;
    fl_reach_count count;
} reach_task;

static void done(reach_task *task)
{
    fl_alloc_free(task->contacts);
    fl_alloc_free(task->cleanings);
    fl_alloc_free(task->contact_ids);
    fl_alloc_free(task->cleaning_ids);
    fl_alloc_free(task->ids);
    fl_alloc_free(task->nodes);
    fl_alloc_free(task->links);
}

/* The columns of each row as whole numbers: out[row * n_names + name]. */
static fl_status read_columns(const char *path, const char *const *names, size_t n_names,
                              int64_t **out, size_t *n_rows, fl_err *err)
{
    static const int64_t range[2] = {-WHOLE_MAX, WHOLE_MAX};
    size_t column[3] = {0, 0, 0};
    int64_t *values = NULL;
    fl_csv csv = {0};
    fl_status status = fl_csv_read(path, &csv, err);

    assert(n_names <= sizeof column / sizeof column[0]);
    for (size_t i = 0; i < n_names && status == FL_OK; i++) {
        status = fl_csv_need_column(&csv, names[i], &column[i], err);
    }
    if (status == FL_OK) {
        values = fl_alloc(csv.n_rows * n_names, sizeof *values);
    }
    for (size_t i = 0; i < csv.n_rows * n_names && status == FL_OK; i++) {
        status = fl_csv_int(&csv, i / n_names, column[i % n_names], range, &values[i], err);
    }
    if (status == FL_OK) {
        *out = values;
        *n_rows = csv.n_rows;
    } else {
        fl_alloc_free(values);
    }
    fl_csv_done(&csv);
    return status;
}

static int compare_ids(const void *a, const void *b)
{
    const int64_t x = *(const int64_t *)a;
    const int64_t y = *(const int64_t *)b;

    return (x > y) - (x < y);
}

/* Every node that is named, once, in order. */
static void collect_ids(reach_task *task, int64_t root)
{
    const size_t n_contacts = task->query.n_contacts;
    const size_t n_cleanings = task->query.n_cleanings;
    size_t n = 0;
    size_t kept = 0;

    task->ids = fl_alloc(2 * n_contacts + n_cleanings + 1, sizeof *task->ids);
    task->ids[n++] = root;
    for (size_t i = 0; i < n_contacts; i++) {
        task->ids[n++] = task->contact_ids[3 * i];
        task->ids[n++] = task->contact_ids[3 * i + 1];
    }
    for (size_t i = 0; i < n_cleanings; i++) {
        task->ids[n++] = task->cleaning_ids[2 * i];
    }
    qsort(task->ids, n, sizeof *task->ids, compare_ids);
    for (size_t i = 0; i < n; i++) {
        if (i == 0 || task->ids[i] != task->ids[i - 1]) {
            task->ids[kept++] = task->ids[i];
        }
    }
    task->query.n_nodes = (int32_t)kept;
}

static int32_t node_of(const reach_task *task, int64_t id)
{
    const int64_t *found =
        bsearch(&id, task->ids, (size_t)task->query.n_nodes, sizeof id, compare_ids);

    assert(found != NULL);
    return (int32_t)(found - task->ids);
}

static void number_and_sort(reach_task *task, int64_t root)
{
    fl_reach_query *query = &task->query;

    collect_ids(task, root);
    query->root = node_of(task, root);
    task->contacts = fl_alloc(query->n_contacts, sizeof *task->contacts);
    for (size_t i = 0; i < query->n_contacts; i++) {
        const int64_t *row = &task->contact_ids[3 * i];
        task->contacts[i] = (fl_contact){
            .from = node_of(task, row[0]), .to = node_of(task, row[1]), .time = row[2]};
    }
    task->cleanings = fl_alloc(query->n_cleanings, sizeof *task->cleanings);
    for (size_t i = 0; i < query->n_cleanings; i++) {
        const int64_t *row = &task->cleaning_ids[2 * i];
        task->cleanings[i] = (fl_cleaning){.node = node_of(task, row[0]), .time = row[1]};
    }
    qsort(task->contacts, query->n_contacts, sizeof *task->contacts, fl_contact_compare);
    qsort(task->cleanings, query->n_cleanings, sizeof *task->cleanings, fl_cleaning_compare);
    query->contacts = task->contacts;
    query->cleanings = task->cleanings;
    task->nodes = fl_alloc((size_t)query->n_nodes, sizeof *task->nodes);
    task->links = fl_alloc(query->n_contacts, sizeof *task->links);
}

static void put_nodes(const reach_task *task, fl_json_writer *w)
{
    const fl_reach_query *query = &task->query;

    fl_json_begin_array(w, "nodes");
    for (int32_t i = 0; i < query->n_nodes; i++) {
        const fl_reach_node *node = &task->nodes[i];
        if (i != query->root && node->is_reached) {
            const fl_contact *contact = &query->contacts[node->contact];
            fl_json_begin_object(w, NULL);
            fl_json_put_int(w, "node", task->ids[i]);
            fl_json_put_int(w, "time", node->time);
            fl_json_put_int(w, "via", task->ids[query->is_backward ? contact->to : contact->from]);
            fl_json_put_bool(w, query->is_backward ? "dirty_at_from" : "dirty_at_to",
                             node->is_dirty);
            fl_json_end(w);
        }
    }
    fl_json_end(w);
}

static fl_status read_files(reach_task *task, const fl_arg_value *value, fl_err *err)
{
    static const char *const contact_names[] = {"u", "v", "t"};
    static const char *const cleaning_names[] = {"node", "t"};
    fl_status status = read_columns(value[CONTACTS].text.ptr, contact_names, 3, &task->contact_ids,
                                    &task->query.n_contacts, err);

    if (status == FL_OK && value[CLEANINGS].is_given) {
        status = read_columns(value[CLEANINGS].text.ptr, cleaning_names, 2, &task->cleaning_ids,
                              &task->query.n_cleanings, err);
    }
    return status;
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    reach_task task = {.query = {.from = value[FROM].integer,
                                 .to = value[TO].integer,
                                 .is_backward = value[DIRECTION].choice == 1,
                                 .is_strict = value[STRICT].is_given}};
    fl_status status = FL_OK;

    if (task.query.from > task.query.to) {
        return fl_fail(err, FL_EINVAL, "--from %.*s is later than --to %.*s: give a window",
                       FL_SV_ARG(value[FROM].text), FL_SV_ARG(value[TO].text));
    }
    status = read_files(&task, value, err);
    if (status == FL_OK) {
        number_and_sort(&task, value[ROOT].integer);
        status = fl_reach(&task.query, task.nodes, task.links, &task.count, err);
    }
    if (status == FL_OK) {
        fl_json_put_int(w, "reached", task.count.reached);
        fl_json_put_int(w, task.query.is_backward ? "dirty_at_from" : "dirty_at_to",
                        task.count.dirty);
        fl_json_put_int(w, "root", value[ROOT].integer);
        if (!value[COUNT_ONLY].is_given) {
            put_nodes(&task, w);
        }
    }
    done(&task);
    return status;
}

extern const fl_reckon_topic fl_reckon_topic_reach;
const fl_reckon_topic fl_reckon_topic_reach = {
    .name = "reach",
    .summary = "who could have passed something to whom, in time order",
    .example = "reach --contacts contacts.csv --root 3 --from 0 --to 100 --direction forward "
               "--cleanings cleanings.csv",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
