/* What a move costs, and how often a release goes wrong, in sentences. */
#include <math.h>

#include "base/num.h"
#include "base/str.h"
#include "view/words.h"

#define PRICE_BYTES_MAX 900

static void say_delay(const fl_room *room, const fl_place_price *p, fl_arena *arena, fl_str *text)
{
    int64_t days = fl_plan_delay_days(p);
    fl_sv name = p->place->name;
    if (days == 0) {
        return;
    }
    if (days == FL_DELAY_NEVER) {
        fl_str_appendf(text, "%.*s would not open within half a year. ", FL_SV_ARG(name));
        return;
    }
    fl_sv after = fl_say_date(room, p->their_after_s, FL_PRECISION_DAY, arena);
    fl_sv before = fl_say_date(room, p->their_before_s, FL_PRECISION_DAY, arena);
    fl_str_appendf(text, "%.*s would open on %.*s, not %.*s. ", FL_SV_ARG(name), FL_SV_ARG(after),
                   FL_SV_ARG(before));
}

/* "Pilea (7H3KQ2) comes to 12 %, over the 5 % that is enough". */
static void say_unfit(const fl_room *room, const fl_unfit *unfit, fl_arena *arena, fl_str *text)
{
    char code[FL_CODE_TEXT_MAX];
    const fl_sv name = fl_room_lot_name(room, unfit->lot);
    fl_str_appendf(text, "%.*s (%s)", FL_SV_ARG(name), fl_id_code(code, unfit->lot->id));
    if (unfit->sum > unfit->ceiling) {
        const fl_sv sum = fl_say_percent(unfit->sum, arena);
        const fl_sv ceiling = fl_say_percent(unfit->ceiling, arena);
        fl_str_appendf(text, " comes to %.*s, over the %.*s that is enough", FL_SV_ARG(sum),
                       FL_SV_ARG(ceiling));
    } else {
        fl_str_append_cstr(text, " is not through with its days, looks or steps");
    }
}

/* What is joined, and whether each side is fit for the stricter use. */
static void say_joining(const fl_room *room, const fl_joining *j, fl_arena *arena, fl_str *text)
{
    if (!j->is_one) {
        return;
    }
    const fl_sv use = fl_say_uses(1U << j->use, arena);
    if (!fl_joining_is_unfit(j)) {
        fl_str_appendf(text,
                       "They may share it: each is quiet enough for %.*s, the stricter use, after "
                       "a look. ",
                       FL_SV_ARG(use));
        return;
    }
    fl_str_appendf(text, "Not fit to be joined for %.*s, the stricter use: ", FL_SV_ARG(use));
    if (j->own.lot != NULL) {
        say_unfit(room, &j->own, arena, text);
    }
    if (j->there.lot != NULL) {
        fl_str_append_cstr(text, j->own.lot != NULL ? "; of those there, " : "");
        say_unfit(room, &j->there, arena, text);
    }
    fl_str_append_cstr(text, ". ");
}

fl_sv fl_say_price(const fl_room *room, const fl_place_price *p, fl_arena *arena)
{
    fl_str text;
    fl_str_init(&text, PRICE_BYTES_MAX);
    say_delay(room, p, arena, &text);
    if (p->is_held) {
        fl_str_append_cstr(&text, "It is held: something was found there. ");
    }
    if (p->is_mixed) {
        fl_str_append_cstr(&text, "Plants of another arrival are in it. ");
    }
    say_joining(room, &p->joining, arena, &text);
    if (p->is_unclean) {
        fl_str_append_cstr(&text, "It was not cleaned since its last plants left. ");
    }
    if (p->rots) {
        fl_str_append_cstr(&text, "Some of these rot in a closed box. ");
    }
    fl_sv copy = fl_arena_copy_sv(arena, fl_sv_trim(fl_str_sv(&text)));
    fl_str_done(&text);
    return copy;
}

fl_sv fl_say_there(const fl_place_price *p, fl_arena *arena)
{
    if (p->n_there == 0) {
        return FL_SV("empty");
    }
    return fl_arena_printf(arena, "%zu other lot%s in it", p->n_there, p->n_there == 1 ? "" : "s");
}

fl_sv fl_say_own_date(const fl_room *room, const fl_place_price *p, fl_arena *arena)
{
    if (p->own_s == FL_GATE_NEVER) {
        return FL_SV("no date within half a year");
    }
    fl_sv day = fl_say_civil(room, p->own_s, arena);
    if (p->own_s <= room->now_s || fl_sv_eq(day, fl_say_civil(room, room->now_s, arena))) {
        return FL_SV("could go today");
    }
    fl_sv date = fl_say_date(room, p->own_s, FL_PRECISION_DAY, arena);
    return fl_arena_printf(arena, "could go on %.*s", FL_SV_ARG(date));
}

fl_sv fl_say_no_date(const fl_room *room, const fl_place_price *p, fl_arena *arena)
{
    bool is_box = p->place->kind == FL_PLACE_BIN || p->place->kind == FL_PLACE_JAR;
    if (p->own_s != FL_GATE_NEVER) {
        return FL_SV("");
    }
    if (p->own_sealed_s != FL_GATE_NEVER) {
        fl_sv date = fl_say_date(room, p->own_sealed_s, FL_PRECISION_DAY, arena);
        return fl_arena_printf(arena,
                               "It has no gasket, so what lives in the room keeps getting in. "
                               "A box that closes tight, like it in all else, would open on %.*s.",
                               FL_SV_ARG(date));
    }
    if (!is_box) {
        return FL_SV("It is open, so what lives in the room keeps getting in.");
    }
    return FL_SV("");
}

fl_sv fl_say_choice(const fl_room *room, const fl_place_price *p, fl_arena *arena)
{
    fl_sv there = fl_say_there(p, arena);
    fl_sv own = fl_say_own_date(room, p, arena);
    fl_sv cost = fl_say_price(room, p, arena);
    fl_sv why = fl_say_no_date(room, p, arena);
    return fl_arena_printf(arena, "%.*s (%s), %.*s: %.*s%s.%s%.*s%s%.*s", FL_SV_ARG(p->place->name),
                           fl_words_place_kind[p->place->kind].text, FL_SV_ARG(there),
                           FL_SV_ARG(own), p->is_best ? "; the best choice" : "",
                           cost.len > 0 ? " " : "", FL_SV_ARG(cost), why.len > 0 ? " " : "",
                           FL_SV_ARG(why));
}

/* The rate alone, of the releases that carry their answers. */
static fl_sv say_rate(const fl_pace *pace, fl_arena *arena)
{
    char years[FL_NUM_TEXT_MAX];
    if (!(pace->years_per_bad <= 100.0)) {
        return FL_SV("Less than one bad release in 100 years at this rate");
    }
    if (pace->years_per_bad < 1.5) {
        double bad = fmax(pace->expected_bad, 0.7);
        return fl_arena_printf(arena, "About %.0f bad release%s a year at this rate", bad,
                               bad < 1.5 ? "" : "s");
    }
    const char *figure = fl_num_format(years, pace->years_per_bad, 1 + (pace->years_per_bad > 9));
    return fl_arena_printf(arena, "About one bad release in %s years at this rate", figure);
}

fl_sv fl_say_pace(const fl_pace *pace, fl_arena *arena)
{
    if (pace->n_releases == 0) {
        return FL_SV("Nothing was released in the last year.");
    }
    if (pace->n_answered == 0) {
        return FL_SV("The releases of the last year carry no frozen answer to count with.");
    }
    fl_sv rate = say_rate(pace, arena);
    if (pace->n_answered < pace->n_releases) {
        return fl_arena_printf(arena, "%.*s, counted on %d of %d releases.", FL_SV_ARG(rate),
                               pace->n_answered, pace->n_releases);
    }
    return fl_arena_printf(arena, "%.*s.", FL_SV_ARG(rate));
}
