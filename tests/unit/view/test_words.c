/* How numbers and dates are said. The wanted words are design.md section 8 ("about 1 in 15"; two
 * figures at most; weeks rather than false days; under 1 in 1,000 is said so) and its example of an
 * answer in section 4; the bounds are checked over the whole range, by reading the words back. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/check.h"
#include "view/words.h"

static fl_arena arena;

static int set_up(void **state)
{
    (void)state;
    fl_arena_init(&arena);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    fl_arena_done(&arena);
    return 0;
}

static fl_threat named(const char *code, const char *name)
{
    return (fl_threat){.code = code, .name = name, .class = FL_CLASS_PEST};
}

/* ---- chances ---- */

static void test_chances_of_the_design(void **state)
{
    (void)state;
    check_sv(fl_say_chance(1.0 / 15.0, &arena), "about 1 in 15");
    check_sv(fl_say_chance(0.065, &arena), "about 1 in 15");
    check_sv(fl_say_chance(0.5, &arena), "about 1 in 2");
    check_sv(fl_say_chance(0.65, &arena), "about 2 in 3");
    check_sv(fl_say_chance(0.001, &arena), "about 1 in 1,000");
    check_sv(fl_say_chance(0.00099, &arena), "under 1 in 1,000");
    check_sv(fl_say_chance(0.996, &arena), "over 99 in 100");
}

/* No number promises that nothing is there, or that something is. */
static void test_ends_are_never_certain(void **state)
{
    (void)state;
    check_sv(fl_say_chance(0.0, &arena), "under 1 in 1,000");
    check_sv(fl_say_chance(-0.1, &arena), "under 1 in 1,000");
    check_sv(fl_say_chance(1.0, &arena), "over 99 in 100");
    check_sv(fl_say_chance(7.0, &arena), "over 99 in 100");
    check_sv(fl_say_chance((double)NAN, &arena), "not known");
    check_sv(fl_say_in_100(0.0, &arena), "under 0.1 in 100");
    check_sv(fl_say_in_100(1.0, &arena), "over 99 in 100");
    check_sv(fl_say_percent(0.0, &arena), "under 0.1 %");
    check_sv(fl_say_percent(0.9999, &arena), "over 99 %");
}

/* "about 3 in 5" as a number. */
static double read_back(fl_sv text, const char *lead)
{
    char line[64];
    int n = 0;
    int m = 0;
    (void)snprintf(line, sizeof line, "%.*s", FL_SV_ARG(text));
    check_true(strncmp(line, lead, strlen(lead)) == 0);
    const char *rest = line + strlen(lead);
    if (strcmp(rest, "1 in 1,000") == 0) {
        return 0.001;
    }
    check_int(sscanf(rest, "%d in %d", &n, &m), 2);
    return (double)n / m;
}

/* The chance, or the chance against it where that is smaller, is said within 16 %; and a larger
 * chance is never said smaller. */
static void test_words_stay_near_the_number(void **state)
{
    (void)state;
    double last = 0.0;
    for (int i = 10; i <= 9900; i++) {
        double prob = 0.0001 * i;
        double said = read_back(fl_say_chance(prob, &arena), "about ");
        check_true(fabs(said - prob) <= 0.16 * fmin(prob, 1.0 - prob));
        check_true(said >= last);
        last = said;
    }
}

static void test_band_holds_what_it_means(void **state)
{
    (void)state;
    check_sv(fl_say_band(0.025, 0.2, &arena), "1 in 40 to 1 in 5");
    check_sv(fl_say_band(0.026, 0.19, &arena), "1 in 40 to 1 in 5");
    check_sv(fl_say_band(0.0, 0.01, &arena), "under 1 in 1,000 to 1 in 100");
    check_sv(fl_say_band(0.9, 1.0, &arena), "9 in 10 to over 99 in 100");
    check_sv(fl_say_band(0.0, 0.0005, &arena), "");
    check_sv(fl_say_band(0.2, 0.2, &arena), "");
    for (int i = 11; i < 900; i++) {
        double least = 0.001 * i;
        double most = least * 1.07;
        char line[64];
        (void)snprintf(line, sizeof line, "%.*s", FL_SV_ARG(fl_say_band(least, most, &arena)));
        char *to = strstr(line, " to ");
        check_true(to != NULL);
        *to = '\0';
        check_true(read_back(fl_sv_from_cstr(line), "") <= least);
        check_true(read_back(fl_sv_from_cstr(to + 4), "") >= most);
    }
}

static void test_two_figures_at_most(void **state)
{
    (void)state;
    check_sv(fl_say_in_100(0.0667, &arena), "about 7 in 100");
    check_sv(fl_say_in_100(0.0144, &arena), "about 1.4 in 100");
    check_sv(fl_say_in_100(0.004, &arena), "about 0.4 in 100");
    check_sv(fl_say_in_100(0.423, &arena), "about 42 in 100");
    check_sv(fl_say_percent(0.0234, &arena), "2.3 %");
    check_sv(fl_say_percent(0.05, &arena), "5 %");
    check_sv(fl_say_percent(0.2345, &arena), "23 %");
    check_sv(fl_say_percent(0.0996, &arena), "10 %");
    check_sv(fl_say_percent(1.0, &arena), "100 %");
    for (int i = 0; i <= 1000; i++) {
        int digits = 0;
        fl_sv text = fl_say_percent(0.001 * i, &arena);
        for (size_t k = 0; k < text.len; k++) {
            digits += text.ptr[k] >= '1' && text.ptr[k] <= '9';
        }
        check_true(digits <= 2);
    }
}

static void test_the_answer_of_the_design(void **state)
{
    (void)state;
    fl_threat thrips = named("western_flower_thrips", "western flower thrips");
    fl_say_threat_args args = {&thrips, 0.066, 0.026, 0.19, true};
    check_sv(fl_say_threat(&args, &arena),
             "about 1 in 15, 1 in 40 to 1 in 5, that western flower thrips are still there; mostly "
             "our judgement");
    args = (fl_say_threat_args){&thrips, 0.0001, 0.00001, 0.0002, false};
    check_sv(fl_say_threat(&args, &arena),
             "under 1 in 1,000 that western flower thrips are still there");
}

static void test_more_than_one(void **state)
{
    (void)state;
    fl_threat gnat = named("fungus_gnat", "fungus gnat");
    fl_threat fly = named("shore_fly", "shore fly");
    fl_threat ants = named("ants", "ants");
    fl_threat frog = named("stowaway_frog", "stowaway frog and its eggs");
    check_sv(fl_say_plural(&gnat, &arena), "fungus gnats");
    check_sv(fl_say_plural(&fly, &arena), "shore flies");
    check_sv(fl_say_plural(&ants, &arena), "ants");
    check_sv(fl_say_plural(&frog, &arena), "stowaway frogs and their eggs");
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *threat = fl_know_threat(i);
        fl_sv text = fl_say_plural(threat, &arena);
        check_true(threat->class == FL_CLASS_PATHOGEN || text.ptr[text.len - 1] == 's');
        check_true(text.len < 3 || memcmp(text.ptr + text.len - 2, "ys", 2) != 0);
    }
}

/* ---- time ---- */

/* 2026-03-01 18:30 UTC; the room is an hour east. */
static fl_room room_of_march(void)
{
    fl_room room = {.tz_offset_min = 60};
    fl_precision precision;
    fl_err err;
    check_ok(fl_civil_parse(FL_SV("2026-03-01T18:30:00Z"), 0, &room.now_s, &precision, &err), &err);
    return room;
}

static int64_t days_on(const fl_room *room, int days)
{
    return room->now_s + (int64_t)days * FL_DAY_S;
}

static void test_when(void **state)
{
    (void)state;
    fl_room room = room_of_march();
    check_sv(fl_say_when(&room, room.now_s, &arena), "today");
    check_sv(fl_say_when(&room, room.now_s + 4 * FL_HOUR_S + 1799, &arena), "today");
    check_sv(fl_say_when(&room, room.now_s + 4 * FL_HOUR_S + 1800, &arena), "tomorrow");
    check_sv(fl_say_when(&room, room.now_s - 20 * FL_HOUR_S, &arena), "yesterday");
    check_sv(fl_say_when(&room, days_on(&room, 9), &arena), "in 9 days");
    check_sv(fl_say_when(&room, days_on(&room, 20), &arena), "in about 3 weeks");
    check_sv(fl_say_when(&room, days_on(&room, -150), &arena), "about 5 months ago");
    check_sv(fl_say_when(&room, days_on(&room, -1100), &arena), "about 3 years ago");
    check_sv(fl_say_when(&room, FL_GATE_NEVER, &arena), "not by waiting");
}

static void test_dates(void **state)
{
    (void)state;
    fl_room room = room_of_march();
    check_sv(fl_say_date(&room, days_on(&room, 18), FL_PRECISION_DAY, &arena), "19 March");
    check_sv(fl_say_date(&room, days_on(&room, 365), FL_PRECISION_EXACT, &arena), "1 March 2027");
    check_sv(fl_say_date(&room, days_on(&room, -1080), FL_PRECISION_MONTH, &arena),
             "in March 2023");
    check_sv(fl_say_date(&room, days_on(&room, -1080), FL_PRECISION_YEAR, &arena), "in 2023");
    check_sv(fl_say_date(&room, FL_TIME_OPEN, FL_PRECISION_DAY, &arena), "no date");
    check_sv(fl_say_civil(&room, room.now_s + 5 * FL_HOUR_S, &arena), "2026-03-02");
    check_sv(fl_say_civil(&room, FL_GATE_NEVER, &arena), "");
    check_sv(fl_say_days(0.2, &arena), "no time");
    check_sv(fl_say_days(1.0, &arena), "1 day");
    check_sv(fl_say_days(13.0, &arena), "13 days");
    check_sv(fl_say_days(14.0, &arena), "about 2 weeks");
    check_sv(fl_say_days(120.0, &arena), "about 4 months");
}

/* ---- the gate's answer; the wanted words: design section 2, "gate" ---- */

/* A report in which every condition is met. */
static fl_gate_report met_report(const fl_room *room, unsigned uses)
{
    fl_gate_report report = {.uses = uses};
    report.answer.is_open = true;
    report.answer.earliest_s = room->now_s;
    for (int i = 0; i < FL_CONDITION_COUNT; i++) {
        report.answer.conditions[i] = (fl_condition){
            .kind = (fl_condition_kind)i, .is_met = true, .earliest_s = room->now_s, .reason = ""};
    }
    return report;
}

static void miss(fl_gate_report *report, fl_condition_kind kind, int64_t earliest_s)
{
    report->answer.is_open = false;
    report->answer.conditions[kind].is_met = false;
    report->answer.conditions[kind].earliest_s = earliest_s;
    if (earliest_s > report->answer.earliest_s) {
        report->answer.earliest_s = earliest_s;
    }
}

static void test_answers(void **state)
{
    (void)state;
    fl_room room = room_of_march();
    fl_gate_report report = met_report(&room, 1U << FL_USE_STOCK);
    check_sv(fl_say_answer(&room, &report, &arena), "Quiet enough for stock.");
    miss(&report, FL_CONDITION_RELEASE_LOOK, room.now_s);
    check_sv(fl_say_answer(&room, &report, &arena),
             "Not yet for stock: look at it today; if nothing is found, it is quiet enough.");
    miss(&report, FL_CONDITION_CHANCE, days_on(&room, 18));
    check_sv(fl_say_answer(&room, &report, &arena),
             "Not yet for stock: in about 3 weeks, on 19 March, if the looks until then find "
             "nothing.");
    miss(&report, FL_CONDITION_STEPS, room.now_s);
    report.answer.conditions[FL_CONDITION_STEPS].steps_missing =
        1U << FL_STEP_STRIP | 1U << FL_STEP_RINSE | 1U << FL_STEP_POT_UP;
    check_sv(fl_say_answer(&room, &report, &arena),
             "Not yet for stock. First: strip the old mix, rinse and pot up in fresh mix.");
    report.uses = 1U << FL_USE_AMPHIBIAN | 1U << FL_USE_INVERTEBRATE;
    report.residue.why = FL_RESIDUE_WHY_NEEDS_GROWTH;
    miss(&report, FL_CONDITION_RESIDUE, FL_GATE_NEVER);
    check_sv(fl_say_answer(&room, &report, &arena),
             "Not for invertebrates and amphibians: new growth made here is asked first.");
    miss(&report, FL_CONDITION_PATHOGEN, FL_GATE_NEVER); /* no growth would change this one */
    check_sv(fl_say_answer(&room, &report, &arena),
             "Not for invertebrates and amphibians: where it has been speaks against it.");
}

static void test_conditions_name_the_side(void **state)
{
    (void)state;
    fl_room room = room_of_march();
    fl_gate_report report = met_report(&room, 1U << FL_USE_AMPHIBIAN);
    fl_condition *chance = &report.answer.conditions[FL_CONDITION_CHANCE];
    chance->use = FL_USE_AMPHIBIAN;
    chance->limit = 0.02;
    chance->value = 0.0202; /* "2 %" of "2 %" would say nothing */
    miss(&report, FL_CONDITION_CHANCE, FL_GATE_NEVER);
    check_sv(fl_say_condition(&room, &report, FL_CONDITION_CHANCE, &arena),
             "All pests together, weighted by harm, come to 2 %: just over the 2 % that is enough "
             "for amphibians. Looks that find nothing would not bring it under within half a "
             "year.");
    fl_condition *days = &report.answer.conditions[FL_CONDITION_LEAST_DAYS];
    days->use = FL_USE_AMPHIBIAN;
    days->value = 1.0;
    days->limit = 28.0;
    miss(&report, FL_CONDITION_LEAST_DAYS, days_on(&room, 27));
    check_sv(fl_say_condition(&room, &report, FL_CONDITION_LEAST_DAYS, &arena),
             "1 day since something could last have come in; 28 are asked for amphibians. That is "
             "so on 28 March.");
}

/* The gate's sum is a number expected (expectations add, whatever depends on what), so above 1 it
 * is one pest and more, and never "147 %". */
static void test_sums_above_one(void **state)
{
    (void)state;
    check_sv(fl_say_sum(0.0234, &arena), "2.3 %");
    check_sv(fl_say_sum(0.5, &arena), "50 %");
    check_sv(fl_say_sum(1.2, &arena), "more than one pest to be expected");
    check_sv(fl_say_sum(1.47, &arena), "more than one pest to be expected");
    check_sv(fl_say_sum(2.6, &arena), "about 2.5 pests to be expected");
    check_sv(fl_say_sum(3.1, &arena), "about 3 pests to be expected");
}

/* The room's round is careful on a Saturday (5, Monday being 0). */
static void test_looks_that_are_less(void **state)
{
    (void)state;
    fl_room room = room_of_march();
    room.round_effort = FL_EFFORT_CAREFUL;
    room.round_weekday = 5;
    fl_gate_report report = met_report(&room, 1U << FL_USE_AMPHIBIAN);
    check_sv(fl_say_looks_counted_on(&room, &report, &arena),
             "The dates count on a careful look every Saturday.");
    check_sv(fl_say_less_than_round(&room, FL_EFFORT_CAREFUL, &arena), "");
    check_sv(
        fl_say_less_than_round(&room, FL_EFFORT_GLANCE, &arena),
        "It was a glance; the dates ahead count on a careful look every Saturday, so each look "
        "like this moves them.");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_sums_above_one),
    cmocka_unit_test(test_looks_that_are_less),
    cmocka_unit_test(test_chances_of_the_design),
    cmocka_unit_test(test_ends_are_never_certain),
    cmocka_unit_test(test_words_stay_near_the_number),
    cmocka_unit_test(test_band_holds_what_it_means),
    cmocka_unit_test(test_two_figures_at_most),
    cmocka_unit_test(test_the_answer_of_the_design),
    cmocka_unit_test(test_more_than_one),
    cmocka_unit_test(test_when),
    cmocka_unit_test(test_dates),
    cmocka_unit_test(test_answers),
    cmocka_unit_test(test_conditions_name_the_side),
};

int main(void)
{
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
