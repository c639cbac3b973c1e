/* The topics clearance, degree-days and develop, as answers in JSON. */
#define _GNU_SOURCE
#include <stdio.h>
#include <string.h>

#include "cli/reckon.h"
#include "support/check.h"

extern const fl_reckon_topic fl_reckon_topic_clearance;
extern const fl_reckon_topic fl_reckon_topic_degree_days;
extern const fl_reckon_topic fl_reckon_topic_develop;

#define WORDS(...)                                                                                 \
    (const char *const[])                                                                          \
    {                                                                                              \
        "reckon", __VA_ARGS__, NULL                                                                \
    }

/* Runs a topic on words; the answer's text goes to *out when it succeeds. */
static fl_status run(const fl_reckon_topic *topic, const char *const *words, fl_str *out,
                     fl_err *err)
{
    char text[12][200];
    char *argv[13] = {0};
    int argc = 0;
    for (; words[argc] != NULL; argc++) {
        (void)snprintf(text[argc], sizeof text[argc], "%s", words[argc]);
        argv[argc] = text[argc];
    }
    fl_arg_value value[FL_ARGS_MAX];
    const fl_args args = {topic->option, topic->option_count, NULL, 0};
    fl_status status = fl_args_read(&args, argc, argv, value, NULL, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    status = topic->fn(value, w, err);
    if (status == FL_OK) {
        fl_json_end(w);
        fl_json_write(w, false, out);
    }
    fl_json_writer_free(w);
    return status;
}

static fl_json_doc *answer(const fl_reckon_topic *topic, const char *const *words)
{
    fl_str text;
    fl_err err;
    fl_str_init(&text, 1U << 20);
    check_ok(run(topic, words, &text, &err), &err);
    fl_json_doc *doc = NULL;
    check_ok(fl_json_parse(fl_str_sv(&text), &doc, &err), &err);
    fl_str_done(&text);
    return doc;
}

static double number(const fl_json_value *object, const char *key)
{
    double value = 0.0;
    check_true(fl_json_number(fl_json_get(object, key), &value));
    return value;
}

static void expect_refusal(const fl_reckon_topic *topic, const char *const *words,
                           const char *message)
{
    fl_str text;
    fl_err err = {0};
    fl_str_init(&text, 1U << 20);
    check_true(run(topic, words, &text, &err) != FL_OK);
    check_contains(err.message, message);
    fl_str_done(&text);
}

/* A file in a new folder; removed by the caller. */
static void write_file(char *folder, char *path, size_t size, const char *text)
{
    (void)snprintf(path, size, "%s/file", fl_temp_folder(folder));
    FILE *file = fopen(path, "w");
    check_true(file != NULL);
    check_true(fputs(text, file) >= 0);
    check_int(fclose(file), 0);
}

/* Day 42 of the reference's constant case (clearance_constT.csv). */
static void test_clearance(void **unused)
{
    (void)unused;
    char folder[FL_TEMP_PATH_MAX];
    char path[FL_TEMP_PATH_MAX + 16];
    write_file(
        folder, path, sizeof path,
        "{\"stages\":[{\"name\":\"egg\",\"substages\":16,\"threshold_c\":10,"
        "\"degree_days\":60,\"upper_c\":30,\"detect\":0.02},"
        "{\"name\":\"larva\",\"substages\":16,\"threshold_c\":9,\"degree_days\":80,"
        "\"upper_c\":30,\"detect\":0.5},"
        "{\"name\":\"pupa\",\"substages\":16,\"threshold_c\":10.5,\"degree_days\":55,"
        "\"upper_c\":30,\"detect\":0.05},{\"name\":\"adult\",\"detect\":0.7}],"
        "\"start_substage\":0,\"prior\":0.3,\"temperature_c\":20,\"days\":42,\"events\":["
        "{\"day\":0,\"treat\":[0.9,0.1,0.6,0.05]},"
        "{\"day\":7,\"treat\":[0.9,0.1,0.6,0.05],\"look\":0.25},{\"day\":14,\"look\":0.25},"
        "{\"day\":21,\"look\":0.25},{\"day\":28,\"look\":0.25},{\"day\":35,\"look\":0.25}]}");
    fl_json_doc *doc = answer(&fl_reckon_topic_clearance, WORDS("--scenario", path));
    const fl_json_value *days = fl_json_get(fl_json_root(doc), "days");
    check_int(fl_json_size(days), 43);
    const fl_json_value *last = fl_json_at(days, 42);
    check_close(number(last, "day"), 42.0, 0.0, 0.0);
    check_close(number(last, "alive"), 0.1397543535, 0.0, 1e-8);
    check_close(number(last, "found"), 0.1213660394, 0.0, 1e-8);
    check_close(number(last, "dead"), 0.7388796071, 0.0, 1e-8);
    check_close(number(last, "chance_one"), 0.0435105158, 0.0, 1e-8);
    check_close(number(last, "chance_many"), 0.0831371842, 0.0, 1e-8);
    check_close(number(last, "chance"), 0.0831371842, 0.0, 1e-8);
    check_int(fl_json_size(fl_json_get(last, "alive_by_stage")), 4);
    fl_json_free(doc);
    fl_remove_folder(folder);
    expect_refusal(&fl_reckon_topic_clearance, WORDS("--scenario", path), "No such file");
}

static void test_clearance_refuses(void **unused)
{
    (void)unused;
    char folder[FL_TEMP_PATH_MAX];
    char path[FL_TEMP_PATH_MAX + 16];
    write_file(folder, path, sizeof path, "{\"stages\":[]}");
    expect_refusal(&fl_reckon_topic_clearance, WORDS("--scenario", path), "stages: give a list");
    fl_remove_folder(folder);
}

/* Two days of the UC IPM printout for Ojai 2016 (ojai2016_degree_days.csv). */
static void test_degree_days(void **unused)
{
    (void)unused;
    char folder[FL_TEMP_PATH_MAX];
    char path[FL_TEMP_PATH_MAX + 16];
    write_file(folder, path, sizeof path,
               "date,min,max\n2016-01-01,7.8,19.4\n2016-01-02,4.4,22.2\n");
    fl_json_doc *doc =
        answer(&fl_reckon_topic_degree_days,
               WORDS("--lower", "12", "--upper", "33", "--cutoff", "horizontal", "--csv", path));
    const fl_json_value *days = fl_json_get(fl_json_root(doc), "days");
    check_int(fl_json_size(days), 2);
    check_sv(fl_json_text(fl_json_get(fl_json_at(days, 1), "date")), "2016-01-02");
    check_close(number(fl_json_at(days, 0), "degree_days"), 2.72, 0.0, 0.005);
    check_close(number(fl_json_at(days, 1), "degree_days"), 3.51, 0.0, 0.005);
    check_close(number(fl_json_root(doc), "total"), 2.716901 + 3.513234, 0.0, 1e-6);
    fl_json_free(doc);
    fl_remove_folder(folder);
}

static void test_degree_days_refuses(void **unused)
{
    (void)unused;
    char folder[FL_TEMP_PATH_MAX];
    char path[FL_TEMP_PATH_MAX + 16];
    write_file(folder, path, sizeof path, "date,min,max\n2016-01-01,7.8,19.4\n2016-01-02,9,8\n");
    expect_refusal(&fl_reckon_topic_degree_days,
                   WORDS("--lower", "12", "--upper", "33", "--cutoff", "vertical", "--csv", path),
                   "line 3: max 8 is below min 9");
    expect_refusal(&fl_reckon_topic_degree_days,
                   WORDS("--lower", "33", "--upper", "33", "--cutoff", "vertical", "--csv", path),
                   "give more than --lower 33");
    fl_remove_folder(folder);
    write_file(folder, path, sizeof path, "date,low,max\n2016-01-01,7.8,19.4\n");
    expect_refusal(&fl_reckon_topic_degree_days,
                   WORDS("--lower", "12", "--upper", "33", "--cutoff", "vertical", "--csv", path),
                   "min");
    fl_remove_folder(folder);
}

/* Western flower thrips, fast set: Katayama 1997 saw 12.1 days at 25 C; the line gives 12.5. */
static void test_develop(void **unused)
{
    (void)unused;
    fl_json_doc *doc =
        answer(&fl_reckon_topic_develop, WORDS("--threat", "western_flower_thrips", "--stage",
                                               "egg_to_adult", "--temp-c", "25"));
    const fl_json_value *root = fl_json_root(doc);
    check_close(number(root, "days_fast"), 12.1, 0.04, 0.0);
    check_true(number(root, "days_slow") > number(root, "days_fast"));
    check_true(fl_json_bool(fl_json_get(root, "reliable"), false));
    check_sv(fl_json_text(fl_json_get(root, "note")), "");
    check_sv(fl_json_text(fl_json_get(root, "grade")), "measured");
    const fl_json_value *sources = fl_json_get(root, "sources");
    check_true(fl_json_size(sources) >= 2);
    check_contains(fl_json_text(fl_json_at(sources, 0)).ptr, "Katayama");
    fl_json_free(doc);
}

static void test_develop_near_and_below_the_threshold(void **unused)
{
    (void)unused;
    fl_json_doc *doc = answer(&fl_reckon_topic_develop, WORDS("--threat", "Western flower thrips",
                                                              "--stage", "egg", "--temp-c", "9"));
    const fl_json_value *root = fl_json_root(doc);
    check_int(fl_json_type_of(fl_json_get(root, "days_fast")), FL_JSON_NULL); /* threshold 9.5 C */
    check_true(number(root, "days_slow") > 0.0);                              /* 6.35 C */
    check_false(fl_json_bool(fl_json_get(root, "reliable"), true));
    check_sv(fl_json_text(fl_json_get(root, "note")), "unreliable: warm the plant");
    fl_json_free(doc);
    doc = answer(&fl_reckon_topic_develop,
                 WORDS("--threat", "slug", "--stage", "all", "--temp-c", "-2"));
    root = fl_json_root(doc);
    check_int(fl_json_type_of(fl_json_get(root, "days_slow")), FL_JSON_NULL);
    check_sv(fl_json_text(fl_json_get(root, "note")), "does not develop: warm the plant");
    fl_json_free(doc);
}

/* The broad mite's chain goes on after it breeds, until its damage shows. */
static void test_develop_spans(void **unused)
{
    (void)unused;
    static const char *const stages[4] = {"egg", "young", "egg_to_adult", "all"};
    double days[4];
    for (int i = 0; i < 4; i++) {
        fl_json_doc *doc =
            answer(&fl_reckon_topic_develop,
                   WORDS("--threat", "broad_mite", "--stage", stages[i], "--temp-c", "22"));
        days[i] = number(fl_json_root(doc), "days_slow");
        fl_json_free(doc);
    }
    check_close(days[2], days[0] + days[1], 1e-12, 0.0);
    check_true(days[3] > 2.0 * days[2]);
}

static void test_develop_refuses(void **unused)
{
    (void)unused;
    expect_refusal(&fl_reckon_topic_develop,
                   WORDS("--threat", "dragon", "--stage", "egg", "--temp-c", "20"),
                   "--threat \"dragon\": give a code such as");
    expect_refusal(&fl_reckon_topic_develop,
                   WORDS("--threat", "fungus_gnat", "--stage", "adult", "--temp-c", "20"),
                   "for fungus_gnat give egg, larva, pupa, egg_to_adult or all");
    expect_refusal(&fl_reckon_topic_develop,
                   WORDS("--threat", "chytrid_bd", "--stage", "all", "--temp-c", "20"),
                   "no stages that develop");
    expect_refusal(&fl_reckon_topic_develop,
                   WORDS("--threat", "slug", "--stage", "all", "--temp-c", "200"), "200");
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_clearance),
    cmocka_unit_test(test_clearance_refuses),
    cmocka_unit_test(test_degree_days),
    cmocka_unit_test(test_degree_days_refuses),
    cmocka_unit_test(test_develop),
    cmocka_unit_test(test_develop_near_and_below_the_threshold),
    cmocka_unit_test(test_develop_spans),
    cmocka_unit_test(test_develop_refuses),
};
FL_TEST_MAIN(tests)
