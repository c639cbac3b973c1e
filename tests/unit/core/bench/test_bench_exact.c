/* The run sheet against brute force on small evenings: every order of hands-on work, every
 * choice of tub and of disinfecting, each with its earliest times by Bellman and Ford. Written
 * apart from the program; only the plan is shared. */
#include <limits.h>

#include "unit/core/bench/evening.h"

#define NODES_MAX 20

/* A piece of hands-on work. */
typedef struct piece {
    int lot;
    int hands_s;
    int lag_s;     /* to the lot's next piece, at least */
    bool is_exact; /* or exactly */
    bool takes;
    bool frees;
} piece;

typedef struct force {
    const evening *e;
    piece pieces[FL_BENCH_LOTS_MAX][NODES_MAX];
    int n_pieces[FL_BENCH_LOTS_MAX];
    int tail_s[FL_BENCH_LOTS_MAX];
    /* the order so far; a piece of -1 is a disinfecting */
    int n;
    int n_cleans;
    int lot[NODES_MAX];
    int index[NODES_MAX];
    int tub[NODES_MAX];
    int by[NODES_MAX]; /* lot whose purchase the hands touch */
    int done[FL_BENCH_LOTS_MAX];
    /* tubs: lot that used it last, -1 unused, whether it is in use, node that disinfected it */
    int user[FL_BENCH_TUBS_MAX];
    bool is_busy[FL_BENCH_TUBS_MAX];
    int clean_node[FL_BENCH_TUBS_MAX];
    int ready_node[NODES_MAX];
    int best_s;
    long leaves;
} force;

static void cut_into_pieces(force *f)
{
    for (int lot = 0; lot < (int)f->e->plan.n_lots; lot++) {
        int n = 0;
        for (size_t i = 0; i < f->e->lots[lot].n_steps; i++) {
            const fl_bench_step *st = &f->e->steps[lot][i];
            int out_s = st->out_s < 0 ? 0 : st->out_s;
            piece p = {.lot = lot, .hands_s = st->hands_s, .takes = st->needs_tub};
            if (st->unattended_s == 0) {
                p.hands_s += out_s;
                p.frees = st->needs_tub;
            } else {
                p.lag_s = st->unattended_s;
                p.is_exact = out_s > 0 && !st->may_overrun;
            }
            f->pieces[lot][n++] = p;
            if (st->unattended_s > 0 && out_s > 0) {
                f->pieces[lot][n++] = (piece){.lot = lot, .hands_s = out_s, .frees = st->needs_tub};
            }
        }
        f->n_pieces[lot] = n;
        f->tail_s[lot] = f->pieces[lot][n - 1].lag_s;
    }
}

static bool same_purchase(const force *f, int a, int b)
{
    return fl_sv_eq(f->e->lots[a].purchase, f->e->lots[b].purchase);
}

static int hands_of(const force *f, int node)
{
    return f->index[node] < 0 ? f->e->plan.chores.tub_hands_s
                              : f->pieces[f->lot[node]][f->index[node]].hands_s;
}

/* start[to] >= start[from] + weight */
typedef struct edge {
    int from;
    int to;
    int weight;
} edge;

static int node_of(const force *f, int lot, int index)
{
    for (int i = 0; i < f->n; i++) {
        if (f->lot[i] == lot && f->index[i] == index) {
            return i;
        }
    }
    return -1;
}

static int list_edges(const force *f, edge *edges)
{
    int n = 0;
    const fl_bench_chores *c = &f->e->plan.chores;
    for (int i = 0; i < f->n; i++) {
        if (i > 0) {
            int wash_s = same_purchase(f, f->by[i - 1], f->by[i]) ? 0 : c->hand_wash_s;
            edges[n++] = (edge){i - 1, i, hands_of(f, i - 1) + wash_s};
        }
        if (f->ready_node[i] >= 0) {
            edges[n++] = (edge){f->ready_node[i], i, c->tub_hands_s + c->tub_contact_s};
        }
        if (f->index[i] > 0) {
            int from = node_of(f, f->lot[i], f->index[i] - 1);
            const piece *p = &f->pieces[f->lot[i]][f->index[i] - 1];
            edges[n++] = (edge){from, i, p->hands_s + p->lag_s};
            if (p->is_exact) {
                edges[n++] = (edge){i, from, -p->hands_s - p->lag_s};
            }
        }
    }
    return n;
}

/* The end of the evening for a whole order; INT_MAX when no times exist. */
static int end_of_evening(const force *f)
{
    edge edges[4 * NODES_MAX];
    int start[NODES_MAX] = {0};
    int n = list_edges(f, edges);
    bool has_changed = true;
    for (int round = 0; round <= f->n && has_changed; round++) {
        has_changed = false;
        for (int i = 0; i < n; i++) {
            int least = start[edges[i].from] + edges[i].weight;
            if (start[edges[i].to] < least) {
                start[edges[i].to] = least;
                has_changed = true;
            }
        }
    }
    if (has_changed) {
        return INT_MAX;
    }
    const fl_bench_chores *c = &f->e->plan.chores;
    int end_s = start[f->n - 1] + hands_of(f, f->n - 1) + c->bag_waste_s + c->pour_away_s +
                c->tools_s + c->sink_s;
    for (int i = 0; i < f->n; i++) {
        if (f->tub[i] >= 0) { /* a tub was needed: all that were put out are disinfected */
            end_s += f->e->plan.n_tubs * c->tub_hands_s;
            break;
        }
    }
    end_s += c->contact_s > c->last_wash_s ? c->contact_s : c->last_wash_s;
    for (int lot = 0; lot < (int)f->e->plan.n_lots; lot++) {
        int last = node_of(f, lot, f->n_pieces[lot] - 1);
        int tail_s = start[last] + hands_of(f, last) + f->tail_s[lot];
        end_s = tail_s > end_s ? tail_s : end_s;
    }
    return end_s;
}

static void branch(force *f);

static void push(force *f, int lot, int index, int tub, int by)
{
    f->lot[f->n] = lot;
    f->index[f->n] = index;
    f->tub[f->n] = tub;
    f->by[f->n] = by;
    f->ready_node[f->n] = -1;
    f->n++;
}

/* The lot's next piece, in tub `tub` if it takes one. */
static void branch_piece(force *f, int lot, int tub)
{
    force before = *f;
    const piece *p = &f->pieces[lot][f->done[lot]];
    int holds = tub;
    for (int i = 0; i < f->n; i++) { /* the tub it is in */
        holds = tub < 0 && f->lot[i] == lot && f->tub[i] >= 0 ? f->tub[i] : holds;
    }
    push(f, lot, f->done[lot], tub, lot);
    f->done[lot]++;
    if (p->takes) {
        f->ready_node[f->n - 1] = f->user[tub] == -1 ? f->clean_node[tub] : -1;
        f->user[tub] = lot;
        f->is_busy[tub] = true;
        f->clean_node[tub] = -1;
    }
    if (p->frees) {
        f->is_busy[p->takes ? tub : holds] = false;
    }
    branch(f);
    before.best_s = f->best_s;
    before.leaves = f->leaves;
    *f = before;
}

static bool is_cleaner_left(const force *f, int lot)
{
    for (int other = 0; other < (int)f->e->plan.n_lots; other++) {
        if (f->done[other] < f->n_pieces[other] &&
            evening_is_cleaner(&f->e->lots[other], &f->e->lots[lot])) {
            return true;
        }
    }
    return false;
}

static void branch_cleans(force *f)
{
    for (int tub = 0; tub < f->e->plan.n_tubs && f->n_cleans < 2; tub++) {
        if (f->is_busy[tub] || f->user[tub] < 0) {
            continue;
        }
        force before = *f;
        push(f, -1, -1, tub, f->user[tub]);
        f->user[tub] = -1;
        f->clean_node[tub] = f->n - 1;
        f->n_cleans++;
        branch(f);
        before.best_s = f->best_s;
        before.leaves = f->leaves;
        *f = before;
    }
}

static void branch(force *f)
{
    bool is_over = true;
    for (int lot = 0; lot < (int)f->e->plan.n_lots; lot++) {
        if (f->done[lot] == f->n_pieces[lot]) {
            continue;
        }
        is_over = false;
        if (is_cleaner_left(f, lot)) {
            continue;
        }
        if (!f->pieces[lot][f->done[lot]].takes) {
            branch_piece(f, lot, -1);
            continue;
        }
        for (int tub = 0; tub < f->e->plan.n_tubs; tub++) {
            if (!f->is_busy[tub] && (f->user[tub] < 0 || same_purchase(f, f->user[tub], lot))) {
                branch_piece(f, lot, tub);
            }
        }
    }
    if (is_over) {
        int end_s = end_of_evening(f);
        f->best_s = end_s < f->best_s ? end_s : f->best_s;
        f->leaves++;
        return;
    }
    branch_cleans(f);
}

static int brute_force_s(const evening *e, long *leaves)
{
    static force f;
    memset(&f, 0, sizeof f);
    f.e = e;
    f.best_s = INT_MAX;
    for (int i = 0; i < FL_BENCH_TUBS_MAX; i++) {
        f.user[i] = -1;
        f.clean_node[i] = -1;
    }
    cut_into_pieces(&f);
    branch(&f);
    *leaves = f.leaves;
    return f.best_s;
}

static int pieces_of(const evening *e)
{
    int n = 0;
    for (size_t i = 0; i < e->plan.n_lots; i++) {
        for (size_t k = 0; k < e->lots[i].n_steps; k++) {
            const fl_bench_step *st = &e->steps[i][k];
            n += st->unattended_s > 0 && st->out_s != 0 ? 2 : 1;
        }
    }
    return n;
}

/* Random evenings of a kind, each solved both ways, those with few enough pieces. */
static void compare_kind(evening_kind kind, int n_evenings, int pieces_max, uint64_t seed)
{
    static evening e;
    static fl_bench_sheet sheet;
    void *work = malloc(fl_bench_work_bytes());
    fl_rng rng = {seed};
    int compared = 0;
    while (compared < n_evenings) {
        evening_random(&e, &kind, &rng);
        if (pieces_of(&e) > pieces_max) {
            continue;
        }
        long leaves = 0;
        int best_s = brute_force_s(&e, &leaves);
        fl_err err;
        fl_err_clear(&err);
        check_ok(fl_bench_schedule(&e.plan, 0, work, &sheet, &err), &err);
        evening_check(&e, &sheet);
        check_int(sheet.finish_s, best_s);
        check_true(sheet.bound_s <= best_s);
        check_true(sheet.is_optimal);
        check_true(leaves > 0);
        /* hardly looked for: what is stated then is the bound itself */
        check_ok(fl_bench_schedule(&e.plan, 1, work, &sheet, &err), &err);
        check_true(sheet.bound_s <= best_s && best_s <= sheet.finish_s);
        compared++;
    }
    free(work);
}

static void test_one_purchase(void **state)
{
    (void)state;
    compare_kind((evening_kind){2, 1, 1, 1, 3}, 40, 12, 11u);
    compare_kind((evening_kind){2, 1, 1, 2, 3}, 40, 12, 12u);
    compare_kind((evening_kind){3, 1, 1, 2, 2}, 20, 8, 13u);
    compare_kind((evening_kind){4, 1, 1, 2, 1}, 10, 7, 14u);
    compare_kind((evening_kind){4, 1, 1, 1, 2}, 6, 9, 15u);
    compare_kind((evening_kind){5, 1, 1, 2, 1}, 6, 8, 16u);
}

/* Washing, disinfecting tubs, ranks: everything competes. */
static void test_several_purchases(void **state)
{
    (void)state;
    compare_kind((evening_kind){2, 2, 1, 1, 2}, 40, 7, 21u);
    compare_kind((evening_kind){3, 2, 1, 1, 1}, 40, 6, 22u);
    compare_kind((evening_kind){3, 3, 1, 2, 1}, 30, 6, 23u);
    compare_kind((evening_kind){3, 2, 1, 1, 2}, 20, 8, 27u);
    compare_kind((evening_kind){3, 2, 1, 2, 2}, 20, 8, 28u);
    compare_kind((evening_kind){3, 2, 2, 2, 2}, 20, 8, 24u);
    compare_kind((evening_kind){4, 3, 3, 2, 1}, 20, 7, 25u);
    compare_kind((evening_kind){5, 3, 3, 2, 1}, 6, 7, 26u);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_one_purchase),
    cmocka_unit_test(test_several_purchases),
};
FL_TEST_MAIN(tests)
