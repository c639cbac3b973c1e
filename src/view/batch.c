/* Batches as JSON and in sentences. */
#include "view/batch.h"

#include "base/str.h"
#include "view/put.h"

#define LINE_BYTES_MAX 600

fl_sv fl_say_batch(const fl_batch *b, fl_arena *arena)
{
    fl_str text;
    fl_str_init(&text, LINE_BYTES_MAX);
    fl_str_appendf(&text, "%lld came: %lld %s here", (long long)b->came, (long long)b->here,
                   b->here == 1 ? "is" : "are");
    if (b->died > 0) {
        fl_str_appendf(&text, ", %lld died", (long long)b->died);
    }
    if (b->left > 0) {
        fl_str_appendf(&text, ", %lld left", (long long)b->left);
    }
    fl_str_append_char(&text, '.');
    if (b->told_over > 0) {
        fl_str_appendf(&text,
                       " %lld more were parted from it than it had: see what does not agree.",
                       (long long)b->told_over);
    }
    if (b->told_twice > 0) {
        fl_str_appendf(&text, " %lld went into a lot that was there already.",
                       (long long)b->told_twice);
    }
    fl_sv copy = fl_arena_copy_sv(arena, fl_str_sv(&text));
    fl_str_done(&text);
    return copy;
}

static fl_sv label_of(const fl_room *room, const fl_lot *lot, fl_arena *arena)
{
    char code[FL_CODE_TEXT_MAX];
    const fl_sv name = fl_room_lot_name(room, lot);
    return fl_arena_printf(arena, "%.*s (%s)", FL_SV_ARG(name), fl_id_code(code, lot->id));
}

fl_sv fl_say_leaving(const fl_room *room, const fl_batch_leaving *l, fl_arena *arena)
{
    const fl_sv label = label_of(room, l->lot, arena);
    const fl_sv to = fl_room_place_name(room, l->to);
    const fl_sv on = fl_say_date(room, l->at_s, l->event->precision, arena);
    return fl_arena_printf(arena, "%lld %.*s to %.*s on %.*s", (long long)l->count,
                           FL_SV_ARG(label), FL_SV_ARG(to), FL_SV_ARG(on));
}

fl_sv fl_say_loss(const fl_room *room, const fl_batch_loss *l, fl_arena *arena)
{
    const fl_sv label = label_of(room, l->lot, arena);
    const fl_sv on = fl_say_date(room, l->at_s, l->event->precision, arena);
    return fl_arena_printf(arena, "%lld of %.*s on %.*s%s%.*s", (long long)l->count,
                           FL_SV_ARG(label), FL_SV_ARG(on), l->why.len > 0 ? ": " : "",
                           FL_SV_ARG(l->why));
}

fl_sv fl_say_container(fl_sv container, fl_arena *arena)
{
    return container.len > 0 ? fl_arena_printf(arena, "in %.*s", FL_SV_ARG(container))
                             : FL_SV("as it came");
}

/* ---- JSON ---- */

static void put_leaving(const fl_view *v, const fl_batch_leaving *l)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_lot_ref(v, "lot", l->lot);
    fl_put_lot_ref(v, "batch", l->batch);
    fl_put_place_ref(v, "to", l->to);
    fl_json_put_int(w, "count", l->count);
    fl_put_on(v, "on", l->at_s);
    fl_put_id(w, "event_id", l->event->id);
    fl_json_put_bool(w, "is_against_gate",
                     l->event->kind == FL_KIND_LOT_RELEASED &&
                         l->event->body.lot_released.is_against_gate);
    fl_json_put_text(w, "text", fl_say_leaving(v->room, l, v->arena));
    fl_json_end(w);
}

static void put_leavings(const fl_view *v, const char *key, const fl_batch_leaving *list, size_t n)
{
    fl_json_begin_array(v->w, key);
    for (size_t i = 0; i < n; i++) {
        put_leaving(v, &list[i]);
    }
    fl_json_end(v->w);
}

static void put_account(const fl_view *v, const fl_batch *b)
{
    fl_json_writer *w = v->w;
    fl_put_lot_ref(v, "lot", b->lot);
    fl_json_put_cstr(w, "form_text", fl_words_form[b->lot->form].text);
    fl_put_on(v, "born_on", b->lot->born_s);
    fl_json_put_int(w, "came", b->came);
    fl_json_put_int(w, "here", b->here);
    fl_json_put_int(w, "died", b->died);
    fl_json_put_int(w, "left", b->left);
    fl_json_put_int(w, "told_over", b->told_over);
    fl_json_put_int(w, "told_twice", b->told_twice);
    fl_json_put_text(w, "text", fl_say_batch(b, v->arena));
}

static void put_parts(const fl_view *v, const fl_batch *b)
{
    fl_json_writer *w = v->w;
    fl_json_begin_array(w, "parts");
    for (size_t i = 0; i < b->n_parts; i++) {
        fl_json_begin_object(w, NULL);
        fl_put_lot_ref(v, "lot", b->parts[i].lot);
        fl_json_put_int(w, "count", b->parts[i].lot->count);
        fl_put_place_ref(v, "place", b->parts[i].lot->place);
        fl_put_text(w, "container", b->parts[i].container);
        fl_json_put_text(w, "container_text", fl_say_container(b->parts[i].container, v->arena));
        fl_json_put_cstr(w, "use", fl_words_use[b->parts[i].lot->use].word);
        fl_json_end(w);
    }
    fl_json_end(w);
}

static void put_losses(const fl_view *v, const fl_batch *b)
{
    fl_json_writer *w = v->w;
    fl_json_begin_array(w, "losses");
    for (size_t i = 0; i < b->n_losses; i++) {
        fl_json_begin_object(w, NULL);
        fl_put_lot_ref(v, "lot", b->losses[i].lot);
        fl_json_put_int(w, "count", b->losses[i].count);
        fl_put_on(v, "on", b->losses[i].at_s);
        fl_put_text(w, "why", b->losses[i].why);
        fl_put_id(w, "event_id", b->losses[i].event->id);
        fl_json_put_text(w, "text", fl_say_loss(v->room, &b->losses[i], v->arena));
        fl_json_end(w);
    }
    fl_json_end(w);
}

void fl_view_batch(const fl_view *v, const char *key, const fl_batch *b)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, key);
    put_account(v, b);
    fl_put_text(w, "source_text",
                fl_id_is_none(b->lot->source) ? FL_SV("")
                                              : fl_room_source_name(v->room, b->lot->source));
    put_parts(v, b);
    put_losses(v, b);
    put_leavings(v, "leavings", b->leavings, b->n_leavings);
    fl_json_begin_array(w, "cuttings");
    for (size_t i = 0; i < b->n_cuttings; i++) {
        fl_json_begin_object(w, NULL);
        fl_put_lot_ref(v, "lot", b->cuttings[i]);
        fl_json_put_int(w, "count_born", b->cuttings[i]->count_born);
        fl_put_on(v, "born_on", b->cuttings[i]->born_s);
        fl_json_end(w);
    }
    fl_json_end(w);
    put_leavings(v, "cutting_leavings", b->cutting_leavings, b->n_cutting_leavings);
    fl_json_end(w);
}

/* What went to one place; *count plants in all. Views into `all`. */
static size_t went_to(const fl_batch_leaving *all, size_t n, fl_id place, fl_batch_leaving *own,
                      int64_t *count)
{
    size_t n_own = 0;
    *count = 0;
    for (size_t k = 0; k < n; k++) {
        if (fl_id_eq(all[k].to, place)) {
            own[n_own++] = all[k];
            *count += all[k].count;
        }
    }
    return n_own;
}

void fl_view_taker(const fl_view *v, const char *key, fl_id place)
{
    const fl_batch_leaving *all = NULL;
    int64_t count = 0;
    const size_t n = fl_batch_leavings(v->room, v->arena, &all);
    fl_batch_leaving *own = FL_ARENA_ARRAY(v->arena, fl_batch_leaving, n + 1);
    const size_t n_own = went_to(all, n, place, own, &count);
    fl_json_begin_object(v->w, key);
    fl_put_place_ref(v, "place", place);
    fl_json_put_int(v->w, "count", count);
    put_leavings(v, "leavings", own, n_own);
    fl_json_end(v->w);
}

/* Everyone who got something; each with what and when. */
static void put_takers(const fl_view *v)
{
    const fl_def_set *places = &v->room->defs.places;
    const fl_batch_leaving *all = NULL;
    const size_t n = fl_batch_leavings(v->room, v->arena, &all);
    fl_json_begin_array(v->w, "takers");
    for (size_t i = 0; i < places->count; i++) {
        const fl_id place = places->events[i]->body.place_set.place;
        bool has_some = false;
        for (size_t k = 0; k < n; k++) {
            has_some = has_some || fl_id_eq(all[k].to, place);
        }
        if (has_some) {
            fl_view_taker(v, NULL, place);
        }
    }
    fl_json_end(v->w);
}

void fl_view_batches(const fl_view *v, const char *key)
{
    fl_json_writer *w = v->w;
    const fl_lot **tops = NULL;
    const size_t n = fl_batch_list(v->room, v->arena, &tops);
    fl_json_begin_object(w, key);
    fl_json_begin_array(w, "batches");
    for (size_t i = 0; i < n; i++) {
        fl_batch b;
        fl_batch_of(v->room, tops[i], v->arena, &b);
        fl_json_begin_object(w, NULL);
        put_account(v, &b);
        fl_json_end(w);
    }
    fl_json_end(w);
    put_takers(v);
    fl_json_end(w);
}
