/* Which way a newcomer leans, in sentences and as JSON. */
#include "view/triage.h"

#include <math.h>

#include "view/put.h"

/* ---- words ---- */

fl_sv fl_say_claim(const fl_room *room, const fl_claim *claim, fl_arena *arena)
{
    if (claim->days == 0) {
        return FL_SV("");
    }
    /* its last second is still that day */
    fl_sv date = fl_say_date(room, claim->until_s - 1, FL_PRECISION_DAY, arena);
    return fl_arena_printf(arena, "It could %sgo back until %.*s.", claim->is_open ? "still " : "",
                           FL_SV_ARG(date));
}

static fl_sv say_bin(const fl_triage_lot *t, fl_arena *arena)
{
    if (t->n_sharing <= 1) {
        return FL_SV("a bin of its own");
    }
    return fl_arena_printf(arena, "a bin with %zu other lot%s of its purchase", t->n_sharing - 1,
                           t->n_sharing == 2 ? "" : "s");
}

/* "about 6 weeks, 2.1 bin-weeks", or why there is no date. */
static fl_sv say_road(const fl_triage_lot *t, fl_triage_way way, fl_arena *arena)
{
    const bool is_tip = way == FL_TRIAGE_TIP;
    const fl_triage_road *road = is_tip ? &t->input.tip : &t->input.whole;
    const fl_condition_kind binding = is_tip ? t->tip_binding : t->binding;
    if (isnan(road->days)) {
        return binding < FL_CONDITION_COUNT ? fl_arena_printf(arena, "no date, as things go: %s",
                                                              fl_words_condition[binding].text)
                                            : FL_SV("no date, as things go");
    }
    fl_sv days = fl_say_days(road->days, arena);
    return fl_arena_printf(arena, "%.*s, %.1f bin-weeks", FL_SV_ARG(days),
                           t->triage.option[way].bin_weeks);
}

static fl_sv say_return(const fl_room *room, const fl_triage_lot *t, fl_arena *arena)
{
    if (t->claim.days == 0) {
        return FL_SV("nobody told for how long the seller takes it back");
    }
    fl_sv date = fl_say_date(room, t->claim.until_s - 1, FL_PRECISION_DAY, arena);
    if (!t->claim.is_open) {
        return fl_arena_printf(arena, "the seller took it back until %.*s", FL_SV_ARG(date));
    }
    if (isnan(t->claim.price)) {
        return fl_arena_printf(arena, "until %.*s", FL_SV_ARG(date));
    }
    return fl_arena_printf(arena, "until %.*s; %.2f would come back", FL_SV_ARG(date),
                           t->claim.price);
}

fl_sv fl_say_triage_option(const fl_room *room, const fl_triage_lot *t, fl_triage_way way,
                           fl_arena *arena)
{
    switch (way) {
    case FL_TRIAGE_RETURN:
        return say_return(room, t, arena);
    case FL_TRIAGE_REFUSE:
        return FL_SV("it does not come in; what was paid is gone");
    case FL_TRIAGE_KEEP:
    case FL_TRIAGE_TIP:
    case FL_TRIAGE_WAY_COUNT:
        break;
    }
    if (!t->triage.option[way].is_there) {
        return FL_SV("nothing of it can be cut");
    }
    fl_sv road = say_road(t, way, arena);
    double worth = t->triage.option[way].worth;
    if (isnan(worth)) {
        return road;
    }
    return worth < 0.0 ? fl_arena_printf(arena, "%.*s; its room weighs about %.0f more than it",
                                         FL_SV_ARG(road), -worth)
                       : fl_arena_printf(arena, "%.*s; worth about %.0f after its room",
                                         FL_SV_ARG(road), worth);
}

fl_sv fl_say_triage_short(const fl_room *room, const fl_triage_lot *t, fl_arena *arena)
{
    const fl_triage_way way = t->triage.leans;
    const bool is_road = way == FL_TRIAGE_KEEP || way == FL_TRIAGE_TIP;
    fl_sv more = is_road ? say_road(t, way, arena)
                         : fl_sv_from_cstr(fl_words_triage_why[t->triage.why].text);
    fl_sv claim = FL_SV("");
    if (t->claim.is_open) {
        fl_sv date = fl_say_date(room, t->claim.until_s - 1, FL_PRECISION_DAY, arena);
        claim = fl_arena_printf(arena, "; it could still go back until %.*s", FL_SV_ARG(date));
    }
    return fl_arena_printf(arena, "leans to: %s (%.*s)%.*s", fl_words_triage_way[way].text,
                           FL_SV_ARG(more), FL_SV_ARG(claim));
}

/* What the evening's plan says against it, as one more sentence. */
static fl_sv say_verdict(const fl_triage_lot *t, fl_arena *arena)
{
    return t->plan.verdict_why[0] == '\0' ? FL_SV("")
                                          : fl_arena_printf(arena, " %s", t->plan.verdict_why);
}

fl_sv fl_say_triage(const fl_room *room, const fl_triage_lot *t, fl_arena *arena)
{
    fl_sv bin = say_bin(t, arena);
    fl_sv road = say_road(t, FL_TRIAGE_KEEP, arena);
    fl_sv find = fl_say_chance(t->input.whole.prob_find, arena);
    fl_sv claim = fl_say_claim(room, &t->claim, arena);
    fl_sv against = say_verdict(t, arena);
    fl_sv worst = FL_SV("");
    fl_sv paid = FL_SV("");
    if (t->worst != NULL) {
        fl_sv names = fl_say_plural(t->worst, arena);
        fl_sv chance = fl_say_chance(t->prob_worst, arena);
        worst = fl_arena_printf(arena, " (the likeliest: %.*s, %.*s)", FL_SV_ARG(names),
                                FL_SV_ARG(chance));
    }
    if (!isnan(t->claim.price)) {
        paid = fl_arena_printf(arena, " %.2f was paid.", t->claim.price);
    }
    return fl_arena_printf(arena,
                           "Leans to: %s; %s.%.*s Kept, in %.*s: %.*s, and %.*s that something "
                           "comes out and it starts over%.*s.%.*s%s%.*s",
                           fl_words_triage_way[t->triage.leans].text,
                           fl_words_triage_why[t->triage.why].text, FL_SV_ARG(against),
                           FL_SV_ARG(bin), FL_SV_ARG(road), FL_SV_ARG(find), FL_SV_ARG(worst),
                           FL_SV_ARG(paid), claim.len > 0 ? " " : "", FL_SV_ARG(claim));
}

void fl_say_triage_assumptions(const fl_triage_worth *worth, fl_arena *arena,
                               fl_sv out[FL_TRIAGE_ASSUMPTIONS])
{
    out[0] = fl_arena_printf(arena, "a week of a whole bin is worth %.15g of your money",
                             worth->bin_week);
    out[1] = fl_arena_printf(arena, "a plant is worth %.15g times what was paid for it",
                             worth->times_price);
    out[2] = fl_arena_printf(arena, "a rooted tip is worth %.0f in 100 of the plant",
                             100.0 * worth->tip_share);
    out[3] = FL_SV("a find starts the quarantine over, once");
}

/* ---- JSON ---- */

void fl_view_claim(const fl_view *v, const char *key, const fl_claim *claim)
{
    fl_json_writer *w = v->w;
    if (claim->days == 0) {
        fl_json_put_null(w, key);
        return;
    }
    fl_json_begin_object(w, key);
    fl_json_put_int(w, "take_back_days", claim->days);
    fl_put_on(v, "until_on", claim->until_s - 1);
    fl_json_put_bool(w, "is_open", claim->is_open);
    fl_json_put_bool(w, "is_of_purchase", claim->is_of_purchase);
    fl_json_put_text(w, "text", fl_say_claim(v->room, claim, v->arena));
    fl_json_end(w);
}

static void put_cut(const fl_view *v, const fl_ev_lot_cut *cut)
{
    fl_put_id(v->w, "mother", cut->mother);
    fl_json_put_int(v->w, "count", cut->count);
    fl_json_put_cstr(v->w, "form", fl_words_form[cut->form].word);
    fl_json_put_cstr(v->w, "use", fl_words_use[cut->use].word);
    fl_put_id(v->w, "place", cut->place);
}

static void put_body(const fl_view *v, const fl_event *event)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, "body");
    if (event->kind == FL_KIND_LOT_CUT) {
        put_cut(v, &event->body.lot_cut);
    } else if (event->kind == FL_KIND_PLACE_SET) {
        fl_put_id(w, "place", event->body.place_set.place);
        fl_json_put_text(w, "name", event->body.place_set.name);
        fl_json_put_cstr(w, "kind", fl_words_place_kind[event->body.place_set.kind].word);
    } else if (event->kind == FL_KIND_LOT_MOVED) {
        fl_json_begin_array(w, "lots");
        fl_put_id(w, NULL, event->body.lot_moved.lots.ids[0]);
        fl_json_end(w);
        fl_put_id(w, "to", event->body.lot_moved.to);
    } else {
        fl_put_id(w, "lot", event->body.lot_lost.lot);
        fl_json_put_int(w, "count", event->body.lot_lost.count);
        fl_json_put_text(w, "why", event->body.lot_lost.why);
    }
    fl_json_end(w);
}

static void put_option(const fl_view *v, const fl_triage_lot *t, fl_triage_way way)
{
    const fl_triage_option *option = &t->triage.option[way];
    fl_json_writer *w = v->w;
    fl_event *events = NULL;
    size_t n = 0;
    fl_triage_events(v->room, t->lot, way, (fl_id){{0}}, t->lot->count, v->arena, &events, &n);
    fl_json_begin_object(w, NULL);
    fl_put_word(w, "way", "way_text", &fl_words_triage_way[way]);
    fl_json_put_bool(w, "is_there", option->is_there);
    fl_json_put_text(w, "text", fl_say_triage_option(v->room, t, way, v->arena));
    fl_json_put_number(w, "days",
                       way == FL_TRIAGE_KEEP  ? t->input.whole.days
                       : way == FL_TRIAGE_TIP ? t->input.tip.days
                                              : (double)NAN);
    fl_json_put_number(w, "bin_weeks", option->bin_weeks);
    fl_json_put_number(w, "worth", option->worth);
    fl_json_begin_array(w, "records");
    for (size_t i = 0; i < n; i++) {
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "kind", fl_kinds[events[i].kind].word);
        put_body(v, &events[i]);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
}

static void put_lot(const fl_view *v, const fl_triage_lot *t)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_lot_ref(v, "lot", t->lot);
    fl_json_put_int(w, "plants", t->lot->count);
    fl_json_put_text(w, "source_name", fl_room_source_name(v->room, t->lot->source));
    fl_json_put_number(w, "price", t->claim.price);
    fl_view_claim(v, "claim", &t->claim);
    fl_json_put_int(w, "lots_sharing", (int64_t)t->n_sharing);
    fl_json_put_number(w, "prob_find", t->input.whole.prob_find);
    fl_put_word(w, "verdict", "verdict_text", &fl_words_prep_verdict[t->plan.verdict]);
    fl_put_text(w, "verdict_why", fl_sv_from_cstr(t->plan.verdict_why));
    fl_put_word(w, "leans", "leans_text", &fl_words_triage_way[t->triage.leans]);
    fl_put_word(w, "why", "why_text", &fl_words_triage_why[t->triage.why]);
    fl_json_put_text(w, "text", fl_say_triage(v->room, t, v->arena));
    fl_json_begin_array(w, "options");
    for (int way = 0; way < FL_TRIAGE_WAY_COUNT; way++) {
        put_option(v, t, (fl_triage_way)way);
    }
    fl_json_end(w);
    fl_json_end(w);
}

void fl_view_triage(const fl_view *v, const char *key, const fl_triage_worth *worth,
                    const fl_triage_lot *weighed, const fl_triage_asked *asked)
{
    static const char *const names[] = {"bin_week", "times_price", "tip_share", "finds"};
    const double values[] = {worth->bin_week, worth->times_price, worth->tip_share, 1.0};
    fl_json_writer *w = v->w;
    fl_sv texts[FL_TRIAGE_ASSUMPTIONS];
    fl_say_triage_assumptions(worth, v->arena, texts);
    fl_json_begin_object(w, key);
    fl_json_begin_array(w, "assumptions");
    for (size_t i = 0; i < FL_TRIAGE_ASSUMPTIONS; i++) {
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "name", names[i]);
        fl_json_put_number(w, "value", values[i]);
        fl_json_put_cstr(w, "grade", "assumed");
        fl_json_put_text(w, "text", texts[i]);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_begin_array(w, "lots");
    for (size_t i = 0; i < asked->n; i++) {
        put_lot(v, &weighed[i]);
    }
    fl_json_end(w);
    fl_json_begin_array(w, "not_on_trial");
    for (size_t i = 0; i < asked->n_others; i++) {
        fl_put_lot_ref(v, NULL, asked->others[i]);
    }
    fl_json_end(w);
    fl_json_end(w);
}
