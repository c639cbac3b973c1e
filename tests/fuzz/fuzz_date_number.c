/* Any text as a number, a date, an id, a short code, a lot as it is typed: refused, or read to a
 * value that is in its range and that its own form reads back to. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/sheet_in.h"
#include "base/civil.h"
#include "base/id.h"
#include "base/num.h"
#include "cli/lot_spec.h"
#include "core/readings/logfile.h"
#include "fuzz/fuzz.h"

static void check_message(const fl_err *err)
{
    FL_FUZZ_REQUIRE(err->message[0] != '\0' && strchr(err->message, '\n') == NULL);
}

static void try_number(fl_sv text)
{
    fl_err err = {0};
    double value = 0.0;
    int64_t whole = 0;
    if (fl_num_parse_double(text, "x", &value, &err) == FL_OK) {
        char shown[FL_NUM_TEXT_MAX];
        double again = 0.0;
        FL_FUZZ_REQUIRE(isfinite(value) != 0);
        (void)fl_num_format(shown, value, 17);
        fl_fuzz_ok(fl_num_parse_double(fl_sv_from_cstr(shown), "x", &again, &err), &err);
        FL_FUZZ_REQUIRE(again == value);
    } else {
        check_message(&err);
    }
    if (fl_num_parse_int(text, "n", -1000, INT64_MAX, &whole, &err) == FL_OK) {
        FL_FUZZ_REQUIRE(whole >= -1000);
    } else {
        check_message(&err);
    }
}

static void try_date(fl_sv text)
{
    fl_err err = {0};
    int64_t at_s = 0;
    int64_t again_s = 0;
    fl_precision precision = FL_PRECISION_EXACT;
    if (fl_civil_parse(text, 60, &at_s, &precision, &err) == FL_OK) {
        char shown[FL_CIVIL_TEXT_MAX];
        (void)fl_civil_format_utc(shown, at_s);
        fl_fuzz_ok(fl_civil_parse(fl_sv_from_cstr(shown), 0, &again_s, &precision, &err), &err);
        FL_FUZZ_REQUIRE(again_s == at_s);
        const fl_civil civil = fl_civil_from_utc(at_s, 60);
        FL_FUZZ_REQUIRE(civil.month >= 1 && civil.month <= 12 && civil.day >= 1);
        FL_FUZZ_REQUIRE(civil.day <= 31 && civil.hour <= 23 && civil.minute <= 59);
    } else {
        check_message(&err);
    }
    (void)fl_sheet_date(text, FL_SHEET_DATES_MDY, 60, &at_s);
    fl_probe_when when;
    if (fl_probe_when_read(text, &when)) {
        (void)fl_probe_when_utc(&when, &when, FL_PROBE_YMD, 60, &at_s);
        (void)fl_probe_when_utc(&when, &when, FL_PROBE_DMY, 60, &at_s);
    }
}

static void try_names(fl_sv text)
{
    fl_err err = {0};
    fl_id id;
    fl_lot_spec spec;
    if (fl_id_parse(text, &id, &err) == FL_OK) {
        char shown[FL_ID_TEXT_MAX];
        fl_id again;
        fl_fuzz_ok(fl_id_parse(fl_sv_from_cstr(fl_id_format(shown, id)), &again, &err), &err);
        FL_FUZZ_REQUIRE(fl_id_eq(id, again));
    }
    (void)fl_id_code_is_valid(text);
    if (fl_lot_spec_read(text, &spec, &err) == FL_OK) {
        FL_FUZZ_REQUIRE(spec.count >= 1 && spec.name.len > 0);
    } else {
        check_message(&err);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    char *exact = fl_fuzz_exact(bytes, len);
    const fl_sv text = {exact, len};
    try_number(text);
    try_date(text);
    try_names(text);
    free(exact);
    return 0;
}
