/* The words of what-ifs and of the look plan. */
#include <math.h>

#include "base/str.h"
#include "view/words_course.h"

#define TEXT_BYTES_MAX 900

fl_sv fl_say_release(const fl_room *room, int64_t release_s, fl_arena *arena)
{
    if (release_s == FL_GATE_NEVER) {
        return FL_SV("no date within half a year");
    }
    if (fl_sv_eq(fl_say_civil(room, release_s, arena), fl_say_civil(room, room->now_s, arena))) {
        return FL_SV("today");
    }
    return fl_say_date(room, release_s, FL_PRECISION_DAY, arena);
}

/* The change, as the beginning of a sentence. */
static fl_sv say_change(const fl_what_if *what, fl_arena *arena)
{
    switch (what->kind) {
    case FL_WHAT_IF_FORTNIGHT:
        return FL_SV("Half as many looks");
    case FL_WHAT_IF_CAREFUL:
        return FL_SV("Careful looks instead of glances");
    case FL_WHAT_IF_WARM:
        return fl_arena_printf(arena, "The place at %.0f °C", FL_WHAT_IF_WARM_C);
    case FL_WHAT_IF_CARD:
        return fl_arena_printf(arena, "One more card (%s)", fl_words_device[what->device].text);
    case FL_WHAT_IF_ROOTS:
        return FL_SV("Unpotted at every look, or through a clear pot");
    case FL_WHAT_IF_OFTEN:
        return FL_SV("A look every five days");
    case FL_WHAT_IF_SEALED:
        return FL_SV("A box that closes tight");
    case FL_WHAT_IF_COUNT:
        break;
    }
    return FL_SV("");
}

static const char *say_no_change(const fl_what_if *what)
{
    switch (what->kind) {
    case FL_WHAT_IF_CAREFUL:
        return "looks are careful already";
    case FL_WHAT_IF_WARM:
        return "it is as warm already";
    case FL_WHAT_IF_CARD:
        return "both cards hang there already";
    case FL_WHAT_IF_ROOTS:
        return "looks are at the roots already";
    case FL_WHAT_IF_OFTEN:
        return "looks are as often already";
    case FL_WHAT_IF_SEALED:
        return "it does already, or is no box";
    case FL_WHAT_IF_FORTNIGHT:
    case FL_WHAT_IF_COUNT:
        break;
    }
    return "that is rarer than is planned here";
}

fl_sv fl_say_warm_plant(const fl_room *room, const fl_warm_plant *plant, double temp_c,
                        fl_arena *arena)
{
    fl_sv name = fl_room_lot_name(room, plant->lot);
    if (isnan(plant->over_c)) {
        return fl_arena_printf(arena, "%.*s: its best range is not in our table; watch it",
                               FL_SV_ARG(name));
    }
    if (plant->over_c > 0.0) {
        return fl_arena_printf(arena, "%.*s: best at %.0f to %.0f °C; %.0f is %.0f above that",
                               FL_SV_ARG(name), plant->plant->temp_opt_lo_c,
                               plant->plant->temp_opt_hi_c, temp_c, plant->over_c);
    }
    return fl_arena_printf(arena, "%.*s: best at %.0f to %.0f °C; %.0f suits it", FL_SV_ARG(name),
                           plant->plant->temp_opt_lo_c, plant->plant->temp_opt_hi_c, temp_c);
}

static void say_plants(const fl_room *room, const fl_what_if *what, fl_arena *arena, fl_str *text)
{
    size_t n_over = 0;
    size_t n_unknown = 0;
    for (size_t i = 0; i < what->n_plants; i++) {
        n_over += what->plants[i].over_c > 0.0;
        n_unknown += isnan(what->plants[i].over_c) ? 1 : 0;
    }
    if (n_over > 0) {
        fl_sv worst = fl_say_warm_plant(room, &what->plants[0], FL_WHAT_IF_WARM_C, arena);
        fl_str_appendf(text, " Too warm for %zu of the %zu lots there (%.*s).", n_over,
                       what->n_plants, FL_SV_ARG(worst));
    } else if (n_unknown > 0 && n_unknown == what->n_plants) {
        fl_str_append_cstr(text, " How warm its plants like it is not in our table: watch them.");
    } else if (n_unknown > 0) {
        fl_str_appendf(text, " Of %zu of the %zu lots there we do not know how warm they like it.",
                       n_unknown, what->n_plants);
    } else if (what->n_plants > 0) {
        fl_str_append_cstr(text, " That suits every plant in it.");
    }
}

fl_sv fl_say_what_if(const fl_room *room, const fl_what_if *what, fl_arena *arena)
{
    fl_sv change = say_change(what, arena);
    fl_sv usual = fl_say_release(room, what->usual_s, arena);
    fl_sv then = fl_say_release(room, what->release_s, arena);
    fl_str text;
    if (!what->applies) {
        return fl_arena_printf(arena, "%.*s: %s.", FL_SV_ARG(change), say_no_change(what));
    }
    fl_str_init(&text, TEXT_BYTES_MAX);
    if (what->usual_s == what->release_s) {
        fl_str_appendf(&text, "%.*s: it changes nothing, %.*s.", FL_SV_ARG(change),
                       FL_SV_ARG(usual));
    } else {
        fl_str_appendf(&text, "%.*s: %.*s, not %.*s.", FL_SV_ARG(change), FL_SV_ARG(then),
                       FL_SV_ARG(usual));
    }
    if (what->kind == FL_WHAT_IF_WARM) {
        say_plants(room, what, arena, &text);
    }
    fl_sv copy = fl_arena_copy_sv(arena, fl_str_sv(&text));
    fl_str_done(&text);
    return copy;
}

/* ---- the plan ---- */

fl_sv fl_say_looks_plan(const fl_room *room, const fl_looks_plan *plan, fl_arena *arena)
{
    fl_str text;
    int shown = 0;
    if (plan->release_s == FL_GATE_NEVER) {
        return FL_SV("No looks like these would open it within half a year.");
    }
    fl_sv release = fl_say_release(room, plan->release_s, arena);
    fl_str_init(&text, TEXT_BYTES_MAX);
    fl_str_appendf(&text, "%d look%s", plan->n_looks, plan->n_looks == 1 ? "" : "s");
    for (int k = 0; k < plan->n_days; k++) {
        if (!plan->days[k].is_look) {
            continue;
        }
        fl_sv date = fl_say_release(room, plan->days[k].at_s, arena);
        fl_str_appendf(&text, "%s%.*s",
                       shown == 0                   ? ": "
                       : shown + 1 == plan->n_looks ? " and "
                                                    : ", ",
                       FL_SV_ARG(date));
        shown++;
    }
    fl_str_appendf(&text, ". If they find nothing, it could go %s%.*s.",
                   fl_sv_eq_cstr(release, "today") ? "" : "on ", FL_SV_ARG(release));
    if (plan->needs_roots) {
        fl_str_append_cstr(&text, " The last one must be at the roots.");
    }
    if (plan->blocked != 0) {
        fl_str_append_cstr(&text, " Other conditions of the gate are open beside that.");
    }
    fl_sv copy = fl_arena_copy_sv(arena, fl_str_sv(&text));
    fl_str_done(&text);
    return copy;
}
