/* How long a whole room takes: 1,000 lots in 150 fills over 60 days, every pest, both development
 * sets, the full mixture. Makes the room in a temporary folder the ordinary way (seeded), then
 * measures: everything from scratch without a memo; the same filling the memo; again with the memo;
 * an event at the tip; a late edit in one bin. Prints one line for each. Not a test: CI does not
 * time things.
 *
 * usage: room DIR [N_BINS]   DIR: an empty folder, left behind for a profiler */
#define _GNU_SOURCE
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

#include "app/chance.h"
#include "app/gate.h"
#include "app/recall.h"
#include "base/rng.h"

#define START_S INT64_C(1772452800) /* 2026-03-02T12:00Z, a Monday */
#define DAYS 60
#define ARRIVAL_DAYS 52 /* the last bin has been filled for a week */
#define N_SOURCES 12
#define LOTS_MAX 16
#define EVENTS_MAX 20000

typedef struct maker {
    fl_app app;
    int64_t now_s;
    uint64_t next_id;
    fl_rng rng;
    fl_event *events;
    size_t n_events;
    fl_arena arena;
    fl_id sources[N_SOURCES];
    fl_id bench;
    int n_lots;
    fl_recall recall;
    fl_room_past past;
} maker;

/* Of this process on one core: other work on the machine does not count. */
static double now_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec * 1e-6;
}

static double peak_mib(void)
{
    struct rusage usage;
    (void)getrusage(RUSAGE_SELF, &usage);
    return (double)usage.ru_maxrss / 1024.0;
}

static void must(fl_status status, const fl_err *err)
{
    if (status != FL_OK) {
        (void)fprintf(stderr, "room: %s\n", err->message);
        exit(1);
    }
}

/* ---- making the room ---- */

static fl_id new_id(maker *m)
{
    fl_id id = {{0x10, 0, 0, 0, 0, 0, 0x40, 0, 0x80}};
    uint64_t number = m->next_id++;
    for (int i = 0; i < 4; i++) {
        id.b[15 - i] = (uint8_t)(number >> (8 * i));
    }
    return id;
}

static int between(maker *m, int low, int high)
{
    return low + (int)fl_rng_below(&m->rng, (uint64_t)(high - low + 1));
}

static fl_event *add(maker *m, fl_kind kind, int64_t at_s)
{
    if (m->n_events >= EVENTS_MAX) {
        (void)fprintf(stderr, "room: more than %d events\n", EVENTS_MAX);
        exit(1);
    }
    fl_event *event = &m->events[m->n_events++];
    memset(event, 0, sizeof *event);
    event->kind = kind;
    event->id = new_id(m);
    event->at_s = at_s;
    return event;
}

static fl_id add_place(maker *m, const char *name, fl_place_kind kind, double temp_c)
{
    fl_event *event = add(m, FL_KIND_PLACE_SET, START_S);
    event->body.place_set =
        (fl_ev_place_set){.place = new_id(m),
                          .name = fl_arena_copy_sv(&m->arena, fl_sv_from_cstr(name)),
                          .kind = kind,
                          .has_gasket = between(m, 0, 9) > 0,
                          .set_temp_c = temp_c,
                          .volume_l = (double)NAN,
                          .shelf = -1};
    return event->body.place_set.place;
}

static void add_sources(maker *m)
{
    for (int i = 0; i < N_SOURCES; i++) {
        char name[40];
        (void)snprintf(name, sizeof name, "source %d", i + 1);
        fl_event *event = add(m, FL_KIND_SOURCE_SET, START_S);
        event->body.source_set =
            (fl_ev_source_set){.source = new_id(m),
                               .name = fl_arena_copy_sv(&m->arena, fl_sv_from_cstr(name)),
                               .kind = i % 3 == 0 ? FL_SOURCE_NURSERY : FL_SOURCE_CHAIN_STORE};
        m->sources[i] = event->body.source_set.source;
    }
}

static void add_step(maker *m, fl_id_list lots, fl_step step, fl_agent agent, fl_sv tub,
                     int64_t at_s)
{
    fl_ev_step *one = FL_ARENA_NEW(&m->arena, fl_ev_step);
    *one = (fl_ev_step){.lots = lots,
                        .step = step,
                        .agent = agent,
                        .dose_mg_per_l = (double)NAN,
                        .pct = (double)NAN,
                        .temp_c = (double)NAN,
                        .minutes = 10.0,
                        .tub = tub};
    fl_event *event = add(m, FL_KIND_STEP_DONE, at_s);
    event->body.step_done = (fl_ev_step_done){.steps = one, .n_steps = 1};
}

/* One arrival of several lots from one or two sources: cleaned, and moved into its bin. */
static void add_arrival(maker *m, fl_id bin, int index, int n_lots)
{
    int64_t at_s = START_S + between(m, 0, ARRIVAL_DAYS) * INT64_C(86400) + between(m, 0, 9) * 3600;
    fl_id arrival = new_id(m);
    fl_id *lots = FL_ARENA_ARRAY(&m->arena, fl_id, LOTS_MAX);
    fl_id one = m->sources[between(m, 0, N_SOURCES - 1)];
    fl_id other = m->sources[between(m, 0, N_SOURCES - 1)];
    for (int i = 0; i < n_lots; i++) {
        fl_event *event = add(m, FL_KIND_LOT_ARRIVED, at_s);
        event->body.lot_arrived =
            (fl_ev_lot_arrived){.lot = new_id(m),
                                .arrival = arrival,
                                .source = i % 3 == 2 ? other : one,
                                .name = FL_SV("a fern"),
                                .count = between(m, 1, 6),
                                .form = between(m, 0, 4) == 0 ? FL_FORM_PLUG : FL_FORM_POTTED,
                                .use = (fl_use)between(m, 0, FL_USE_COUNT - 1),
                                .place = m->bench,
                                .cost = (double)NAN};
        lots[i] = event->body.lot_arrived.lot;
        m->n_lots++;
    }
    fl_sv tub = fl_arena_printf(&m->arena, "tub %d", index % 10 == 0 ? 0 : index);
    add_step(m, (fl_id_list){lots, (size_t)n_lots}, FL_STEP_STRIP, FL_AGENT_NONE, tub, at_s + 3600);
    add_step(m, (fl_id_list){lots, (size_t)n_lots}, FL_STEP_RINSE, FL_AGENT_NONE, tub,
             at_s + 2 * 3600);
    fl_event *move = add(m, FL_KIND_LOT_MOVED, at_s + 3 * 3600);
    move->body.lot_moved = (fl_ev_lot_moved){.lots = {lots, (size_t)n_lots}, .to = bin};
    fl_event *card = add(m, FL_KIND_CARD_SET, at_s + 3 * 3600 + 60);
    card->body.card_set = (fl_ev_card_set){.place = bin, .device = FL_DEVICE_YELLOW_CARD};
}

/* A look at a bin, most with the card, few of them finding something. */
static void add_look(maker *m, fl_id bin, int64_t at_s)
{
    static const char *const seen[] = {"fungus_gnat", "aphid", "twospotted_spider_mite"};
    fl_event *event = add(m, FL_KIND_LOOK_DONE, at_s);
    fl_ev_look_done look = {.place = bin,
                            .effort = between(m, 0, 3) == 0 ? FL_EFFORT_GLANCE : FL_EFFORT_CAREFUL,
                            .devices = between(m, 0, 4) > 0 ? 1U << FL_DEVICE_YELLOW_CARD : 0U,
                            .frac_examined = 1.0,
                            .hands = between(m, 0, 19) == 0 ? FL_HANDS_UNSURE : FL_HANDS_CLEANED};
    if (between(m, 0, 49) == 0) {
        fl_ev_finding *finding = FL_ARENA_NEW(&m->arena, fl_ev_finding);
        *finding = (fl_ev_finding){.finding = new_id(m),
                                   .threat = fl_sv_from_cstr(seen[between(m, 0, 2)]),
                                   .count = 1,
                                   .is_removed = true,
                                   .what = FL_SV("seen")};
        look.findings = finding;
        look.n_findings = 1;
    }
    event->body.look_done = look;
}

/* The round: every bin on every seventh day, one after the other. */
static void add_rounds(maker *m, const fl_id *bins, int n_bins)
{
    for (int day = 5; day < DAYS; day += 7) {
        for (int b = 0; b < n_bins; b++) {
            add_look(m, bins[b], START_S + day * INT64_C(86400) + b * INT64_C(120));
        }
    }
}

static void make_room(maker *m, const char *dir, int n_bins)
{
    fl_err err;
    fl_id *bins = FL_ARENA_ARRAY(&m->arena, fl_id, (size_t)n_bins);
    m->now_s = START_S + DAYS * INT64_C(86400);
    must(fl_app_open(dir, true, 60, fl_clock_fixed(&m->now_s), &m->app, &err), &err);
    add_sources(m);
    m->bench = add_place(m, "the bench", FL_PLACE_BENCH, 21.0);
    for (int b = 0; b < n_bins; b++) {
        char name[40];
        (void)snprintf(name, sizeof name, "bin %d", b + 1);
        bins[b] = add_place(m, name, FL_PLACE_BIN, 19.0 + 0.5 * (b % 13));
    }
    for (int b = 0; b < n_bins; b++) {
        add_arrival(m, bins[b], b, b % 3 == 0 ? 6 : 7);
    }
    add_rounds(m, bins, n_bins);
    for (size_t i = 0; i < m->n_events; i += 500) {
        size_t n = m->n_events - i < 500 ? m->n_events - i : 500;
        must(fl_app_record_events(&m->app, &m->events[i], n, &err), &err);
    }
}

/* ---- measuring ---- */

typedef struct took {
    double load_ms, walk_ms, read_ms, gate_ms;
    double sum;           /* of all chances */
    uint64_t fingerprint; /* of all bits of all chances: any change shows */
    fl_chances_stats stats;
} took;

static uint64_t mixed(uint64_t fingerprint, double value)
{
    uint64_t bits = 0;
    memcpy(&bits, &value, sizeof bits);
    return (fingerprint ^ bits) * UINT64_C(0x100000001B3);
}

/* Where the chances come from. */
typedef enum from { FROM_NOTHING = 0, FROM_MEMO, FROM_RECALL } from;

/* Loads, computes, reads every lot; with `only` the chances and the gate of one lot. */
static took measure(maker *m, from from, fl_id only)
{
    took t = {0};
    fl_err err;
    fl_room room;
    fl_chances *chances = NULL;
    double start = now_ms();
    must(fl_room_load_on(&m->app, from == FROM_RECALL ? &m->past : NULL, &room, &err), &err);
    t.load_ms = now_ms() - start;
    start = now_ms();
    fl_recall *recall = from == FROM_RECALL ? &m->recall : NULL;
    must(fl_chances_again(&room, from == FROM_MEMO ? &m->app : NULL, recall, &chances, &err), &err);
    t.walk_ms = now_ms() - start;
    start = now_ms();
    fl_lot_chance of_lot[64];
    size_t n = 0;
    for (size_t i = 0; i < room.meaning.n_lots; i++) {
        const fl_lot *lot = &room.meaning.lots[i];
        if (!lot->is_gone && (fl_id_is_none(only) || fl_id_eq(lot->id, only))) {
            must(fl_chances_of_lot(chances, lot, of_lot, &n, &err), &err);
            for (size_t k = 0; k < n; k++) {
                t.sum += of_lot[k].chance;
                t.fingerprint = mixed(t.fingerprint, of_lot[k].chance);
                t.fingerprint = mixed(t.fingerprint, of_lot[k].least);
                t.fingerprint = mixed(t.fingerprint, of_lot[k].most);
            }
        }
    }
    t.read_ms = now_ms() - start;
    start = now_ms();
    if (!fl_id_is_none(only)) {
        fl_gate_report report;
        fl_arena arena;
        fl_arena_init(&arena);
        must(fl_gate_ask(chances, &room, fl_meaning_lot(&room.meaning, only), 0, &arena, &report,
                         &err),
             &err);
        fl_arena_done(&arena);
    }
    t.gate_ms = now_ms() - start;
    t.stats = fl_chances_statistics(chances);
    fl_chances_free(chances);
    fl_room_done(&room);
    return t;
}

static void print(const char *what, const took *t)
{
    (void)printf(
        "%-28s load %7.1f ms, walk %7.1f ms, read %7.1f ms, gate %6.1f ms, sum %.9f %016llx\n",
        what, t->load_ms, t->walk_ms, t->read_ms, t->gate_ms, t->sum,
        (unsigned long long)t->fingerprint);
    (void)printf("%-28s carriers %zu, roots %zu, copies %zu, programmes %zu, states %zu, memo hits"
                 " %zu, peak %.1f MiB\n",
                 "", t->stats.n_carriers, t->stats.n_roots, t->stats.n_copies,
                 t->stats.n_programmes, t->stats.n_states, t->stats.n_memo_hits, peak_mib());
    (void)fflush(stdout);
}

/* The first lot, and the bin it stands in. */
static fl_id first_lot(const maker *m, fl_id *bin)
{
    fl_id lot = {{0}};
    for (size_t i = 0; i < m->n_events; i++) {
        if (m->events[i].kind == FL_KIND_LOT_MOVED) {
            lot = m->events[i].body.lot_moved.lots.ids[0];
            *bin = m->events[i].body.lot_moved.to;
            break;
        }
    }
    return lot;
}

static double total_ms(const took *t)
{
    return t->load_ms + t->walk_ms + t->read_ms;
}

/* Records one look in a bin at a time, then asks for one of its lots: all anew, and with what the
 * answer before left; they must be the same. */
static void measure_edit(maker *m, const char *what, int64_t at_s)
{
    fl_err err;
    fl_id bin;
    fl_id lot = first_lot(m, &bin);
    size_t before = m->n_events;
    add_look(m, bin, at_s);
    m->events[before].body.look_done.n_findings = 0;
    double start = now_ms();
    must(fl_app_record_events(&m->app, &m->events[before], 1, &err), &err);
    double record_ms = now_ms() - start;
    took again = measure(m, FROM_RECALL, lot);
    took full = measure(m, FROM_NOTHING, lot);
    (void)printf("%-28s record and refold (with sync) %.1f ms\n", what, record_ms);
    print("  one lot, all walked anew", &full);
    print("  one lot, by recall", &again);
    (void)printf("%-28s %.1f ms, %.1f times as fast, %s\n", "  by recall", total_ms(&again),
                 total_ms(&full) / total_ms(&again),
                 again.fingerprint == full.fingerprint ? "the same bits" : "OTHER BITS");
}

int main(int argc, char **argv)
{
    static maker m = {.next_id = 1, .rng = {1}};
    const fl_id none = {{0}};
    if (argc < 2) {
        (void)fprintf(stderr, "usage: room DIR [N_BINS]\n");
        return 2;
    }
    int n_bins = argc > 2 ? (int)strtol(argv[2], NULL, 10) : 150;
    fl_arena_init(&m.arena);
    m.events = calloc(EVENTS_MAX, sizeof m.events[0]);
    if (m.events == NULL) {
        return 1;
    }
    double start = now_ms();
    make_room(&m, argv[1], n_bins);
    (void)printf("room made in %.0f ms: %zu events, %d lots, %d fills, peak %.1f MiB\n",
                 now_ms() - start, m.n_events, m.n_lots, n_bins, peak_mib());
    took t = measure(&m, FROM_NOTHING, none);
    print("from scratch, no memo", &t);
    t = measure(&m, FROM_MEMO, none);
    print("from scratch, filling it", &t);
    t = measure(&m, FROM_MEMO, none);
    print("with the memo", &t);
    fl_recall_init(&m.recall);
    fl_id bin;
    t = measure(&m, FROM_RECALL, first_lot(&m, &bin));
    print("one lot, nothing to recall", &t);
    measure_edit(&m, "an event at the tip", m.now_s - 3600);
    measure_edit(&m, "another at the tip", m.now_s - 1800);
    measure_edit(&m, "a late edit in one bin", START_S + 40 * INT64_C(86400));
    measure_edit(&m, "another late edit", START_S + 30 * INT64_C(86400));
    fl_recall_done(&m.recall);
    fl_room_past_done(&m.past);
    fl_app_close(&m.app);
    fl_arena_done(&m.arena);
    free(m.events);
    return 0;
}
