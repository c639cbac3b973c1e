/* A pasted list, as it was understood: shown before it is recorded. */
#include "view/moving_in.h"

#include "view/put.h"

fl_sv fl_say_moving_in(const fl_moving_in *m, fl_arena *arena)
{
    size_t n_new_places = 0;
    int64_t n_plants = 0;
    for (size_t i = 0; i < m->n_places; i++) {
        n_new_places += m->places[i].is_new;
    }
    for (size_t i = 0; i < m->n_lots; i++) {
        n_plants += m->lots[i].count;
    }
    const fl_sv troubles =
        m->n_troubles == 0 ? FL_SV("")
                           : fl_arena_printf(arena, " %zu line%s not understood.", m->n_troubles,
                                             m->n_troubles == 1 ? " was" : "s were");
    return fl_arena_printf(
        arena, "%zu place%s, %zu of them new; %zu lot%s, %lld plant%s in all.%.*s", m->n_places,
        m->n_places == 1 ? "" : "s", n_new_places, m->n_lots, m->n_lots == 1 ? "" : "s",
        (long long)n_plants, n_plants == 1 ? "" : "s", FL_SV_ARG(troubles));
}

static void put_place(const fl_view *v, const fl_moving_place *place)
{
    fl_json_begin_object(v->w, NULL);
    fl_put_id(v->w, "id", place->place);
    fl_json_put_text(v->w, "name", place->name);
    fl_json_put_bool(v->w, "is_new", place->is_new);
    fl_put_word(v->w, "kind", "kind_text", &fl_words_place_kind[place->kind]);
    fl_put_mask(v->w, "uses", place->uses, fl_words_use, FL_USE_COUNT);
    fl_json_put_text(v->w, "uses_text", fl_say_uses(place->uses, v->arena));
    fl_put_text(v->w, "animals", place->animals);
    fl_json_end(v->w);
}

static void put_lot(const fl_view *v, const fl_moving_lot *lot)
{
    fl_json_begin_object(v->w, NULL);
    fl_json_put_int(v->w, "line", (int64_t)lot->line);
    fl_json_put_text(v->w, "place", lot->place->name);
    fl_json_put_text(v->w, "plant", lot->name);
    fl_json_put_int(v->w, "count", lot->count);
    fl_json_put_bool(v->w, "is_new", lot->is_new);
    fl_put_text(v->w, "botanical",
                fl_sv_from_cstr(lot->row != NULL ? lot->row->botanical_name : ""));
    fl_json_end(v->w);
}

void fl_view_moving_in(const fl_view *v, const char *key, const fl_moving_in *m, bool is_recorded,
                       const fl_event *events, size_t n_events)
{
    fl_json_writer *w = v->w;
    char id[FL_ID_TEXT_MAX];
    fl_json_begin_object(w, key);
    fl_json_put_bool(w, "is_recorded", is_recorded);
    fl_json_put_text(w, "text", fl_say_moving_in(m, v->arena));
    fl_json_begin_array(w, "places");
    for (size_t i = 0; i < m->n_places; i++) {
        put_place(v, &m->places[i]);
    }
    fl_json_end(w);
    fl_json_begin_array(w, "lots");
    for (size_t i = 0; i < m->n_lots; i++) {
        put_lot(v, &m->lots[i]);
    }
    fl_json_end(w);
    fl_json_begin_array(w, "troubles");
    for (size_t i = 0; i < m->n_troubles; i++) {
        fl_json_begin_object(w, NULL);
        fl_json_put_int(w, "line", (int64_t)m->troubles[i].line);
        fl_json_put_text(w, "text", m->troubles[i].text);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_begin_array(w, "event_ids");
    for (size_t i = 0; i < n_events; i++) {
        fl_json_put_cstr(w, NULL, fl_id_format(id, events[i].id));
    }
    fl_json_end(w);
    fl_json_end(w);
}
