/* What lots have from birth: each lot's first birth in canonical order, and what cuttings and
 * splits inherit. Whose child a lot is does not depend on moments, so this is done before the run.
 */
#include "core/ledger/work.h"

#define NONE FL_LEDGER_NONE

enum { MARK_NEW = 0, MARK_ON_THE_WAY, MARK_DONE };

size_t fl_ledger_lot_find(const fl_ledger_work *work, fl_id lot)
{
    size_t low = 0;
    size_t high = work->out->n_lots;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (fl_id_compare(work->out->lots[middle].id, lot) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    bool is_found = low < work->out->n_lots && fl_id_eq(work->out->lots[low].id, lot);
    return is_found ? low : NONE;
}

static void read_arrived(fl_lot *row, const fl_ev_lot_arrived *body)
{
    row->arrival = body->arrival;
    row->source = body->source;
    row->plant = body->plant;
    row->name = body->name;
    row->form = body->form;
    row->use = body->use;
    row->label_active = body->label_active;
    row->is_label_clean = body->is_label_clean;
    row->count_born = body->count;
}

static void read_already_here(fl_lot *row, const fl_ev_lot_already_here *body)
{
    row->source = body->source;
    row->plant = body->plant;
    row->name = body->name;
    row->form = body->form;
    row->use = body->use;
    row->count_born = body->count;
}

static void read_cut(fl_lot *row, const fl_ev_lot_cut *body)
{
    row->mother = body->mother;
    row->form = body->form;
    row->use = body->use;
    row->count_born = body->count;
}

static void read_split(fl_lot *row, const fl_ev_lot_split *body)
{
    row->mother = body->lot;
    row->count_born = body->count;
}

static void read_birth(fl_lot *row, const fl_event *event)
{
    row->born_by = event->id;
    row->origin = event->kind;
    row->born_s = event->at_s;
    row->precision = event->precision;
    if (event->kind == FL_KIND_LOT_ARRIVED) {
        read_arrived(row, &event->body.lot_arrived);
    } else if (event->kind == FL_KIND_LOT_ALREADY_HERE) {
        read_already_here(row, &event->body.lot_already_here);
    } else if (event->kind == FL_KIND_LOT_CUT) {
        read_cut(row, &event->body.lot_cut);
    } else {
        read_split(row, &event->body.lot_split);
    }
    row->count_born = row->count_born > 0 ? row->count_born : 0;
}

/* One row for each lot that has a birth, in the order of ids. */
static void write_rows(fl_ledger_work *work)
{
    size_t n = 0;
    for (size_t k = 0; k < work->births.count; k++) {
        const fl_ledger_ref *ref = &work->births.items[k];
        if (n > 0 && fl_id_eq(work->out->lots[n - 1].id, ref->key)) {
            continue;
        }
        work->out->lots[n] = (fl_lot){.id = ref->key};
        read_birth(&work->out->lots[n], &work->events[ref->event]);
        work->lots[n] = (fl_ledger_lot){
            .birth = ref->event,
            .mother = NONE,
            .link = NONE,
            .stay_event = NONE,
            .gone_event = NONE,
            .count_event = NONE,
            .move_event = NONE,
            .release_event = NONE,
        };
        n++;
    }
    work->out->n_lots = n;
}

static void find_mothers(fl_ledger_work *work)
{
    for (size_t k = 0; k < work->out->n_lots; k++) {
        if (!fl_id_is_none(work->out->lots[k].mother)) {
            work->lots[k].mother = fl_ledger_lot_find(work, work->out->lots[k].mother);
        }
    }
}

static void inherit(fl_ledger_work *work, size_t k)
{
    fl_lot *row = &work->out->lots[k];
    size_t up = work->lots[k].mother;
    if (up == NONE) {
        return;
    }
    const fl_lot *mother = &work->out->lots[up];
    work->lots[k].generation = mother->born_s == row->born_s ? work->lots[up].generation + 1 : 0;
    row->name = mother->name;
    row->source = mother->source;
    row->plant = mother->plant;
    row->label_active = mother->label_active;
    row->is_label_clean = mother->is_label_clean;
    if (row->origin == FL_KIND_LOT_SPLIT) {
        row->arrival = mother->arrival;
        row->form = mother->form;
        row->use = mother->use;
    }
}

/* True when lot a rather than b loses its mother: the earlier second; then the one whose mother is
 * born in another (that link runs backwards); then the earlier birth. */
static bool is_wrong_rather(const fl_ledger_work *work, size_t a, size_t b)
{
    const fl_lot *rows = work->out->lots;
    if (rows[a].born_s != rows[b].born_s) {
        return rows[a].born_s < rows[b].born_s;
    }
    bool is_now_a = rows[work->lots[a].mother].born_s == rows[a].born_s;
    bool is_now_b = rows[work->lots[b].mother].born_s == rows[b].born_s;
    return is_now_a != is_now_b ? is_now_b : work->lots[a].birth < work->lots[b].birth;
}

/* Lots that descend from each other in a circle cannot all be right: one loses its mother. */
static void open_circle(fl_ledger_work *work, size_t member)
{
    size_t loser = member;
    for (size_t k = work->lots[member].mother; k != member; k = work->lots[k].mother) {
        loser = is_wrong_rather(work, k, loser) ? k : loser;
    }
    work->lots[loser].mother = NONE;
    work->out->lots[loser].mother = (fl_id){{0}};
}

/* Walks up from lot k as far as lots are new, linking each to the one it came from; *top is the
 * last. Gives where the walk ended: at a lot that is done, at none, or at one on the way. */
static size_t walk_up(fl_ledger_work *work, size_t k, size_t *top)
{
    *top = NONE;
    while (k != NONE && work->lots[k].mark == MARK_NEW) {
        work->lots[k].mark = MARK_ON_THE_WAY;
        work->lots[k].link = *top;
        *top = k;
        k = work->lots[k].mother;
    }
    return k;
}

static void inherit_all(fl_ledger_work *work)
{
    for (size_t k = 0; k < work->out->n_lots; k++) {
        size_t top;
        size_t end = walk_up(work, k, &top);
        if (end != NONE && work->lots[end].mark == MARK_ON_THE_WAY) {
            open_circle(work, end);
            for (size_t i = top; i != NONE; i = work->lots[i].link) {
                work->lots[i].mark = MARK_NEW;
            }
            (void)walk_up(work, k, &top);
        }
        for (size_t i = top; i != NONE; i = work->lots[i].link) {
            inherit(work, i);
            work->lots[i].mark = MARK_DONE;
        }
    }
}

void fl_ledger_fold_births(fl_ledger_work *work)
{
    write_rows(work);
    find_mothers(work);
    inherit_all(work);
}
