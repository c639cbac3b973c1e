/* The list of what was found, and one of it whole, as JSON. */
#include "core/ident/ident.h"
#include "view/put.h"
#include "view/view_trace.h"
#include "view/words.h"

static void put_first(const fl_view *v, const char *key, const char *const *lines)
{
    fl_json_begin_array(v->w, key);
    for (int i = 0; i < FL_OUTBREAK_FIRST; i++) {
        fl_json_put_cstr(v->w, NULL, lines[i]);
    }
    fl_json_end(v->w);
}

/* True while a hold lasts that this finding or animal event began. */
static bool holds(const fl_room *room, fl_id finding, fl_id event)
{
    for (size_t i = 0; i < room->meaning.n_holds; i++) {
        const fl_hold *hold = &room->meaning.holds[i];
        bool is_ours = fl_id_is_none(finding) ? fl_id_eq(hold->from_event, event)
                                              : fl_id_eq(hold->finding, finding);
        if (is_ours && hold->from_s <= room->now_s && hold->to_s > room->now_s) {
            return true;
        }
    }
    return false;
}

static void put_members(const fl_view *v, const char *kind, fl_id id, int64_t at_s, fl_id place)
{
    char code[FL_CODE_TEXT_MAX];
    fl_json_put_cstr(v->w, "kind", kind);
    fl_put_id(v->w, "id", id);
    fl_json_put_cstr(v->w, "code", fl_id_code(code, id));
    fl_put_at(v->w, "at", at_s);
    fl_put_on(v, "on", at_s);
    fl_json_put_text(v->w, "when_text", fl_say_date(v->room, at_s, FL_PRECISION_DAY, v->arena));
    fl_put_place_ref(v, "place", place);
}

static fl_sv name_of(fl_sv code)
{
    const fl_threat *threat = fl_know_threat_find(code);
    if (threat != NULL) {
        return fl_sv_from_cstr(threat->name);
    }
    for (size_t i = 0; i < fl_know_lookalike_count(); i++) {
        if (fl_sv_eq_cstr(code, fl_know_lookalike_at(i)->code)) {
            return fl_sv_from_cstr(fl_know_lookalike_at(i)->name);
        }
    }
    return code;
}

static void put_finding_line(const fl_view *v, const char *key, const fl_finding_now *f)
{
    fl_json_writer *w = v->w;
    bool is_harmless = f->threat.len > 0 && fl_know_threat_find(f->threat) == NULL;
    fl_sv name = name_of(f->threat);
    fl_json_begin_object(w, key);
    put_members(v, "finding", f->finding, f->at_s, f->place);
    fl_put_lot_ref(v, "lot",
                   fl_id_is_none(f->lot) ? NULL : fl_meaning_lot(&v->room->meaning, f->lot));
    fl_put_text(w, "threat", f->threat);
    fl_put_text(w, "name", name);
    fl_json_put_bool(w, "is_named", f->threat.len > 0);
    fl_json_put_bool(w, "is_harmless", is_harmless);
    fl_json_put_bool(w, "is_retracted", f->is_retracted);
    fl_json_put_bool(w, "is_held", holds(v->room, f->finding, f->look));
    fl_json_put_text(w, "text",
                     f->threat.len == 0 ? (f->what.len > 0 ? f->what : FL_SV("not identified yet"))
                     : f->stage.len > 0 ? fl_arena_printf(v->arena, "%.*s, %.*s", FL_SV_ARG(name),
                                                          FL_SV_ARG(f->stage))
                                        : name);
    fl_json_end(w);
}

static void put_animal_line(const fl_view *v, const char *key, const fl_event *e)
{
    const fl_ev_animal_noted *a = &e->body.animal_noted;
    fl_json_begin_object(v->w, key);
    put_members(v, "animal", e->id, e->at_s, a->place);
    fl_put_lot_ref(v, "lot", NULL);
    fl_put_text(v->w, "threat", a->threat);
    fl_put_text(v->w, "name", name_of(a->threat));
    fl_json_put_bool(v->w, "is_named", a->threat.len > 0);
    fl_json_put_bool(v->w, "is_harmless", false);
    fl_json_put_bool(v->w, "is_retracted", false);
    fl_json_put_bool(v->w, "is_held", holds(v->room, (fl_id){{0}}, e->id));
    fl_json_put_text(v->w, "text", fl_say_animal_event(e, v->arena));
    fl_json_end(v->w);
}

/* The last first: findings are by time, so are events. */
void fl_view_found(const fl_view *v, const char *key)
{
    const fl_room *room = v->room;
    size_t f = room->meaning.n_findings;
    size_t e = room->n_events;
    fl_json_begin_object(v->w, key);
    put_first(v, "first", fl_outbreak_first_plants);
    put_first(v, "first_animals", fl_outbreak_first_animals);
    fl_json_begin_array(v->w, "found");
    for (;;) {
        while (e > 0 && room->events[e - 1].kind != FL_KIND_ANIMAL_NOTED) {
            e--;
        }
        if (f == 0 && e == 0) {
            break;
        }
        if (e == 0 || (f > 0 && room->meaning.findings[f - 1].at_s >= room->events[e - 1].at_s)) {
            put_finding_line(v, NULL, &room->meaning.findings[--f]);
        } else {
            put_animal_line(v, NULL, &room->events[--e]);
        }
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
}

static fl_sv date_word(const fl_room *room, int64_t at_s, fl_arena *arena)
{
    return at_s == FL_GATE_NEVER ? FL_SV("no date within half a year")
           : at_s <= room->now_s ? FL_SV("today")
                                 : fl_say_date(room, at_s, FL_PRECISION_DAY, arena);
}

fl_sv fl_say_moved_date(const fl_room *room, const fl_outbreak_date *date, fl_arena *arena)
{
    fl_sv was = date_word(room, date->was_s, arena);
    fl_sv now = date_word(room, date->now_s, arena);
    return fl_sv_eq(was, now)
               ? fl_arena_printf(arena, "%.*s, as before", FL_SV_ARG(now))
               : fl_arena_printf(arena, "was %.*s, now %.*s", FL_SV_ARG(was), FL_SV_ARG(now));
}

void fl_view_dates(const fl_view *v, const char *key, const fl_outbreak_dates *dates)
{
    fl_json_begin_array(v->w, key);
    for (size_t i = 0; i < dates->n; i++) {
        const fl_outbreak_date *date = &dates->list[i];
        fl_json_begin_object(v->w, NULL);
        fl_put_lot_ref(v, "lot", date->lot);
        fl_put_on(v, "was_on", date->was_s);
        fl_put_on(v, "now_on", date->now_s);
        fl_json_put_text(v->w, "text", fl_say_moved_date(v->room, date, v->arena));
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

fl_status fl_view_found_one(const fl_view *v, const char *key, const fl_view_found_args *args,
                            fl_err *err)
{
    fl_json_begin_object(v->w, key);
    if (args->question->finding != NULL) {
        put_finding_line(v, "of", args->question->finding);
    } else {
        put_animal_line(v, "of", args->question->animal);
    }
    fl_status status = fl_view_outbreak(v, "outbreak", args->outbreak, err);
    fl_view_dates(v, "dates", args->dates);
    fl_json_end(v->w);
    return status;
}

/* ---- what can be named ---- */

static void put_threat(const fl_view *v, const fl_threat *threat)
{
    static const char *const classes[] = {[FL_CLASS_PEST] = "pest",
                                          [FL_CLASS_STOWAWAY] = "stowaway",
                                          [FL_CLASS_PATHOGEN] = "pathogen"};
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "code", threat->code);
    fl_json_put_cstr(w, "name", threat->name);
    fl_json_put_cstr(w, "latin", threat->latin);
    fl_json_put_cstr(w, "class", classes[threat->class]);
    fl_json_put_cstr(w, "look_where", threat->look_where);
    fl_json_put_cstr(w, "harm", threat->harm);
    fl_json_begin_array(w, "stages");
    for (int s = 0; s < threat->n_stages; s++) {
        fl_json_put_cstr(w, NULL, threat->stage[s].name);
    }
    fl_json_end(w);
    fl_json_end(w);
}

void fl_view_threats(const fl_view *v, const char *key)
{
    fl_json_begin_object(v->w, key);
    fl_json_begin_array(v->w, "threats");
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        put_threat(v, fl_know_threat(i));
    }
    fl_json_end(v->w);
    fl_json_begin_array(v->w, "look_alikes");
    for (size_t i = 0; i < fl_know_lookalike_count(); i++) {
        const fl_know_lookalike *l = fl_know_lookalike_at(i);
        fl_json_begin_object(v->w, NULL);
        fl_json_put_cstr(v->w, "code", l->code);
        fl_json_put_cstr(v->w, "name", l->name);
        fl_json_put_cstr(v->w, "cue", l->cue);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
}
