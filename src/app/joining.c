/* Fit to be joined: the gate is asked, for the stricter use, of every lot on both sides. */
#include "app/joining.h"

bool fl_joining_is_same_origin(const fl_room *room, const fl_lot *a, const fl_lot *b)
{
    const bool is_bought = !fl_id_is_none(a->arrival) && !fl_id_is_none(b->arrival);
    if (fl_room_origin_of(room, a) == fl_room_origin_of(room, b)) {
        return true;
    }
    return is_bought && fl_id_eq(a->arrival, b->arrival) && fl_id_eq(a->source, b->source);
}

bool fl_joining_is_unfit(const fl_joining *joining)
{
    return joining->is_one && (joining->own.lot != NULL || joining->there.lot != NULL);
}

/* Both sides, as they are told apart. */
typedef struct sides {
    const fl_room *room;
    const fl_lot *const *lots;
    size_t n_lots;
    fl_id place;
} sides;

static bool is_own(const sides *s, const fl_lot *lot)
{
    for (size_t i = 0; i < s->n_lots; i++) {
        if (fl_id_eq(s->lots[i]->id, lot->id)) {
            return true;
        }
    }
    return false;
}

static bool stands_there(const sides *s, const fl_lot *lot)
{
    return !lot->is_gone && fl_id_eq(lot->place, s->place) && !fl_form_is_material(lot->form) &&
           !is_own(s, lot);
}

/* True when some lot there is of another origin; *uses gathers what all of them are for. */
static bool is_joined(const sides *s, unsigned *uses)
{
    bool is_one = false;
    for (size_t k = 0; k < s->n_lots; k++) {
        *uses |= 1U << s->lots[k]->use;
    }
    for (size_t i = 0; i < s->room->meaning.n_lots; i++) {
        const fl_lot *lot = &s->room->meaning.lots[i];
        if (!stands_there(s, lot)) {
            continue;
        }
        *uses |= 1U << lot->use;
        for (size_t k = 0; k < s->n_lots; k++) {
            is_one = is_one || (!fl_form_is_material(s->lots[k]->form) &&
                                !fl_joining_is_same_origin(s->room, lot, s->lots[k]));
        }
    }
    return is_one;
}

/* Keeps the lot when it is not fit, and farther from it than the one before. */
static fl_status try_lot(fl_chances *chances, const fl_room *room, const fl_lot *lot, fl_use use,
                         fl_unfit *worst, fl_err *err)
{
    fl_arena arena;
    fl_gate_now now;
    fl_arena_init(&arena);
    const fl_status status = fl_gate_ask_now(chances, room, lot, 1U << use, &arena, &now, err);
    fl_arena_done(&arena);
    if (status == FL_OK && !now.waits_for_look_only &&
        (worst->lot == NULL || now.sum > worst->sum)) {
        *worst = (fl_unfit){.lot = lot, .sum = now.sum, .ceiling = now.ceiling};
    }
    return status;
}

fl_status fl_joining_ask(fl_chances *chances, const fl_room *room, const fl_lot *const *lots,
                         size_t n_lots, const fl_ev_place_set *place, fl_joining *out, fl_err *err)
{
    const sides s = {.room = room, .lots = lots, .n_lots = n_lots, .place = place->place};
    unsigned uses = place->uses;
    fl_joining joining = {.is_one = is_joined(&s, &uses)};
    fl_status status = FL_OK;
    if (!joining.is_one) {
        *out = joining;
        return FL_OK;
    }
    joining.use = fl_use_strictest(uses);
    for (size_t k = 0; k < n_lots && status == FL_OK; k++) {
        if (!lots[k]->is_gone && !fl_form_is_material(lots[k]->form)) {
            status = try_lot(chances, room, lots[k], joining.use, &joining.own, err);
        }
    }
    for (size_t i = 0; i < room->meaning.n_lots && status == FL_OK; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        if (stands_there(&s, lot)) {
            status = try_lot(chances, room, lot, joining.use, &joining.there, err);
        }
    }
    if (status == FL_OK) {
        *out = joining;
    }
    return status;
}
