/* How the gate's answer and its conditions are said: what is so, and what would change it. */
#include <math.h>
#include <string.h>

#include "base/str.h"
#include "view/words.h"

#define LIST_BYTES_MAX 400

/* What stands after "for" in a sentence. */
static const char *const use_phrases[FL_USE_COUNT] = {
    [FL_USE_PLANTS_ONLY] = "plants only",
    [FL_USE_REPTILE] = "reptiles",
    [FL_USE_INVERTEBRATE] = "invertebrates",
    [FL_USE_AMPHIBIAN] = "amphibians",
    [FL_USE_STOCK] = "stock",
};

/* The names of the bits of a mask, "a, b and c". */
static fl_sv say_mask(unsigned mask, int count, const char *(*name)(int), fl_arena *arena)
{
    fl_str text;
    fl_str_init(&text, LIST_BYTES_MAX);
    for (int i = 0; i < count; i++) {
        if ((mask & (1U << i)) == 0) {
            continue;
        }
        bool is_last = mask >> (i + 1) == 0;
        fl_str_appendf(&text, "%s%s", text.len == 0 ? "" : is_last ? " and " : ", ", name(i));
    }
    fl_sv out = fl_arena_copy_sv(arena, fl_str_sv(&text));
    fl_str_done(&text);
    return out;
}

static const char *use_name(int use)
{
    return use_phrases[use];
}

static const char *step_name(int step)
{
    return fl_words_step[step].text;
}

fl_sv fl_say_uses(unsigned uses, fl_arena *arena)
{
    unsigned known = uses & ((1U << FL_USE_COUNT) - 1U);
    return known == 0 ? FL_SV("no use") : say_mask(known, FL_USE_COUNT, use_name, arena);
}

fl_sv fl_say_steps(unsigned steps, fl_arena *arena)
{
    unsigned known = steps & ((1U << FL_STEP_COUNT) - 1U);
    return known == 0 ? FL_SV("nothing") : say_mask(known, FL_STEP_COUNT, step_name, arena);
}

/* ---- the answer ---- */

/* The condition to name when time alone will not do: the most final first; NULL. */
static const fl_condition *never_met(const fl_gate_answer *answer)
{
    static const fl_condition_kind order[] = {FL_CONDITION_HOLD, FL_CONDITION_PATHOGEN,
                                              FL_CONDITION_RESIDUE, FL_CONDITION_CHANCE,
                                              FL_CONDITION_GUARD};
    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
        const fl_condition *c = &answer->conditions[order[i]];
        if (!c->is_met && c->earliest_s == FL_GATE_NEVER) {
            return c;
        }
    }
    return NULL;
}

/* What no waiting will bring, in a few words. */
static const char *never_phrase(const fl_condition *c, const fl_residue_verdict *residue)
{
    switch (c->kind) {
    case FL_CONDITION_HOLD:
        return "its place is on hold";
    case FL_CONDITION_CHANCE:
        return "the looks ahead would not be enough";
    case FL_CONDITION_GUARD:
        return "what it may carry would not show itself in the looks ahead";
    case FL_CONDITION_RESIDUE:
        if (residue->why == FL_RESIDUE_WHY_NEEDS_TRIAL) {
            return "a trial with springtails or isopods is asked first";
        }
        return residue->why == FL_RESIDUE_WHY_NEEDS_GROWTH
                   ? "new growth made here is asked first"
                   : "waiting does not take the pesticide away";
    case FL_CONDITION_PATHOGEN:
        return "where it has been speaks against it";
    case FL_CONDITION_LEAST_DAYS:
    case FL_CONDITION_STEPS:
    case FL_CONDITION_RELEASE_LOOK:
    case FL_CONDITION_COUNT:
        break;
    }
    return "one condition is not met by waiting";
}

fl_sv fl_say_answer(const fl_room *room, const fl_gate_report *report, fl_arena *arena)
{
    const fl_gate_answer *a = &report->answer;
    fl_sv uses = fl_say_uses(report->uses, arena);
    const fl_condition *steps = &a->conditions[FL_CONDITION_STEPS];
    if (a->is_open) {
        return fl_arena_printf(arena, "Quiet enough for %.*s.", FL_SV_ARG(uses));
    }
    const fl_condition *never = never_met(a);
    if (never != NULL) {
        return fl_arena_printf(arena, "Not for %.*s: %s.", FL_SV_ARG(uses),
                               never_phrase(never, &report->residue));
    }
    if (!steps->is_met && steps->steps_missing == 0) {
        return fl_arena_printf(arena, "Not yet for %.*s. First: %s.", FL_SV_ARG(uses),
                               strcmp(steps->reason, "prills_left") == 0
                                   ? "pick the fertiliser prills out"
                                   : "neutralise the bleach and rinse it off");
    }
    if (!steps->is_met) {
        fl_sv missing = fl_say_steps(steps->steps_missing, arena);
        return fl_arena_printf(arena, "Not yet for %.*s. First: %.*s.", FL_SV_ARG(uses),
                               FL_SV_ARG(missing));
    }
    if (a->earliest_s <= room->now_s) {
        return fl_arena_printf(arena,
                               "Not yet for %.*s: look at it today; if nothing is found, it is "
                               "quiet enough.",
                               FL_SV_ARG(uses));
    }
    fl_sv when = fl_say_when(room, a->earliest_s, arena);
    fl_sv date = fl_say_date(room, a->earliest_s, FL_PRECISION_DAY, arena);
    return fl_arena_printf(arena,
                           "Not yet for %.*s: %.*s, on %.*s, if the looks until then find nothing.",
                           FL_SV_ARG(uses), FL_SV_ARG(when), FL_SV_ARG(date));
}

fl_sv fl_say_worst(const fl_gate_report *report, fl_arena *arena)
{
    const fl_gate_threat *worst = report->answer.worst;
    if (worst == NULL) {
        return FL_SV("nothing that is known could be on it");
    }
    fl_say_threat_args args = {.threat = worst->threat,
                               .chance = worst->chance,
                               .least = worst->least,
                               .most = worst->most,
                               .is_mostly_judgement = report->is_mostly_judgement};
    return fl_say_threat(&args, arena);
}

/* ---- what the dates count on ---- */

static const char *const look_names[FL_EFFORT_COUNT] = {[FL_EFFORT_GLANCE] = "a glance",
                                                        [FL_EFFORT_CAREFUL] = "a careful look",
                                                        [FL_EFFORT_ROOTS] = "a look at the roots"};

static const char *const weekdays[] = {"Monday", "Tuesday",  "Wednesday", "Thursday",
                                       "Friday", "Saturday", "Sunday"};

fl_sv fl_say_less_than_round(const fl_room *room, fl_effort effort, fl_arena *arena)
{
    if (effort >= room->round_effort) {
        return FL_SV("");
    }
    return fl_arena_printf(
        arena,
        "It was %s; the dates ahead count on %s every %s, so each look like this "
        "moves them.",
        look_names[effort], look_names[room->round_effort], weekdays[room->round_weekday]);
}

/* The effort of the lot's last look; the room's own when there is none. */
static fl_effort last_effort(const fl_room *room, const fl_gate_report *report)
{
    fl_effort effort = room->round_effort;
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_LOOK_DONE && event->at_s == report->last_look_s &&
            fl_id_eq(event->body.look_done.place, report->lot->place)) {
            effort = event->body.look_done.effort;
        }
    }
    return effort;
}

fl_sv fl_say_looks_counted_on(const fl_room *room, const fl_gate_report *report, fl_arena *arena)
{
    fl_effort last = last_effort(room, report);
    fl_sv base = fl_arena_printf(arena, "The dates count on %s every %s.",
                                 look_names[room->round_effort], weekdays[room->round_weekday]);
    if (last >= room->round_effort) {
        return base;
    }
    return fl_arena_printf(arena, "%.*s The last look was %s: with more of those they move.",
                           FL_SV_ARG(base), look_names[last]);
}

/* ---- one condition ---- */

/* Why the place is held now, as it was said; empty. */
static fl_sv hold_why(const fl_room *room, fl_id place)
{
    for (size_t i = 0; i < room->meaning.n_holds; i++) {
        const fl_hold *hold = &room->meaning.holds[i];
        if (fl_id_eq(hold->place, place) && hold->from_s <= room->now_s &&
            hold->to_s > room->now_s && hold->why.len > 0) {
            return hold->why;
        }
    }
    return FL_SV("");
}

static fl_sv say_hold(const fl_room *room, const fl_gate_report *report, const fl_condition *c,
                      fl_arena *arena)
{
    if (c->is_met) {
        return FL_SV("Nothing holds the place where it stands.");
    }
    fl_sv place = fl_room_place_name(room, report->lot->place);
    fl_sv why = hold_why(room, report->lot->place);
    return fl_arena_printf(arena,
                           "%.*s is on hold%s%.*s. Nothing leaves it until the hold is lifted.",
                           FL_SV_ARG(place), why.len > 0 ? ": " : "", FL_SV_ARG(why));
}

/* "2 %" against "2 %" would say nothing: then the side is named. */
static fl_sv say_chance_sum(const fl_room *room, const fl_condition *c, fl_arena *arena)
{
    fl_sv value = fl_say_sum(c->value, arena);
    fl_sv limit = fl_say_percent(c->limit, arena);
    const char *just = fl_sv_eq(value, limit) ? "just " : "";
    const char *use = use_phrases[c->use];
    if (c->is_met) {
        return fl_arena_printf(arena,
                               "All pests together, weighted by harm, come to %.*s: %sunder the "
                               "%.*s that is enough for %s.",
                               FL_SV_ARG(value), just, FL_SV_ARG(limit), use);
    }
    fl_sv ahead = FL_SV("Looks that find nothing would not bring it under within half a year.");
    if (c->earliest_s != FL_GATE_NEVER) {
        fl_sv when = fl_say_when(room, c->earliest_s, arena);
        ahead = fl_arena_printf(arena, "Looks that find nothing would bring it under %.*s.",
                                FL_SV_ARG(when));
    }
    return fl_arena_printf(arena,
                           "All pests together, weighted by harm, come to %.*s: %sover the %.*s "
                           "that is enough for %s. %.*s",
                           FL_SV_ARG(value), just, FL_SV_ARG(limit), use, FL_SV_ARG(ahead));
}

static fl_sv say_guard(const fl_room *room, const fl_condition *c, fl_arena *arena)
{
    if (c->threat == NULL) {
        return FL_SV("Nothing that matters there could still be hiding.");
    }
    fl_sv names = fl_say_plural(c->threat, arena);
    fl_sv share = fl_say_percent(c->value, arena);
    if (c->is_met) {
        return fl_arena_printf(arena,
                               "What came in has had time to show: of %.*s, the slowest of those "
                               "that matter, %.*s would be where a look sees them.",
                               FL_SV_ARG(names), FL_SV_ARG(share));
    }
    if (c->value < 0.001 && c->threat->is_root_zone && c->earliest_s != FL_GATE_NEVER) {
        fl_sv when = fl_say_when(room, c->earliest_s, arena);
        return fl_arena_printf(
            arena,
            "The looks so far do not reach where %.*s live. A look at the roots, "
            "unpotted or through a clear pot, would: it counts %.*s.",
            FL_SV_ARG(names), FL_SV_ARG(when));
    }
    fl_sv limit = fl_say_percent(c->limit, arena);
    fl_sv ahead = FL_SV("Looks as they are made now would not see it within half a year.");
    if (c->earliest_s != FL_GATE_NEVER) {
        fl_sv when = fl_say_when(room, c->earliest_s, arena);
        ahead = fl_arena_printf(arena, "That is so %.*s.", FL_SV_ARG(when));
    }
    return fl_arena_printf(arena,
                           "Some could still be hidden: of %.*s that came in, %s%.*s would by the "
                           "last look be where it sees them; %.*s is asked. %.*s",
                           FL_SV_ARG(names), fl_sv_eq(share, limit) ? "just under " : "",
                           FL_SV_ARG(share), FL_SV_ARG(limit), FL_SV_ARG(ahead));
}

static fl_sv say_least_days(const fl_room *room, const fl_condition *c, fl_arena *arena)
{
    double days = fmax(c->value, 0.0);
    const char *plural = days > 0.5 && days < 1.5 ? "" : "s";
    if (c->is_met) {
        return fl_arena_printf(arena,
                               "%.0f day%s since something could last have come in; %.0f are asked "
                               "for %s.",
                               days, plural, c->limit, use_phrases[c->use]);
    }
    fl_sv date = fl_say_date(room, c->earliest_s, FL_PRECISION_DAY, arena);
    return fl_arena_printf(arena,
                           "%.0f day%s since something could last have come in; %.0f are asked for "
                           "%s. That is so on %.*s.",
                           days, plural, c->limit, use_phrases[c->use], FL_SV_ARG(date));
}

static fl_sv say_steps_condition(const fl_condition *c, fl_arena *arena)
{
    if (strcmp(c->reason, "chlorine_left") == 0) {
        return FL_SV(
            "Bleach was on it today, and it was not neutralised and rinsed since, as told. "
            "Water life is held to 0.019 mg/L of chlorine at once and 0.011 for long "
            "(US EPA).");
    }
    if (strcmp(c->reason, "chlorine_today") == 0) {
        return FL_SV("The steps that its form calls for are done. Bleach was on it today: a strip "
                     "must read zero. Water life is held to 0.019 mg/L of chlorine at once and "
                     "0.011 for long (US EPA), less than a strip can show: tomorrow is better.");
    }
    if (strcmp(c->reason, "prills_left") == 0) {
        return FL_SV("Fertiliser prills are still among its roots: in a warm enclosure they go on "
                     "releasing, and water does not empty them. Pick them out.");
    }
    if (strcmp(c->reason, "prills_not_told") == 0) {
        return FL_SV(
            "The steps that its form calls for are done. Fertiliser prills, removed or "
            "not? Nobody told: look among the roots (fernlock prep LOT --prills removed).");
    }
    if (c->is_met) {
        return FL_SV("The steps that its form calls for are done.");
    }
    fl_sv missing = fl_say_steps(c->steps_missing, arena);
    return fl_arena_printf(arena, "Still to do: %.*s.", FL_SV_ARG(missing));
}

static fl_sv say_residue(const fl_room *room, const fl_gate_report *report, const fl_condition *c,
                         fl_arena *arena)
{
    const char *why = fl_words_residue_why[report->residue.why].text;
    if (c->is_met || c->earliest_s == FL_GATE_NEVER || c->earliest_s <= room->now_s) {
        return fl_sv_from_cstr(why);
    }
    fl_sv date = fl_say_date(room, c->earliest_s, FL_PRECISION_DAY, arena);
    return fl_arena_printf(arena, "%s Long enough on %.*s.", why, FL_SV_ARG(date));
}

/* Reasons of the rule for diseases of animals (core/gate). */
static const char *const pathogen_texts[][2] = {
    {"", "Nothing says that it has been near animals."},
    {"positive", "An animal tested positive, or died untested, where it was: not from here. Ask a "
                 "vet about the animals."},
    {"disinfected", "It has been near animals, and was disinfected since at a tested strength and "
                    "time."},
    {"with_amphibians", "It has been with amphibians: not from here, unless it is disinfected at a "
                        "tested strength and time."},
    {"occupied_enclosure", "It comes out of an enclosure with animals: not from here, unless it is "
                           "disinfected at a tested strength and time."},
    {"source_keeps_animals", "Animals are kept with the plants where it was bought: not from here, "
                             "unless it is disinfected at a tested strength and time."},
    {"outdoors", "It comes from outdoors, where amphibians may have been: not from here, unless it "
                 "is disinfected at a tested strength and time."},
};

static fl_sv say_pathogen(const fl_gate_report *report, const fl_condition *c)
{
    if (c->is_met && report->pathogen.is_sterile) {
        return FL_SV("Raised sterile: no disease of animals came with it.");
    }
    for (size_t i = 0; i < sizeof pathogen_texts / sizeof pathogen_texts[0]; i++) {
        if (strcmp(pathogen_texts[i][0], c->reason) == 0) {
            return fl_sv_from_cstr(pathogen_texts[i][1]);
        }
    }
    return fl_sv_from_cstr(c->reason);
}

static fl_sv say_release_look(const fl_room *room, const fl_gate_report *report,
                              const fl_condition *c, fl_arena *arena)
{
    if (c->is_met) {
        return FL_SV("Looked at today, and nothing found.");
    }
    if (report->last_look_s == INT64_MIN) {
        return FL_SV("Not looked at yet. A look on the day it goes, with nothing found, is asked.");
    }
    fl_sv when = fl_say_when(room, report->last_look_s, arena);
    return fl_arena_printf(arena,
                           "Last looked at %.*s. A look on the day it goes, with nothing found, is "
                           "asked.",
                           FL_SV_ARG(when));
}

fl_sv fl_say_condition(const fl_room *room, const fl_gate_report *report, size_t index,
                       fl_arena *arena)
{
    const fl_condition *c = &report->answer.conditions[index];
    switch (c->kind) {
    case FL_CONDITION_HOLD:
        return say_hold(room, report, c, arena);
    case FL_CONDITION_CHANCE:
        return say_chance_sum(room, c, arena);
    case FL_CONDITION_GUARD:
        return say_guard(room, c, arena);
    case FL_CONDITION_LEAST_DAYS:
        return say_least_days(room, c, arena);
    case FL_CONDITION_STEPS:
        return say_steps_condition(c, arena);
    case FL_CONDITION_RESIDUE:
        return say_residue(room, report, c, arena);
    case FL_CONDITION_PATHOGEN:
        return say_pathogen(report, c);
    case FL_CONDITION_RELEASE_LOOK:
        return say_release_look(room, report, c, arena);
    case FL_CONDITION_COUNT:
        break;
    }
    return FL_SV("");
}

/* ---- how a chance came about ---- */

fl_sv fl_say_reason(const fl_reason *reason, fl_arena *arena)
{
    if (reason->kind == FL_ROOT_ROOM) { /* a steady trickle: it has no beginning to speak of */
        return reason->what;
    }
    fl_sv prior = fl_say_chance(reason->prior, arena);
    fl_sv way = FL_SV("");
    if (reason->link != FL_LINK_COUNT) {
        way = fl_arena_printf(arena, "; %s", fl_words_link[reason->link].text);
    }
    const char *learned = reason->is_learned ? ", learned from your own purchases" : "";
    return fl_arena_printf(arena, "%.*s: %.*s when it came in%s%.*s", FL_SV_ARG(reason->what),
                           FL_SV_ARG(prior), learned, FL_SV_ARG(way));
}
