/* Any text as a clearance scenario: refused with one line, or run; whatever was asked, masses and
 * chances stay within 0 to 1 and every day accounts for the whole. Long ones are only read. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/scenario.h"
#include "base/alloc.h"
#include "fuzz/fuzz.h"

#define DAYS_MAX 60

static bool is_share(double x)
{
    return x >= -1e-9 && x <= 1.0 + 1e-9;
}

static void run(const fl_scenario *scenario)
{
    fl_err err = {0};
    fl_scenario_day *days = fl_alloc((size_t)scenario->days + 1, sizeof *days);
    if (fl_scenario_run(scenario, days, &err) == FL_OK) {
        for (int i = 0; i <= scenario->days; i++) {
            const fl_scenario_day *day = &days[i];
            double all = day->mass.alive + day->mass.found + day->mass.dead;
            FL_FUZZ_REQUIRE(is_share(day->mass.alive) && is_share(day->mass.found));
            FL_FUZZ_REQUIRE(is_share(day->mass.dead) && fabs(all - 1.0) < 1e-6);
            FL_FUZZ_REQUIRE(is_share(day->chance.one) && is_share(day->chance.many));
        }
    } else {
        FL_FUZZ_REQUIRE(err.message[0] != '\0' && strchr(err.message, '\n') == NULL);
    }
    fl_alloc_free(days);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    char *exact = fl_fuzz_exact(bytes, len);
    fl_scenario scenario = {0};
    fl_err err = {0};
    if (fl_scenario_parse((fl_sv){exact, len}, &scenario, &err) == FL_OK) {
        if (scenario.days <= DAYS_MAX) {
            run(&scenario);
        }
        fl_scenario_done(&scenario);
    } else {
        FL_FUZZ_REQUIRE(err.message[0] != '\0' && strchr(err.message, '\n') == NULL);
    }
    free(exact);
    return 0;
}
