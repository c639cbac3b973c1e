/* A sheet answers as the tables do, to the last bit, asked once or twice, in any order. */
#include "core/know/sheet.h"
#include "support/check.h"

static bool is_same(double a, double b)
{
    return !(a < b) && !(a > b);
}

static void check_survival(fl_sheet *sheet, const fl_threat *threat)
{
    for (int step = 0; step < FL_STEP_COUNT; step++) {
        for (int agent = 0; agent < FL_AGENT_COUNT; agent++) {
            for (int i = threat->n_stages - 1; i >= 0; i--) {
                fl_know_survival want =
                    fl_know_survival_of(threat, i, (fl_step)step, (fl_agent)agent);
                fl_know_survival got = fl_sheet_survival(sheet, i, (fl_step)step, (fl_agent)agent);
                check_true(is_same(got.survival, want.survival));
                check_int(got.grade, want.grade);
                check_true(got.source == want.source);
            }
        }
    }
}

static void check_looks(fl_sheet *sheet, const fl_threat *threat)
{
    for (unsigned devices = 0; devices < 2U << FL_DEVICE_COUNT; devices++) {
        for (int effort = 0; effort < FL_EFFORT_COUNT; effort++) {
            for (int dark = 0; dark < 2; dark++) {
                const double *got = fl_sheet_detect(sheet, (fl_effort)effort, devices, dark == 1);
                for (int i = 0; i < threat->n_stages; i++) {
                    check_true(is_same(
                        got[i], fl_know_detect(threat, i, (fl_effort)effort, devices, dark == 1)));
                }
            }
        }
    }
}

static void test_every_figure(void **unused)
{
    (void)unused;
    static fl_sheet sheet;
    for (size_t k = 0; k < fl_know_threat_count(); k++) {
        const fl_threat *threat = fl_know_threat(k);
        if (threat->n_stages == 0) {
            continue;
        }
        fl_sheet_begin(&sheet, threat);
        for (int round = 0; round < 2; round++) { /* looked up, then remembered */
            check_survival(&sheet, threat);
            check_looks(&sheet, threat);
            for (int link = 0; link < FL_LINK_COUNT; link++) {
                for (int i = 0; i < threat->n_stages; i++) {
                    check_true(is_same(fl_sheet_link(&sheet, (fl_link)link)[i],
                                       fl_know_link_stage_factor(threat, i, (fl_link)link)));
                }
            }
            check_true(
                is_same(fl_sheet_room_per_opening(&sheet), fl_know_room_per_opening(threat)));
            check_true(
                is_same(fl_sheet_room_per_day(&sheet, true), fl_know_room_per_day(threat, true)));
            check_true(
                is_same(fl_sheet_room_per_day(&sheet, false), fl_know_room_per_day(threat, false)));
        }
    }
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_every_figure)};
FL_TEST_MAIN(tests)
