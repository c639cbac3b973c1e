/* Answers in text that several commands print. */
#include "cli/answer.h"

#include <math.h>
#include <stdio.h>

#include "view/words.h"
#include "view/words_course.h"

fl_sv fl_due_word(fl_session *s, int64_t at_s)
{
    if (at_s == FL_GATE_NEVER) {
        return FL_SV("not by waiting");
    }
    fl_sv day = fl_say_civil(&s->room, at_s, &s->arena);
    fl_sv today = fl_say_civil(&s->room, s->room.now_s, &s->arena);
    if (at_s <= s->room.now_s || fl_sv_eq(day, today)) {
        return FL_SV("today");
    }
    return fl_say_date(&s->room, at_s, FL_PRECISION_DAY, &s->arena);
}

const char *fl_place_in(const fl_session *s, fl_id place)
{
    const fl_ev_place_set *set = fl_defs_place(&s->room.defs, place);
    bool is_open = set != NULL && (set->kind == FL_PLACE_BENCH || set->kind == FL_PLACE_OPEN_SPOT);
    return is_open ? "on" : "in";
}

void fl_print_lot(fl_session *s, const fl_lot *lot)
{
    fl_sv label = fl_lot_label(s, lot);
    (void)printf("%.*s, %lld %s", FL_SV_ARG(label), (long long)lot->count,
                 fl_words_form[lot->form].text);
    if (lot->is_gone) {
        (void)fputs(", gone", stdout);
    } else {
        fl_sv place = fl_room_place_name(&s->room, lot->place);
        (void)printf(", %s %.*s", fl_place_in(s, lot->place), FL_SV_ARG(place));
    }
}

static void print_conditions(fl_session *s, const fl_gate_report *report)
{
    for (size_t i = 0; i < FL_CONDITION_COUNT; i++) {
        const fl_condition *c = &report->answer.conditions[i];
        fl_sv when = c->is_met ? FL_SV("yes") : fl_due_word(s, c->earliest_s);
        fl_sv text = fl_say_condition(&s->room, report, i, &s->arena);
        (void)printf("  %-15.*s %.*s\n", FL_SV_ARG(when), FL_SV_ARG(text));
    }
}

/* What no look or treatment here reaches is told apart, and never in the sum. */
static void print_out_of_reach(fl_session *s, const fl_gate_report *report)
{
    bool is_first = true;
    for (size_t i = 0; i < report->n_threats; i++) {
        const fl_gate_threat *t = &report->threats[i];
        if (!t->threat->is_out_of_reach || t->chance < 0.001) {
            continue;
        }
        fl_sv chance = fl_say_chance(t->chance, &s->arena);
        (void)printf("%s%s %.*s", is_first ? "Out of reach here: " : ", ", t->threat->name,
                     FL_SV_ARG(chance));
        is_first = false;
    }
    if (!is_first) {
        (void)puts(". No look or dip lowers that; seed, tissue culture or a fresh cutting would.");
    }
}

void fl_print_gate(fl_session *s, const fl_gate_report *report)
{
    fl_sv answer = fl_say_answer(&s->room, report, &s->arena);
    fl_sv worst = fl_say_worst(report, &s->arena);
    fl_sv quick = fl_due_word(s, report->answer.quick_s);
    fl_sv all = fl_due_word(s, report->answer.earliest_s);
    fl_print_lot(s, report->lot);
    (void)printf("\n%.*s\n", FL_SV_ARG(answer));
    (void)printf("The worst: %.*s.\n", FL_SV_ARG(worst));
    print_conditions(s, report);
    (void)printf("Quick pests: %.*s. Slow hidden ones too: %.*s.\n", FL_SV_ARG(quick),
                 FL_SV_ARG(all));
    fl_sv counted_on = fl_say_looks_counted_on(&s->room, report, &s->arena);
    fl_sv examine = fl_say_examine_usual(&s->room, report, &s->arena);
    (void)printf("%.*s\n", FL_SV_ARG(counted_on));
    (void)printf("%.*s%s", FL_SV_ARG(examine), examine.len > 0 ? "\n" : "");
    print_out_of_reach(s, report);
}

static fl_status print_total(fl_session *s, fl_id place, fl_err *err)
{
    fl_place_total total;
    fl_status status = fl_gate_place_total(s->chances, &s->room, place, &total, err);
    if (status != FL_OK) {
        return status;
    }
    fl_sv name = fl_room_place_name(&s->room, place);
    if (total.worst == NULL) {
        (void)printf("%.*s: no lot is recorded in it.\n", FL_SV_ARG(name));
        return FL_OK;
    }
    fl_sv any = fl_say_chance(total.any, &s->arena);
    fl_sv worst = fl_say_plural(total.worst, &s->arena);
    fl_sv chance = fl_say_chance(total.worst_chance, &s->arena);
    (void)printf("%.*s as it is: %.*s that some pest is in it; most of all %.*s, %.*s.\n",
                 FL_SV_ARG(name), FL_SV_ARG(any), FL_SV_ARG(worst), FL_SV_ARG(chance));
    return FL_OK;
}

static void print_pace(fl_session *s)
{
    fl_pace pace;
    fl_gate_pace(&s->room, &pace);
    fl_sv text = fl_say_pace(&pace, &s->arena);
    (void)printf("The room's pace: %.*s\n", FL_SV_ARG(text));
}

fl_status fl_print_totals(fl_session *s, fl_id place, fl_err *err)
{
    fl_status status = FL_OK;
    if (!fl_id_is_none(place)) {
        status = print_total(s, place, err);
    }
    if (status == FL_OK) {
        print_pace(s);
    }
    return status;
}
