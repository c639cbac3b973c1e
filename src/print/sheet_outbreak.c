/* The story of a find: what, where from, who else, what was done, what is left to do. */
#include <math.h>

#include "print/sheet.h"
#include "view/view_trace.h"
#include "view/words.h"

typedef struct story {
    const fl_print_sheet *sheet;
    const fl_outbreak *outbreak;
    fl_doc *doc;
    fl_arena *arena;
} story;

#define SOURCES_SHOWN 4
#define REACHED_SHOWN 12

static void put_sources(const story *s)
{
    const fl_trace *trace = &s->outbreak->trace;
    const fl_room *room = s->sheet->room;
    fl_sv window = fl_say_window(room, trace, s->arena);
    if (trace->n_sources == 0 && window.len == 0) {
        return;
    }
    fl_doc_heading(s->doc, FL_SV("Where from"));
    if (window.len > 0) {
        fl_doc_para(s->doc, window);
    }
    for (size_t i = 0; i < trace->n_sources && i < SOURCES_SHOWN; i++) {
        const fl_trace_source *source = &trace->sources[i];
        fl_doc_item(s->doc, fl_say_chance(source->prob, s->arena), 34.0,
                    fl_say_source(room, source, s->arena));
        for (size_t k = 0; i == 0 && k < source->n_chain; k++) {
            fl_sv day = fl_print_sheet_day(room, source->chain[k].at_s, s->arena);
            fl_sv contact = fl_say_contact(room, &source->chain[k], s->arena);
            fl_doc_item(
                s->doc, FL_SV(""), 34.0,
                fl_arena_printf(s->arena, "%.*s: %.*s", FL_SV_ARG(day), FL_SV_ARG(contact)));
        }
    }
}

static void put_reached(const story *s)
{
    const fl_trace *trace = &s->outbreak->trace;
    const fl_doc_table table = {
        .n_columns = 4,
        .share = {0.34, 0.24, 0.22, 0.20},
        .name = {FL_SV("lot"), FL_SV("where now"), FL_SV("it got there"), FL_SV("still there")}};
    if (trace->n_reached == 0) {
        return;
    }
    fl_doc_heading(s->doc, FL_SV("Who else it may have reached"));
    fl_doc_table_begin(s->doc, &table);
    for (size_t i = 0; i < trace->n_reached && i < REACHED_SHOWN; i++) {
        const fl_trace_reached *r = &trace->reached[i];
        const fl_sv cells[] = {fl_print_sheet_lot_name(s->sheet->room, r->lot, s->arena),
                               r->is_outside ? FL_SV("out of the room: tell whoever has it")
                               : r->is_lost  ? FL_SV("no plant is left")
                                             : fl_room_place_name(s->sheet->room, r->lot->place),
                               fl_say_chance(r->prob, s->arena),
                               isnan(r->chance_now) ? FL_SV("")
                                                    : fl_say_chance(r->chance_now, s->arena)};
        fl_doc_table_row(s->doc, &table, cells);
    }
    if (trace->n_reached > REACHED_SHOWN) {
        fl_doc_small(s->doc, fl_arena_printf(s->arena, "and %zu more, less likely than these",
                                             trace->n_reached - REACHED_SHOWN));
    }
}

static void put_story(const story *s)
{
    const fl_outbreak *outbreak = s->outbreak;
    fl_doc_heading(s->doc, FL_SV("What happened"));
    for (size_t i = 0; i < outbreak->n_story; i++) {
        const fl_story_line *line = &outbreak->story[i];
        fl_doc_item(
            s->doc, fl_print_sheet_date(s->sheet->room, line->at_s, FL_PRECISION_DAY, s->arena),
            34.0,
            line->is_future ? fl_arena_printf(s->arena, "(expected) %.*s", FL_SV_ARG(line->text))
                            : line->text);
    }
}

static void put_proposals(const story *s)
{
    const fl_outbreak *outbreak = s->outbreak;
    if (outbreak->n_proposals == 0) {
        return;
    }
    fl_doc_heading(s->doc, FL_SV("What could be done now"));
    fl_doc_small(s->doc, FL_SV("Each by itself; none is done by the program."));
    for (size_t i = 0; i < outbreak->n_proposals; i++) {
        const fl_proposal *p = &outbreak->proposals[i];
        fl_sv text = p->why.len > 0 ? fl_arena_printf(s->arena, "%.*s %.*s", FL_SV_ARG(p->text),
                                                      FL_SV_ARG(p->why))
                                    : p->text;
        fl_doc_tick(s->doc, text, FL_SV(""));
        if (p->not_reached.len > 0) {
            fl_doc_small(s->doc, p->not_reached);
        }
        for (size_t k = 0; k < p->n_cautions; k++) {
            fl_doc_caution(s->doc, fl_sv_from_cstr(p->cautions[k]));
        }
    }
}

static fl_status put_all(const story *s, fl_str *out, fl_err *err)
{
    const fl_outbreak *outbreak = s->outbreak;
    bool is_open = outbreak->state == FL_OUTBREAK_OPEN;
    if (is_open) {
        fl_doc_heading(s->doc, FL_SV("At once"));
    }
    for (size_t i = 0; i < FL_OUTBREAK_FIRST && is_open; i++) {
        fl_doc_tick(s->doc, fl_sv_from_cstr(outbreak->first[i]), FL_SV(""));
    }
    if (outbreak->is_traced) {
        put_sources(s);
        put_reached(s);
    }
    put_story(s);
    put_proposals(s);
    fl_doc_lines(s->doc, FL_SV("Notes:"), 3);
    return fl_doc_end(s->doc, out, err);
}

fl_status fl_print_sheet_outbreak(const fl_print_sheet *sheet, const fl_trace_question *question,
                                  fl_str *out, fl_err *err)
{
    fl_arena arena;
    fl_outbreak outbreak;
    fl_doc doc;
    fl_arena_init(&arena);
    fl_status status =
        fl_outbreak_ask(sheet->room, sheet->chances, question, &arena, &outbreak, err);
    const story s = {.sheet = sheet, .outbreak = &outbreak, .doc = &doc, .arena = &arena};
    if (status == FL_OK) {
        fl_sv what = outbreak.is_traced ? fl_say_subject(sheet->room, &outbreak.trace, &arena)
                                        : FL_SV("something was found");
        status = fl_print_sheet_begin(
            sheet,
            (fl_print_sheet_title){.title = fl_arena_printf(&arena, "Found: %.*s", FL_SV_ARG(what)),
                                   .under = fl_say_outbreak_state(sheet->room, &outbreak, &arena)},
            &arena, &doc, err);
    }
    if (status == FL_OK) {
        status = put_all(&s, out, err);
    }
    fl_arena_done(&arena);
    return status;
}
