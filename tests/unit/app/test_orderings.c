/* The orderings that design 4.13 asks for, on whole rooms; and, with --table, the gate's dates for
 * docs/decisions/0004 in markdown (about a minute). Dates themselves are never pinned: they follow
 * from inputs that were frozen before anyone saw a date. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/trial.h"

/* A day, "never" being later than any. */
static int order_of(int day)
{
    return day == FL_TRIAL_NEVER ? FL_TRIAL_DAYS + 1 : day;
}

static void check_never_sooner(const fl_trial_result *a, const fl_trial_result *b)
{
    for (int use = 0; use < FL_USE_COUNT; use++) {
        check_true(order_of(a->days[use].chance) >= order_of(b->days[use].chance));
        check_true(order_of(a->days[use].guard) >= order_of(b->days[use].guard));
        check_true(order_of(a->days[use].open) >= order_of(b->days[use].open));
    }
}

static int sum_of_days(const fl_trial_result *r)
{
    int sum = 0;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        sum += order_of(r->days[use].chance) + order_of(r->days[use].open);
    }
    return sum;
}

/* a is later than b somewhere and sooner nowhere. */
static void check_later(const fl_trial_result *a, const fl_trial_result *b)
{
    check_never_sooner(a, b);
    check_true(sum_of_days(a) > sum_of_days(b));
}

static fl_trial_result run(fl_trial trial)
{
    fl_trial_result result;
    fl_trial_run(&trial, &result);
    return result;
}

/* What the others are compared with, run once. */
static fl_trial_result usual;
static fl_trial_result traded;

static int run_those(void **state)
{
    (void)state;
    fl_trial trial = fl_trial_usual();
    fl_trial_run(&trial, &usual);
    trial.source = FL_SOURCE_TRADE;
    fl_trial_run(&trial, &traded);
    return 0;
}

static void test_colder_is_later(void **state)
{
    (void)state;
    fl_trial trial = fl_trial_usual();
    const fl_trial_result warm = usual;
    trial.temp_c = 18.0;
    fl_trial_result cold = run(trial);
    check_later(&cold, &warm);
    for (int day = 7; day <= 35; day += 7) {
        for (int use = 0; use < FL_USE_COUNT; use++) {
            check_true(cold.sum[use][day] > warm.sum[use][day]);
        }
    }
}

static void test_careful_is_sooner_than_a_glance(void **state)
{
    (void)state;
    fl_trial trial = fl_trial_usual();
    const fl_trial_result careful = usual;
    trial.effort = FL_EFFORT_GLANCE;
    trial.until_day = 91;
    fl_trial_result glance = run(trial);
    check_later(&glance, &careful);
    /* Glances alone do not clear within twelve weeks (docs/decisions/0002, the trial). */
    for (int use = 0; use < FL_USE_COUNT; use++) {
        check_true(order_of(glance.days[use].chance) > 84);
    }
}

static void test_seldom_is_later_than_often(void **state)
{
    (void)state;
    fl_trial trial = fl_trial_usual();
    const fl_trial_result weekly = usual;
    trial.every_days = 14;
    fl_trial_result seldom = run(trial);
    check_later(&seldom, &weekly);
    for (int day = 14; day <= 42; day += 14) {
        if (!isnan(seldom.sum[0][day]) && !isnan(weekly.sum[0][day])) {
            check_true(seldom.sum[0][day] > weekly.sum[0][day]);
        }
    }
}

static void test_trade_is_sooner_than_a_chain_store(void **state)
{
    (void)state;
    const fl_trial_result store = usual;
    const fl_trial_result trade = traded;
    check_later(&store, &trade);
    for (int use = 0; use < FL_USE_COUNT; use++) {
        check_close(trade.sum_at_start[use], 0.5 * store.sum_at_start[use], 0.1, 0.0);
    }
}

/* By the sum, wherever it comes from; for a chain store's plants in a warm bin also by the gate as
 * a whole. (Elsewhere the guard may bind plants only first: it asks where weight x prior is at
 * least 0.5 %, and a plant pest weighs more with plants only. See docs/decisions/0004.) */
static void test_amphibian_is_later_than_plants_only(void **state)
{
    (void)state;
    const fl_trial_result *results[] = {&usual, &traded};
    for (size_t i = 0; i < 2; i++) {
        const fl_trial_days *days = results[i]->days;
        check_true(order_of(days[FL_USE_AMPHIBIAN].chance) >
                   order_of(days[FL_USE_PLANTS_ONLY].chance));
        check_true(i > 0 ||
                   order_of(days[FL_USE_AMPHIBIAN].open) > order_of(days[FL_USE_PLANTS_ONLY].open));
    }
}

/* Out of a sealed cup there is next to nothing to wait for: the least days bind. */
static void test_tissue_culture_is_near_zero(void **state)
{
    (void)state;
    fl_trial trial = fl_trial_usual();
    trial.source = FL_SOURCE_TISSUE_CULTURE_LAB;
    trial.form = FL_FORM_TISSUE_CULTURE;
    fl_trial_result r = run(trial);
    for (int use = 0; use < FL_USE_COUNT; use++) {
        check_true(r.sum_at_start[use] < 0.03);
        check_int(r.days[use].open, fl_know_use_of((fl_use)use).least_days);
    }
    check_true(r.sum_at_start[FL_USE_AMPHIBIAN] < 0.02); /* under the strictest ceiling at once */
}

static void test_washing_helps(void **state)
{
    (void)state;
    fl_trial trial = fl_trial_usual();
    const fl_trial_result washed = usual;
    trial.is_washed = false;
    fl_trial_result unwashed = run(trial);
    check_later(&unwashed, &washed);
    check_true(unwashed.sum_at_start[0] > washed.sum_at_start[0]);
}

/* ---- mealybug and gnat ---- */

/* The rounds after which a threat's chance is this share of what it was on arrival. */
static int days_to(double share, const char *code, fl_effort effort)
{
    fl_keeper k;
    fl_keeper_init(&k);
    fl_id store = fl_keeper_source(&k, "a store", FL_SOURCE_CHAIN_STORE, false);
    fl_id bin = fl_keeper_place(&k, "bin", FL_PLACE_BIN, 0, 23.0);
    fl_id lot =
        fl_keeper_arrive(&k, store, fl_keeper_id(&k), bin, FL_FORM_POTTED, FL_USE_PLANTS_ONLY, 1);
    fl_keeper_ask(&k);
    double first = fl_keeper_chance(&k, lot, code).chance;
    int day = 0;
    double chance = first;
    while (chance > first * share && day < FL_TRIAL_DAYS) {
        day += 7;
        fl_keeper_day(&k, day, 0);
        fl_keeper_look(&k, bin, effort, 1U << FL_DEVICE_YELLOW_CARD, NULL, (fl_id){{0}});
        fl_keeper_ask(&k);
        chance = fl_keeper_chance(&k, lot, code).chance;
    }
    fl_keeper_done(&k);
    return day;
}

/* The day on which the guard of a threat will be met at the round's effort. */
static int64_t guard_date(fl_keeper *k, fl_id lot, const char *code)
{
    fl_gate_report r = fl_keeper_gate(k, lot, 0);
    for (size_t i = 0; i < r.n_threats; i++) {
        if (strcmp(r.threats[i].threat->code, code) == 0) {
            return r.threats[i].guard_s;
        }
    }
    return 0;
}

/* What mealybugs bind is later than what gnats bind: to an eye that sees grown ones only they take
 * longer to show, and looks take longer to tell. By careful looks that is so of the last hundredth:
 * to a tenth both take the same five weeks by the exact variant with births (bench: a gnat with few
 * young hides a whole generation), and the filter, on its safe side, gives the gnat two more. */
static void test_mealybug_is_later_than_gnat(void **state)
{
    (void)state;
    check_true(days_to(0.01, "citrus_mealybug", FL_EFFORT_CAREFUL) >
               days_to(0.01, "fungus_gnat", FL_EFFORT_CAREFUL));
    check_true(days_to(0.1, "citrus_mealybug", FL_EFFORT_GLANCE) >
               days_to(0.1, "fungus_gnat", FL_EFFORT_GLANCE));
    fl_keeper k;
    fl_keeper_init(&k);
    fl_event room = {.kind = FL_KIND_ROOM_SET};
    room.body.room_set = (fl_ev_room_set){.round_weekday = 0, .round_effort = FL_EFFORT_GLANCE};
    fl_keeper_record(&k, &room);
    fl_id store = fl_keeper_source(&k, "a store", FL_SOURCE_CHAIN_STORE, false);
    fl_id bin = fl_keeper_place(&k, "bin", FL_PLACE_BIN, 0, 23.0);
    fl_id lot =
        fl_keeper_arrive(&k, store, fl_keeper_id(&k), bin, FL_FORM_POTTED, FL_USE_PLANTS_ONLY, 1);
    fl_keeper_ask(&k);
    check_true(guard_date(&k, lot, "citrus_mealybug") > guard_date(&k, lot, "fungus_gnat"));
    fl_keeper_done(&k);
}

/* ---- the table ---- */

static const char *day_text(int day, char text[16])
{
    (void)snprintf(text, 16, day == FL_TRIAL_NEVER ? "–" : "%d", day);
    return text;
}

static void print_row(const char *name, const fl_trial *trial)
{
    fl_trial_result r = run(*trial);
    printf("| %s | %.0f °C |", name, trial->temp_c);
    for (int use = 0; use < FL_USE_COUNT; use++) {
        char open[16];
        char chance[16];
        printf(" %s (%s) |", day_text(r.days[use].open, open),
               day_text(r.days[use].chance, chance));
    }
    for (int day = 14; day <= 42; day += day == 28 ? 14 : 7) {
        if (isnan(r.sum[0][day])) {
            printf("%s –", day == 14 ? "" : " /");
        } else {
            printf("%s %.1f", day == 14 ? "" : " /", 100.0 * r.sum[0][day]);
        }
    }
    printf(" | %s |\n", r.binding[FL_USE_PLANTS_ONLY]);
}

static void print_table(void)
{
    static const double temps_c[] = {18.0, 21.0, 23.0, 25.0};
    static const struct {
        const char *name;
        fl_source_kind source;
        fl_form form;
        fl_effort effort;
        int every_days;
        bool is_washed;
    } rows[] = {
        {"chain store, careful", FL_SOURCE_CHAIN_STORE, FL_FORM_POTTED, FL_EFFORT_CAREFUL, 7, true},
        {"chain store, careful, unwashed", FL_SOURCE_CHAIN_STORE, FL_FORM_POTTED, FL_EFFORT_CAREFUL,
         7, false},
        {"chain store, careful, every 4 days", FL_SOURCE_CHAIN_STORE, FL_FORM_POTTED,
         FL_EFFORT_CAREFUL, 4, true},
        {"chain store, careful, every 14 days", FL_SOURCE_CHAIN_STORE, FL_FORM_POTTED,
         FL_EFFORT_CAREFUL, 14, true},
        {"chain store, roots each time", FL_SOURCE_CHAIN_STORE, FL_FORM_POTTED, FL_EFFORT_ROOTS, 7,
         true},
        {"chain store, glances", FL_SOURCE_CHAIN_STORE, FL_FORM_POTTED, FL_EFFORT_GLANCE, 7, true},
        {"nursery, careful", FL_SOURCE_NURSERY, FL_FORM_POTTED, FL_EFFORT_CAREFUL, 7, true},
        {"trade, careful", FL_SOURCE_TRADE, FL_FORM_POTTED, FL_EFFORT_CAREFUL, 7, true},
        {"trade, unrooted cuttings", FL_SOURCE_TRADE, FL_FORM_UNROOTED_CUTTING, FL_EFFORT_CAREFUL,
         7, true},
        {"tissue culture", FL_SOURCE_TISSUE_CULTURE_LAB, FL_FORM_TISSUE_CULTURE, FL_EFFORT_CAREFUL,
         7, true},
    };
    printf(
        "| source, looks | bin | plants only | reptile | invertebrate | amphibian | stock | sum, "
        "plants only, day 14 / 21 / 28 / 42, %% | leads "
        "|\n|---|---|---|---|---|---|---|---|---|\n");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (size_t t = 0; t < sizeof temps_c / sizeof temps_c[0]; t++) {
            fl_trial trial = fl_trial_usual();
            trial.temp_c = temps_c[t];
            trial.source = rows[i].source;
            trial.form = rows[i].form;
            trial.effort = rows[i].effort;
            trial.every_days = rows[i].every_days;
            trial.is_washed = rows[i].is_washed;
            print_row(rows[i].name, &trial);
        }
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_colder_is_later),
    cmocka_unit_test(test_careful_is_sooner_than_a_glance),
    cmocka_unit_test(test_seldom_is_later_than_often),
    cmocka_unit_test(test_trade_is_sooner_than_a_chain_store),
    cmocka_unit_test(test_amphibian_is_later_than_plants_only),
    cmocka_unit_test(test_tissue_culture_is_near_zero),
    cmocka_unit_test(test_washing_helps),
    cmocka_unit_test(test_mealybug_is_later_than_gnat)};

int main(int argc, char **argv)
{
    if (argc == 2 && strcmp(argv[1], "--table") == 0) {
        print_table();
        return 0;
    }
    return cmocka_run_group_tests(tests, run_those, NULL);
}
