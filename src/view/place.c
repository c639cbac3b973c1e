/* Places: in a list, and one whole. */
#include <stdlib.h>

#include "app/trims.h"
#include "view/put.h"

/* ---- looks ---- */

static const fl_event *last_look(const fl_view *v, fl_id place)
{
    for (size_t i = v->room->n_events; i > 0; i--) {
        const fl_event *event = &v->room->events[i - 1];
        if (event->kind == FL_KIND_LOOK_DONE && fl_id_eq(event->body.look_done.place, place)) {
            return event;
        }
    }
    return NULL;
}

static void put_last_look(const fl_view *v, fl_id place)
{
    const fl_event *event = last_look(v, place);
    fl_put_at(v->w, "last_look_at", event != NULL ? event->at_s : INT64_MIN);
    fl_put_on(v, "last_look_on", event != NULL ? event->at_s : INT64_MIN);
    fl_put_text(v->w, "last_look_text",
                event != NULL ? fl_say_when(v->room, event->at_s, v->arena) : FL_SV(""));
}

/* ---- what a place is ---- */

static void put_nature(const fl_view *v, const fl_ev_place_set *place)
{
    fl_json_writer *w = v->w;
    char code[FL_CODE_TEXT_MAX];
    unsigned uses = fl_gate_uses_of_place(place);
    fl_put_id(w, "id", place->place);
    fl_json_put_cstr(w, "code", fl_id_code(code, place->place));
    fl_json_put_text(w, "name", fl_room_place_name(v->room, place->place));
    fl_put_word(w, "kind", "kind_text", &fl_words_place_kind[place->kind]);
    fl_put_mask(w, "uses", uses, fl_words_use, FL_USE_COUNT);
    fl_json_put_text(w, "uses_text", fl_say_uses(uses, v->arena));
    fl_json_put_cstr(w, "strictest_use", fl_words_use[fl_use_strictest(uses)].word);
    fl_put_text(w, "animals", place->animals);
    fl_json_put_bool(w, "has_animals", place->has_animals);
    fl_json_put_bool(w, "has_gasket", place->has_gasket);
    fl_json_put_number(w, "set_temp_c", place->set_temp_c);
    fl_json_put_number(w, "volume_l", place->volume_l);
    if (place->shelf >= 0) {
        fl_json_put_int(w, "shelf", place->shelf);
    } else {
        fl_json_put_null(w, "shelf");
    }
    fl_json_put_bool(w, "is_retired", place->is_retired);
    fl_json_put_bool(w, "is_held",
                     fl_meaning_is_held(&v->room->meaning, place->place, v->room->now_s));
}

static void put_fill_members(const fl_view *v, const fl_fill *fill)
{
    int64_t to_s = fill->to_s == FL_TIME_OPEN ? v->room->now_s : fill->to_s;
    double days = (double)(to_s - fill->from_s) / FL_DAY_S;
    fl_put_id(v->w, "id", fill->id);
    fl_put_at(v->w, "from_at", fill->from_s);
    fl_put_on(v, "from_on", fill->from_s);
    fl_put_at(v->w, "to_at", fill->to_s);
    fl_put_on(v, "to_on", fill->to_s);
    fl_json_put_number(v->w, "days", days);
    fl_json_put_text(v->w, "days_text", fl_say_days(days, v->arena));
    fl_json_put_bool(v->w, "began_with_lots", fill->began_with_lots);
}

static void put_fill(const fl_view *v, fl_id place)
{
    const fl_fill *fill = fl_meaning_fill_at(&v->room->meaning, place, v->room->now_s);
    if (fill == NULL) {
        fl_json_put_null(v->w, "fill");
        return;
    }
    fl_json_begin_object(v->w, "fill");
    put_fill_members(v, fill);
    fl_json_end(v->w);
}

/* The lots that stand there, and the day the last of them could go. */
static fl_status put_lots(const fl_view *v, fl_id place, fl_err *err)
{
    int64_t opens_s = v->room->now_s;
    size_t n_asked = 0;
    fl_status status = FL_OK;
    fl_json_begin_array(v->w, "lots");
    for (size_t i = 0; i < v->room->meaning.n_lots && status == FL_OK; i++) {
        const fl_lot *lot = &v->room->meaning.lots[i];
        int64_t at_s = v->room->now_s;
        if (lot->is_gone || !fl_id_eq(lot->place, place)) {
            continue;
        }
        status = fl_put_lot_brief(v, lot, &at_s, err);
        opens_s = at_s > opens_s ? at_s : opens_s;
        n_asked += fl_phase_of(v->room, lot) != FL_PHASE_ESTABLISHED && v->chances != NULL;
    }
    fl_json_end(v->w);
    fl_put_on(v, "opens_on", n_asked > 0 ? opens_s : INT64_MIN);
    fl_put_text(v->w, "opens_text",
                n_asked > 0 ? fl_say_when(v->room, opens_s, v->arena) : FL_SV(""));
    return status;
}

/* ---- the list ---- */

static int compare_places(const void *a, const void *b)
{
    const fl_ev_place_set *x = *(const fl_ev_place_set *const *)a;
    const fl_ev_place_set *y = *(const fl_ev_place_set *const *)b;
    if (x->kind != y->kind) {
        return x->kind < y->kind ? -1 : 1;
    }
    if (x->shelf != y->shelf) {
        return x->shelf < y->shelf ? -1 : 1;
    }
    int by_name = fl_sv_compare(x->name, y->name);
    return by_name != 0 ? by_name : fl_id_compare(x->place, y->place);
}

fl_status fl_view_places_only(const fl_view *v, const char *key,
                              const fl_ev_place_set *const *places, size_t count, fl_err *err)
{
    fl_status status = FL_OK;
    fl_json_begin_object(v->w, key);
    fl_json_begin_array(v->w, "places");
    for (size_t i = 0; i < count && status == FL_OK; i++) {
        fl_json_begin_object(v->w, NULL);
        put_nature(v, places[i]);
        put_fill(v, places[i]->place);
        put_last_look(v, places[i]->place);
        status = put_lots(v, places[i]->place, err);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
    return status;
}

fl_status fl_view_places(const fl_view *v, const char *key, fl_err *err)
{
    const fl_def_set *set = &v->room->defs.places;
    const fl_ev_place_set **places = FL_ARENA_ARRAY(v->arena, const fl_ev_place_set *, set->count);
    size_t n = 0;
    for (size_t i = 0; i < set->count; i++) {
        if (!set->events[i]->body.place_set.is_retired) {
            places[n++] = &set->events[i]->body.place_set;
        }
    }
    if (n > 1) {
        qsort(places, n, sizeof places[0], compare_places);
    }
    return fl_view_places_only(v, key, places, n, err);
}

/* ---- one place ---- */

static void put_holds(const fl_view *v, fl_id place)
{
    fl_json_begin_array(v->w, "holds");
    for (size_t i = 0; i < v->room->meaning.n_holds; i++) {
        if (fl_id_eq(v->room->meaning.holds[i].place, place)) {
            fl_put_hold(v, &v->room->meaning.holds[i]);
        }
    }
    fl_json_end(v->w);
}

/* Cards and baits that hang there now. */
static void put_cards(const fl_view *v, fl_id place)
{
    int64_t since_s[FL_DEVICE_COUNT];
    for (int i = 0; i < FL_DEVICE_COUNT; i++) {
        since_s[i] = INT64_MIN;
    }
    for (size_t i = 0; i < v->room->n_events; i++) {
        const fl_event *event = &v->room->events[i];
        const fl_ev_card_set *card = &event->body.card_set;
        if (event->kind == FL_KIND_CARD_SET && fl_id_eq(card->place, place)) {
            since_s[card->device] = card->is_taken_away ? INT64_MIN : event->at_s;
        }
    }
    fl_json_begin_array(v->w, "cards");
    for (int i = 0; i < FL_DEVICE_COUNT; i++) {
        if (since_s[i] != INT64_MIN) {
            fl_json_begin_object(v->w, NULL);
            fl_put_word(v->w, "device", "device_text", &fl_words_device[i]);
            fl_put_on(v, "since_on", since_s[i]);
            fl_json_end(v->w);
        }
    }
    fl_json_end(v->w);
}

static void put_looks(const fl_view *v, fl_id place)
{
    fl_json_begin_array(v->w, "looks");
    for (size_t i = v->room->n_events; i > 0; i--) {
        const fl_event *event = &v->room->events[i - 1];
        if (event->kind == FL_KIND_LOOK_DONE && fl_id_eq(event->body.look_done.place, place)) {
            fl_put_look(v, event);
        }
    }
    fl_json_end(v->w);
}

static void put_findings(const fl_view *v, fl_id place)
{
    fl_json_begin_array(v->w, "findings");
    for (size_t i = v->room->meaning.n_findings; i > 0; i--) {
        if (fl_id_eq(v->room->meaning.findings[i - 1].place, place)) {
            fl_put_finding(v, &v->room->meaning.findings[i - 1]);
        }
    }
    fl_json_end(v->w);
}

static void put_earlier_fills(const fl_view *v, fl_id place)
{
    fl_json_begin_array(v->w, "earlier_fills");
    for (size_t i = v->room->meaning.n_fills; i > 0; i--) {
        const fl_fill *fill = &v->room->meaning.fills[i - 1];
        if (fl_id_eq(fill->place, place) && fill->to_s <= v->room->now_s) {
            fl_json_begin_object(v->w, NULL);
            put_fill_members(v, fill);
            fl_json_end(v->w);
        }
    }
    fl_json_end(v->w);
}

static void put_conflicts(const fl_view *v, fl_id place)
{
    fl_json_begin_array(v->w, "conflicts");
    for (size_t i = 0; i < v->room->meaning.n_conflicts; i++) {
        if (fl_id_eq(v->room->meaning.conflicts[i].place, place)) {
            fl_put_conflict(v, &v->room->meaning.conflicts[i]);
        }
    }
    fl_json_end(v->w);
}

static fl_sv total_text(const fl_view *v, const fl_place_total *total)
{
    if (total->worst == NULL) {
        return FL_SV("Nothing stands here.");
    }
    fl_sv any = fl_say_chance(total->any, v->arena);
    fl_sv worst = fl_say_chance(total->worst_chance, v->arena);
    fl_sv name = fl_say_plural(total->worst, v->arena);
    return fl_arena_printf(v->arena,
                           "That at least one pest is in here: %.*s. The likeliest, %.*s: %.*s.",
                           FL_SV_ARG(any), FL_SV_ARG(name), FL_SV_ARG(worst));
}

static fl_status put_total(const fl_view *v, fl_id place, fl_err *err)
{
    fl_place_total total;
    fl_status status = fl_gate_place_total(v->chances, v->room, place, &total, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_begin_object(v->w, "total");
    fl_json_put_number(v->w, "prob_any", total.any);
    fl_json_put_text(v->w, "chance_text", fl_say_chance(total.any, v->arena));
    fl_json_put_text(v->w, "in_100_text", fl_say_in_100(total.any, v->arena));
    fl_json_put_number(v->w, "weighted_sum", total.sum);
    fl_put_text(v->w, "worst_threat",
                total.worst != NULL ? fl_sv_from_cstr(total.worst->code) : FL_SV(""));
    fl_json_put_number(v->w, "prob_worst", total.worst_chance);
    fl_json_put_text(v->w, "text", total_text(v, &total));
    fl_json_end(v->w);
    return FL_OK;
}

/* What is cut back there, and when. */
static void put_trims(const fl_view *v, fl_id place)
{
    fl_json_writer *w = v->w;
    const fl_trim *trims = NULL;
    const size_t n = fl_trims_list(v->room, v->arena, &trims);
    const int64_t end_s = fl_civil_day_end(v->room->now_s, v->room->tz_offset_min);
    fl_json_begin_array(w, "trims");
    for (size_t i = 0; i < n; i++) {
        if (!fl_id_eq(trims[i].place, place)) {
            continue;
        }
        const int64_t due_s = trims[i].due_s < v->room->now_s ? v->room->now_s : trims[i].due_s;
        fl_json_begin_object(w, NULL);
        fl_put_lot_ref(v, "lot", trims[i].lot);
        fl_json_put_bool(w, "is_due", trims[i].due_s <= end_s);
        fl_put_on(v, "due_on", due_s);
        fl_put_on(v, "last_on", trims[i].last_s);
        fl_json_put_int(w, "every_days", trims[i].every_days);
        fl_json_put_bool(w, "is_own_pace", trims[i].is_own);
        fl_json_end(w);
    }
    fl_json_end(w);
}

fl_status fl_view_place(const fl_view *v, const char *key, const fl_ev_place_set *place,
                        fl_err *err)
{
    fl_json_begin_object(v->w, key);
    put_nature(v, place);
    put_fill(v, place->place);
    put_last_look(v, place->place);
    put_holds(v, place->place);
    put_cards(v, place->place);
    put_looks(v, place->place);
    put_findings(v, place->place);
    put_earlier_fills(v, place->place);
    put_conflicts(v, place->place);
    put_trims(v, place->place);
    fl_status status = put_lots(v, place->place, err);
    if (status == FL_OK) {
        status = put_total(v, place->place, err);
    }
    fl_json_end(v->w);
    return status;
}
