/* Builds in sentences. */
#include <limits.h>
#include <math.h>

#include "base/str.h"
#include "view/builds.h"
#include "view/words.h"

#define TEXT_BYTES_MAX 600

static fl_sv take(fl_str *text, fl_arena *arena)
{
    const fl_sv copy = fl_arena_copy_sv(arena, fl_sv_trim(fl_str_sv(text)));
    fl_str_done(text);
    return copy;
}

static fl_sv day(const fl_room *room, int64_t at_s, fl_arena *arena)
{
    return fl_say_date(room, at_s, FL_PRECISION_DAY, arena);
}

fl_sv fl_say_build(const fl_room *room, const fl_build_outlook *o, fl_arena *arena)
{
    const fl_sv plant = day(room, o->plant_s, arena);
    const fl_sv need = day(room, o->build->need_s, arena);
    if (o->build->trouble.len > 0) {
        return fl_arena_printf(arena, "Its plan could not be read: %.*s.",
                               FL_SV_ARG(o->build->trouble));
    }
    if (o->n_lines == 0) {
        return FL_SV("Its plan names no plants yet.");
    }
    if (o->ready_s == FL_GATE_NEVER) {
        return fl_arena_printf(arena,
                               "Not as things go: something has no way to be ready. Wanted "
                               "for %.*s.",
                               FL_SV_ARG(need));
    }
    const fl_sv ready = day(room, o->ready_s, arena);
    if (o->ready_s <= o->plant_s) {
        return fl_arena_printf(
            arena, "Can be ready on %.*s; planted on %.*s it is settled by %.*s: in time.",
            FL_SV_ARG(ready), FL_SV_ARG(plant), FL_SV_ARG(need));
    }
    const fl_sv first = day(room, o->first_need_s, arena);
    const double late_days = (double)(o->first_need_s - o->build->need_s) / FL_DAY_S;
    const fl_sv late = fl_say_days(late_days, arena);
    return fl_arena_printf(arena, "Not by %.*s: the first day it can be is %.*s, %.*s later.",
                           FL_SV_ARG(need), FL_SV_ARG(first), FL_SV_ARG(late));
}

static void say_when(const fl_room *room, const fl_build_line *line, fl_arena *arena, fl_str *text)
{
    const fl_sv from = day(room, line->from_s, arena);
    const fl_sv by = day(room, line->by_s, arena);
    if (line->by_s <= line->from_s) {
        fl_str_appendf(text, "on %.*s", FL_SV_ARG(by));
    } else if (line->from_s <= room->now_s) {
        fl_str_appendf(text, "by %.*s", FL_SV_ARG(by));
    } else {
        fl_str_appendf(text, "between %.*s and %.*s", FL_SV_ARG(from), FL_SV_ARG(by));
    }
}

static fl_sv say_no_way(const fl_build_line *line, fl_arena *arena)
{
    const fl_sv name = line->item->name;
    if (line->n_prospects == 0) {
        return fl_arena_printf(arena,
                               "%d %.*s: no mother has it, and no source is told that sells it.",
                               line->count, FL_SV_ARG(name));
    }
    return fl_arena_printf(arena, "%d %.*s: none of the ways opens, or no bin gets free.",
                           line->count, FL_SV_ARG(name));
}

fl_sv fl_say_build_line(const fl_room *room, const fl_build_line *line, fl_arena *arena)
{
    fl_str text;
    const fl_sv name = line->item->name;
    fl_str_init(&text, TEXT_BYTES_MAX);
    if (line->means == FL_BUILD_FROM_STOCK) {
        const fl_sv lot = fl_room_lot_name(room, line->lot);
        fl_str_appendf(
            &text, "%d %.*s from %.*s, which stands %.*s", line->count, FL_SV_ARG(name),
            FL_SV_ARG(lot),
            FL_SV_ARG(line->ready_s <= room->now_s ? FL_SV("ready") : FL_SV("in quarantine")));
        if (line->ready_s > room->now_s) {
            const fl_sv ready = day(room, line->ready_s, arena);
            fl_str_appendf(&text, " until %.*s", FL_SV_ARG(ready));
        }
        fl_str_append_cstr(&text, ".");
        return take(&text, arena);
    }
    if (line->prospect == NULL || line->bin == NULL) {
        fl_str_done(&text);
        return say_no_way(line, arena);
    }
    if (line->means == FL_BUILD_BY_CUTTING) {
        const fl_sv mother = fl_room_lot_name(room, line->prospect->mother);
        fl_str_appendf(&text, "Cut %d %.*s from %.*s ", line->count, FL_SV_ARG(name),
                       FL_SV_ARG(mother));
    } else {
        fl_str_appendf(&text, "Buy %d %.*s from %.*s ", line->count, FL_SV_ARG(name),
                       FL_SV_ARG(line->prospect->source->name));
    }
    say_when(room, line, arena, &text);
    const fl_sv days = fl_say_days((double)line->prospect->gate_days, arena);
    fl_str_appendf(&text, ", into %.*s for %.*s.", FL_SV_ARG(line->bin->name), FL_SV_ARG(days));
    return take(&text, arena);
}

fl_sv fl_say_build_way(const fl_build_prospect *p, fl_arena *arena)
{
    const fl_sv days = fl_say_days((double)p->gate_days, arena);
    const char *waits = p->binding < FL_CONDITION_COUNT ? fl_words_condition[p->binding].text
                                                        : "nothing it waits for";
    fl_sv who = FL_SV("cuttings of a mother");
    if (p->means == FL_BUILD_BY_BUYING) {
        who = fl_arena_printf(arena, "from %.*s, %s", FL_SV_ARG(p->source->name),
                              fl_words_form[p->form].text);
    }
    if (p->gate_days < 1) {
        return fl_arena_printf(arena, "%.*s: would not open within half a year (%s)",
                               FL_SV_ARG(who), waits);
    }
    if (p->rooting_days >= p->gate_days) {
        return fl_arena_printf(arena, "%.*s: %.*s, for the roots", FL_SV_ARG(who), FL_SV_ARG(days));
    }
    return fl_arena_printf(arena, "%.*s: %.*s (%s)", FL_SV_ARG(who), FL_SV_ARG(days), waits);
}

fl_sv fl_say_build_sum(const fl_build_outlook *o, fl_arena *arena)
{
    if (o->n_lines == 0 || o->worst == NULL) {
        return FL_SV("");
    }
    const fl_sv chance = fl_say_chance(1.0 - exp(-o->sum), arena);
    if (o->n_lines == 1) {
        return fl_arena_printf(arena,
                               "The chance that this build gets something that matters "
                               "there: %.*s.",
                               FL_SV_ARG(chance));
    }
    return fl_arena_printf(arena,
                           "The chance that this build gets something that matters there, over "
                           "all its lots: %.*s. %.*s adds most.",
                           FL_SV_ARG(chance), FL_SV_ARG(o->worst->item->name));
}

fl_sv fl_say_build_study(const fl_build_study *study, fl_arena *arena)
{
    const fl_build_plan *plan = &study->plan;
    if (study->n_builds == 0) {
        return FL_SV("No build is planned.");
    }
    if (study->n_bins == 0) {
        return FL_SV("No bin is free for quarantine: what must be bought or cut has no place.");
    }
    if (plan->late_days == 0) {
        return FL_SV("All that must be bought or cut can be ready by its day.");
    }
    if (plan->late_days == plan->bound) {
        return fl_arena_printf(arena,
                               "The latest is %d days late, and no order of bins would be "
                               "better.",
                               plan->late_days);
    }
    return fl_arena_printf(arena,
                           "The latest is %d days late; no order of bins could be less than "
                           "%d days late.",
                           plan->late_days, plan->bound);
}

fl_sv fl_say_build_help(const fl_build_study *study, fl_build_help help, fl_arena *arena)
{
    const int late = study->help_late_days[help];
    const char *what = fl_words_build_help[help].text;
    if (late == 0) {
        return fl_arena_printf(arena, "With %s nothing would be late.", what);
    }
    if (late >= study->plan.late_days) {
        return fl_arena_printf(arena, "With %s nothing would change.", what);
    }
    return fl_arena_printf(arena, "With %s the latest would be %d days late.", what, late);
}
