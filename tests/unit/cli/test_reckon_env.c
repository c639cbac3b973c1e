/* The calculator's topics sample, light, air, bin-water, mix, pot and reach: options in, the keys
 * of design section 7 out. The numbers' own checks are in the core tests; here stand the figures
 * that show that each option reaches its place, and each refusal. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/reckon.h"
#include "support/check.h"

extern const fl_reckon_topic fl_reckon_topic_air;
extern const fl_reckon_topic fl_reckon_topic_bin_water;
extern const fl_reckon_topic fl_reckon_topic_light;
extern const fl_reckon_topic fl_reckon_topic_mix;
extern const fl_reckon_topic fl_reckon_topic_pot;
extern const fl_reckon_topic fl_reckon_topic_reach;
extern const fl_reckon_topic fl_reckon_topic_sample;

#define WORDS_MAX 48
#define LINE_MAX_BYTES 1000

typedef struct answer {
    fl_status status;
    fl_err err;
    fl_json_doc *doc;
    const fl_json_value *root;
} answer;

/* Asks a topic as the command line would: words split at blanks. */
static answer ask(const fl_reckon_topic *topic, const char *words)
{
    char line[LINE_MAX_BYTES];
    char *argv[WORDS_MAX] = {line};
    int argc = 1;
    fl_arg_value value[FL_ARGS_MAX];
    const fl_args args = {.option = topic->option, .count = topic->option_count};
    fl_json_writer *w = fl_json_writer_new();
    answer out = {.status = FL_OK};

    assert_true(strlen(words) + 7 < sizeof line);
    (void)snprintf(line, sizeof line, "reckon %s", words);
    for (size_t len = strlen(line); line[len - 1] == ' '; len--) {
        line[len - 1] = '\0';
    }
    for (char *at = strchr(line, ' '); at != NULL && at[1] != '\0'; at = strchr(at, ' ')) {
        *at++ = '\0';
        argv[argc++] = at;
        assert_true(argc < WORDS_MAX);
    }
    fl_json_begin_object(w, NULL);
    out.status = fl_args_read(&args, argc, argv, value, NULL, &out.err);
    if (out.status == FL_OK) {
        out.status = topic->fn(value, w, &out.err);
    }
    if (out.status == FL_OK) {
        fl_str text;
        fl_str_init(&text, (size_t)1 << 20);
        fl_json_end(w);
        fl_json_write(w, false, &text);
        check_ok(fl_json_parse(fl_str_sv(&text), &out.doc, &out.err), &out.err);
        out.root = fl_json_root(out.doc);
        fl_str_done(&text);
    }
    fl_json_writer_free(w);
    return out;
}

static double number_of(const fl_json_value *object, const char *key)
{
    double number = 0.0;

    if (!fl_json_number(fl_json_get(object, key), &number)) {
        print_error("no number \"%s\"\n", key);
        fail();
    }
    return number;
}

/* One number of an answer. */
static double ask_number(const fl_reckon_topic *topic, const char *words, const char *key)
{
    answer a = ask(topic, words);
    double number;

    check_ok(a.status, &a.err);
    number = number_of(a.root, key);
    fl_json_free(a.doc);
    return number;
}

static void check_refused(const fl_reckon_topic *topic, const char *words, const char *message)
{
    const answer a = ask(topic, words);

    check_true(a.status != FL_OK);
    check_contains(a.err.message, message);
}

/* Every topic's own example must work (those without files). */
static void test_examples(void **state)
{
    static const fl_reckon_topic *const topics[] = {
        &fl_reckon_topic_air, &fl_reckon_topic_bin_water, &fl_reckon_topic_light,
        &fl_reckon_topic_mix, &fl_reckon_topic_pot,       &fl_reckon_topic_sample,
    };
    (void)state;

    for (size_t i = 0; i < sizeof topics / sizeof topics[0]; i++) {
        answer a = ask(topics[i], strchr(topics[i]->example, ' ') + 1);
        check_ok(a.status, &a.err);
        fl_json_free(a.doc);
    }
}

/* Source: ISPM 31 appendix 2 (lot of 200, 5 %: 51; 1 %: 155 at 95 %) and appendix 3 (2995). */
static void test_sample(void **state)
{
    const fl_reckon_topic *topic = &fl_reckon_topic_sample;
    answer a;
    (void)state;

    check_close(ask_number(topic,
                           "--lot 200 --level 0.05 --confidence 0.95 --method hypergeometric",
                           "sample_size"),
                51.0, 0.0, 0.0);
    check_close(ask_number(topic,
                           "--lot 200 --level 0.01 --confidence 0.95 --method hypergeometric",
                           "sample_size"),
                155.0, 0.0, 0.0);
    a = ask(topic, "--lot 100000 --level 0.001 --confidence 0.95 --method binomial");
    check_close(number_of(a.root, "sample_size"), 2995.0, 0.0, 0.0);
    check_int(fl_json_type_of(fl_json_get(a.root, "note")), FL_JSON_ABSENT);
    check_int(fl_json_type_of(fl_json_get(a.root, "infested_plants")), FL_JSON_ABSENT);
    fl_json_free(a.doc);
    a = ask(topic, "--lot 100 --level 0.001 --confidence 0.95 --method binomial");
    check_sv(fl_json_text(fl_json_get(a.root, "note")),
             "more than the lot holds: use --method hypergeometric");
    fl_json_free(a.doc);
}

static void test_sample_unattainable(void **state)
{
    const fl_reckon_topic *topic = &fl_reckon_topic_sample;
    answer a = ask(topic, "--lot 25 --level 0.02 --confidence 0.95 --method hypergeometric");
    (void)state;

    check_int(fl_json_type_of(fl_json_get(a.root, "sample_size")), FL_JSON_NULL);
    check_true(fl_json_text(fl_json_get(a.root, "reason")).len > 0);
    check_close(number_of(a.root, "sample_size_for_one_plant"), 24.0, 0.0, 0.0);
    fl_json_free(a.doc);
    check_close(ask_number(topic,
                           "--lot 25 --level 0.02 --confidence 0.95 --method hypergeometric "
                           "--round ceil",
                           "sample_size"),
                24.0, 0.0, 0.0);
    a = ask(topic,
            "--lot 50 --level 0.02 --confidence 0.95 --efficacy 0.9 --method hypergeometric");
    check_int(fl_json_type_of(fl_json_get(a.root, "sample_size")), FL_JSON_NULL);
    check_close(number_of(a.root, "confidence_reached"), 0.9, 1e-12, 0.0);
    fl_json_free(a.doc);
    a = ask(topic,
            "--lot 20 --level 0.02 --confidence 0.95 --efficacy 0.9 --method hypergeometric");
    check_int(fl_json_type_of(fl_json_get(a.root, "sample_size_for_one_plant")), FL_JSON_NULL);
    fl_json_free(a.doc);
    check_refused(topic, "--lot 25 --level 0.02 --confidence 1 --method hypergeometric",
                  "confidence 1");
    check_refused(topic, "--lot 25 --level 0.02 --confidence 0.9 --method guess",
                  "give hypergeometric|binomial");
}

#define SHOP_LIGHT "--lumens 4000 --strip-mm 1200 --height-mm 200 "

/* Source: worked table of light-climate-substrate 1.3 (h 0.20 m). */
static void test_light(void **state)
{
    const fl_reckon_topic *topic = &fl_reckon_topic_light;
    answer a = ask(topic, SHOP_LIGHT "--lux-per-umol 69.8 --hours 12");
    (void)state;

    check_close(number_of(a.root, "lux"), 8218.0, 0.0, 0.5);
    check_close(number_of(a.root, "ppfd_umol_m2_s"), 117.7, 0.0, 0.05);
    check_close(number_of(a.root, "dli_mol_m2_d"), 5.09, 0.0, 0.005);
    fl_json_free(a.doc);
    check_close(ask_number(topic, SHOP_LIGHT "--offset-across-mm 300", "lux"), 1332.0, 0.0, 0.5);
    check_close(ask_number(topic, SHOP_LIGHT "--offset-along-mm 500", "lux"), 6447.0, 0.0, 0.5);
    check_close(ask_number(topic, SHOP_LIGHT "--lamp white_led_4000k", "ppfd_umol_m2_s"), 117.7,
                0.0, 0.05);
    check_close(ask_number(topic, SHOP_LIGHT, "lux_per_umol"), 70.0, 0.0, 0.0);
    check_close(ask_number(topic, SHOP_LIGHT, "hours"), 12.0, 0.0, 0.0);
    check_close(ask_number(topic, SHOP_LIGHT "--lid-transmittance 0.5", "lux"), 4109.0, 0.0, 0.3);
    check_close(ask_number(topic, SHOP_LIGHT "--lid polypropylene", "lid_transmittance"), 0.85,
                1e-12, 0.0);
    check_true(ask_number(topic, SHOP_LIGHT "--bare-tube", "lux") < 8218.0 / 2.0);
}

static void test_light_refusals(void **state)
{
    const fl_reckon_topic *topic = &fl_reckon_topic_light;
    (void)state;

    check_refused(topic, SHOP_LIGHT "--lamp moonlight",
                  "unknown lamp \"moonlight\": give white_led");
    check_refused(topic, SHOP_LIGHT "--lid paper", "unknown lid \"paper\": give glass");
    check_refused(topic, SHOP_LIGHT "--lid polyethylene", "not known");
    check_refused(topic, SHOP_LIGHT "--lid glass --lid-transmittance 0.8", "give one of them");
    check_refused(topic, SHOP_LIGHT "--lamp white_led --lux-per-umol 70", "give one of them");
    check_refused(topic, "--lumens 4000 --strip-mm 1200 --height-mm 0", "--height-mm");
    check_refused(topic, "--lumens 4000 --strip-mm 1200", "--height-mm is missing");
}

/* Source: FAO-56 example 3 (24.5 C: 3.075 kPa). */
static void test_air(void **state)
{
    const fl_reckon_topic *topic = &fl_reckon_topic_air;
    answer a = ask(topic, "--temp-c 24.5 --rh-pct 50 --leaf-temp-c 24.5");
    (void)state;

    check_close(number_of(a.root, "saturation_kpa"), 3.075, 0.0, 0.0005);
    check_close(number_of(a.root, "vapour_kpa"), 3.075 / 2.0, 0.0, 0.0005);
    check_close(number_of(a.root, "vpd_kpa"), 3.075 / 2.0, 0.0, 0.0005);
    check_close(number_of(a.root, "leaf_vpd_kpa"), number_of(a.root, "vpd_kpa"), 1e-12, 0.0);
    check_true(number_of(a.root, "dew_point_c") < 24.5);
    check_true(number_of(a.root, "absolute_humidity_g_m3") > 0.0);
    fl_json_free(a.doc);
    check_refused(topic, "--temp-c 24 --rh-pct 0", "--rh-pct");
    check_refused(topic, "--temp-c 99 --rh-pct 50", "--temp-c");
    check_refused(topic, "--temp-c 20 --rh-pct 50 --leaf-temp-c 99", "--leaf-temp-c");
}

#define BIN                                                                                        \
    "--volume-l 30 --inside-c 24 --inside-rh-pct 100 --room-c 22 --room-rh-pct 45 "                \
    "--mix-l 2 --water-fraction 0.6 --use-share 0.2 "

/* Source: worked bin of light-climate-substrate 2.4 (0.14 g a day; 240 g usable). */
static void test_bin_water(void **state)
{
    const fl_reckon_topic *topic = &fl_reckon_topic_bin_water;
    answer a = ask(topic, BIN "--exchange-per-h 0.0145");
    (void)state;

    check_close(number_of(a.root, "loss_g_per_day"), 0.14, 0.0, 0.005);
    check_close(number_of(a.root, "days_to_water") * number_of(a.root, "loss_g_per_day"), 240.0,
                1e-9, 0.0);
    fl_json_free(a.doc);
    check_close(ask_number(topic,
                           BIN "--exchange-per-h 0 --wall polypropylene --wall-area-m2 0.6 "
                               "--wall-mm 1.5",
                           "loss_g_per_day"),
                0.033, 0.0, 0.0005);
    a = ask(topic, BIN "--exchange-per-h 0");
    check_int(fl_json_type_of(fl_json_get(a.root, "days_to_water")), FL_JSON_NULL);
    check_true(fl_json_text(fl_json_get(a.root, "reason")).len > 0);
    fl_json_free(a.doc);
    check_refused(topic, BIN "--exchange-per-h 1 --wall glass", "together");
    check_refused(topic, BIN "--exchange-per-h 1 --wall tin --wall-area-m2 1 --wall-mm 1",
                  "unknown wall \"tin\"");
    check_refused(topic, BIN "--exchange-per-h 1 --wall acrylic --wall-area-m2 1 --wall-mm 1",
                  "permeability is not known");
    check_refused(topic, BIN, "--exchange-per-h is missing");
}

static void test_mix_and_pot(void **state)
{
    answer a = ask(&fl_reckon_topic_mix, "--recipe epiphyte --total-l 7 --yield 1");
    const fl_json_value *parts = fl_json_get(a.root, "parts");
    (void)state;

    check_int(fl_json_size(parts), 5);
    check_sv(fl_json_text(fl_json_get(fl_json_at(parts, 2), "component")), "orchid bark");
    check_close(number_of(fl_json_at(parts, 2), "volume_l"), 2.0, 1e-12, 0.0);
    check_close(number_of(a.root, "shrinkage"), 0.0, 0.0, 0.0);
    fl_json_free(a.doc);
    check_close(ask_number(&fl_reckon_topic_mix, "--recipe begonia --total-l 7", "loose_l"), 8.0,
                1e-12, 0.0);
    check_refused(&fl_reckon_topic_mix, "--recipe soil --total-l 7", "give epiphyte");
    check_close(ask_number(&fl_reckon_topic_pot,
                           "--top-mm 100 --bottom-mm 100 --height-mm 90 --square", "volume_ml"),
                900.0, 1e-12, 0.0);
    check_close(ask_number(&fl_reckon_topic_pot,
                           "--top-mm 100 --bottom-mm 100 --height-mm 90 --square", "filled_ml"),
                810.0, 1e-12, 0.0);
    check_close(ask_number(&fl_reckon_topic_pot,
                           "--top-mm 100 --bottom-mm 100 --height-mm 90 --fill-share 0.5",
                           "filled_ml"),
                ask_number(&fl_reckon_topic_pot, "--top-mm 100 --bottom-mm 100 --height-mm 90",
                           "volume_ml") /
                    2.0,
                1e-12, 0.0);
}

#define REACH_SMALL "--contacts " FL_TEST_DATA_DIR "/temporal_small.csv "

/* Source: temporal_small_reach.csv (networkx agrees): reach and checksum of four rows. */
static void test_reach_tables(void **state)
{
    static const struct {
        const char *words;
        double reached;
        double checksum;
        double root_part; /* (root + 1) (its time + 1) */
    } rows[] = {
        {"--root 0 --from 0 --to 4999 --direction forward", 13.0, 5189801.0, 1.0},
        {"--root 0 --from 0 --to 4999 --direction backward", 63.0, 7549162.0, 5000.0},
        {"--root 0 --from 0 --to 4999 --direction backward --strict", 59.0, 6827727.0, 5000.0},
        {"--root 42 --from 1000 --to 3000 --direction backward", 16.0, 2942934.0, 43.0 * 3001.0},
    };
    (void)state;

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char words[LINE_MAX_BYTES];
        double sum = rows[i].root_part;
        answer a;
        (void)snprintf(words, sizeof words, "%s%s", REACH_SMALL, rows[i].words);
        a = ask(&fl_reckon_topic_reach, words);
        check_ok(a.status, &a.err);
        check_close(number_of(a.root, "reached"), rows[i].reached, 0.0, 0.0);
        const fl_json_value *nodes = fl_json_get(a.root, "nodes");
        check_int(fl_json_size(nodes), (int64_t)rows[i].reached);
        for (size_t j = 0; j < fl_json_size(nodes); j++) {
            sum += (number_of(fl_json_at(nodes, j), "node") + 1.0) *
                   (number_of(fl_json_at(nodes, j), "time") + 1.0);
        }
        check_close(sum, rows[i].checksum, 0.0, 0.0);
        fl_json_free(a.doc);
    }
}

static void write_file(const char *folder, const char *name, const char *text)
{
    char path[FL_TEMP_PATH_MAX + 20];
    FILE *file;

    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

/* A tool (node -7) between plants, cleaned once; unsorted files, columns in another order. */
static void test_reach_cleanings(void **state)
{
    char folder[FL_TEMP_PATH_MAX];
    char words[LINE_MAX_BYTES];
    const fl_json_value *nodes;
    answer a;
    (void)state;

    (void)fl_temp_folder(folder);
    write_file(folder, "c.csv",
               "t,u,v\n60,-7,1004\n10,1000,-7\n20,-7,1002\n40,-7,1003\n50,1000,-7\n");
    write_file(folder, "k.csv", "node,t\n-7,30\n999,31\n");
    write_file(folder, "bad.csv", "node,t\n-7,30\n1003,soon\n");
    (void)snprintf(words, sizeof words,
                   "--contacts %s/c.csv --cleanings %s/k.csv --root 1000 --from 0 --to 99 "
                   "--direction forward",
                   folder, folder);
    a = ask(&fl_reckon_topic_reach, words);
    check_ok(a.status, &a.err);
    check_close(number_of(a.root, "reached"), 3.0, 0.0, 0.0);
    check_close(number_of(a.root, "dirty_at_to"), 4.0, 0.0, 0.0);
    nodes = fl_json_get(a.root, "nodes");
    check_close(number_of(fl_json_at(nodes, 0), "node"), -7.0, 0.0, 0.0);
    check_close(number_of(fl_json_at(nodes, 0), "time"), 10.0, 0.0, 0.0);
    check_close(number_of(fl_json_at(nodes, 0), "via"), 1000.0, 0.0, 0.0);
    check_close(number_of(fl_json_at(nodes, 2), "node"), 1004.0, 0.0, 0.0);
    check_close(number_of(fl_json_at(nodes, 2), "via"), -7.0, 0.0, 0.0);
    fl_json_free(a.doc);

    (void)snprintf(words, sizeof words,
                   "--contacts %s/c.csv --cleanings %s/k.csv --root 1004 --from 0 --to 99 "
                   "--direction backward --count-only",
                   folder, folder);
    a = ask(&fl_reckon_topic_reach, words);
    check_close(number_of(a.root, "reached"), 2.0, 0.0, 0.0);
    check_close(number_of(a.root, "dirty_at_from"), 2.0, 0.0, 0.0);
    check_int(fl_json_type_of(fl_json_get(a.root, "nodes")), FL_JSON_ABSENT);
    fl_json_free(a.doc);

    /* a root that nothing names is alone */
    (void)snprintf(words, sizeof words,
                   "--contacts %s/c.csv --root 5 --from 0 --to 99 --direction forward", folder);
    check_close(ask_number(&fl_reckon_topic_reach, words, "reached"), 0.0, 0.0, 0.0);

    (void)snprintf(words, sizeof words,
                   "--contacts %s/c.csv --cleanings %s/bad.csv --root 5 --from 0 --to 99 "
                   "--direction forward",
                   folder, folder);
    check_refused(&fl_reckon_topic_reach, words, "bad.csv line 3, t \"soon\"");
    (void)snprintf(words, sizeof words,
                   "--contacts %s/k.csv --root 5 --from 0 --to 99 --direction forward", folder);
    check_refused(&fl_reckon_topic_reach, words, "no column \"u\"");
    (void)snprintf(words, sizeof words,
                   "--contacts %s/none.csv --root 5 --from 0 --to 99 --direction forward", folder);
    check_refused(&fl_reckon_topic_reach, words, "none.csv: cannot be read");
    (void)snprintf(words, sizeof words,
                   "--contacts %s/c.csv --root 5 --from 9 --to 0 --direction forward", folder);
    check_refused(&fl_reckon_topic_reach, words, "--from 9 is later than --to 0");
    fl_remove_folder(folder);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_examples),
    cmocka_unit_test(test_sample),
    cmocka_unit_test(test_sample_unattainable),
    cmocka_unit_test(test_light),
    cmocka_unit_test(test_light_refusals),
    cmocka_unit_test(test_air),
    cmocka_unit_test(test_bin_water),
    cmocka_unit_test(test_mix_and_pot),
    cmocka_unit_test(test_reach_tables),
    cmocka_unit_test(test_reach_cleanings),
};
FL_TEST_MAIN(tests)
