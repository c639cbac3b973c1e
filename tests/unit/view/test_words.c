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

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_chances_of_the_design),
    cmocka_unit_test(test_ends_are_never_certain),
    cmocka_unit_test(test_words_stay_near_the_number),
    cmocka_unit_test(test_band_holds_what_it_means),
    cmocka_unit_test(test_two_figures_at_most),
    cmocka_unit_test(test_the_answer_of_the_design),
    cmocka_unit_test(test_more_than_one),
    cmocka_unit_test(test_when),
    cmocka_unit_test(test_dates),
};

int main(void)
{
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
