/* Newcomers weighed at the door. */
#include "cli/arrive_triage.h"

#include <stdio.h>

#include "cli/answer.h"
#include "cli/compose.h"
#include "cli/evening.h"
#include "view/triage.h"

enum { BIN_WEEK = FL_OPTION_FIRST, TIMES_PRICE, TIP_SHARE, RETURN, REFUSE, TIP, TIPS };

const fl_arg fl_arrive_triage_options[FL_ARRIVE_TRIAGE_OPTIONS] = {
    FL_OPTIONS_RECORDING,
    [BIN_WEEK] = {"bin-week", FL_ARG_NUMBER, .min = 0, .max = 1e6,
                  .help = "what a week of a whole bin is worth to you, in your money; else 1"},
    [TIMES_PRICE] = {"times-price", FL_ARG_NUMBER, .min = 0, .max = 1e6,
                     .help = "what a plant is worth to you, in times its price; else 2"},
    [TIP_SHARE] = {"tip-share", FL_ARG_NUMBER, .min = 0, .max = 1,
                   .help = "what a rooted tip is worth of the plant; else 0.5"},
    [RETURN] = {"return", FL_ARG_FLAG, .help = "record: it went back to the seller"},
    [REFUSE] = {"refuse", FL_ARG_FLAG, .help = "record: it did not come in"},
    [TIP] = {"tip", FL_ARG_FLAG, .help = "record: only a clean tip was kept, the rest thrown out"},
    [TIPS] = {"tips", FL_ARG_INT, .min = 1, .max = 1000000,
              .help = "with --tip: how many; else one a plant"},
};

/* ---- weighing ---- */

/* The lots named, or all that are on trial. */
static fl_status read_lots(fl_call *call, const fl_lot ***lots, size_t *n, fl_err *err)
{
    fl_session *s = call->s;
    if (call->n_words > 0) {
        return fl_read_lots(call, 0, lots, n, err);
    }
    *lots = FL_ARENA_ARRAY(&s->arena, const fl_lot *, FL_TRIAGE_LOTS_MAX);
    *n = 0;
    for (size_t i = 0; i < s->room.meaning.n_lots && *n < FL_TRIAGE_LOTS_MAX; i++) {
        if (fl_triage_is_on_trial(&s->room, &s->room.meaning.lots[i])) {
            (*lots)[(*n)++] = &s->room.meaning.lots[i];
        }
    }
    return FL_OK;
}

static void print_lot(fl_session *s, const fl_triage_lot *t)
{
    fl_sv text = fl_say_triage(&s->room, t, &s->arena);
    fl_print_lot(s, t->lot);
    (void)printf("\n  %.*s\n", FL_SV_ARG(text));
}

static void print_options(fl_session *s, const fl_triage_lot *t)
{
    for (int way = 0; way < FL_TRIAGE_WAY_COUNT; way++) {
        fl_sv text = fl_say_triage_option(&s->room, t, (fl_triage_way)way, &s->arena);
        (void)printf("  %c %s: %.*s\n", way == (int)t->triage.leans ? '>' : '-',
                     fl_words_triage_way[way].text, FL_SV_ARG(text));
    }
}

static void print_assumed(fl_session *s, const fl_triage_worth *worth)
{
    fl_sv texts[FL_TRIAGE_ASSUMPTIONS];
    fl_say_triage_assumptions(worth, &s->arena, texts);
    (void)fputs("Assumed, and yours to change:", stdout);
    for (size_t i = 0; i < FL_TRIAGE_ASSUMPTIONS; i++) {
        (void)printf("%s %.*s", i > 0 ? ";" : "", FL_SV_ARG(texts[i]));
    }
    (void)puts(".\nIt only leans. Record what you did: --return, --refuse or --tip.");
}

static fl_status weigh(fl_call *call, const fl_lot *const *lots, size_t n, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    fl_triage_lot *weighed = NULL;
    fl_triage_worth worth = fl_triage_worth_usual();
    worth.bin_week = value[BIN_WEEK].is_given ? value[BIN_WEEK].number : worth.bin_week;
    worth.times_price = value[TIMES_PRICE].is_given ? value[TIMES_PRICE].number : worth.times_price;
    worth.tip_share = value[TIP_SHARE].is_given ? value[TIP_SHARE].number : worth.tip_share;
    fl_status status =
        n > 0 ? fl_triage_ask(&s->room, &s->app, lots, n, &worth, &s->arena, &weighed, err) : FL_OK;
    if (status != FL_OK) {
        return status;
    }
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_triage_asked asked = {.n = n};
        for (size_t i = 0; i < n; i++) {
            asked.lots[i] = lots[i];
        }
        fl_view_triage(&view, NULL, &worth, weighed, &asked);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    for (size_t i = 0; i < n; i++) {
        print_lot(s, &weighed[i]);
        print_options(s, &weighed[i]);
    }
    if (n > 0) {
        print_assumed(s, &worth);
    } else {
        (void)puts("Nothing is on trial.");
    }
    return FL_OK;
}

fl_status fl_print_triage(fl_session *s, const fl_lot *const *lots, size_t n, fl_err *err)
{
    const fl_triage_worth worth = fl_triage_worth_usual();
    fl_triage_lot *weighed = NULL;
    fl_status status = fl_triage_ask(&s->room, &s->app, lots, n, &worth, &s->arena, &weighed, err);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        fl_sv label = fl_lot_label(s, lots[i]);
        fl_sv text = fl_say_triage_short(&s->room, &weighed[i], &s->arena);
        (void)printf("  %.*s %.*s\n", FL_SV_ARG(label), FL_SV_ARG(text));
    }
    return status;
}

/* ---- recording ---- */

static fl_status compose_way(fl_call *call, const fl_lot *lot, fl_triage_way way, fl_err *err)
{
    fl_session *s = call->s;
    fl_event *events = NULL;
    size_t n = 0;
    const fl_id tip = way == FL_TRIAGE_TIP ? fl_compose_id(s) : (fl_id){{0}};
    const int64_t n_tips = call->value[TIPS].is_given ? call->value[TIPS].integer : lot->count;
    fl_triage_events(&s->room, lot, way, tip, n_tips, &s->arena, &events, &n);
    for (size_t i = 0; i < n; i++) {
        fl_event *event = NULL;
        bool is_told = false; /* two lots that go back share the place that is made for it */
        for (size_t k = 0; k < s->n_events; k++) {
            is_told = is_told || (events[i].kind == FL_KIND_PLACE_SET &&
                                  s->events[k].kind == FL_KIND_PLACE_SET);
        }
        if (is_told) {
            continue;
        }
        fl_status status = fl_compose(s, events[i].kind, &event, err);
        if (status != FL_OK) {
            return status;
        }
        event->body = events[i].body;
    }
    if (way == FL_TRIAGE_TIP) {
        fl_compose_made(s, "lot", tip, fl_room_lot_name(&s->room, lot));
    }
    return FL_OK;
}

static fl_status record_way(fl_call *call, const fl_lot *const *lots, size_t n, fl_triage_way way,
                            fl_err *err)
{
    fl_session *s = call->s;
    fl_status status = FL_OK;
    if (call->n_words == 0) {
        return fl_fail(err, FL_EINVAL, "name the lot that was sent back, refused or cut down");
    }
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        if (!fl_triage_is_on_trial(&s->room, lots[i])) {
            return fl_fail(err, FL_EINVAL,
                           "\"%.*s\" is not on trial: fernlock move or lose records it",
                           FL_SV_ARG(fl_room_lot_name(&s->room, lots[i])));
        }
        status = compose_way(call, lots[i], way, err);
    }
    status = status == FL_OK ? fl_compose_record(s, err) : status;
    if (status == FL_OK && !fl_compose_told(s)) {
        (void)printf("Recorded: %zu lot%s: %s.\n", n, n == 1 ? "" : "s",
                     way == FL_TRIAGE_RETURN   ? "back to the seller"
                     : way == FL_TRIAGE_REFUSE ? "refused at the door"
                                               : "only a clean tip was kept, the rest is gone. "
                                                 "Root it apart");
    }
    return status;
}

fl_status fl_arrive_triage(fl_call *call, fl_err *err)
{
    const fl_arg_value *value = call->value;
    const fl_lot **lots = NULL;
    size_t n = 0;
    const int n_ways = value[RETURN].is_given + value[REFUSE].is_given + value[TIP].is_given;
    if (n_ways > 1) {
        return fl_fail(err, FL_EINVAL, "one of --return, --refuse and --tip at a time");
    }
    fl_status status = read_lots(call, &lots, &n, err);
    if (status != FL_OK) {
        return status;
    }
    if (n_ways == 0) {
        return weigh(call, lots, n, err);
    }
    return record_way(call, lots, n,
                      value[RETURN].is_given   ? FL_TRIAGE_RETURN
                      : value[REFUSE].is_given ? FL_TRIAGE_REFUSE
                                               : FL_TRIAGE_TIP,
                      err);
}
