/* A lot's family: what it was cut or split from, up to the first, and all that came of that. */
#include "view/put.h"

#define FAMILY_MAX 200
#define DEPTH_MAX 32

/* The first of the line; bounded, for a record may say that two lots came of each other. */
static const fl_lot *first_of(const fl_meaning *m, const fl_lot *lot)
{
    for (int depth = 0; depth < DEPTH_MAX && !fl_id_is_none(lot->mother); depth++) {
        const fl_lot *mother = fl_meaning_lot(m, lot->mother);
        if (mother == NULL) {
            break;
        }
        lot = mother;
    }
    return lot;
}

/* When it was here no more: the end of its last stay; INT64_MIN while it is. */
static int64_t ended_at(const fl_meaning *m, const fl_lot *lot)
{
    int64_t last_s = INT64_MIN;
    for (size_t i = 0; i < m->n_stays && lot->is_gone; i++) {
        const fl_stay *stay = &m->stays[i];
        if (fl_id_eq(stay->lot, lot->id) && stay->to_s != FL_TIME_OPEN && stay->to_s > last_s) {
            last_s = stay->to_s;
        }
    }
    return last_s;
}

static void put_member(const fl_view *v, const fl_lot *lot, bool is_first)
{
    const int64_t ended_s = ended_at(&v->room->meaning, lot);
    fl_json_begin_object(v->w, NULL);
    fl_put_lot_ref(v, "lot", lot);
    fl_put_id(v->w, "mother_id", is_first ? (fl_id){{0}} : lot->mother);
    fl_put_text(v->w, "origin", fl_sv_from_cstr(fl_kinds[lot->origin].word));
    fl_put_at(v->w, "born_at", lot->born_s);
    fl_put_on(v, "born_on", lot->born_s);
    fl_json_put_text(v->w, "born_text",
                     fl_say_date(v->room, lot->born_s, lot->precision, v->arena));
    fl_put_at(v->w, "ended_at", ended_s);
    fl_put_on(v, "ended_on", ended_s);
    fl_json_put_int(v->w, "count", lot->count);
    fl_put_place_ref(v, "place", lot->is_gone ? (fl_id){{0}} : lot->place);
    fl_json_put_bool(v->w, "is_gone", lot->is_gone);
    fl_json_end(v->w);
}

void fl_put_family(const fl_view *v, const fl_lot *lot)
{
    const fl_meaning *m = &v->room->meaning;
    const fl_lot *first = first_of(m, lot);
    size_t n = 0;
    fl_json_begin_array(v->w, "family");
    for (size_t i = 0; i < m->n_lots && n < FAMILY_MAX; i++) {
        if (first_of(m, &m->lots[i]) == first) {
            put_member(v, &m->lots[i], &m->lots[i] == first);
            n++;
        }
    }
    fl_json_end(v->w);
}
