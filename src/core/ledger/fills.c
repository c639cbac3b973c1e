/* Fills: a place's stays and cleanings, cut at the cleanings. Only seconds count here: what leaves
 * in the second of a cleaning has left before it, and what comes has come after it. */
#include "core/ledger/work.h"

typedef struct fill_run {
    fl_ledger_work *work;
    fl_id place;
    fl_fill *open;    /* the fill that lasts; NULL */
    int64_t latest_s; /* the latest end of the stays so far */
} fill_run;

static void begin_fill(fill_run *run, int64_t from_s, fl_id from_event, bool began_with_lots)
{
    fl_sv name = {(const char *)from_event.b, sizeof from_event.b};
    run->open = &run->work->out->fills[run->work->out->n_fills++];
    *run->open = (fl_fill){
        .id = fl_id_derive(run->place, name),
        .place = run->place,
        .from_s = from_s,
        .to_s = FL_TIME_OPEN,
        .from_event = from_event,
        .began_with_lots = began_with_lots,
    };
}

static void on_cleaning(fill_run *run, const fl_event *event)
{
    if (run->open == NULL || run->open->from_s == event->at_s) {
        return; /* nothing was in it; or it was cleaned twice in one second */
    }
    run->open->to_s = event->at_s;
    run->open->to_event = event->id;
    run->open = NULL;
    if (run->latest_s > event->at_s) {
        begin_fill(run, event->at_s, event->id, true);
    }
}

static void on_stay(fill_run *run, const fl_stay *stay)
{
    if (run->open == NULL) {
        begin_fill(run, stay->from_s, stay->from_event, false);
    }
    run->latest_s = stay->to_s > run->latest_s ? stay->to_s : run->latest_s;
}

/* The fills of the place whose stays are stays[first] to stays[end - 1]; in time they and the
 * cleanings are merged, a cleaning before the stays of its second. */
static void fold_place(fl_ledger_work *work, size_t first, size_t end)
{
    fill_run run = {work, work->stays.items[first].key, NULL, INT64_MIN};
    size_t c = fl_ledger_refs_from(&work->cleanings, run.place, 0);
    for (size_t s = first; s < end; s++) {
        const fl_stay *stay = &work->out->stays[work->stays.items[s].part];
        for (; fl_ledger_refs_is(&work->cleanings, c, run.place); c++) {
            const fl_event *cleaning = &work->events[work->cleanings.items[c].event];
            if (cleaning->at_s > stay->from_s) {
                break;
            }
            on_cleaning(&run, cleaning);
        }
        on_stay(&run, stay);
    }
    for (; fl_ledger_refs_is(&work->cleanings, c, run.place); c++) {
        on_cleaning(&run, &work->events[work->cleanings.items[c].event]);
    }
}

void fl_ledger_fold_fills(fl_ledger_work *work)
{
    size_t end = 0;
    fl_ledger_refs_sort(&work->stays);
    for (size_t first = 0; first < work->stays.count; first = end) {
        end = first + 1;
        while (fl_ledger_refs_is(&work->stays, end, work->stays.items[first].key)) {
            end++;
        }
        fold_place(work, first, end);
    }
}
