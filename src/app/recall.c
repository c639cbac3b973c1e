/* The table of carriers, and when programmes are let go. */
#include "app/recall.h"

#include <string.h>

#include "base/alloc.h"

#define TABLE_FIRST 256

void fl_recall_init(fl_recall *recall)
{
    *recall = (fl_recall){.cap = TABLE_FIRST};
    fl_arena_init(&recall->arena);
    recall->table = fl_alloc(recall->cap, sizeof recall->table[0]);
}

static void drop_carrier(fl_recalled *carrier)
{
    if (carrier != NULL) {
        fl_alloc_free(carrier->roots);
        fl_alloc_free(carrier->quiet);
        fl_alloc_free(carrier->blames);
        fl_alloc_free(carrier);
    }
}

static void drop_class(fl_recalled_class *class)
{
    fl_alloc_free(class->lesson);
    fl_alloc_free(class->first_of);
    fl_alloc_free(class->work);
    *class = (fl_recalled_class){.work = NULL};
}

void fl_recall_done(fl_recall *recall)
{
    for (size_t i = 0; i < recall->n_classes; i++) {
        drop_class(&recall->classes[i]);
    }
    fl_alloc_free(recall->classes);
    fl_alloc_free(recall->sheets);
    fl_alloc_free(recall->grid_storage);
    for (size_t i = 0; i < recall->cap; i++) {
        drop_carrier(recall->table[i]);
    }
    fl_alloc_free(recall->table);
    fl_arena_done(&recall->arena); /* of an empty one, too */
    *recall = (fl_recall){.cap = 0};
}

void fl_recall_begin(fl_recall *recall, fl_app *app)
{
    if (recall->cap == 0) {
        fl_recall_init(recall);
    }
    recall->run++;
    if (recall->has_programmes && recall->programmes.n_bytes <= FL_RECALL_BYTES_MAX) {
        fl_programmes_resume(&recall->programmes);
        return;
    }
    fl_arena_done(&recall->arena);
    fl_programmes_init(&recall->programmes, recall->has_programmes ? NULL : app, &recall->arena);
    recall->programmes.does_outlive = true;
    recall->has_programmes = true;
}

/* ---- carriers ---- */

static size_t slot_of(const fl_recall *recall, fl_digest digest)
{
    size_t slot = (size_t)digest.a & (recall->cap - 1);
    while (recall->table[slot] != NULL && !fl_digest_eq(recall->table[slot]->digest, digest)) {
        slot = (slot + 1) & (recall->cap - 1);
    }
    return slot;
}

/* Into a table of another size, without what `run` has not asked for (0: with all). */
static void rehash(fl_recall *recall, size_t cap, uint64_t run)
{
    fl_recalled **old = recall->table;
    size_t old_cap = recall->cap;
    recall->cap = cap;
    recall->count = 0;
    recall->table = fl_alloc(cap, sizeof recall->table[0]);
    for (size_t i = 0; i < old_cap; i++) {
        if (old[i] != NULL && old[i]->used_in >= run) {
            recall->table[slot_of(recall, old[i]->digest)] = old[i];
            recall->count++;
        } else {
            drop_carrier(old[i]);
        }
    }
    fl_alloc_free(old);
}

void fl_recall_end(fl_recall *recall)
{
    size_t n_used = 0;
    for (size_t i = 0; i < recall->cap; i++) {
        n_used += recall->table[i] != NULL && recall->table[i]->used_in == recall->run;
    }
    if (recall->count > 2 * n_used + TABLE_FIRST) {
        rehash(recall, recall->cap, recall->run);
    }
}

const fl_recalled *fl_recall_find(fl_recall *recall, fl_digest digest)
{
    fl_recalled *found = recall->table[slot_of(recall, digest)];
    if (found != NULL) {
        found->used_in = recall->run;
    }
    return found;
}

const fl_recalled *fl_recall_keep(fl_recall *recall, const fl_recalled *carrier)
{
    if (2 * (recall->count + 1) > recall->cap) {
        rehash(recall, 2 * recall->cap, 0);
    }
    size_t slot = slot_of(recall, carrier->digest);
    fl_recalled *kept = fl_alloc(1, sizeof *kept);
    *kept = *carrier;
    kept->used_in = recall->run;
    if (recall->table[slot] != NULL) { /* two carriers of one history */
        drop_carrier(kept);
        return recall->table[slot];
    }
    recall->table[slot] = kept;
    recall->count++;
    return kept;
}

/* ---- learning ---- */

const fl_learn_grid *fl_recall_grid(fl_recall *recall, int n_sources, int n_purchases)
{
    if (recall->grid_storage != NULL && recall->grid_sources == n_sources &&
        recall->grid_purchases == n_purchases) {
        return &recall->grid;
    }
    for (size_t i = 0; i < recall->n_classes; i++) {
        drop_class(&recall->classes[i]);
    }
    fl_alloc_free(recall->grid_storage);
    recall->grid_storage = fl_alloc(fl_learn_grid_doubles(n_sources, n_purchases), sizeof(double));
    recall->grid_sources = n_sources;
    recall->grid_purchases = n_purchases;
    fl_learn_grid_init(&recall->grid, n_sources, n_purchases, recall->grid_storage);
    return &recall->grid;
}

/* True when the sums of the class are laid out for these purchases. */
static bool has_room_for(const fl_recalled_class *class, const fl_learn_kind *kind)
{
    return class->work != NULL && class->n_sources == kind->n_sources &&
           memcmp(&class->mean, &kind->mean, sizeof kind->mean) == 0 &&
           memcmp(class->first_of, kind->first_of,
                  ((size_t)kind->n_sources + 1) * sizeof kind->first_of[0]) == 0;
}

static void make_room_for(fl_recalled_class *class, const fl_learn_kind *kind, size_t doubles)
{
    drop_class(class);
    class->mean = kind->mean;
    class->n_sources = kind->n_sources;
    class->n_lessons = kind->first_of[kind->n_sources];
    class->lesson = fl_alloc((size_t) class->n_lessons + 1, sizeof class->lesson[0]);
    class->first_of = fl_alloc((size_t) class->n_sources + 1, sizeof class->first_of[0]);
    memcpy(class->first_of, kind->first_of,
           ((size_t) class->n_sources + 1) * sizeof class->first_of[0]);
    class->work = fl_alloc(doubles, sizeof(double));
}

fl_status fl_recall_hear(fl_recall *recall, size_t class_index, size_t n_classes,
                         const fl_learn_kind *kind, double **work, fl_err *err)
{
    size_t doubles = fl_learn_kind_doubles(&recall->grid, kind);
    *work = NULL;
    if (doubles > FL_RECALL_WORK_MAX) {
        return FL_OK;
    }
    if (recall->classes == NULL) {
        recall->classes = fl_alloc(n_classes, sizeof recall->classes[0]);
        recall->n_classes = n_classes;
    }
    fl_recalled_class *class = &recall->classes[class_index];
    const bool is_like_before = has_room_for(class, kind);
    if (!is_like_before) {
        make_room_for(class, kind, doubles);
    }
    fl_status status = fl_learn_kind_hear(&recall->grid, kind,
                                          is_like_before ? class->lesson : NULL, class->work, err);
    if (status != FL_OK) {
        drop_class(class);
        return status;
    }
    memcpy(class->lesson, kind->lesson, (size_t) class->n_lessons * sizeof class->lesson[0]);
    *work = class->work;
    return FL_OK;
}
