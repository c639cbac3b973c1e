/* The card that hangs on a bin or stands before an enclosure. */
#include "app/today.h"
#include "print/sheet.h"
#include "view/words.h"

typedef struct place_sheet {
    const fl_print_sheet *sheet;
    const fl_ev_place_set *place;
    fl_doc *doc;
    fl_arena *arena;
} place_sheet;

static fl_sv say_under(const place_sheet *p)
{
    const fl_ev_place_set *place = p->place;
    fl_sv uses = fl_say_uses(place->uses, p->arena);
    fl_sv text = fl_sv_from_cstr(fl_words_place_kind[place->kind].text);
    if (place->uses != 0) {
        text = fl_arena_printf(p->arena, "%.*s for %.*s", FL_SV_ARG(text), FL_SV_ARG(uses));
    }
    if (place->animals.len > 0) {
        text = fl_arena_printf(p->arena, "%.*s; lives here: %.*s", FL_SV_ARG(text),
                               FL_SV_ARG(place->animals));
    }
    return text;
}

static void put_lots(const place_sheet *p)
{
    const fl_doc_table table = {
        .n_columns = 5,
        .share = {0.36, 0.10, 0.20, 0.17, 0.17},
        .name = {FL_SV("plant"), FL_SV("count"), FL_SV("from"), FL_SV("came"), FL_SV("code")}};
    const fl_room *room = p->sheet->room;
    size_t n = 0;
    fl_doc_heading(p->doc, FL_SV("What stands in it"));
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        char code[FL_CODE_TEXT_MAX];
        if (lot->is_gone || !fl_id_eq(lot->place, p->place->place)) {
            continue;
        }
        if (n++ == 0) {
            fl_doc_table_begin(p->doc, &table);
        }
        const fl_sv cells[] = {
            fl_room_lot_name(room, lot), fl_arena_printf(p->arena, "%lld", (long long)lot->count),
            fl_id_is_none(lot->source) ? FL_SV("") : fl_room_source_name(room, lot->source),
            fl_print_sheet_date(room, lot->born_s, lot->precision, p->arena),
            fl_arena_copy_sv(p->arena, fl_sv_from_cstr(fl_id_code(code, lot->id)))};
        fl_doc_table_row(p->doc, &table, cells);
    }
    if (n == 0) {
        fl_doc_para(p->doc, FL_SV("Nothing."));
    }
}

static void put_state(const place_sheet *p)
{
    const fl_room *room = p->sheet->room;
    const fl_fill *fill = fl_meaning_fill_at(&room->meaning, p->place->place, room->now_s);
    bool is_box = p->place->kind == FL_PLACE_BIN || p->place->kind == FL_PLACE_JAR;
    if (fl_meaning_is_held(&room->meaning, p->place->place, room->now_s)) {
        fl_doc_caution(p->doc, FL_SV("On hold when this was printed: nothing leaves it. Ask the "
                                     "program whether it still is."));
    }
    if (is_box && fill != NULL) {
        fl_sv since = fl_print_sheet_date(room, fill->from_s, FL_PRECISION_DAY, p->arena);
        fl_doc_para(p->doc, fl_arena_printf(p->arena,
                                            "Filled since %.*s. Nothing else goes in until it was "
                                            "emptied and cleaned; plants of another arrival "
                                            "never.",
                                            FL_SV_ARG(since)));
    }
    if (is_box) {
        fl_doc_para(p->doc, FL_SV("When it opens is not printed here: a look may move it. Ask the "
                                  "program."));
    }
}

#define LOG_ROWS 14

static void put_log(const place_sheet *p)
{
    const fl_doc_table table = {
        .n_columns = 5,
        .share = {0.14, 0.12, 0.12, 0.42, 0.20},
        .name = {FL_SV("day"), FL_SV("look"), FL_SV("watered"), FL_SV("seen, done"), FL_SV("who")},
        .row_mm = 8.0};
    const fl_sv cells[] = {FL_SV(""), FL_SV("[]"), FL_SV("[]"), FL_SV(""), FL_SV("")};
    fl_doc_heading(p->doc, FL_SV("Log"));
    fl_doc_table_begin(p->doc, &table);
    int rows = (int)((p->doc->bottom_mm - p->doc->y_mm) / table.row_mm);
    rows = rows < 4 ? LOG_ROWS : rows;
    for (int i = 0; i < rows; i++) {
        fl_doc_table_row(p->doc, &table, cells);
    }
}

fl_status fl_print_sheet_place(const fl_print_sheet *sheet, const fl_ev_place_set *place,
                               fl_str *out, fl_err *err)
{
    fl_arena arena;
    fl_doc doc;
    fl_arena_init(&arena);
    const place_sheet p = {.sheet = sheet, .place = place, .doc = &doc, .arena = &arena};
    fl_status status = fl_print_sheet_begin(sheet,
                                            (fl_print_sheet_title){.title = place->name,
                                                                   .under = say_under(&p),
                                                                   .code_of = place->place},
                                            &arena, &doc, err);
    if (status == FL_OK) {
        put_state(&p);
        put_lots(&p);
        put_log(&p);
        status = fl_doc_end(&doc, out, err);
    }
    fl_arena_done(&arena);
    return status;
}
