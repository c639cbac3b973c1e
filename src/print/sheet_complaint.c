/* A customer's complaint on paper: what was said, the answer with its range, what it rests on, what
 * now, who else has of the same plants. */
#include "print/sheet.h"
#include "view/complaint.h"
#include "view/words.h"

static void put_next(const fl_print_sheet *sheet, fl_doc *doc, const fl_complaint *c,
                     fl_arena *arena)
{
    fl_sv next[FL_COMPLAINT_NEXT_MAX];
    const size_t n = fl_say_complaint_next(sheet->room, c, arena, next);
    fl_doc_heading(doc, FL_SV("What now"));
    for (size_t i = 0; i < n; i++) {
        fl_doc_tick(doc, next[i], FL_SV(""));
    }
}

static void put_others(const fl_print_sheet *sheet, fl_doc *doc, const fl_complaint *c,
                       fl_arena *arena)
{
    if (c->n_others > 1) {
        fl_doc_heading(doc, FL_SV("Who else has of the same plants"));
    }
    for (size_t i = 0; i < c->n_others; i++) {
        const fl_batch_leaving *o = &c->others[i];
        if (o->lot == c->left.lot) {
            continue;
        }
        const fl_sv on = fl_print_sheet_date(sheet->room, o->at_s, o->event->precision, arena);
        const fl_sv who = fl_room_place_name(sheet->room, o->to);
        const fl_sv lot = fl_print_sheet_lot_name(sheet->room, o->lot, arena);
        fl_doc_tick(doc,
                    fl_arena_printf(arena, "%.*s: %lld x %.*s", FL_SV_ARG(who), (long long)o->count,
                                    FL_SV_ARG(lot)),
                    on);
    }
}

static void put_all(const fl_print_sheet *sheet, fl_doc *doc, const fl_complaint *c,
                    fl_arena *arena)
{
    const fl_sv what = c->event->body.complaint_noted.what;
    if (what.len > 0) {
        fl_doc_para(doc, fl_arena_printf(arena, "In the customer's words: %.*s", FL_SV_ARG(what)));
    }
    fl_doc_heading(doc, FL_SV("Did it come along?"));
    fl_doc_para(doc, fl_say_complaint(c, arena));
    fl_doc_para(doc, fl_say_complaint_left(sheet->room, c, arena));
    fl_doc_para(doc, fl_say_complaint_there(c, arena));
    fl_doc_small(doc, FL_SV("Chances as they are known today, mostly our judgement. No verdict: "
                            "they settle nothing between a grower and a customer."));
    put_next(sheet, doc, c, arena);
    put_others(sheet, doc, c, arena);
}

fl_status fl_print_sheet_complaint(const fl_print_sheet *sheet, const fl_complaint *complaint,
                                   fl_str *out, fl_err *err)
{
    fl_arena arena;
    fl_doc doc;
    fl_arena_init(&arena);
    const fl_event *event = complaint->event;
    const fl_sv noticed = fl_print_sheet_date(sheet->room, event->at_s, event->precision, &arena);
    const fl_sv lot = fl_print_sheet_lot_name(sheet->room, complaint->left.lot, &arena);
    fl_status status = fl_print_sheet_begin(
        sheet,
        (fl_print_sheet_title){
            .title = fl_arena_printf(&arena, "%s on %.*s", complaint->question.threat->name,
                                     FL_SV_ARG(lot)),
            .under = fl_arena_printf(&arena, "%.*s; noticed %.*s", FL_SV_ARG(complaint->customer),
                                     FL_SV_ARG(noticed))},
        &arena, &doc, err);
    if (status == FL_OK) {
        put_all(sheet, &doc, complaint, &arena);
        status = fl_doc_end(&doc, out, err);
    }
    fl_arena_done(&arena);
    return status;
}
