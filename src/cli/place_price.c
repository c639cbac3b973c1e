/* Pricing and putting lots somewhere. */
#include "cli/place_price.h"

#include <stdio.h>

#include "app/plans.h"
#include "cli/answer.h"
#include "cli/compose.h"
#include "view/words.h"

/* The lots and what each place would cost them. */
typedef struct placing {
    fl_call *call;
    fl_session *s;
    const fl_lot **lots;
    size_t n_lots;
    fl_place_price *prices;
    size_t n_prices;
} placing;

static void print_price(placing *p, const fl_place_price *price)
{
    fl_sv text = fl_say_choice(&p->s->room, price, &p->s->arena);
    (void)printf("  %.*s\n", FL_SV_ARG(text));
}

static fl_status print_json(placing *p)
{
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(p->s, w);
    fl_view_prices(&view, NULL, p->prices, p->n_prices);
    fl_print_json(w);
    fl_json_writer_free(w);
    return FL_OK;
}

static fl_status list_choices(placing *p)
{
    if (p->s->cli->is_json) {
        return print_json(p);
    }
    for (size_t i = 0; i < p->n_prices; i++) {
        print_price(p, &p->prices[i]);
    }
    if (p->n_prices == 0) {
        (void)puts("There is no bin, jar or open spot: fernlock place add \"bin 1\" --kind bin");
    } else if (fl_joining_is_unfit(&p->prices[0].joining)) {
        (void)puts("None of them is fit to share its place with these: a bin or jar of their own "
                   "would be, fernlock place add \"jar 1\" --kind jar");
    }
    return FL_OK;
}

#define BETTER_SHOWN 3

/* What it costs, and what would be better; nothing is recorded. */
static fl_status tell_price(placing *p, const fl_place_price *asked, fl_sv cost)
{
    int shown = 0;
    p->call->code = FL_EXIT_NO;
    if (p->s->cli->is_json) {
        return print_json(p);
    }
    (void)printf("%.*s\n", FL_SV_ARG(cost));
    for (size_t i = 0; i < p->n_prices && shown < BETTER_SHOWN; i++) {
        if (&p->prices[i] == asked) {
            break; /* they come cheapest first */
        }
        (void)fputs(shown == 0 ? "Better:\n" : "", stdout);
        print_price(p, &p->prices[i]);
        shown++;
    }
    (void)puts("Nothing is recorded. To do it all the same: --anyway");
    return FL_OK;
}

/* Records it, with its price where it has one: the journal says what was known. */
static fl_status put_there(placing *p, const fl_ev_place_set *place, fl_sv cost, fl_err *err)
{
    fl_session *s = p->s;
    fl_event *event = NULL;
    fl_status status = fl_compose(s, FL_KIND_LOT_MOVED, &event, err);
    if (status == FL_OK) {
        if (cost.len > 0 && event->note.len == 0) {
            event->note = fl_arena_printf(&s->arena, "Its price: %.*s", FL_SV_ARG(cost));
        }
        event->body.lot_moved.lots = fl_lot_ids(s, p->lots, p->n_lots);
        event->body.lot_moved.to = place->place;
        status = fl_compose_record(s, err);
    }
    if (status != FL_OK || fl_compose_told(s)) {
        return status;
    }
    fl_sv name = fl_room_place_name(&s->room, event->body.lot_moved.to);
    (void)printf("Recorded: %zu lot%s %s %.*s.\n", p->n_lots, p->n_lots == 1 ? "" : "s",
                 fl_place_in(s, event->body.lot_moved.to), FL_SV_ARG(name));
    if (cost.len > 0) {
        (void)printf("Its price: %.*s\n", FL_SV_ARG(cost));
    }
    return FL_OK;
}

/* The place asked for, when it is one that can be priced. */
static fl_status find_price(placing *p, const fl_ev_place_set *place, const fl_place_price **out,
                            fl_err *err)
{
    for (size_t i = 0; i < p->n_prices; i++) {
        if (fl_id_eq(p->prices[i].place->place, place->place)) {
            *out = &p->prices[i];
            return FL_OK;
        }
    }
    const char *instead =
        place->kind == FL_PLACE_ENCLOSURE
            ? "fernlock release asks the gate, fernlock move records what happened"
            : "fernlock move records what happened";
    return fl_fail(err, FL_EINVAL, "%.*s is no bin, jar or open spot: %s", FL_SV_ARG(place->name),
                   instead);
}

static fl_status put_into(placing *p, fl_err *err)
{
    const fl_arg_value *value = p->call->value;
    const fl_ev_place_set *place = NULL;
    const fl_place_price *price = NULL;
    fl_status status = fl_room_find_place(&p->s->room, value[FL_PLACE_IN].text, &place, err);
    if (status == FL_OK) {
        status = find_price(p, place, &price, err);
    }
    if (status != FL_OK) {
        return status;
    }
    bool has_happened = value[FL_OPTION_AT].is_given;
    bool costs = !has_happened && !fl_plan_price_is_free(price);
    fl_sv cost = costs ? fl_say_price(&p->s->room, price, &p->s->arena) : FL_SV("");
    if (!value[FL_PLACE_ANYWAY].is_given && costs) {
        return tell_price(p, price, cost);
    }
    return put_there(p, place, cost, err);
}

static fl_status place_them(placing *p, fl_err *err)
{
    const fl_status status = fl_plan_prices(&p->s->room, &p->s->app, p->lots, p->n_lots,
                                            &p->s->arena, &p->prices, &p->n_prices, err);
    if (status != FL_OK) {
        return status;
    }
    return p->call->value[FL_PLACE_IN].is_given ? put_into(p, err) : list_choices(p);
}

fl_status fl_place_join(fl_call *call, fl_err *err)
{
    placing p = {.call = call, .s = call->s};
    const fl_meaning *meaning = &call->s->room.meaning;
    const fl_ev_place_set *from = NULL;
    const fl_status status = fl_room_find_place(&call->s->room, call->words[0], &from, err);
    if (status != FL_OK) {
        return status;
    }
    p.lots = FL_ARENA_ARRAY(&call->s->arena, const fl_lot *, meaning->n_lots + 1);
    for (size_t i = 0; i < meaning->n_lots; i++) {
        if (!meaning->lots[i].is_gone && fl_id_eq(meaning->lots[i].place, from->place)) {
            p.lots[p.n_lots++] = &meaning->lots[i];
        }
    }
    if (p.n_lots == 0) {
        return fl_fail(err, FL_EINVAL, "nothing stands in %.*s", FL_SV_ARG(from->name));
    }
    return place_them(&p, err);
}

fl_status fl_place_lots(fl_call *call, fl_err *err)
{
    placing p = {.call = call, .s = call->s};
    const fl_status status = fl_read_lots(call, 0, &p.lots, &p.n_lots, err);
    return status == FL_OK ? place_them(&p, err) : status;
}
