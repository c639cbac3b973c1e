/* The finished order as lines for a person. */
#include <stdlib.h>

#include "core/bench/inner.h"

static fl_bench_item *add(fl_bench_sheet *out, fl_bench_item item)
{
    out->items[out->n_items] = item;
    return &out->items[out->n_items++];
}

/* A job without a lot; hands for hands_s, then it stands until end_s. */
static void add_job(fl_bench_sheet *out, fl_bench_job job, int tub, int start_s, int hands_s,
                    int end_s)
{
    add(out, (fl_bench_item){.job = job,
                             .lot = -1,
                             .step = -1,
                             .tub = tub,
                             .start_s = start_s,
                             .hands_until_s = start_s + hands_s,
                             .out_from_s = end_s,
                             .end_s = end_s});
}

/* The steps of one lot: a step is one entry, or two (in and out), or folded into a lag. */
static void add_lot(const order *o, const shop *s, int lot, fl_bench_sheet *out)
{
    const fl_bench_lot *l = &s->plan->lots[lot];
    int entry_of[FL_BENCH_STEPS_MAX * 2] = {0};
    int n = 0;
    for (int k = o->last[lot]; k >= 0; k = o->before[k]) {
        entry_of[n++] = k; /* last first */
    }
    int free_s = 0; /* when the step before let go */
    for (size_t i = 0; i < l->n_steps; i++) {
        const fl_bench_step *st = &l->steps[i];
        fl_bench_item item = {.job = FL_BENCH_STEP, .lot = lot, .step = (int)i, .tub = -1};
        if (fl_bench_is_folded(l, i)) {
            item.start_s = free_s;
            item.hands_until_s = free_s;
            item.end_s = free_s + st->unattended_s;
            item.out_from_s = item.end_s;
        } else {
            int k = entry_of[--n];
            item.tub = o->tub[k];
            item.start_s = o->start_s[k];
            item.hands_until_s = o->start_s[k] + fl_bench_entry_hands_s(s, o->what[k]);
            item.end_s = item.hands_until_s + st->unattended_s;
            item.out_from_s = item.end_s;
            if (st->unattended_s > 0 && fl_bench_out_s(st) > 0) {
                k = entry_of[--n];
                item.out_from_s = o->start_s[k];
                item.end_s = o->start_s[k] + fl_bench_entry_hands_s(s, o->what[k]);
            }
        }
        free_s = item.end_s;
        add(out, item);
    }
}

static void add_washes_and_cleans(const order *o, const shop *s, fl_bench_sheet *out)
{
    int wash_s = s->plan->chores.hand_wash_s;
    for (int k = o->n_fixed; k < o->n; k++) {
        int hands_s = fl_bench_entry_hands_s(s, o->what[k]);
        if (o->is_washed[k] && wash_s > 0) {
            /* right after the work before it: hands may then rest clean */
            int start_s =
                k == o->n_fixed ? 0 : o->start_s[k - 1] + fl_bench_entry_hands_s(s, o->what[k - 1]);
            add_job(out, FL_BENCH_WASH_HANDS, -1, start_s, wash_s, start_s + wash_s);
        }
        if (o->what[k] < 0) {
            add_job(out, FL_BENCH_DISINFECT_TUB, o->tub[k], o->start_s[k], hands_s,
                    o->start_s[k] + hands_s + s->plan->chores.tub_contact_s);
        }
    }
}

static void add_closing(const order *o, const shop *s, fl_bench_sheet *out)
{
    const fl_bench_chores *c = &s->plan->chores;
    const struct {
        fl_bench_job job;
        int hands_s;
    } jobs[] = {{FL_BENCH_BAG_WASTE, c->bag_waste_s},
                {FL_BENCH_POUR_AWAY, c->pour_away_s},
                {FL_BENCH_CLOSE_TUBS, c->tub_hands_s * fl_bench_tubs_out(s)},
                {FL_BENCH_CLOSE_TOOLS, c->tools_s},
                {FL_BENCH_CLOSE_SINK, c->sink_s}};
    int t = fl_bench_order_end_s(o, s);
    for (size_t i = 0; i < sizeof jobs / sizeof jobs[0]; i++) {
        if (jobs[i].job == FL_BENCH_CLOSE_TUBS && fl_bench_tubs_out(s) == 0) {
            continue;
        }
        add_job(out, jobs[i].job, -1, t, jobs[i].hands_s, t + jobs[i].hands_s);
        t += jobs[i].hands_s;
    }
    add_job(out, FL_BENCH_CONTACT, -1, t, 0, t + c->contact_s);
    add_job(out, FL_BENCH_LAST_WASH, -1, t, c->last_wash_s, t + c->last_wash_s);
}

/* At one and the same second: what is cleaned, then the plants, then the closing. */
static int turn_of(const fl_bench_item *item)
{
    if (item->job == FL_BENCH_STEP) {
        return (int)FL_BENCH_DISINFECT_TUB;
    }
    return item->job <= FL_BENCH_DISINFECT_TUB ? 0 : (int)item->job;
}

static int compare_items(const void *a, const void *b)
{
    const fl_bench_item *x = a;
    const fl_bench_item *y = b;
    if (x->start_s != y->start_s) {
        return x->start_s < y->start_s ? -1 : 1;
    }
    if (turn_of(x) != turn_of(y)) {
        return turn_of(x) < turn_of(y) ? -1 : 1;
    }
    if (x->lot != y->lot) {
        return x->lot < y->lot ? -1 : 1;
    }
    return x->step < y->step ? -1 : x->step > y->step ? 1 : 0;
}

void fl_bench_write(const order *o, const shop *s, fl_bench_sheet *out)
{
    out->n_items = 0;
    for (int lot = 0; lot < s->n_lots; lot++) {
        add_lot(o, s, lot, out);
    }
    add_washes_and_cleans(o, s, out);
    add_closing(o, s, out);
    qsort(out->items, out->n_items, sizeof out->items[0], compare_items);
    out->finish_s = 0;
    for (size_t i = 0; i < out->n_items; i++) {
        if (out->items[i].end_s > out->finish_s) {
            out->finish_s = out->items[i].end_s;
        }
    }
}

fl_sv fl_bench_item_name(const fl_bench_plan *plan, const fl_bench_item *item)
{
    switch (item->job) {
    case FL_BENCH_STEP:
        return plan->lots[item->lot].steps[item->step].name;
    case FL_BENCH_WASH_HANDS:
        return FL_SV("wash hands");
    case FL_BENCH_DISINFECT_TUB:
        return FL_SV("disinfect the tub");
    case FL_BENCH_BAG_WASTE:
        return FL_SV("bag the old mix and waste");
    case FL_BENCH_POUR_AWAY:
        return FL_SV("pour away baths and wash water");
    case FL_BENCH_CLOSE_TUBS:
        return FL_SV("disinfect the tubs");
    case FL_BENCH_CLOSE_TOOLS:
        return FL_SV("disinfect the tools");
    case FL_BENCH_CLOSE_SINK:
        return FL_SV("disinfect the sink");
    case FL_BENCH_CONTACT:
        return FL_SV("the disinfectant stands");
    case FL_BENCH_LAST_WASH:
        return FL_SV("wash hands and arms");
    case FL_BENCH_JOB_COUNT:
        break;
    }
    return FL_SV("");
}
