/* Who carries a pesticide, as JSON and in words. */
#include "view/put.h"
#include "view/view_trace.h"
#include "view/words.h"

/* ---- words ---- */

fl_sv fl_say_residue_trace(const fl_room *room, const fl_residue_trace *trace, fl_arena *arena)
{
    fl_sv name = fl_room_lot_name(room, trace->treated);
    fl_sv date = fl_say_date(room, trace->at_s, FL_PRECISION_DAY, arena);
    const char *goes = !trace->is_listed ? "It is not in our table and is taken for one that goes "
                                           "into every part of the plant, cuttings too."
                       : trace->is_systemic ? "It goes into every part of the plant, cuttings too."
                                            : "It stays on the outside and fades.";
    if (trace->is_by_label) {
        return fl_arena_printf(arena, "%.*s came home on %.*s with %.*s, by its label. %s",
                               FL_SV_ARG(name), FL_SV_ARG(date), FL_SV_ARG(trace->active), goes);
    }
    return fl_arena_printf(arena, "%.*s was treated with %.*s on %.*s. %s", FL_SV_ARG(name),
                           FL_SV_ARG(trace->active), FL_SV_ARG(date), goes);
}

static fl_sv say_where(const fl_room *room, const fl_residue_lot *r, fl_arena *arena)
{
    if (r->is_outside) {
        return FL_SV("it left the room: tell who has it");
    }
    if (r->is_lost) {
        return FL_SV("it is lost or discarded");
    }
    return fl_arena_printf(arena, "in %.*s%s", FL_SV_ARG(fl_room_place_name(room, r->lot->place)),
                           r->is_with_animals ? ", with animals" : "");
}

fl_sv fl_say_residue_lot(const fl_room *room, const fl_residue_lot *lot, fl_arena *arena)
{
    fl_sv date = fl_say_date(room, lot->at_s, FL_PRECISION_DAY, arena);
    fl_sv where = say_where(room, lot, arena);
    fl_sv how =
        lot->from == NULL
            ? FL_SV("treated")
            : fl_arena_printf(arena, "%s %.*s",
                              lot->lot->origin == FL_KIND_LOT_SPLIT ? "split from" : "cut from",
                              FL_SV_ARG(fl_room_lot_name(room, lot->from)));
    if (lot->lot->is_gone) {
        return fl_arena_printf(arena, "%.*s, %.*s; %.*s", FL_SV_ARG(how), FL_SV_ARG(date),
                               FL_SV_ARG(where));
    }
    return fl_arena_printf(arena, "%.*s, %.*s; %.*s. %s", FL_SV_ARG(how), FL_SV_ARG(date),
                           FL_SV_ARG(where), fl_words_residue_why[lot->verdict.why].text);
}

/* ---- JSON ---- */

static void put_uses(const fl_view *v, unsigned uses)
{
    fl_json_begin_array(v->w, "uses");
    for (int use = 0; use < FL_USE_COUNT; use++) {
        if ((uses & (1U << use)) != 0) {
            fl_json_put_cstr(v->w, NULL, fl_words_use[use].word);
        }
    }
    fl_json_end(v->w);
}

static void put_lot(const fl_view *v, const fl_residue_lot *r)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_lot_ref(v, "lot", r->lot);
    fl_put_lot_ref(v, "from_lot", r->from);
    fl_put_place_ref(v, "place", r->lot->place);
    fl_put_at(w, "since_at", r->at_s);
    fl_put_on(v, "since_on", r->at_s);
    fl_put_id(w, "event_id", r->event);
    put_uses(v, r->uses);
    fl_json_put_bool(w, "is_ok_for_use", r->verdict.is_ok_for_use);
    fl_put_word(w, "why", "why_text", &fl_words_residue_why[r->verdict.why]);
    fl_json_put_bool(w, "is_with_animals", r->is_with_animals);
    fl_json_put_bool(w, "is_outside", r->is_outside);
    fl_json_put_bool(w, "is_lost", r->is_lost);
    fl_json_put_text(w, "text", fl_say_residue_lot(v->room, r, v->arena));
    fl_json_end(w);
}

fl_status fl_view_residue(const fl_view *v, const char *key, const fl_residue_trace *trace,
                          fl_err *err)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, key);
    fl_put_lot_ref(v, "treated", trace->treated);
    fl_json_put_text(w, "active", trace->active);
    fl_json_put_bool(w, "is_systemic", trace->is_systemic);
    fl_json_put_bool(w, "is_listed", trace->is_listed);
    fl_json_put_bool(w, "is_by_label", trace->is_by_label);
    fl_put_at(w, "treated_at", trace->at_s);
    fl_put_on(v, "treated_on", trace->at_s);
    fl_json_put_text(w, "text", fl_say_residue_trace(v->room, trace, v->arena));
    fl_json_begin_array(w, "lots");
    for (size_t i = 0; i < trace->n_lots; i++) {
        put_lot(v, &trace->lots[i]);
    }
    fl_json_end(w);
    fl_json_put_int(w, "outside", (int64_t)trace->n_outside);
    fl_status status = fl_view_proposals(v, "proposals", trace->proposals, trace->n_proposals, err);
    fl_json_end(w);
    return status;
}
