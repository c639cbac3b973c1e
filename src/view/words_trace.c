/* Tracing in words. */
#include "view/view_trace.h"
#include "view/words.h"

fl_sv fl_say_source(const fl_room *room, const fl_trace_source *source, fl_arena *arena)
{
    if (source->at_s == INT64_MIN || source->kind == FL_SUSPECT_ALREADY_HERE) {
        return source->what;
    }
    fl_sv date = fl_say_date(room, source->at_s, FL_PRECISION_DAY, arena);
    return fl_arena_printf(arena, "%.*s, %.*s", FL_SV_ARG(source->what), FL_SV_ARG(date));
}

fl_sv fl_say_contact(const fl_room *room, const fl_trace_contact *contact, fl_arena *arena)
{
    fl_sv to = fl_id_is_none(contact->to_place) ? FL_SV("outside")
                                                : fl_room_place_name(room, contact->to_place);
    if (contact->link == FL_LINK_COUNT || fl_id_is_none(contact->from_place)) {
        return fl_arena_printf(arena, "came to %.*s", FL_SV_ARG(to));
    }
    fl_sv from = fl_room_place_name(room, contact->from_place);
    if (fl_id_eq(contact->from_place, contact->to_place)) {
        return fl_arena_printf(arena, "in %.*s: %s", FL_SV_ARG(to),
                               fl_words_link[contact->link].text);
    }
    return fl_arena_printf(arena, "from %.*s to %.*s: %s", FL_SV_ARG(from), FL_SV_ARG(to),
                           fl_words_link[contact->link].text);
}

fl_sv fl_say_window(const fl_room *room, const fl_trace *trace, fl_arena *arena)
{
    if (!trace->has_window) {
        return FL_SV("");
    }
    double days = (double)(trace->found_s - trace->window_to_s) / FL_DAY_S;
    fl_sv from = fl_say_date(room, trace->window_from_s, FL_PRECISION_DAY, arena);
    fl_sv to = fl_say_date(room, trace->window_to_s, FL_PRECISION_DAY, arena);
    if (trace->window.is_bound && days < 1.0) {
        return FL_SV("What was seen breeds: it may have come in on any day before.");
    }
    if (trace->window.is_bound) {
        return fl_arena_printf(arena,
                               "What was seen breeds, so this is only a bound: it came in at "
                               "least %.*s before the find, on %.*s or earlier.",
                               FL_SV_ARG(fl_say_days(days, arena)), FL_SV_ARG(to));
    }
    const char *older = trace->window.from_h == 0 ? ", or was on what stood there first" : "";
    if (fl_sv_eq(from, to)) {
        return fl_arena_printf(arena, "By its stage and the warmth it came in on %.*s%s.",
                               FL_SV_ARG(from), older);
    }
    return fl_arena_printf(arena, "By its stage and the warmth it came in between %.*s and %.*s%s.",
                           FL_SV_ARG(from), FL_SV_ARG(to), older);
}

fl_sv fl_say_outbreak_state(const fl_room *room, const fl_outbreak *outbreak, fl_arena *arena)
{
    fl_sv date = fl_say_date(room, outbreak->clear_s, FL_PRECISION_DAY, arena);
    switch (outbreak->state) {
    case FL_OUTBREAK_RETRACTED:
        return fl_arena_printf(arena, "Taken back on %.*s: it was nothing.", FL_SV_ARG(date));
    case FL_OUTBREAK_TOLERATED:
        return FL_SV("Lived with where it was found; it travels with whatever leaves.");
    case FL_OUTBREAK_OVER:
        return fl_arena_printf(arena, "All clear since %.*s.", FL_SV_ARG(date));
    case FL_OUTBREAK_OPEN:
        break;
    }
    if (outbreak->is_about_animals) {
        return FL_SV("Open until your vet says otherwise and you lift the hold.");
    }
    if (outbreak->clear_s == FL_GATE_NEVER) {
        return FL_SV("Open; no day can be named yet.");
    }
    return fl_arena_printf(arena,
                           "Open; all clear on %.*s at the earliest, if every look until then "
                           "finds nothing.",
                           FL_SV_ARG(date));
}

fl_sv fl_say_animal_event(const fl_event *event, fl_arena *arena)
{
    const fl_ev_animal_noted *a = &event->body.animal_noted;
    const fl_threat *threat = fl_know_threat_find(a->threat);
    fl_sv who = a->animal.len > 0 ? a->animal : FL_SV("an animal");
    switch (a->what) {
    case FL_ANIMAL_TESTED:
        return fl_arena_printf(arena, "%.*s tested %s for %s", FL_SV_ARG(who),
                               a->is_positive ? "positive" : "negative",
                               threat != NULL ? threat->name : "a disease");
    case FL_ANIMAL_DIED:
        return fl_arena_printf(arena, "%.*s died", FL_SV_ARG(who));
    case FL_ANIMAL_ILL:
    case FL_ANIMAL_TRIAL_LIVED: /* traced by nobody */
    case FL_ANIMAL_TRIAL_DIED:
    case FL_ANIMAL_COUNT:
        break;
    }
    return fl_arena_printf(arena, "%.*s fell ill", FL_SV_ARG(who));
}

fl_sv fl_say_subject(const fl_room *room, const fl_trace *trace, fl_arena *arena)
{
    (void)room;
    if (trace->animal != NULL) {
        return fl_say_animal_event(trace->animal, arena);
    }
    if (trace->stage >= 0) {
        return fl_arena_printf(arena, "%s, %s", trace->threat->name,
                               trace->threat->stage[trace->stage].name);
    }
    return fl_sv_from_cstr(trace->threat->name);
}

const char *fl_say_kind_of_find(const fl_ident_rank *rank)
{
    if (rank->threat != NULL) {
        return rank->threat->name;
    }
    for (size_t i = 0; i < fl_know_lookalike_count(); i++) {
        if (fl_sv_eq_cstr(fl_sv_from_cstr(rank->of), fl_know_lookalike_at(i)->code)) {
            return fl_know_lookalike_at(i)->name;
        }
    }
    return rank->of;
}
