/* A round of looks. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/today.h"
#include "print/sheet.h"
#include "view/words.h"

typedef struct stop {
    const fl_ev_place_set *place;
    double worst;
    bool is_held;
    bool is_upkeep;
    fl_sv look_for; /* names of the likeliest */
    size_t n_lots;
} stop;

typedef struct round_sheet {
    const fl_print_sheet *sheet;
    fl_doc *doc;
    fl_arena *arena;
    stop *stops;
    size_t n_stops;
} round_sheet;

static bool has_place(const fl_lot *lot, fl_id place)
{
    return !lot->is_gone && fl_id_eq(lot->place, place);
}

#define NAMED 3

/* The likeliest threats of a place, over its lots. */
static fl_status look_at(const round_sheet *r, stop *s, fl_err *err)
{
    size_t n_threats = fl_know_threat_count();
    double *chance = FL_ARENA_ARRAY(r->arena, double, n_threats);
    const fl_threat **threat = FL_ARENA_ARRAY(r->arena, const fl_threat *, n_threats);
    fl_lot_chance *all = FL_ARENA_ARRAY(r->arena, fl_lot_chance, n_threats);
    const fl_room *room = r->sheet->room;
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        size_t n = 0;
        if (!has_place(&room->meaning.lots[i], s->place->place)) {
            continue;
        }
        fl_status status =
            fl_chances_of_lot(r->sheet->chances, &room->meaning.lots[i], all, &n, err);
        if (status != FL_OK) {
            return status;
        }
        for (size_t k = 0; k < n; k++) {
            threat[k] = all[k].is_out_of_reach ? threat[k] : all[k].threat;
            chance[k] = all[k].is_out_of_reach ? chance[k] : fmax(chance[k], all[k].chance);
        }
    }
    for (int named = 0; named < NAMED; named++) {
        size_t best = n_threats;
        for (size_t k = 0; k < n_threats; k++) {
            bool is_more = threat[k] != NULL && chance[k] >= 0.001 &&
                           (best == n_threats || chance[k] > chance[best]);
            best = is_more ? k : best;
        }
        if (best == n_threats) {
            break;
        }
        fl_sv name = fl_say_plural(threat[best], r->arena);
        s->worst = fmax(s->worst, chance[best]);
        s->look_for = named == 0 ? name
                                 : fl_arena_printf(r->arena, "%.*s, %.*s", FL_SV_ARG(s->look_for),
                                                   FL_SV_ARG(name));
        threat[best] = NULL;
    }
    return FL_OK;
}

static int compare_stops(const void *left, const void *right)
{
    const stop *a = left;
    const stop *b = right;
    if (a->is_held != b->is_held) {
        return a->is_held ? 1 : -1;
    }
    if (a->worst != b->worst) {
        return a->worst < b->worst ? -1 : 1;
    }
    return fl_sv_compare(a->place->name, b->place->name);
}

static fl_status gather(round_sheet *r, fl_err *err)
{
    const fl_room *room = r->sheet->room;
    fl_status status = FL_OK;
    r->stops = FL_ARENA_ARRAY(r->arena, stop, room->defs.places.count);
    for (size_t i = 0; i < room->defs.places.count && status == FL_OK; i++) {
        const fl_ev_place_set *place = &room->defs.places.events[i]->body.place_set;
        stop s = {.place = place, .look_for = FL_SV("")};
        bool is_wanted = false;
        for (size_t k = 0; k < room->meaning.n_lots; k++) {
            const fl_lot *lot = &room->meaning.lots[k];
            fl_phase phase = fl_phase_of(room, lot);
            if (has_place(lot, place->place)) {
                s.n_lots++;
                is_wanted = is_wanted || phase == FL_PHASE_QUARANTINE || phase == FL_PHASE_HELD;
            }
        }
        s.is_held = fl_meaning_is_held(&room->meaning, place->place, room->now_s);
        if (!is_wanted || place->is_retired || place->kind == FL_PLACE_BENCH) {
            continue;
        }
        status = look_at(r, &s, err);
        r->stops[r->n_stops++] = s;
    }
    if (r->n_stops > 1) {
        qsort(r->stops, r->n_stops, sizeof r->stops[0], compare_stops);
    }
    return status;
}

static fl_sv devices_of(const round_sheet *r, fl_id place)
{
    unsigned hang = 0;
    fl_sv text = FL_SV("");
    const fl_room *room = r->sheet->room;
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_CARD_SET && fl_id_eq(event->body.card_set.place, place)) {
            unsigned bit = 1U << event->body.card_set.device;
            hang = event->body.card_set.is_taken_away ? hang & ~bit : hang | bit;
        }
    }
    for (int device = 0; device < FL_DEVICE_COUNT; device++) {
        if ((hang & (1U << device)) != 0) {
            text = fl_arena_printf(r->arena, "%.*s%s%s", FL_SV_ARG(text), text.len > 0 ? ", " : "",
                                   fl_words_device[device].text);
        }
    }
    return text;
}

static void put_lots(round_sheet *r, const stop *s)
{
    const fl_doc_table table = {.n_columns = 4,
                                .share = {0.38, 0.22, 0.10, 0.30},
                                .name = {FL_SV("lot"), FL_SV("came"), FL_SV("nothing"),
                                         FL_SV("seen: what, where, how many")},
                                .row_mm = 7.0};
    const fl_room *room = r->sheet->room;
    fl_doc_table_begin(r->doc, &table);
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        if (!has_place(lot, s->place->place)) {
            continue;
        }
        fl_sv name = fl_print_sheet_lot_name(room, lot, r->arena);
        const fl_sv cells[] = {
            fl_arena_printf(r->arena, "%.*s, %lld", FL_SV_ARG(name), (long long)lot->count),
            fl_say_date(room, lot->born_s, lot->precision, r->arena), FL_SV("[]"), FL_SV("")};
        fl_doc_table_row(r->doc, &table, cells);
    }
}

static void put_stop(round_sheet *r, const stop *s)
{
    char code[FL_CODE_TEXT_MAX];
    fl_sv devices = devices_of(r, s->place->place);
    fl_doc_need(r->doc, 34.0);
    fl_doc_heading(r->doc, fl_arena_printf(r->arena, "%.*s (%s)%s", FL_SV_ARG(s->place->name),
                                           fl_id_code(code, s->place->place),
                                           s->is_held ? ": on hold" : ""));
    if (s->is_held) {
        fl_doc_caution(r->doc, FL_SV("Nothing leaves this place. Look at it last; clean hands and "
                                     "tools after it."));
    }
    if (s->look_for.len > 0) {
        fl_doc_para(r->doc,
                    fl_arena_printf(r->arena, "Most likely here: %.*s.", FL_SV_ARG(s->look_for)));
    }
    if (devices.len > 0) {
        fl_doc_tick(r->doc, fl_arena_printf(r->arena, "Read: %.*s", FL_SV_ARG(devices)), FL_SV(""));
    }
    put_lots(r, s);
    fl_doc_space(r->doc, 2.0);
}

fl_status fl_print_sheet_round(const fl_print_sheet *sheet, fl_str *out, fl_err *err)
{
    static const char *const efforts[FL_EFFORT_COUNT] = {
        "a glance", "careful: leaf undersides, axils, mix surface", "the roots too"};
    fl_arena arena;
    fl_doc doc;
    fl_arena_init(&arena);
    round_sheet r = {.sheet = sheet, .doc = &doc, .arena = &arena};
    fl_sv day = fl_print_sheet_day(sheet->room, sheet->room->now_s, &arena);
    fl_status status = gather(&r, err);
    if (status == FL_OK) {
        fl_sv under = fl_arena_printf(&arena, "%.*s. How: %s.", FL_SV_ARG(day),
                                      efforts[sheet->room->round_effort]);
        status = fl_print_sheet_begin(
            sheet, (fl_print_sheet_title){.title = FL_SV("A round of looks"), .under = under},
            &arena, &doc, err);
    }
    if (status == FL_OK) {
        fl_doc_para(&doc, FL_SV("In this order: the cleanest first, what is on hold last. When "
                                "something is seen: close the lid, open nothing else, wash hands, "
                                "mark the place, take a photo."));
        fl_doc_tick(&doc,
                    FL_SV("Tools and hands cleaned between places?   yes      no      "
                          "unsure      (ring one)"),
                    FL_SV(""));
        for (size_t i = 0; i < r.n_stops; i++) {
            put_stop(&r, &r.stops[i]);
        }
        if (r.n_stops == 0) {
            fl_doc_para(&doc, FL_SV("Nothing is in quarantine: there is nothing to look at on this "
                                    "round."));
        }
        status = fl_doc_end(&doc, out, err);
    }
    fl_arena_done(&arena);
    return status;
}
