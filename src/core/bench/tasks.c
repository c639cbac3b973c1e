/* From the plan to hands-on tasks: what is out of range is said here, with lot and step. */
#include <math.h>
#include <string.h>

#include "core/bench/inner.h"

#define OUT_S_USUAL 30

fl_bench_chores fl_bench_chores_usual(void)
{
    return (fl_bench_chores){.hand_wash_s = 60,
                             .tub_hands_s = 60,
                             .tub_contact_s = 600,
                             .bag_waste_s = 120,
                             .pour_away_s = 60,
                             .tools_s = 120,
                             .sink_s = 120,
                             .contact_s = 600,
                             .last_wash_s = 60};
}

bool fl_bench_must_be_taken_out(const fl_bench_step *step)
{
    return step->unattended_s > 0 && (step->needs_tub || !step->may_overrun);
}

int fl_bench_out_s(const fl_bench_step *step)
{
    if (step->out_s >= 0) {
        return step->out_s;
    }
    return fl_bench_must_be_taken_out(step) ? OUT_S_USUAL : 0;
}

bool fl_bench_is_folded(const fl_bench_lot *lot, size_t step)
{
    const fl_bench_step *st = &lot->steps[step];
    return step > 0 && st->hands_s == 0 && fl_bench_out_s(st) == 0 && !st->needs_tub;
}

static bool is_second(int value, int least)
{
    return value >= least && value <= FL_BENCH_STEP_S_MAX;
}

static fl_status check_step(const fl_bench_plan *plan, const fl_bench_lot *lot, size_t index,
                            fl_err *err)
{
    const fl_bench_step *st = &lot->steps[index];
    if (!is_second(st->hands_s, 0) || !is_second(st->unattended_s, 0) ||
        !is_second(st->out_s, -1)) {
        return fl_fail(err, FL_EDOMAIN, "lot \"%.*s\", step \"%.*s\": give times of 0 to %d s",
                       FL_SV_ARG(lot->name), FL_SV_ARG(st->name), FL_BENCH_STEP_S_MAX);
    }
    if (st->hands_s + st->unattended_s + fl_bench_out_s(st) == 0) {
        return fl_fail(err, FL_EDOMAIN, "lot \"%.*s\", step \"%.*s\" takes no time at all",
                       FL_SV_ARG(lot->name), FL_SV_ARG(st->name));
    }
    if (fl_bench_must_be_taken_out(st) && fl_bench_out_s(st) == 0) {
        return fl_fail(
            err, FL_EDOMAIN,
            "lot \"%.*s\", step \"%.*s\" must be taken out: give it at least 1 s for that",
            FL_SV_ARG(lot->name), FL_SV_ARG(st->name));
    }
    if (st->needs_tub && plan->n_tubs < 1) {
        return fl_fail(err, FL_EDOMAIN, "lot \"%.*s\", step \"%.*s\" needs a tub and there is none",
                       FL_SV_ARG(lot->name), FL_SV_ARG(st->name));
    }
    return FL_OK;
}

static fl_status check_lot(const fl_bench_plan *plan, const fl_bench_lot *lot, fl_err *err)
{
    if (!isfinite(lot->risk)) {
        return fl_fail(err, FL_EDOMAIN, "lot \"%.*s\": its risk is no number",
                       FL_SV_ARG(lot->name));
    }
    if (lot->n_steps < 1 || lot->n_steps > FL_BENCH_STEPS_MAX) {
        return fl_fail(err, lot->n_steps < 1 ? FL_EDOMAIN : FL_ETOOBIG,
                       "lot \"%.*s\" has %zu steps: give 1 to %d", FL_SV_ARG(lot->name),
                       lot->n_steps, FL_BENCH_STEPS_MAX);
    }
    for (size_t i = 0; i < lot->n_steps; i++) {
        fl_status status = check_step(plan, lot, i, err);
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}

static fl_status check_chores(const fl_bench_chores *c, fl_err *err)
{
    const int all[] = {c->hand_wash_s, c->tub_hands_s, c->tub_contact_s,
                       c->bag_waste_s, c->pour_away_s, c->tools_s,
                       c->sink_s,      c->contact_s,   c->last_wash_s};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        if (!is_second(all[i], 0)) {
            return fl_fail(err, FL_EDOMAIN, "a chore of %d s: give 0 to %d", all[i],
                           FL_BENCH_STEP_S_MAX);
        }
    }
    return FL_OK;
}

static fl_status check_plan(const fl_bench_plan *plan, fl_err *err)
{
    size_t least = plan->begun != NULL ? 0 : 1;
    if (plan->n_lots < least || plan->n_lots > FL_BENCH_LOTS_MAX) {
        return fl_fail(err, plan->n_lots < least ? FL_EDOMAIN : FL_ETOOBIG,
                       "%zu lots: give 1 to %d for one evening", plan->n_lots, FL_BENCH_LOTS_MAX);
    }
    if (plan->n_tubs < 0 || plan->n_tubs > FL_BENCH_TUBS_MAX) {
        return fl_fail(err, FL_EDOMAIN, "%d tubs: give 0 to %d", plan->n_tubs, FL_BENCH_TUBS_MAX);
    }
    fl_status status = check_chores(&plan->chores, err);
    size_t n_tasks = 0;
    for (size_t i = 0; status == FL_OK && i < plan->n_lots; i++) {
        status = check_lot(plan, &plan->lots[i], err);
        for (size_t k = 0; status == FL_OK && k < plan->lots[i].n_steps; k++) {
            n_tasks += plan->lots[i].steps[k].unattended_s > 0 ? 2 : 1;
        }
    }
    if (status == FL_OK && n_tasks > FL_BENCH_TASKS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%zu pieces of hands-on work: give at most %d a sheet",
                       n_tasks, FL_BENCH_TASKS_MAX);
    }
    return status;
}

/* What a lot is ranked by. */
typedef struct rank_key {
    bool is_established;
    double risk;
} rank_key;

/* -1, 0, 1: is a handled before b? */
static int compare_keys(const rank_key *a, const rank_key *b)
{
    if (a->is_established != b->is_established) {
        return a->is_established ? -1 : 1;
    }
    return a->risk < b->risk ? -1 : a->risk > b->risk ? 1 : 0;
}

/* Every lot's key; none before what hands have touched already. */
static void find_keys(const shop *s, rank_key *keys)
{
    const fl_bench_begun *begun = s->plan->begun;
    for (int i = 0; i < s->n_lots; i++) {
        const fl_bench_lot *lot = &s->plan->lots[i];
        keys[i] = (rank_key){lot->is_established, lot->risk};
        if (begun != NULL && begun->has_touched) {
            rank_key touched = {begun->is_established, begun->risk};
            keys[i] = compare_keys(&keys[i], &touched) < 0 || lot->is_running ? touched : keys[i];
        }
    }
}

/* A lot's rank is the number of different keys before its own. */
static void rank_lots(shop *s)
{
    rank_key keys[FL_BENCH_LOTS_MAX];
    find_keys(s, keys);
    s->n_ranks = 0;
    for (int i = 0; i < s->n_lots; i++) {
        int rank = 0;
        for (int k = 0; k < s->n_lots; k++) {
            bool is_first_of_key = true;
            for (int m = 0; m < k; m++) {
                is_first_of_key = is_first_of_key && compare_keys(&keys[m], &keys[k]) != 0;
            }
            rank += is_first_of_key && compare_keys(&keys[k], &keys[i]) < 0 ? 1 : 0;
        }
        s->rank_of[i] = (short)rank;
        s->n_ranks = rank + 1 > s->n_ranks ? rank + 1 : s->n_ranks;
    }
}

static short purchase_of(shop *s, int lot, const short *purchase)
{
    fl_sv text = s->plan->lots[lot].purchase;
    for (int i = 0; i < lot && text.len > 0; i++) {
        if (fl_sv_eq(text, s->plan->lots[i].purchase)) {
            return purchase[i];
        }
    }
    return (short)s->n_purchases++;
}

/* The purchase of a text that hands or a tub last had; one of nobody's lots is a purchase of its
 * own, the same for all such. */
static short purchase_named(shop *s, fl_sv text, const short *purchase, short *strange)
{
    if (text.len == 0) {
        return -1;
    }
    for (int i = 0; i < s->n_lots; i++) {
        if (fl_sv_eq(text, s->plan->lots[i].purchase)) {
            return purchase[i];
        }
    }
    if (*strange < 0) {
        *strange = (short)s->n_purchases++;
    }
    return *strange;
}

static void name_begun(shop *s, const short *purchase)
{
    const fl_bench_begun *begun = s->plan->begun;
    short strange = -1;
    s->hands_purchase = -1;
    for (int i = 0; i < FL_BENCH_TUBS_MAX; i++) {
        s->tub_purchase[i] = -1;
        if (begun != NULL && i < s->plan->n_tubs) {
            s->tub_purchase[i] = purchase_named(s, begun->tub_purchase[i], purchase, &strange);
        }
    }
    if (begun != NULL) {
        s->hands_purchase = purchase_named(s, begun->hands_purchase, purchase, &strange);
    }
}

/* When a running step that stands is due, from now. */
static int due_s(const shop *s, int lot)
{
    return s->tasks[s->first[lot]].lag_s - s->plan->lots[lot].ran_s;
}

/* Hands are one pair: of running dips, in the order they are due, those that hands can not reach in
 * time are taken out as soon as they can. */
static void ease_overdue(shop *s)
{
    bool is_seen[FL_BENCH_LOTS_MAX] = {false};
    int free_s = 0;
    short hands = s->hands_purchase;
    for (;;) {
        int next = -1;
        for (int lot = 0; lot < s->n_lots; lot++) {
            bool is_dip = s->plan->lots[lot].is_running && s->tasks[s->first[lot]].is_lag_exact;
            if (is_dip && !is_seen[lot] && (next < 0 || due_s(s, lot) < due_s(s, next))) {
                next = lot;
            }
        }
        if (next < 0) {
            return;
        }
        task *t = &s->tasks[s->first[next]];
        int wash_s = hands >= 0 && hands != t->purchase ? s->plan->chores.hand_wash_s : 0;
        int there_s = free_s + wash_s;
        is_seen[next] = true;
        t->is_lag_exact = due_s(s, next) >= there_s;
        free_s = (due_s(s, next) > there_s ? due_s(s, next) : there_s) + (t + 1)->hands_s;
        hands = t->purchase;
    }
}

static void add_task(shop *s, task t)
{
    s->tasks[s->n_tasks++] = t;
}

static void add_step(shop *s, int lot, size_t index, short purchase)
{
    const fl_bench_step *st = &s->plan->lots[lot].steps[index];
    if (fl_bench_is_folded(&s->plan->lots[lot], index)) {
        s->tasks[s->n_tasks - 1].lag_s += st->unattended_s;
        return;
    }
    int out_s = fl_bench_out_s(st);
    bool is_one = st->unattended_s == 0;
    bool has_out = !is_one && out_s > 0;
    task t = {.lot = (short)lot,
              .step = (short)index,
              .purchase = purchase,
              .rank = s->rank_of[lot],
              .hands_s = st->hands_s + (is_one ? out_s : 0),
              .lag_s = st->unattended_s,
              .is_lag_exact = has_out && !st->may_overrun,
              .takes_tub = st->needs_tub,
              .frees_tub = st->needs_tub && !has_out};
    add_task(s, t);
    if (has_out) {
        t.hands_s = out_s;
        t.lag_s = 0;
        t.is_lag_exact = false;
        t.takes_tub = false;
        t.frees_tub = st->needs_tub;
        add_task(s, t);
    }
}

/* Hands-on time and time in all from each task to the lot's last. */
static void sum_lot(shop *s, int lot)
{
    int hands_s = 0;
    int chain_s = 0;
    int lag_s = 0;
    s->tail_s[lot] = s->tasks[s->first[lot + 1] - 1].lag_s;
    for (int i = s->first[lot + 1] - 1; i >= s->first[lot]; i--) {
        const task *t = &s->tasks[i];
        lag_s = i == s->first[lot + 1] - 1 ? 0 : t->lag_s;
        hands_s += t->hands_s;
        chain_s += t->hands_s + lag_s;
        s->hands_left_s[i] = hands_s;
        s->chain_left_s[i] = chain_s;
    }
}

/* The longest time that a step which may not overrun leaves the hands free. */
static int longest_dip_s(const shop *s)
{
    int longest_s = 0;
    for (int i = 0; i < s->n_tasks; i++) {
        bool is_longer = s->tasks[i].is_lag_exact && s->tasks[i].lag_s > longest_s;
        longest_s = is_longer ? s->tasks[i].lag_s : longest_s;
    }
    return longest_s;
}

/* Sums over a lot's tasks from the last to the first: tubs, and what does not fit beside a dip. */
static void sum_tubs(shop *s, int lot, int longest_dip)
{
    int tub_s = 0;
    int dip_s = 0;
    int long_s = 0;
    s->after_tub_s[lot] = s->chain_left_s[s->first[lot]];
    for (int i = s->first[lot + 1] - 1; i >= s->first[lot]; i--) {
        const task *t = &s->tasks[i];
        int out_s = t->takes_tub && !t->frees_tub ? s->tasks[i + 1].hands_s : 0;
        int stands_s = t->takes_tub && !t->frees_tub ? t->lag_s : 0;
        int in_tub_s = t->takes_tub ? t->hands_s + stands_s + out_s : 0;
        if (t->frees_tub && tub_s == 0) {
            s->after_tub_s[lot] = s->chain_left_s[i] - t->hands_s;
        }
        tub_s += in_tub_s;
        dip_s += t->is_lag_exact ? in_tub_s : 0;
        bool is_of_dip = t->is_lag_exact || (i > s->first[lot] && s->tasks[i - 1].is_lag_exact);
        long_s += t->hands_s > longest_dip && !is_of_dip ? t->hands_s : 0;
        s->tub_left_s[i] = tub_s;
        s->dip_left_s[i] = dip_s;
        s->long_left_s[i] = long_s;
    }
}

/* Purchases that need a tub and find none, at the beginning. */
static void count_cleans(shop *s)
{
    unsigned loads = 0;
    int n = 0;
    for (int i = 0; i < s->n_tasks; i++) {
        loads |= s->tasks[i].takes_tub ? 1u << s->tasks[i].purchase : 0u;
    }
    for (int i = 0; i < s->plan->n_tubs; i++) {
        n -= s->tub_purchase[i] < 0 ? 1 : 0;
        loads &= s->tub_purchase[i] < 0 ? ~0u : ~(1u << s->tub_purchase[i]);
    }
    for (; loads != 0; loads &= loads - 1) {
        n++;
    }
    s->n_cleans = n > 0 ? n : 0;
}

/* What hands could do at the least between leaving a lot's purchase and coming back. */
static void find_least_others(shop *s)
{
    for (int lot = 0; lot < s->n_lots; lot++) {
        int least_s = s->plan->chores.tub_hands_s;
        for (int i = 0; i < s->n_tasks; i++) {
            const task *t = &s->tasks[i];
            bool is_other =
                t->rank == s->rank_of[lot] && t->purchase != s->tasks[s->first[lot]].purchase;
            least_s = is_other && t->hands_s < least_s ? t->hands_s : least_s;
        }
        s->least_other_s[lot] = least_s;
    }
}

/* What the waits of one lot that is alone in its purchase cost. */
static void find_gaps_of_one(shop *s, int lot, const gap_kind *kind, int v)
{
    int gap_s = 0;
    int last = kind->is_cut ? s->cut[lot] : s->first[lot + 1] - 1;
    for (int i = last - 1; i >= s->first[lot]; i--) {
        const task *t = &s->tasks[i];
        gap_s += fl_bench_wait_cost_s(s, t, t->lag_s, kind->n_cleans);
        if (!kind->is_cut) {
            s->gap_left_s[v][i] = gap_s;
        }
    }
    s->whole_gap_s[kind->is_cut ? 1 : 0][v][lot] = gap_s;
}

/* The lots of this lot's purchase and rank, when it is the first of them and none is running; else
 * none. */
static int lots_beside(shop *s, int lot, int *lots)
{
    int n = 0;
    bool is_first = true;
    for (int k = 0; k < s->n_lots; k++) {
        bool is_same = s->rank_of[k] == s->rank_of[lot] &&
                       s->tasks[s->first[k]].purchase == s->tasks[s->first[lot]].purchase;
        is_first = is_first && !(is_same && (k < lot || s->plan->lots[k].is_running));
        if (is_same) {
            lots[n++] = k;
            s->gap_lots[lot] |= 1u << k;
        }
    }
    return is_first || n == 1 ? n : 0;
}

/* The waits of each purchase, rank by rank. */
static void find_gaps(shop *s)
{
    for (int lot = 0; lot < s->n_lots; lot++) {
        int lots[FL_BENCH_LOTS_MAX];
        int n = lots_beside(s, lot, lots);
        for (int i = 0; i < 4 && n > 0; i++) {
            gap_kind kind = {i % 2 == 0 ? 0 : s->n_cleans, i >= 2};
            if (n == 1) {
                find_gaps_of_one(s, lot, &kind, i % 2);
                continue;
            }
            int gap_s = fl_bench_gaps_s(s, lots, n, &kind);
            s->whole_gap_s[i / 2][i % 2][lot] = gap_s;
            if (!kind.is_cut) {
                s->gap_s[i % 2][lot] = gap_s;
            }
        }
    }
}

/* Each lot's task before its longest wait: in that wait, little of its rank is left to do. */
static void find_cuts(shop *s)
{
    for (int lot = 0; lot < s->n_lots; lot++) {
        int cut = s->first[lot + 1] - 1;
        for (int i = s->first[lot]; i < s->first[lot + 1] - 1; i++) {
            cut = s->tasks[i].lag_s > s->tasks[cut].lag_s || cut == s->first[lot + 1] - 1 ? i : cut;
        }
        int left_s = 0;
        s->cut[lot] = (short)cut;
        for (int i = cut; i >= s->first[lot]; i--) {
            left_s += s->tasks[i].hands_s;
            s->cut_left_s[i] = left_s;
        }
    }
}

/* What follows a task in its lot, hands and lags. */
static int rest_s(const shop *s, int i)
{
    return s->chain_left_s[i] - s->tasks[i].hands_s;
}

/* Insertion sort: a few hundred at most, once a plan. */
static void sort_by_rest(shop *s)
{
    for (int i = 0; i < s->n_tasks; i++) {
        int at = i;
        for (; at > 0; at--) {
            int before = s->by_rest[at - 1];
            bool is_before = s->tasks[before].rank != s->tasks[i].rank
                                 ? s->tasks[before].rank < s->tasks[i].rank
                                 : rest_s(s, before) >= rest_s(s, i);
            if (is_before) {
                break;
            }
            s->by_rest[at] = s->by_rest[at - 1];
        }
        s->by_rest[at] = (short)i;
    }
}

static bool is_same_task(const task *a, const task *b)
{
    return a->purchase == b->purchase && a->rank == b->rank && a->hands_s == b->hands_s &&
           a->lag_s == b->lag_s && a->is_lag_exact == b->is_lag_exact &&
           a->takes_tub == b->takes_tub && a->frees_tub == b->frees_tub;
}

static bool is_twin(const shop *s, int a, int b)
{
    int n = s->first[a + 1] - s->first[a];
    if (s->plan->lots[a].is_running || s->plan->lots[b].is_running) {
        return false;
    }
    if (n != s->first[b + 1] - s->first[b]) {
        return false;
    }
    for (int i = 0; i < n; i++) {
        if (!is_same_task(&s->tasks[s->first[a] + i], &s->tasks[s->first[b] + i])) {
            return false;
        }
    }
    return true;
}

fl_status fl_bench_tasks(const fl_bench_plan *plan, shop *out, fl_err *err)
{
    fl_status status = check_plan(plan, err);
    if (status != FL_OK) {
        return status;
    }
    shop *s = out;
    short purchase[FL_BENCH_LOTS_MAX];
    memset(s, 0, sizeof *s);
    s->plan = plan;
    s->n_lots = (int)plan->n_lots;
    rank_lots(s);
    for (int lot = 0; lot < s->n_lots; lot++) {
        purchase[lot] = purchase_of(s, lot, purchase);
        s->first[lot] = (short)s->n_tasks;
        for (size_t i = 0; i < plan->lots[lot].n_steps; i++) {
            add_step(s, lot, i, purchase[lot]);
        }
        s->first[lot + 1] = (short)s->n_tasks;
        sum_lot(s, lot);
        s->twin[lot] = -1;
        for (int other = 0; other < lot; other++) {
            s->twin[lot] = is_twin(s, lot, other) ? (short)other : s->twin[lot];
        }
    }
    name_begun(s, purchase);
    ease_overdue(s);
    sort_by_rest(s);
    count_cleans(s);
    find_least_others(s);
    find_cuts(s);
    find_gaps(s);
    int longest_dip = longest_dip_s(s);
    for (int lot = 0; lot < s->n_lots; lot++) {
        sum_tubs(s, lot, longest_dip);
    }
    return FL_OK;
}
