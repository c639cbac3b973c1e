/* How much of a lot to look at: every plant of a hobby lot; of a tray, ISPM 31's sample. Sizes are
 * held against tests/reference/ispm31_hypergeometric_efficacy.csv's method by counting by hand:
 * the chance that a sample of n from 72 plants misses all of D infested ones, each seen with
 * efficacy e, is sum over k of Hyp(k; 72, D, n) (1 - e)^k. */
#include <math.h>

#include "app/examine.h"
#include "support/keeper.h"

#define NO_ID ((fl_id){{0}})

typedef struct stage {
    fl_keeper k;
    fl_id store, bin, lot;
    fl_arena arena;
    fl_gate_report report;
} stage;

static void set_stage(stage *s, fl_form form, int count)
{
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
    s->store = fl_keeper_source(&s->k, "a store", FL_SOURCE_CHAIN_STORE, false);
    s->bin = fl_keeper_place(&s->k, "bin", FL_PLACE_BIN, 0, 23.0);
    s->lot = fl_keeper_arrive(&s->k, s->store, fl_keeper_id(&s->k), s->bin, form,
                              FL_USE_PLANTS_ONLY, count);
    fl_keeper_day(&s->k, 7, 0);
    fl_keeper_ask(&s->k);
    check_ok(fl_gate_ask(s->k.chances, &s->k.room, fl_keeper_lot(&s->k, s->lot), 0, &s->arena,
                         &s->report, &s->k.err),
             &s->k.err);
}

static void strike(stage *s)
{
    fl_arena_done(&s->arena);
    fl_keeper_done(&s->k);
}

static fl_examine ask(stage *s, fl_effort effort)
{
    fl_examine e;
    check_ok(fl_examine_lot(&s->report, effort, 0, &e, &s->k.err), &s->k.err);
    return e;
}

static void test_a_hobby_lot(void **unused)
{
    (void)unused;
    static const int counts[] = {1, 4, FL_EXAMINE_EVERY_PLANT};
    for (size_t i = 0; i < 3; i++) {
        stage s;
        set_stage(&s, FL_FORM_POTTED, counts[i]);
        fl_examine e = ask(&s, FL_EFFORT_CAREFUL);
        check_true(e.is_every_plant);
        check_int(e.n_plants, counts[i]);
        strike(&s);
    }
}

/* ln of n over k. */
static double ln_choose(double n, double k)
{
    return lgamma(n + 1.0) - lgamma(k + 1.0) - lgamma(n - k + 1.0);
}

static double miss(int lot, int infested, int sample, double efficacy)
{
    double sum = 0.0;
    for (int k = 0; k <= infested && k <= sample; k++) {
        if (sample - k <= lot - infested) {
            sum += exp(ln_choose(infested, k) + ln_choose(lot - infested, sample - k) -
                       ln_choose(lot, sample)) *
                   pow(1.0 - efficacy, k);
        }
    }
    return sum;
}

static void check_sample(const fl_examine *e, const fl_sample_size *s, int infested)
{
    check_int(s->infested_plants, infested);
    if (s->reason == FL_SAMPLE_ATTAINABLE) {
        int n = (int)s->sample_size;
        check_true(1.0 - miss(72, infested, n, e->prob_efficacy) >= 0.95 - 1e-12);
        check_true(1.0 - miss(72, infested, n - 1, e->prob_efficacy) < 0.95);
    } else {
        check_int(s->reason, FL_SAMPLE_EFFICACY_TOO_LOW);
        check_true(1.0 - miss(72, infested, 72, e->prob_efficacy) < 0.95);
        check_close(s->prob_reached, 1.0 - miss(72, infested, 72, e->prob_efficacy), 1e-9, 0.0);
    }
}

/* 5 % of 72 plants are 3.6: 3 as ISPM 31 rounds, 4 rounded up. */
static void test_a_tray_of_72(void **unused)
{
    (void)unused;
    stage s;
    int n_unattainable = 0;
    set_stage(&s, FL_FORM_PLUG, 72);
    for (int effort = 0; effort < FL_EFFORT_COUNT; effort++) {
        fl_examine e = ask(&s, (fl_effort)effort);
        check_false(e.is_every_plant);
        check_true(e.threat != NULL && e.prob_efficacy > 0.0 && e.prob_efficacy <= 0.95);
        check_sample(&e, &e.floor, 3);
        check_sample(&e, &e.ceil, 4);
        n_unattainable += e.floor.reason != FL_SAMPLE_ATTAINABLE;
    }
    check_true(n_unattainable > 0); /* a glance of a tray proves nothing, and says so */
    strike(&s);
}

/* What is learned and judged counts purchases: a split is none, and material is none. */
static void test_own_purchases(void **unused)
{
    (void)unused;
    stage s;
    set_stage(&s, FL_FORM_POTTED, 4);
    fl_id arrival = fl_keeper_id(&s.k);
    (void)fl_keeper_arrive(&s.k, s.store, arrival, s.bin, FL_FORM_POTTED, FL_USE_STOCK, 2);
    (void)fl_keeper_arrive(&s.k, s.store, arrival, s.bin, FL_FORM_PLUG, FL_USE_STOCK, 2);
    (void)fl_keeper_arrive(&s.k, s.store, fl_keeper_id(&s.k), s.bin, FL_FORM_MIX_BAGGED,
                           FL_USE_STOCK, 1);
    (void)fl_keeper_split(&s.k, s.lot, 1);
    fl_keeper_ask(&s.k);
    check_int(fl_gate_own_purchases(&s.k.room), 2);
    const fl_threat *gnat = fl_know_threat_find(FL_SV("fungus_gnat"));
    fl_source_risk risk;
    check_ok(fl_chances_source_risk(s.k.chances, s.store, FL_FORM_POTTED, gnat, &risk, &s.k.err),
             &s.k.err);
    check_int(risk.n_purchases, 2);
    check_int(risk.n_found, 0);
    check_close(risk.table.prob, 0.30, 1e-12, 0.0); /* data/threats.csv: a pot from a store */
    fl_keeper_look(&s.k, s.bin, FL_EFFORT_CAREFUL, 0, "fungus_gnat", s.lot);
    fl_keeper_ask(&s.k);
    check_ok(fl_chances_source_risk(s.k.chances, s.store, FL_FORM_POTTED, gnat, &risk, &s.k.err),
             &s.k.err);
    check_true(risk.mean > 0.30); /* a find raises it */
    check_true(risk.low < risk.mean && risk.mean < risk.high);
    const fl_threat *chytrid = fl_know_threat_find(FL_SV("chytrid_bd"));
    check_int(
        fl_chances_source_risk(s.k.chances, s.store, FL_FORM_POTTED, chytrid, &risk, &s.k.err),
        FL_ENOTFOUND);
    strike(&s);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_a_hobby_lot),
                                          cmocka_unit_test(test_a_tray_of_72),
                                          cmocka_unit_test(test_own_purchases)};
FL_TEST_MAIN(tests)
