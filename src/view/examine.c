/* How much of a lot to look at: words and JSON. */
#include "app/examine.h"

#include <math.h>

#include "app/looks.h"
#include "app/today.h"
#include "view/put.h"
#include "view/words_course.h"

/* "58 plants (3 infested ones meant)". */
static fl_sv say_sample(const fl_examine *e, const fl_sample_size *s, fl_arena *arena)
{
    if (s->reason == FL_SAMPLE_ATTAINABLE) {
        return fl_arena_printf(arena, "%lld of them, if %lld of the %lld carry it",
                               (long long)s->sample_size, (long long)s->infested_plants,
                               (long long)e->n_plants);
    }
    fl_sv reached = fl_say_percent(s->prob_reached, arena);
    if (s->reason == FL_SAMPLE_UNDER_ONE_PLANT) {
        return FL_SV("no answer: so small a share is less than one plant of this lot");
    }
    return fl_arena_printf(arena,
                           "not to be had in one look: all %lld plants give %.*s; look at them "
                           "all, and again another week",
                           (long long)e->n_plants, FL_SV_ARG(reached));
}

fl_sv fl_say_examine(const fl_examine *e, fl_arena *arena)
{
    if (e->is_every_plant) {
        return e->n_plants == 1
                   ? FL_SV("Look at the whole plant, at the right time: that is on the round days.")
                   : fl_arena_printf(arena,
                                     "Look at every one of the %lld plants, at the right time: "
                                     "that is on the round days.",
                                     (long long)e->n_plants);
    }
    fl_sv names = fl_say_plural(e->threat, arena);
    fl_sv floor = say_sample(e, &e->floor, arena);
    fl_sv ceil = say_sample(e, &e->ceil, arena);
    fl_sv sure = fl_say_percent(e->prob_confidence, arena);
    fl_sv level = fl_say_percent(e->frac_level, arena);
    fl_sv shows = fl_say_in_100(e->prob_efficacy, arena);
    fl_sv other = fl_sv_eq(floor, ceil)
                      ? FL_SV("")
                      : fl_arena_printf(arena, "; rounded up: %.*s", FL_SV_ARG(ceil));
    return fl_arena_printf(arena,
                           "A tray of %lld: to see %.*s with %.*s when %.*s of the plants carry "
                           "them, and a look (%s) shows the %s %.*s times: %.*s%.*s (ISPM 31).",
                           (long long)e->n_plants, FL_SV_ARG(names), FL_SV_ARG(sure),
                           FL_SV_ARG(level), fl_words_effort[e->effort].word, e->stage,
                           FL_SV_ARG(shows), FL_SV_ARG(floor), FL_SV_ARG(other));
}

fl_sv fl_say_examine_usual(const fl_room *room, const fl_gate_report *report, fl_arena *arena)
{
    fl_examine examine;
    fl_phase phase = fl_phase_of(room, report->lot);
    unsigned devices = fl_devices_in(room, report->lot->place);
    bool decides =
        !report->answer.is_open && (phase == FL_PHASE_QUARANTINE || phase == FL_PHASE_HELD);
    if (!decides || fl_examine_lot(report, room->round_effort, devices, &examine, NULL) != FL_OK) {
        return FL_SV("");
    }
    return fl_say_examine(&examine, arena);
}

static void put_sample(const fl_view *v, const char *key, const fl_examine *e,
                       const fl_sample_size *s)
{
    static const char *const reasons[] = {
        [FL_SAMPLE_ATTAINABLE] = "attainable",
        [FL_SAMPLE_UNDER_ONE_PLANT] = "under_one_plant",
        [FL_SAMPLE_EFFICACY_TOO_LOW] = "efficacy_too_low",
    };
    bool has_size = s->reason == FL_SAMPLE_ATTAINABLE;
    fl_json_begin_object(v->w, key);
    fl_json_put_number(v->w, "sample_size", has_size ? (double)s->sample_size : (double)NAN);
    fl_json_put_cstr(v->w, "reason", reasons[s->reason]);
    fl_json_put_number(v->w, "prob_reached", s->prob_reached);
    fl_json_put_int(v->w, "infested_plants", s->infested_plants);
    fl_json_put_text(v->w, "text", say_sample(e, s, v->arena));
    fl_json_end(v->w);
}

void fl_view_examine(const fl_view *v, const char *key, const fl_examine *e)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, key);
    fl_json_put_text(w, "text", fl_say_examine(e, v->arena));
    fl_json_put_int(w, "plants", e->n_plants);
    fl_json_put_bool(w, "is_every_plant", e->is_every_plant);
    fl_put_word(w, "effort", "effort_text", &fl_words_effort[e->effort]);
    fl_put_text(w, "threat", e->threat != NULL ? fl_sv_from_cstr(e->threat->code) : FL_SV(""));
    fl_put_text(w, "stage", fl_sv_from_cstr(e->stage));
    fl_json_put_number(w, "prob_efficacy", e->prob_efficacy);
    fl_json_put_number(w, "frac_level", e->frac_level);
    fl_json_put_number(w, "prob_confidence", e->prob_confidence);
    if (e->is_every_plant) {
        fl_json_put_null(w, "floor");
        fl_json_put_null(w, "ceil");
    } else {
        put_sample(v, "floor", e, &e->floor);
        put_sample(v, "ceil", e, &e->ceil);
    }
    fl_json_end(w);
}
