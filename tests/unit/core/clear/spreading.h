/* A spread over a small history for tests: programmes are states, computed at once, and every place
 * has one temperature. */
#ifndef FL_TESTS_CLEAR_SPREADING_H
#define FL_TESTS_CLEAR_SPREADING_H

#include "core/clear/spread.h"
#include "unit/core/clear/walked.h"

#define SPREADING_COPIES 20000

struct fl_prog {
    fl_filter state;
};

typedef struct spreading {
    fl_spread spread;
    fl_spread_env env;
    fl_know_mixture mixture;
    const fl_stage_model *model;
    walked *w;
    history *h;
    double temp_c;
    double prior[8]; /* by the number of the source, id_of('s', n) */
    fl_arena arena;
} spreading;

static inline fl_status spreading_append(void *context, const fl_prog *parent, const fl_op *op,
                                         const fl_prog **out, fl_err *err)
{
    spreading *s = context;
    fl_prog *prog = FL_ARENA_NEW(&s->arena, fl_prog);
    if (parent != NULL) {
        prog->state = parent->state;
    } else {
        prog->state.n_mix = FL_MULTIPLIERS;
        memcpy(prog->state.multiplier, s->mixture.multiplier, sizeof s->mixture.multiplier);
    }
    *out = prog;
    return fl_op_apply(s->model, op, &prog->state, err);
}

static inline fl_status spreading_state(void *context, const fl_prog *prog, fl_filter *out,
                                        fl_err *err)
{
    (void)context;
    (void)err;
    *out = prog->state;
    return FL_OK;
}

static inline fl_status spreading_sums(void *context, const fl_prog *prog, fl_filter_sums *out,
                                       fl_err *err)
{
    (void)context;
    (void)err;
    fl_filter_sum(&prog->state, out);
    return FL_OK;
}

static inline fl_status spreading_temps(void *context, fl_id place, int64_t from_h, int64_t to_h,
                                        const double **temps_c, double *constant_c, fl_err *err)
{
    const spreading *s = context;
    (void)place;
    (void)err;
    check_true(from_h < to_h);
    *temps_c = NULL;
    *constant_c = s->temp_c;
    return FL_OK;
}

static inline double spreading_prior(void *context, const fl_root *root, const fl_threat *threat)
{
    const spreading *s = context;
    (void)threat;
    return root->kind == FL_ROOT_ROOM ? 0.0 : s->prior[root->source.b[15]];
}

static inline bool spreading_is_material(void *context, size_t lot)
{
    const spreading *s = context;
    return fl_form_is_material(s->h->m.lots[lot].form);
}

static inline fl_status spreading_take(void *context, const fl_happening *happening, fl_err *err)
{
    spreading *s = context;
    return fl_spread_take(&s->spread, happening, err);
}

/* A spread of one threat over a history that is not folded yet; nothing is walked. */
static inline spreading *spreading_new(history *h, const char *threat, double temp_c)
{
    spreading *s = fl_alloc(1, sizeof *s);
    fl_arena_init(&s->arena);
    history_fold(h);
    const fl_threat *t = fl_know_threat_find(fl_sv_from_cstr(threat));
    s->h = h;
    s->w = walked_new(h);
    s->mixture = fl_know_detectability();
    s->model = &t->slow;
    s->temp_c = temp_c;
    for (size_t i = 0; i < 8; i++) {
        s->prior[i] = 0.3;
    }
    s->env = (fl_spread_env){.context = s,
                             .append = spreading_append,
                             .state = spreading_state,
                             .sums = spreading_sums,
                             .temps = spreading_temps,
                             .prior = spreading_prior,
                             .is_material = spreading_is_material};
    const fl_network *network = &s->w->network;
    s->spread =
        (fl_spread){.threat = t,
                    .model = s->model,
                    .network = network,
                    .env = &s->env,
                    .copies = FL_ARENA_ARRAY(&s->arena, fl_copy, SPREADING_COPIES),
                    .cap_copies = SPREADING_COPIES,
                    .finds = FL_ARENA_ARRAY(&s->arena, fl_spread_find, 64),
                    .cap_finds = 64,
                    .root_found = FL_ARENA_ARRAY(&s->arena, double, network->cap_roots),
                    .carriers = FL_ARENA_ARRAY(&s->arena, fl_spread_carrier, network->cap_carriers),
                    .lots = FL_ARENA_ARRAY(&s->arena, fl_spread_lot, h->m.n_lots),
                    .n_lots = h->m.n_lots};
    fl_spread_begin(&s->spread);
    return s;
}

/* Walks; what stands together on a bench does so until now_s (0: until the last event). */
static inline void spreading_run_until(spreading *s, int64_t now_s)
{
    s->w->now_s = now_s > 0 ? now_s : s->w->now_s;
    bool is_mobile = s->spread.threat->is_mobile;
    walked_run(s->w, is_mobile ? FL_CARRIAGE_POOL : FL_CARRIAGE_LOT, spreading_take, s);
}

static inline void spreading_run(spreading *s)
{
    spreading_run_until(s, 0);
}

static inline void spreading_end(spreading *s)
{
    walked_end(s->w);
    fl_arena_done(&s->arena);
    fl_alloc_free(s);
}

/* The chance on a lot's carrier at a second of the history. */
static inline fl_reading chance_on(spreading *s, unsigned lot, int64_t now_s)
{
    fl_reading reading = {0};
    fl_err err = {0};
    check_ok(
        fl_spread_chance(&s->spread, carrier_of_lot(s->w, lot), now_s / FL_HOUR_S, &reading, &err),
        &err);
    return reading;
}

/* The first open copy on a lot's carrier that is not the room's. */
static inline fl_copy *copy_on(spreading *s, unsigned lot)
{
    size_t carrier = carrier_of_lot(s->w, lot);
    for (size_t i = s->spread.carriers[carrier].first; i != FL_NO_INDEX;
         i = s->spread.copies[i].next) {
        fl_copy *copy = &s->spread.copies[i];
        if (!copy->is_closed && !copy->is_ended && !copy->is_steady) {
            return copy;
        }
    }
    fail_msg("no copy on lot %u", lot);
    return &s->spread.copies[0]; /* not reached */
}

#endif
