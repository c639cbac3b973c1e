/* For whoever looks after the room while its keeper is away. */
#include "app/today.h"
#include "print/sheet.h"
#include "view/words.h"

typedef struct sitter {
    const fl_print_sheet *sheet;
    fl_doc *doc;
    fl_arena *arena;
} sitter;

static void put_rules(const sitter *s)
{
    static const char *const rules[] = {
        "Move nothing from one place to another, and take nothing out. New plants do not come in.",
        "Open one box at a time; wash your hands before the next.",
        "Enclosures with animals: lids closed, always; no spray, soap or bleach near them.",
        "Boxes marked \"on hold\" stay shut unless something is written beside them here.",
    };
    fl_doc_heading(s->doc, FL_SV("The rules"));
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
        fl_doc_item(s->doc, fl_arena_printf(s->arena, "%zu.", i + 1), 7.0,
                    fl_sv_from_cstr(rules[i]));
    }
}

static size_t count_lots(const sitter *s, fl_id place)
{
    size_t n = 0;
    const fl_meaning *meaning = &s->sheet->room->meaning;
    for (size_t i = 0; i < meaning->n_lots; i++) {
        n += !meaning->lots[i].is_gone && fl_id_eq(meaning->lots[i].place, place) ? 1U : 0U;
    }
    return n;
}

static void put_places(const sitter *s)
{
    const fl_doc_table table = {.n_columns = 4,
                                .share = {0.27, 0.25, 0.18, 0.30},
                                .name = {FL_SV("place"), FL_SV("who lives there"), FL_SV("now"),
                                         FL_SV("to do (the keeper fills in)")},
                                .row_mm = 12.0};
    static const fl_place_kind order[] = {FL_PLACE_ENCLOSURE, FL_PLACE_BIN, FL_PLACE_JAR,
                                          FL_PLACE_OPEN_SPOT, FL_PLACE_BENCH};
    const fl_room *room = s->sheet->room;
    fl_doc_heading(s->doc, FL_SV("The places"));
    fl_doc_table_begin(s->doc, &table);
    for (size_t k = 0; k < sizeof order / sizeof order[0]; k++) {
        for (size_t i = 0; i < room->defs.places.count; i++) {
            const fl_ev_place_set *place = &room->defs.places.events[i]->body.place_set;
            size_t n = count_lots(s, place->place);
            bool is_held = fl_meaning_is_held(&room->meaning, place->place, room->now_s);
            bool has_life = place->has_animals || place->animals.len > 0;
            if (place->kind != order[k] || place->is_retired || (n == 0 && !has_life)) {
                continue;
            }
            const fl_sv cells[] = {
                fl_arena_printf(s->arena, "%.*s (%s)", FL_SV_ARG(place->name),
                                fl_words_place_kind[place->kind].text),
                place->animals.len > 0
                    ? place->animals
                    : fl_arena_printf(s->arena, "plants, %zu lot%s", n, n == 1 ? "" : "s"),
                is_held ? FL_SV("ON HOLD: shut") : FL_SV(""), FL_SV("")};
            fl_doc_table_row(s->doc, &table, cells);
        }
    }
}

/* Timed steps that are running when the keeper leaves. */
static void put_running(const sitter *s)
{
    const fl_room *room = s->sheet->room;
    size_t n = 0;
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        bool is_over = false;
        if (event->kind != FL_KIND_STEP_STARTED) {
            continue;
        }
        fl_id run = event->body.step_started.run;
        for (size_t k = i; k < room->n_events && !is_over; k++) {
            const fl_event *later = &room->events[k];
            is_over =
                (later->kind == FL_KIND_STEP_DONE && fl_id_eq(later->body.step_done.run, run)) ||
                (later->kind == FL_KIND_STEP_ABANDONED &&
                 fl_id_eq(later->body.step_abandoned.run, run));
        }
        if (is_over) {
            continue;
        }
        if (n++ == 0) {
            fl_doc_heading(s->doc, FL_SV("Running now"));
        }
        int64_t due_s = event->at_s + event->body.step_started.planned_s;
        fl_civil due = fl_civil_from_utc(due_s, room->tz_offset_min);
        fl_sv day = fl_print_sheet_day(room, due_s, s->arena);
        fl_doc_tick(s->doc,
                    fl_arena_printf(s->arena, "%s: take it out on %.*s at %02d:%02d",
                                    fl_words_step[event->body.step_started.step.step].text,
                                    FL_SV_ARG(day), due.hour, due.minute),
                    FL_SV(""));
    }
}

static void put_emergency(const sitter *s)
{
    static const char *const seen[] = {
        "Close the lid. Open nothing else.",
        "Wash your hands.",
        "Mark the place with a slip of paper.",
        "Take a photo through the lid, with something beside it for its size.",
        "Send it to the keeper. Do not spray, and do not take plants out.",
    };
    fl_doc_need(s->doc, 60.0);
    fl_doc_heading(s->doc, FL_SV("When you see an animal or damage that is new"));
    for (size_t i = 0; i < sizeof seen / sizeof seen[0]; i++) {
        fl_doc_tick(s->doc, fl_sv_from_cstr(seen[i]), FL_SV(""));
    }
    fl_doc_heading(s->doc, FL_SV("An animal is ill, or lies still"));
    fl_doc_para(s->doc, FL_SV("Call the keeper, then the vet below. Leave everything in its place "
                              "until one of them has answered."));
    fl_doc_heading(s->doc, FL_SV("Numbers"));
    fl_doc_lines(s->doc, FL_SV("The keeper:"), 1);
    fl_doc_lines(s->doc, FL_SV("The vet:"), 1);
    fl_doc_lines(s->doc, FL_SV("Away from, until:"), 1);
    fl_doc_lines(s->doc, FL_SV("Lights, water, heating:"), 3);
}

fl_status fl_print_sheet_sitter(const fl_print_sheet *sheet, fl_str *out, fl_err *err)
{
    fl_arena arena;
    fl_doc doc;
    fl_arena_init(&arena);
    const sitter s = {.sheet = sheet, .doc = &doc, .arena = &arena};
    fl_status status = fl_print_sheet_begin(
        sheet,
        (fl_print_sheet_title){.title = FL_SV("While I am away"),
                               .under = FL_SV("Thank you for looking after them.")},
        &arena, &doc, err);
    if (status == FL_OK) {
        put_rules(&s);
        put_running(&s);
        put_places(&s);
        put_emergency(&s);
        status = fl_doc_end(&doc, out, err);
    }
    fl_arena_done(&arena);
    return status;
}
