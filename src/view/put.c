/* Pieces of answers: ids, moments, words, references, one threat in words. */
#include "view/put.h"

void fl_put_id(fl_json_writer *w, const char *key, fl_id id)
{
    char text[FL_ID_TEXT_MAX];
    if (fl_id_is_none(id)) {
        fl_json_put_null(w, key);
    } else {
        fl_json_put_cstr(w, key, fl_id_format(text, id));
    }
}

void fl_put_at(fl_json_writer *w, const char *key, int64_t at_s)
{
    char text[FL_CIVIL_TEXT_MAX];
    if (at_s == FL_TIME_OPEN || at_s == INT64_MIN) {
        fl_json_put_null(w, key);
    } else {
        fl_json_put_cstr(w, key, fl_civil_format_utc(text, at_s));
    }
}

void fl_put_on(const fl_view *v, const char *key, int64_t at_s)
{
    fl_put_text(v->w, key, fl_say_civil(v->room, at_s, v->arena));
}

void fl_put_text(fl_json_writer *w, const char *key, fl_sv text)
{
    if (text.len == 0) {
        fl_json_put_null(w, key);
    } else {
        fl_json_put_text(w, key, text);
    }
}

void fl_put_word(fl_json_writer *w, const char *key, const char *text_key, const fl_word *word)
{
    fl_json_put_cstr(w, key, word->word);
    fl_json_put_cstr(w, text_key, word->text);
}

void fl_put_mask(fl_json_writer *w, const char *key, unsigned mask, const fl_word *words, int count)
{
    fl_json_begin_array(w, key);
    for (int i = 0; i < count; i++) {
        if ((mask & (1U << i)) != 0) {
            fl_json_put_cstr(w, NULL, words[i].word);
        }
    }
    fl_json_end(w);
}

static void put_named(fl_json_writer *w, fl_id id, fl_sv name)
{
    char code[FL_CODE_TEXT_MAX];
    fl_put_id(w, "id", id);
    fl_json_put_cstr(w, "code", fl_id_code(code, id));
    fl_json_put_text(w, "name", name);
}

void fl_put_lot_ref(const fl_view *v, const char *key, const fl_lot *lot)
{
    if (lot == NULL) {
        fl_json_put_null(v->w, key);
        return;
    }
    fl_json_begin_object(v->w, key);
    put_named(v->w, lot->id, fl_room_lot_name(v->room, lot));
    fl_json_end(v->w);
}

void fl_put_place_ref(const fl_view *v, const char *key, fl_id place)
{
    const fl_ev_place_set *set = fl_defs_place(&v->room->defs, place);
    if (fl_id_is_none(place)) {
        fl_json_put_null(v->w, key);
        return;
    }
    fl_json_begin_object(v->w, key);
    put_named(v->w, place, fl_room_place_name(v->room, place));
    fl_json_put_cstr(v->w, "kind",
                     fl_words_place_kind[set != NULL ? set->kind : FL_PLACE_OPEN_SPOT].word);
    fl_json_end(v->w);
}

void fl_begin_threat(const fl_view *v, const char *key, const fl_say_threat_args *args)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, key);
    fl_json_put_cstr(w, "threat", args->threat->code);
    fl_json_put_cstr(w, "name", args->threat->name);
    fl_json_put_text(w, "plural", fl_say_plural(args->threat, v->arena));
    fl_json_put_cstr(w, "latin", args->threat->latin);
    fl_json_put_number(w, "prob", args->chance);
    fl_json_put_number(w, "prob_least", args->least);
    fl_json_put_number(w, "prob_most", args->most);
    fl_json_put_text(w, "chance_text", fl_say_chance(args->chance, v->arena));
    fl_put_text(w, "band_text", fl_say_band(args->least, args->most, v->arena));
    fl_json_put_text(w, "in_100_text", fl_say_in_100(args->chance, v->arena));
    fl_json_put_text(w, "text", fl_say_threat(args, v->arena));
}

bool fl_ids_have(const fl_id_list *list, fl_id id)
{
    for (size_t i = 0; i < list->count; i++) {
        if (fl_id_eq(list->ids[i], id)) {
            return true;
        }
    }
    return false;
}

/* ---- what happened ---- */

void fl_put_look(const fl_view *v, const fl_event *event)
{
    const fl_ev_look_done *look = &event->body.look_done;
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_id(w, "event_id", event->id);
    fl_put_at(w, "at", event->at_s);
    fl_put_on(v, "on", event->at_s);
    fl_json_put_text(w, "when_text", fl_say_when(v->room, event->at_s, v->arena));
    fl_put_place_ref(v, "place", look->place);
    fl_put_word(w, "effort", "effort_text", &fl_words_effort[look->effort]);
    fl_json_put_bool(w, "is_after_dark", look->is_after_dark);
    fl_put_mask(w, "devices", look->devices, fl_words_device, FL_DEVICE_COUNT);
    fl_json_put_number(w, "frac_examined", look->frac_examined);
    fl_put_word(w, "hands", "hands_text", &fl_words_hands[look->hands]);
    fl_json_put_bool(w, "has_new_growth", look->has_new_growth);
    fl_json_put_int(w, "findings", (int64_t)look->n_findings);
    fl_json_put_text(w, "found_text",
                     look->n_findings == 0 ? FL_SV("nothing found")
                     : look->n_findings == 1
                         ? FL_SV("1 finding")
                         : fl_arena_printf(v->arena, "%zu findings", look->n_findings));
    fl_put_text(w, "note", event->note);
    fl_json_end(w);
}

/* A threat's or a look-alike's name; the code itself when it is neither. */
static fl_sv name_of_code(fl_sv code)
{
    const fl_threat *threat = fl_know_threat_find(code);
    if (threat != NULL) {
        return fl_sv_from_cstr(threat->name);
    }
    for (size_t i = 0; i < fl_know_lookalike_count(); i++) {
        const fl_know_lookalike *like = fl_know_lookalike_at(i);
        if (fl_sv_eq_cstr(code, like->code)) {
            return fl_sv_from_cstr(like->name);
        }
    }
    return code;
}

static fl_sv finding_text(const fl_view *v, const fl_finding_now *f)
{
    fl_sv what = f->threat.len > 0 ? name_of_code(f->threat) : FL_SV("not identified yet");
    return fl_arena_printf(v->arena, "%.*s%s%.*s%s%s", FL_SV_ARG(what),
                           f->stage.len > 0 ? ", " : "", FL_SV_ARG(f->stage),
                           f->is_removed ? "; taken away" : "",
                           f->is_retracted ? "; taken back later" : "");
}

void fl_put_finding(const fl_view *v, const fl_finding_now *f)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_id(w, "id", f->finding);
    fl_put_id(w, "look_event_id", f->look);
    fl_put_at(w, "at", f->at_s);
    fl_put_on(v, "on", f->at_s);
    fl_json_put_text(w, "when_text", fl_say_when(v->room, f->at_s, v->arena));
    fl_put_place_ref(v, "place", f->place);
    fl_put_lot_ref(v, "lot", fl_meaning_lot(&v->room->meaning, f->lot));
    fl_put_text(w, "threat", f->threat);
    fl_put_text(w, "name", name_of_code(f->threat));
    fl_put_text(w, "stage", f->stage);
    fl_json_put_int(w, "count", f->count);
    fl_put_text(w, "what", f->what);
    fl_json_put_bool(w, "is_removed", f->is_removed);
    fl_json_put_bool(w, "is_retracted", f->is_retracted);
    fl_json_put_text(w, "text", finding_text(v, f));
    fl_json_end(w);
}

void fl_put_conflict(const fl_view *v, const fl_conflict *c)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_word(w, "kind", "text", &fl_words_conflict[c->kind]);
    fl_put_at(w, "at", c->at_s);
    fl_put_on(v, "on", c->at_s);
    fl_put_id(w, "event_id", c->event);
    fl_put_id(w, "other_event_id", c->other);
    fl_put_lot_ref(v, "lot", fl_meaning_lot(&v->room->meaning, c->lot));
    fl_put_place_ref(v, "place", c->place);
    fl_json_end(w);
}

static const fl_word hold_causes[] = {
    [FL_HOLD_BY_KEEPER] = {"keeper", "set by you"},
    [FL_HOLD_BY_FINDING] = {"finding", "something was found"},
    [FL_HOLD_BY_ANIMAL] = {"animal", "an animal was ill, died or tested positive"},
};

void fl_put_hold(const fl_view *v, const fl_hold *hold)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_id(w, "id", hold->id);
    fl_put_word(w, "cause", "cause_text", &hold_causes[hold->cause]);
    fl_put_text(w, "why", hold->why);
    fl_put_id(w, "finding_id", hold->finding);
    fl_put_at(w, "from_at", hold->from_s);
    fl_put_on(v, "from_on", hold->from_s);
    fl_put_at(w, "to_at", hold->to_s);
    fl_put_on(v, "to_on", hold->to_s);
    fl_json_put_bool(w, "is_now", hold->from_s <= v->room->now_s && hold->to_s > v->room->now_s);
    fl_json_end(w);
}
