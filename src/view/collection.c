/* The collection as JSON and in sentences. */
#include "view/collection.h"

#include <math.h>

#include "base/str.h"
#include "view/put.h"

fl_sv fl_say_mothers(const fl_room *room, const fl_collection_plant *p, fl_arena *arena)
{
    if (p->n_mothers == 0) {
        return FL_SV("");
    }
    for (size_t i = 0; i < p->n_lots; i++) {
        if (p->lots[i].must_look) {
            const fl_sv place = fl_room_place_name(room, p->lots[i].lot->place);
            const fl_sv sum = fl_say_percent(p->lots[i].chance_stock, arena);
            return fl_arena_printf(
                arena,
                "The mother in %.*s: what could be on her has come to %.*s, more "
                "than is enough for stock: look before you cut.",
                FL_SV_ARG(place), FL_SV_ARG(sum));
        }
    }
    if (p->n_mother_places == 1) {
        return FL_SV("All mothers stand in one place: keep another elsewhere.");
    }
    return fl_arena_printf(arena, "Mothers in %zu places.", p->n_mother_places);
}

fl_sv fl_say_giving(const fl_room *room, const fl_collection_lot *l, fl_arena *arena)
{
    const fl_giving *g = &l->giving;
    if (!l->is_mother) {
        return FL_SV("");
    }
    const long long spare = (long long)g->spare * l->lot->count;
    const fl_sv again = fl_say_days(g->again_days, arena);
    const int64_t next_s = room->now_s + (int64_t)g->next_day * FL_DAY_S;
    const fl_sv when = g->next_day == 0 ? FL_SV("now") : fl_say_when(room, next_s, arena);
    const fl_sv why = g->is_own ? fl_arena_printf(arena, "as you took them %d times", g->n_takings)
                                : fl_arena_printf(arena, "it %s; common practice", g->growth->text);
    return fl_arena_printf(arena, "can give %lld %.*s, then again after %.*s (%.*s)", spare,
                           FL_SV_ARG(when), FL_SV_ARG(again), FL_SV_ARG(why));
}

fl_sv fl_say_no_backup(const fl_collection *c, fl_arena *arena)
{
    fl_sv names = FL_SV("");
    for (size_t i = 0; i < c->n_plants; i++) {
        const fl_collection_plant *p = &c->plants[i];
        if (p->n_mothers > 0 && !p->has_backup) {
            names = names.len == 0 ? p->name
                                   : fl_arena_printf(arena, "%.*s, %.*s", FL_SV_ARG(names),
                                                     FL_SV_ARG(p->name));
        }
    }
    return names.len == 0
               ? names
               : fl_arena_printf(arena, "Mothers in one place only, without a back-up: %.*s.",
                                 FL_SV_ARG(names));
}

fl_sv fl_say_cuttings(const fl_collection_plant *p, fl_arena *arena)
{
    double share;
    double low;
    double high;
    if (p->n_cut == 0) {
        return FL_SV("");
    }
    fl_collection_success(p->n_cut, p->n_lost, &share, &low, &high);
    return fl_arena_printf(arena,
                           "%lld of your %lld cuttings lived; that fits %.0f to %.0f in 100.",
                           (long long)(p->n_cut - p->n_lost), (long long)p->n_cut,
                           floor(100.0 * low), ceil(100.0 * high));
}

fl_sv fl_say_rooting(const fl_collection_plant *p, fl_arena *arena)
{
    if (p->row == NULL || isnan(p->row->rooting_days_min)) {
        return FL_SV("");
    }
    return fl_arena_printf(arena, "Roots in %.0f to %.0f days at 21 to 25 degrees: %s.",
                           p->row->rooting_days_min, p->row->rooting_days_max, p->row->propagation);
}

fl_sv fl_say_quiet_for(const fl_collection_lot *l, fl_arena *arena)
{
    if (l->quiet_for == 0) {
        return l->phase == FL_PHASE_ESTABLISHED && !l->is_mother
                   ? FL_SV("grows where it is")
                   : FL_SV("not quiet enough to go anywhere yet");
    }
    const fl_sv uses = fl_say_uses(l->quiet_for, arena);
    return fl_arena_printf(arena, "quiet enough for %.*s, after a look", FL_SV_ARG(uses));
}

static void put_lot(const fl_view *v, const fl_collection_lot *l, bool is_asked)
{
    fl_json_writer *w = v->w;
    const bool is_told = is_asked || (l->phase == FL_PHASE_ESTABLISHED && !l->is_mother);
    fl_json_begin_object(w, NULL);
    fl_put_lot_ref(v, "lot", l->lot);
    fl_json_put_int(w, "count", l->lot->count);
    fl_put_place_ref(v, "place", l->lot->place);
    fl_put_id(w, "mother_id", l->lot->mother);
    fl_put_word(w, "phase", "phase_text", &fl_words_phase[l->phase]);
    fl_json_put_bool(w, "is_mother", l->is_mother);
    fl_json_put_bool(w, "must_look", l->must_look);
    fl_put_mask(w, "quiet_for", l->quiet_for, fl_words_use, FL_USE_COUNT);
    fl_put_text(w, "quiet_for_text", is_told ? fl_say_quiet_for(l, v->arena) : FL_SV(""));
    if (l->is_mother) {
        fl_json_put_int(w, "spare", (int64_t)l->giving.spare * l->lot->count);
        fl_put_on(v, "next_cut_on", v->room->now_s + (int64_t)l->giving.next_day * FL_DAY_S);
    } else {
        fl_json_put_null(w, "spare");
        fl_json_put_null(w, "next_cut_on");
    }
    fl_put_text(w, "giving_text", fl_say_giving(v->room, l, v->arena));
    fl_json_end(w);
}

static void put_plant(const fl_view *v, const fl_collection_plant *p)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_id(w, "plant_id", p->plant);
    fl_json_put_text(w, "name", p->name);
    fl_put_text(w, "botanical", fl_sv_from_cstr(p->row != NULL ? p->row->botanical_name : ""));
    fl_json_put_int(w, "count", p->count);
    fl_json_put_int(w, "mothers", (int64_t)p->n_mothers);
    fl_json_put_int(w, "mother_places", (int64_t)p->n_mother_places);
    fl_json_put_int(w, "cuttings", p->n_cut);
    fl_json_put_int(w, "cuttings_lost", p->n_lost);
    fl_put_text(w, "mothers_text", fl_say_mothers(v->room, p, v->arena));
    fl_put_text(w, "cuttings_text", fl_say_cuttings(p, v->arena));
    fl_put_text(w, "rooting_text", fl_say_rooting(p, v->arena));
    fl_json_begin_array(w, "lots");
    for (size_t i = 0; i < p->n_lots; i++) {
        put_lot(v, &p->lots[i], p->is_asked);
    }
    fl_json_end(w);
    fl_json_end(w);
}

void fl_view_collection(const fl_view *v, const char *key, const fl_collection *c)
{
    fl_json_begin_object(v->w, key);
    fl_json_begin_array(v->w, "plants");
    for (size_t i = 0; i < c->n_plants; i++) {
        put_plant(v, &c->plants[i]);
    }
    fl_json_end(v->w);
    fl_put_text(v->w, "no_backup_text", fl_say_no_backup(c, v->arena));
    fl_json_end(v->w);
}
