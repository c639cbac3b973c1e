/* `show`, `show lot`, `show place`: what stands where. */
#include <math.h>

#include "app/outbreak_residue.h"
#include "app/today.h"
#include "cli/answer.h"
#include "cli/event_line.h"
#include "cli/show.h"
#include "cli/show_chance.h"
#include "view/words.h"
#include "view/words_course.h"

/* Prints one value of view/ when --json was asked for. */
typedef fl_status (*view_fn)(const fl_view *view, const void *what, fl_err *err);

static fl_status print_view(fl_session *s, view_fn fn, const void *what, fl_err *err)
{
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_status status = fn(&view, what, err);
    if (status == FL_OK) {
        fl_print_json(w);
    }
    fl_json_writer_free(w);
    return status;
}

/* ---- the room ---- */

static fl_status view_room(const fl_view *view, const void *what, fl_err *err)
{
    (void)what;
    (void)err;
    fl_view_room(view, NULL);
    return FL_OK;
}

static fl_status view_places(const fl_view *view, const void *what, fl_err *err)
{
    (void)what;
    return fl_view_places(view, NULL, err);
}

static fl_status view_lots(const fl_view *view, const void *what, fl_err *err)
{
    (void)what;
    return fl_view_lots(view, NULL, (fl_view_lots_of){0}, err);
}

/* A pesticide that is on record for it, or for what it was cut from. */
static void print_residue(fl_session *s, const fl_lot *lot, const char *indent)
{
    fl_residue_trace t;
    if (!fl_residue_trace_has(&s->room, lot) ||
        fl_residue_trace_ask(&s->room, lot, &s->arena, &t, NULL) != FL_OK) {
        return;
    }
    fl_sv date = fl_say_date(&s->room, t.at_s, FL_PRECISION_DAY, &s->arena);
    fl_sv treated = fl_lot_label(s, t.treated);
    fl_sv code = fl_code_of(s, lot->id);
    (void)printf("%sIt had %.*s on %.*s%s%.*s: fernlock trace %.*s\n", indent, FL_SV_ARG(t.active),
                 FL_SV_ARG(date), t.treated == lot ? "" : ", through ",
                 FL_SV_ARG(t.treated == lot ? FL_SV("") : treated), FL_SV_ARG(code));
}

static void print_lots_of(fl_session *s, fl_id place)
{
    for (size_t i = 0; i < s->room.meaning.n_lots; i++) {
        const fl_lot *lot = &s->room.meaning.lots[i];
        if (lot->is_gone || !fl_id_eq(lot->place, place)) {
            continue;
        }
        fl_sv label = fl_lot_label(s, lot);
        (void)printf("    %.*s, %lld %s, %s\n", FL_SV_ARG(label), (long long)lot->count,
                     fl_words_form[lot->form].text,
                     fl_words_phase[fl_phase_of(&s->room, lot)].text);
        print_residue(s, lot, "      ");
    }
}

static void print_place_line(fl_session *s, const fl_ev_place_set *place)
{
    fl_sv code = fl_code_of(s, place->place);
    (void)printf("  %.*s (%.*s), %s", FL_SV_ARG(place->name), FL_SV_ARG(code),
                 fl_words_place_kind[place->kind].text);
    if (place->uses != 0) {
        fl_sv uses = fl_say_uses(place->uses, &s->arena);
        (void)printf(", for %.*s", FL_SV_ARG(uses));
    }
    if (place->animals.len > 0) {
        (void)printf(", %.*s", FL_SV_ARG(place->animals));
    }
    if (fl_meaning_is_held(&s->room.meaning, place->place, s->room.now_s)) {
        (void)fputs(", on hold", stdout);
    }
    (void)fputc('\n', stdout);
}

/* By kind, with or without what stands in them. */
static void print_places(fl_session *s, bool has_lots)
{
    const fl_room *room = &s->room;
    for (int kind = 0; kind < FL_PLACE_COUNT; kind++) {
        for (size_t i = 0; i < room->defs.places.count; i++) {
            const fl_ev_place_set *place = &room->defs.places.events[i]->body.place_set;
            if ((int)place->kind != kind || place->is_retired) {
                continue;
            }
            print_place_line(s, place);
            if (has_lots) {
                print_lots_of(s, place->place);
            }
        }
    }
}

static void print_room(fl_session *s)
{
    const fl_room *room = &s->room;
    (void)printf("%.*s%s: %zu places, %zu lots, %lld events\n", FL_SV_ARG(room->name),
                 room->is_demo ? " (demo room)" : "", room->defs.places.count, room->meaning.n_lots,
                 (long long)room->position);
    print_places(s, true);
    if (room->meaning.n_conflicts > 0) {
        (void)printf("%zu records do not agree: fernlock show conflicts\n",
                     room->meaning.n_conflicts);
    }
}

/* Prints the value of view/ with the chances at hand. */
static fl_status print_with_chances(fl_session *s, view_fn fn, fl_err *err)
{
    fl_status status = fl_session_chances(s, err);
    return status == FL_OK ? print_view(s, fn, NULL, err) : status;
}

fl_status fl_show_room(fl_call *call, fl_err *err)
{
    if (call->s->cli->is_json) {
        return print_with_chances(call->s, view_room, err);
    }
    print_room(call->s);
    return FL_OK;
}

fl_status fl_show_places(fl_call *call, fl_err *err)
{
    if (call->s->cli->is_json) {
        return print_with_chances(call->s, view_places, err);
    }
    print_places(call->s, false);
    return FL_OK;
}

fl_status fl_show_lots(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    if (s->cli->is_json) {
        return print_with_chances(s, view_lots, err);
    }
    for (size_t i = 0; i < s->room.meaning.n_lots; i++) {
        const fl_lot *lot = &s->room.meaning.lots[i];
        if (!lot->is_gone) {
            fl_print_lot(s, lot);
            (void)printf("; %s\n", fl_words_phase[fl_phase_of(&s->room, lot)].text);
        }
    }
    return FL_OK;
}

/* ---- a lot ---- */

static fl_status view_lot(const fl_view *view, const void *what, fl_err *err)
{
    return fl_view_lot(view, NULL, what, err);
}

static void print_identity(fl_session *s, const fl_lot *lot)
{
    fl_sv date = fl_say_date(&s->room, lot->born_s, lot->precision, &s->arena);
    fl_print_lot(s, lot);
    (void)printf("\n%s; %s, %.*s", fl_words_phase[fl_phase_of(&s->room, lot)].text,
                 fl_kinds[lot->origin].text, FL_SV_ARG(date));
    if (!fl_id_is_none(lot->source)) {
        fl_sv source = fl_room_source_name(&s->room, lot->source);
        (void)printf(", from %.*s", FL_SV_ARG(source));
    }
    fl_sv use = fl_say_uses(1U << lot->use, &s->arena);
    (void)printf(", for %.*s\n", FL_SV_ARG(use));
}

static void print_stays(fl_session *s, const fl_lot *lot)
{
    (void)puts("Where it stood:");
    for (size_t i = 0; i < s->room.meaning.n_stays; i++) {
        const fl_stay *stay = &s->room.meaning.stays[i];
        if (!fl_id_eq(stay->lot, lot->id)) {
            continue;
        }
        fl_sv from = fl_say_civil(&s->room, stay->from_s, &s->arena);
        fl_sv to = fl_say_civil(&s->room, stay->to_s, &s->arena);
        fl_sv place = fl_room_place_name(&s->room, stay->place);
        (void)printf("  %.*s to %-10.*s  %.*s\n", FL_SV_ARG(from),
                     FL_SV_ARG(to.len > 0 ? to : FL_SV("now")), FL_SV_ARG(place));
    }
}

/* One threat, with how its chance came about. */
static fl_status print_chance(fl_session *s, const fl_lot *lot, const fl_lot_chance *chance,
                              fl_err *err)
{
    fl_reason *reasons = NULL;
    size_t n_reasons = 0;
    fl_sv text = fl_say_chance(chance->chance, &s->arena);
    fl_sv band = fl_say_band(chance->least, chance->most, &s->arena);
    (void)printf("  %-24s %.*s%s%.*s%s\n", chance->threat->name, FL_SV_ARG(text),
                 band.len > 0 ? ", " : "", FL_SV_ARG(band),
                 chance->is_out_of_reach ? "; out of reach here" : "");
    fl_status status =
        fl_chances_reasons(s->chances, lot, chance->threat, &s->arena, &reasons, &n_reasons, err);
    for (size_t i = 0; i < n_reasons && status == FL_OK; i++) {
        fl_sv reason = fl_say_reason(&reasons[i], &s->arena);
        if (reasons[i].chance >= 0.001) {
            (void)printf("      %.*s\n", FL_SV_ARG(reason));
        }
    }
    return status;
}

#define CHANCES_SHOWN 6

/* The likeliest threats, those first that are most likely. */
static fl_status print_chances(fl_session *s, const fl_lot *lot, fl_err *err)
{
    size_t n = 0;
    size_t shown = 0;
    fl_lot_chance *all = FL_ARENA_ARRAY(&s->arena, fl_lot_chance, fl_know_threat_count());
    fl_status status = fl_chances_of_lot(s->chances, lot, all, &n, err);
    (void)puts("How likely something is still there:");
    while (status == FL_OK && shown < CHANCES_SHOWN) {
        fl_lot_chance *best = NULL;
        for (size_t i = 0; i < n; i++) {
            bool is_next = all[i].threat != NULL && all[i].chance >= 0.001;
            if (is_next && (best == NULL || all[i].chance > best->chance)) {
                best = &all[i];
            }
        }
        if (best == NULL) {
            break;
        }
        status = print_chance(s, lot, best, err);
        best->threat = NULL;
        shown++;
    }
    (void)puts(shown == 0 ? "  everything that is known: under 1 in 1,000"
                          : "  anything else: less likely than these");
    return status;
}

static fl_status print_lot_text(fl_session *s, const fl_lot *lot, fl_err *err)
{
    fl_gate_report report;
    print_identity(s, lot);
    print_stays(s, lot);
    print_residue(s, lot, "");
    if (lot->is_gone) {
        return FL_OK;
    }
    fl_status status = print_chances(s, lot, err);
    if (status == FL_OK) {
        status = fl_gate_ask(s->chances, &s->room, lot, 0, &s->arena, &report, err);
    }
    if (status == FL_OK) {
        fl_sv answer = fl_say_answer(&s->room, &report, &s->arena);
        fl_sv examine = fl_say_examine_usual(&s->room, &report, &s->arena);
        (void)printf("%.*s\n", FL_SV_ARG(answer));
        (void)printf("%.*s%s", FL_SV_ARG(examine), examine.len > 0 ? "\n" : "");
    }
    return status;
}

fl_status fl_show_lot(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_lot *lot = NULL;
    fl_status status = fl_room_find_lot(&s->room, call->words[0], &lot, err);
    if (status == FL_OK) {
        status = fl_session_chances(s, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const fl_arg_value *value = call->value;
    if (value[FL_SHOW_SVG].is_given && !value[FL_SHOW_THREAT].is_given) {
        return fl_fail(err, FL_EINVAL, "--svg draws one threat: give --threat CODE too");
    }
    if (value[FL_SHOW_THREAT].is_given) {
        return fl_show_chance(call, lot, value[FL_SHOW_THREAT].text, value[FL_SHOW_SVG].text, err);
    }
    return s->cli->is_json ? print_view(s, view_lot, lot, err) : print_lot_text(s, lot, err);
}

/* ---- a place ---- */

static fl_status view_place(const fl_view *view, const void *what, fl_err *err)
{
    return fl_view_place(view, NULL, what, err);
}

static void print_holds(fl_session *s, fl_id place)
{
    for (size_t i = 0; i < s->room.meaning.n_holds; i++) {
        const fl_hold *hold = &s->room.meaning.holds[i];
        if (!fl_id_eq(hold->place, place) || hold->to_s <= s->room.now_s) {
            continue;
        }
        fl_sv since = fl_say_date(&s->room, hold->from_s, FL_PRECISION_DAY, &s->arena);
        fl_sv code = fl_code_of(s, hold->id);
        (void)printf("  on hold since %.*s (%.*s)%s%.*s\n", FL_SV_ARG(since), FL_SV_ARG(code),
                     hold->why.len > 0 ? ": " : "", FL_SV_ARG(hold->why));
    }
}

#define LOOKS_SHOWN 5

static void print_looks(fl_session *s, fl_id place)
{
    int shown = 0;
    for (size_t i = s->room.n_events; i > 0 && shown < LOOKS_SHOWN; i--) {
        const fl_event *event = &s->room.events[i - 1];
        if (event->kind == FL_KIND_LOOK_DONE && fl_id_eq(event->body.look_done.place, place)) {
            fl_sv text = fl_event_line(s, event);
            (void)printf("  %.*s\n", FL_SV_ARG(text));
            shown++;
        }
    }
    if (shown == 0) {
        (void)puts("  no look yet");
    }
}

fl_status fl_show_place(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_place_set *place = NULL;
    fl_status status = fl_room_find_place(&s->room, call->words[0], &place, err);
    if (status == FL_OK) {
        status = fl_session_chances(s, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (s->cli->is_json) {
        return print_view(s, view_place, place, err);
    }
    print_place_line(s, place);
    print_holds(s, place->place);
    print_lots_of(s, place->place);
    (void)puts("The last looks:");
    print_looks(s, place->place);
    return fl_print_totals(s, place->place, err);
}
