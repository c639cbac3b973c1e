/* Whatever bytes a file holds, looking at it ends, stays inside it, and gives readings within the
 * stated ranges: random bytes, and the files of tests/reference/loggers with bytes changed, cut and
 * doubled. Seeded; run under the sanitizers by ./test. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/rng.h"
#include "core/readings/logfile.h"
#include "support/check.h"

#define BYTES_MAX 4096
#define TRIALS 3000

static const char *const names[] = {"iso_zone_mark.csv",         "semicolon_comma_cp1252.csv",
                                    "tabs_utf16_fahrenheit.txt", "ambiguous_day.csv",
                                    "epoch_no_header.csv",       "quoted_newest_first.csv",
                                    "bars_units_in_values.csv",  "comma_does_both.csv"};
#define N_NAMES (sizeof names / sizeof names[0])

static size_t read_file(const char *name, char *out)
{
    char path[512];
    (void)snprintf(path, sizeof path, "%s/loggers/%s", FL_TEST_DATA_DIR, name);
    FILE *file = fopen(path, "rb");
    check_true(file != NULL);
    size_t len = fread(out, 1, BYTES_MAX, file);
    (void)fclose(file);
    return len;
}

/* Reads the bytes from memory of exactly their size, so that a sanitizer sees a step outside. */
static void try_bytes(const char *bytes, size_t len, fl_rng *rng)
{
    char *exact = malloc(len > 0 ? len : 1);
    memcpy(exact, bytes, len);
    const fl_sv raw = {exact, len};
    fl_probe_encoding encoding = fl_probe_encoding_of(raw);
    char *buffer = malloc(fl_probe_decode_bound(encoding, len) + 1);
    fl_sv text = fl_probe_decode(encoding, raw, buffer);
    fl_probe_told told = {.order = (int)fl_rng_below(rng, 4) - 1,
                          .unit = (int)fl_rng_below(rng, 3) - 1,
                          .now_s = 1795608000};
    told.temp_column = fl_rng_below(rng, 2) == 0 ? FL_SV("2") : FL_SV("");
    told.rh_column = fl_rng_below(rng, 2) == 0 ? FL_SV("none") : FL_SV("");
    fl_probe_shape shape;
    fl_err err = {0};
    if (fl_probe_sniff(text, &told, &shape, &err) == FL_OK && shape.questions == 0) {
        fl_probe_cursor cursor = fl_probe_begin(text, &shape);
        size_t n = 0;
        for (;;) {
            fl_probe_reading one;
            const char *why = NULL;
            fl_probe_row what = fl_probe_next(&cursor, &one, &why);
            if (what == FL_PROBE_END) {
                break;
            }
            check_true(++n <= text.len + 1);
            if (what == FL_PROBE_READING && one.temp_milli != FL_PROBE_MISSING) {
                double temp_c = fl_probe_temp_c(one.temp_milli, shape.unit);
                check_true(temp_c >= -30.0 && temp_c <= 60.0);
            }
        }
    }
    free(buffer);
    free(exact);
}

static void test_any_bytes(void **state)
{
    (void)state;
    fl_rng rng = {20261125};
    char bytes[2 * BYTES_MAX];
    for (int trial = 0; trial < TRIALS; trial++) {
        size_t len = 0;
        if (trial % 4 == 0) {
            static const char likely[] = "0123456789.,;:/-\t\n\r\"| TCF%";
            len = fl_rng_below(&rng, 300);
            for (size_t i = 0; i < len; i++) {
                bytes[i] = fl_rng_below(&rng, 20) == 0
                               ? (char)fl_rng_below(&rng, 256)
                               : likely[fl_rng_below(&rng, sizeof likely - 1)];
            }
        } else {
            len = read_file(names[fl_rng_below(&rng, N_NAMES)], bytes);
            for (uint64_t i = fl_rng_below(&rng, 12); i > 0; i--) {
                bytes[fl_rng_below(&rng, len)] = (char)fl_rng_below(&rng, 256);
            }
            len = fl_rng_below(&rng, 3) == 0 ? fl_rng_below(&rng, len + 1) : len;
            if (fl_rng_below(&rng, 5) == 0) {
                memcpy(bytes + len, bytes, len);
                len *= 2;
            }
        }
        try_bytes(bytes, len, &rng);
    }
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_any_bytes)};
FL_TEST_MAIN(tests)
