/* The room's own trace against networkx (Debian python3-networkx): generated diaries with stays,
 * moves, cuttings, divisions, shared tubs and cleanings; a flier that reaches all of its fill, a
 * root pest that stays on its lot, a disease. The script trace_networkx.py is told the diary, not
 * what fernlock makes of it: it builds a time-expanded graph of intervals and asks for descendants
 * and ancestors. Skipped only on a machine without networkx. */
#define _GNU_SOURCE
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/trace.h"
#include "base/rng.h"
#include "support/check.h"
#include "support/networkx.h"

#define N_CASES 150
#define PLACES 14
#define LOTS_MAX 14
#define HAPPENINGS 50
#define EVENTS_MAX (PLACES + HAPPENINGS + 4)
#define TUBS_MAX 3 /* a tub's share is a tenth: three in a row are still above what is left out */
#define START_S 1772452800
#define SPACING_S ((int64_t)7 * FL_HOUR_S)

static const char *const THREATS[3] = {"western_flower_thrips", "root_mealybug", "chytrid_bd"};

typedef struct diary {
    fl_rng rng;
    const fl_threat *threat;
    fl_event events[EVENTS_MAX];
    fl_ev_step steps[EVENTS_MAX];
    fl_id lists[EVENTS_MAX][2];
    int n_events;
    uint64_t n_ids;
    fl_id places[PLACES];
    fl_id lots[LOTS_MAX];
    int stands[LOTS_MAX];
    int n_lots;
    int left; /* the place that was left last: what stood there matters to what comes next */
    int n_tubs;
    int64_t now_s;
    FILE *told; /* for the script */
} diary;

static int below(diary *d, int n)
{
    return (int)fl_rng_below(&d->rng, (uint64_t)n);
}

static fl_id next_id(diary *d)
{
    fl_id id = {{0}};
    uint64_t number = ++d->n_ids;
    id.b[0] = 0x30;
    id.b[6] = 0x40;
    id.b[8] = 0x80;
    for (int i = 0; i < 4; i++) {
        id.b[15 - i] = (uint8_t)(number >> (8 * i));
    }
    return id;
}

static fl_event *record(diary *d, fl_kind kind)
{
    check_true(d->n_events < EVENTS_MAX);
    fl_event *e = &d->events[d->n_events++];
    *e = (fl_event){.id = next_id(d), .kind = kind, .at_s = d->now_s};
    return e;
}

static void tell(diary *d, char kind)
{
    (void)fprintf(d->told, "%c %lld", kind, (long long)d->now_s);
}

/* Often the place that was left last: else hardly anything would meet what another one left. */
static int any_place(diary *d)
{
    return below(d, 3) == 0 ? d->left : below(d, PLACES);
}

/* ---- what happens ---- */

static void set_up(diary *d)
{
    for (int i = 0; i < PLACES; i++) {
        d->places[i] = next_id(d);
        record(d, FL_KIND_PLACE_SET)->body.place_set = (fl_ev_place_set){.place = d->places[i],
                                                                         .name = FL_SV("a bin"),
                                                                         .kind = FL_PLACE_BIN,
                                                                         .has_gasket = true,
                                                                         .set_temp_c = 22.0,
                                                                         .volume_l = (double)NAN,
                                                                         .shelf = -1};
    }
}

static void arrive(diary *d)
{
    int lot = d->n_lots++;
    d->lots[lot] = next_id(d);
    d->stands[lot] = any_place(d);
    record(d, FL_KIND_LOT_ARRIVED)->body.lot_arrived =
        (fl_ev_lot_arrived){.lot = d->lots[lot],
                            .arrival = next_id(d),
                            .source = (fl_id){{0}},
                            .name = FL_SV("a plant"),
                            .count = 9,
                            .form = FL_FORM_POTTED,
                            .use = FL_USE_STOCK,
                            .place = d->places[d->stands[lot]],
                            .cost = (double)NAN};
    tell(d, 'a');
    (void)fprintf(d->told, " %d %d\n", lot, d->stands[lot]);
}

static void move(diary *d)
{
    int lot = below(d, d->n_lots);
    int to = any_place(d);
    if (to == d->stands[lot]) {
        return;
    }
    fl_event *e = record(d, FL_KIND_LOT_MOVED);
    fl_id *list = d->lists[d->n_events - 1];
    list[0] = d->lots[lot];
    e->body.lot_moved = (fl_ev_lot_moved){.lots = {list, 1}, .to = d->places[to]};
    d->left = d->stands[lot];
    d->stands[lot] = to;
    tell(d, 'm');
    (void)fprintf(d->told, " %d %d\n", lot, to);
}

static void clean(diary *d)
{
    int place = any_place(d);
    record(d, FL_KIND_PLACE_CLEANED)->body.place_cleaned =
        (fl_ev_place_cleaned){.place = d->places[place], .efficacy = 1.0};
    tell(d, 'c');
    (void)fprintf(d->told, " %d\n", place);
}

static void cut(diary *d)
{
    int mother = below(d, d->n_lots);
    bool is_division = below(d, 2) == 0;
    int lot = d->n_lots++;
    d->lots[lot] = next_id(d);
    d->stands[lot] = any_place(d);
    record(d, FL_KIND_LOT_CUT)->body.lot_cut =
        (fl_ev_lot_cut){.mother = d->lots[mother],
                        .lot = d->lots[lot],
                        .count = 1,
                        .form = is_division ? FL_FORM_POTTED : FL_FORM_UNROOTED_CUTTING,
                        .use = FL_USE_STOCK,
                        .place = d->places[d->stands[lot]]};
    tell(d, 'k');
    (void)fprintf(d->told, " %d %d %d %d\n", mother, lot, d->stands[lot], is_division);
}

static void soak(diary *d)
{
    /* a tub of one evening is one water: each has its own here */
    static const char *const tubs[TUBS_MAX] = {"the blue tub", "the red tub", "the grey tub"};
    int one = below(d, d->n_lots);
    int two = below(d, d->n_lots);
    if (one == two || d->n_tubs == TUBS_MAX) {
        return;
    }
    d->n_tubs++;
    fl_event *e = record(d, FL_KIND_STEP_DONE);
    fl_id *list = d->lists[d->n_events - 1];
    fl_ev_step *s = &d->steps[d->n_events - 1];
    list[0] = d->lots[one];
    list[1] = d->lots[two];
    *s = (fl_ev_step){.lots = {list, 2},
                      .step = FL_STEP_SOAK,
                      .dose_mg_per_l = (double)NAN,
                      .pct = (double)NAN,
                      .temp_c = (double)NAN,
                      .minutes = 10.0,
                      .tub = fl_sv_from_cstr(tubs[d->n_tubs - 1])};
    e->body.step_done = (fl_ev_step_done){.steps = s, .n_steps = 1};
    tell(d, 'w');
    (void)fprintf(d->told, " %d %d\n", one, two);
}

static void happen(diary *d)
{
    int what = below(d, 10);
    d->now_s += SPACING_S;
    if (d->n_lots < 4 || (what < 1 && d->n_lots < LOTS_MAX)) {
        arrive(d);
    } else if (what < 2 && d->n_lots < LOTS_MAX) {
        cut(d);
    } else if (what < 6) {
        move(d);
    } else if (what < 9) {
        clean(d);
    } else {
        soak(d);
    }
}

/* ---- one case ---- */

static bool passes(const fl_threat *threat, fl_link link)
{
    return fl_know_link_factor(threat, link) > 0.0;
}

static int index_of(const diary *d, fl_id lot)
{
    int i = 0;
    while (i < d->n_lots && !fl_id_eq(d->lots[i], lot)) {
        i++;
    }
    check_true(i < d->n_lots);
    return i;
}

static void write_set(FILE *file, int number, char kind, const bool *is_in)
{
    (void)fprintf(file, "%d %c", number, kind);
    for (int i = 0; i < LOTS_MAX; i++) {
        if (is_in[i]) {
            (void)fprintf(file, " %d", i);
        }
    }
    (void)fprintf(file, "\n");
}

static void write_answer(const diary *d, int number, int subject, const fl_trace *t, FILE *ours)
{
    bool is_reached[LOTS_MAX] = {false};
    bool is_source[LOTS_MAX] = {false};
    for (size_t i = 0; i < t->n_reached; i++) {
        int lot = index_of(d, t->reached[i].lot->id);
        is_reached[lot] = lot != subject;
    }
    for (size_t i = 0; i < t->n_sources; i++) {
        if (t->sources[i].kind == FL_SUSPECT_PURCHASE) {
            is_source[index_of(d, t->sources[i].lot)] = true;
        }
    }
    write_set(ours, number, 'f', is_reached);
    write_set(ours, number, 's', is_source);
}

static void run_case(diary *d, int number, FILE *told, FILE *ours)
{
    fl_rng rng = {.state = (uint64_t)number + 77000};
    memset(d, 0, sizeof *d);
    d->rng = rng;
    d->threat = fl_know_threat_find(fl_sv_from_cstr(THREATS[number % 3]));
    check_true(d->threat != NULL);
    d->now_s = START_S;
    char *lines = NULL;
    size_t n_bytes = 0;
    d->told = open_memstream(&lines, &n_bytes);
    assert_non_null(d->told);
    set_up(d);
    for (int i = 0; i < HAPPENINGS; i++) {
        happen(d);
    }
    assert_int_equal(fclose(d->told), 0);

    fl_err err = {0};
    fl_arena arena;
    fl_room room;
    fl_trace t;
    const fl_room empty = {.now_s = d->now_s + FL_DAY_S};
    check_ok(fl_room_with(&empty, d->events, (size_t)d->n_events, &room, &err), &err);
    int subject = below(d, 4);
    const fl_lot *lot = fl_meaning_lot(&room.meaning, d->lots[subject]);
    int64_t from_s = START_S + (5 + below(d, 8)) * SPACING_S + FL_HOUR_S;
    int64_t to_s = from_s + (12 + below(d, 20)) * SPACING_S;
    fl_arena_init(&arena);
    const fl_trace_question forward = {
        .lot = lot, .threat = d->threat, .from_s = from_s, .to_s = to_s};
    check_ok(fl_trace_ask(&room, NULL, &forward, &arena, &t, &err), &err);
    fl_trace backward;
    fl_trace_question whole = forward; /* sources from the very beginning */
    whole.from_s = START_S;
    check_ok(fl_trace_ask(&room, NULL, &whole, &arena, &backward, &err), &err);
    t.sources = backward.sources;
    t.n_sources = backward.n_sources;
    write_answer(d, number, subject, &t, ours);
    (void)fprintf(told, "case %d %d %d %d %d %d %lld %lld\n%send\n", number, d->threat->is_mobile,
                  passes(d->threat, FL_LINK_CUTTING), passes(d->threat, FL_LINK_DIVISION),
                  passes(d->threat, FL_LINK_SHARED_TUB), subject, (long long)from_s,
                  (long long)to_s, lines);
    free(lines);
    fl_arena_done(&arena);
    fl_room_done(&room);
}

/* ---- the script ---- */

/* Reads the lots after "NUMBER KIND"; how many. */
static int read_set(const char *line, int number, char kind, bool *is_in)
{
    int got_number = -1;
    char got_kind = 0;
    int used = 0;
    int n = 0;
    check_int(sscanf(line, "%d %c%n", &got_number, &got_kind, &used), 2);
    check_int(got_number, number);
    check_int(got_kind, kind);
    memset(is_in, 0, LOTS_MAX * sizeof is_in[0]);
    for (const char *at = line + used;;) {
        int lot = -1;
        int more = 0;
        if (sscanf(at, "%d%n", &lot, &more) != 1) {
            return n;
        }
        check_true(lot >= 0 && lot < LOTS_MAX);
        is_in[lot] = true;
        n++;
        at += more;
    }
}

static void compare(const char *ours_path, const char *theirs_path)
{
    char got[200];
    char want[200];
    FILE *ours = fopen(ours_path, "r");
    FILE *theirs = fopen(theirs_path, "r");
    int n_reached = 0;
    int n_sources = 0;
    assert_non_null(ours);
    assert_non_null(theirs);
    for (int number = 0; number < N_CASES; number++) {
        assert_non_null(fgets(got, sizeof got, ours));
        assert_non_null(fgets(want, sizeof want, theirs));
        if (strcmp(got, want) != 0) {
            print_error("%s\n", THREATS[number % 3]);
        }
        assert_string_equal(got, want); /* reached: exactly */
        bool mine[LOTS_MAX];
        bool all[LOTS_MAX];
        n_reached += read_set(want, number, 'f', all);
        assert_non_null(fgets(got, sizeof got, ours));
        assert_non_null(fgets(want, sizeof want, theirs));
        n_sources += read_set(got, number, 's', mine);
        (void)read_set(want, number, 's', all);
        for (int i = 0; i < LOTS_MAX; i++) { /* no way in that cannot have been it */
            if (mine[i] && !all[i]) {
                print_error("case %d, %s: lot %d\n", number, THREATS[number % 3], i);
            }
            check_true(!mine[i] || all[i]);
        }
    }
    (void)fclose(ours);
    (void)fclose(theirs);
    print_message("%d rooms: %d lots reached, %d ways in\n", N_CASES, n_reached, n_sources);
    check_true(n_reached > N_CASES && n_sources > N_CASES);
}

static void test_networkx(void **state)
{
    (void)state;
    static diary d;
    char folder[FL_TEMP_PATH_MAX];
    char cases[FL_TEMP_PATH_MAX + 16];
    char ours[FL_TEMP_PATH_MAX + 16];
    char theirs[FL_TEMP_PATH_MAX + 16];
    (void)fl_temp_folder(folder);
    (void)snprintf(cases, sizeof cases, "%s/cases", folder);
    (void)snprintf(ours, sizeof ours, "%s/ours", folder);
    (void)snprintf(theirs, sizeof theirs, "%s/theirs", folder);
    FILE *cases_file = fopen(cases, "w");
    FILE *ours_file = fopen(ours, "w");
    assert_non_null(cases_file);
    assert_non_null(ours_file);
    for (int i = 0; i < N_CASES; i++) {
        run_case(&d, i, cases_file, ours_file);
    }
    assert_int_equal(fclose(cases_file), 0);
    assert_int_equal(fclose(ours_file), 0);
    fl_run_networkx("trace_networkx.py", cases, theirs, folder);
    compare(ours, theirs);
    fl_remove_folder(folder);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_networkx)};
FL_TEST_MAIN(tests)
