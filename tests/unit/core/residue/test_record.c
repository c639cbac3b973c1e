/* The rules of the pesticide record, field by field, against the texts: 7 CFR 110.3(a)(1) to (5) as
 * printed in the Code of Federal Regulations of 1 January 2006 (edocket.access.gpo.gov); the fields
 * of Implementing Regulation (EU) 2023/564 as its Belgian, Hungarian and French explanations list
 * them (sillonbelge.be 8 April 2025; trademagazin.hu after Nébih; smag.tech, which cites the
 * regulation): the sources in docs/models/pesticide-record.md. */
#include <math.h>

#include "core/residue/record.h"
#include "support/check.h"

#define HAS(field) (1U << FL_RECORD_##field)

static const fl_record_rule *rule(const char *word)
{
    for (size_t i = 0; i < FL_RECORD_RULES; i++) {
        if (fl_sv_eq_cstr(fl_sv_from_cstr(fl_record_rules[i].word), word)) {
            return &fl_record_rules[i];
        }
    }
    fail_msg("no rule %s", word);
    return NULL;
}

/* (1) brand or product name, and the EPA registration number; (2) the total amount applied; (3) the
 * location, the size of area treated, and the crop; (4) month, day and year; (5) name and
 * certification number (if applicable) of the certified applicator. */
static void test_usa(void **state)
{
    const fl_record_rule *us = rule("us");
    (void)state;
    check_int(us->asked, HAS(BRAND) | HAS(REGISTRATION) | HAS(AMOUNT) | HAS(SITE) | HAS(SIZE) |
                             HAS(CROP) | HAS(DATE) | HAS(OPERATOR));
    check_int(us->asked_if, HAS(CERTIFICATE));
    check_int(us->keep_years, 2);
}

/* Name and authorisation number, date and dose, size of what was treated, where it is, the crop
 * with its EPPO code; the growth stage and the time of beginning only where the authorisation
 * limits them. Article 67(1) of Regulation 1107/2009: at least three years. */
static void test_eu(void **state)
{
    const fl_record_rule *eu = rule("eu");
    (void)state;
    check_int(eu->asked, HAS(BRAND) | HAS(REGISTRATION) | HAS(DATE) | HAS(RATE) | HAS(SIZE) |
                             HAS(SITE) | HAS(CROP) | HAS(EPPO));
    check_int(eu->asked_if, HAS(START) | HAS(STAGE));
    check_int(eu->keep_years, 3);
    check_int(eu->asked & eu->asked_if, 0);
}

/* Every field that some rule asks has a condition exactly where it is asked of some. */
static void test_conditions(void **state)
{
    (void)state;
    for (size_t i = 0; i < FL_RECORD_RULES; i++) {
        for (int f = 0; f < FL_RECORD_FIELDS; f++) {
            const bool is_of_some = (fl_record_rules[i].asked_if & 1U << f) != 0;
            check_true((fl_record_rules[i].condition[f] != NULL) == is_of_some);
        }
    }
}

static fl_ev_step whole(void)
{
    return (fl_ev_step){.agent = FL_AGENT_PESTICIDE,
                        .brand = FL_SV("Example SC"),
                        .registration = FL_SV("012345-00"),
                        .amount_ml = 1.5,
                        .rate_ml_per_l = 0.75,
                        .units = 12,
                        .eppo_code = FL_SV("ABCDE"),
                        .growth_stage = FL_SV("BBCH 15"),
                        .site = FL_SV("bench 2"),
                        .operator_name = FL_SV("M. Keeper"),
                        .operator_number = FL_SV("C-0000")};
}

/* A whole entry lacks nothing; a member that is taken out takes its own field out and no other. */
static void test_each_member(void **state)
{
    const unsigned all = (1U << FL_RECORD_FIELDS) - 1U;
    fl_ev_step step = whole();
    (void)state;
    check_int(fl_record_has(&step, FL_PRECISION_EXACT), all);
#define WITHOUT(member, field)                                                                     \
    step = whole();                                                                                \
    step.member = (fl_sv){NULL, 0};                                                                \
    check_int(fl_record_has(&step, FL_PRECISION_EXACT), all & ~HAS(field))
    WITHOUT(brand, BRAND);
    WITHOUT(registration, REGISTRATION);
    WITHOUT(eppo_code, EPPO);
    WITHOUT(growth_stage, STAGE);
    WITHOUT(site, SITE);
    WITHOUT(operator_name, OPERATOR);
    WITHOUT(operator_number, CERTIFICATE);
#undef WITHOUT
    step = whole();
    step.amount_ml = 0.0;
    check_int(fl_record_has(&step, FL_PRECISION_EXACT), all & ~HAS(AMOUNT));
    step.amount_g = 2.0;
    check_int(fl_record_has(&step, FL_PRECISION_EXACT), all);
    step.rate_ml_per_l = 0.0;
    check_int(fl_record_has(&step, FL_PRECISION_EXACT), all & ~HAS(RATE));
    step.rate_g_per_m2 = 0.2;
    check_int(fl_record_has(&step, FL_PRECISION_EXACT), all);
    step.units = 0;
    check_int(fl_record_has(&step, FL_PRECISION_EXACT), all & ~HAS(SIZE));
    step.space_m3 = 30.0;
    check_int(fl_record_has(&step, FL_PRECISION_EXACT), all);
    step.space_m3 = 0.0;
    step.area_m2 = 1.0;
    check_int(fl_record_has(&step, FL_PRECISION_EXACT), all);
}

static void test_vague_times(void **state)
{
    const fl_ev_step step = whole();
    (void)state;
    check_true((fl_record_has(&step, FL_PRECISION_HOUR) & HAS(START)) != 0);
    check_int(fl_record_has(&step, FL_PRECISION_DAY) & (HAS(START) | HAS(DATE)), HAS(DATE));
    check_int(fl_record_has(&step, FL_PRECISION_MONTH) & (HAS(START) | HAS(DATE)), 0);
}

/* Bleach at the sink is none; a soap with a product's number is. */
static void test_what_belongs_into_it(void **state)
{
    fl_ev_step step = {.agent = FL_AGENT_BLEACH, .product = FL_SV("bleach")};
    (void)state;
    check_false(fl_record_is_entry(&step));
    step.agent = FL_AGENT_SOAP;
    check_false(fl_record_is_entry(&step));
    step.registration = FL_SV("7-77");
    check_true(fl_record_is_entry(&step));
    check_true(fl_record_is_entry(&(fl_ev_step){.brand = FL_SV("Example SC")}));
    check_true(fl_record_is_entry(&(fl_ev_step){.agent = FL_AGENT_PESTICIDE}));
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_usa),         cmocka_unit_test(test_eu),
    cmocka_unit_test(test_conditions),  cmocka_unit_test(test_each_member),
    cmocka_unit_test(test_vague_times), cmocka_unit_test(test_what_belongs_into_it),
};
FL_TEST_MAIN(tests)
