/* From words to a PDF. */
#include "print/order.h"

#include <string.h>

#include "app/paper.h"
#include "app/today.h"
#include "base/shown.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_order[FL_ORDER_COUNT] = {FL_ORDER_LIST(FL_WORD_ENTRY)};

#define TUB_ML 1000.0

/* ---- finding ---- */

/* What stands behind "/L/" at the end of an address, else the text itself. */
static fl_sv code_in(fl_sv text)
{
    for (size_t i = text.len; i >= 3; i--) {
        if (fl_sv_eq_nocase((fl_sv){text.ptr + i - 3, 3}, FL_SV("/l/"))) {
            return (fl_sv){text.ptr + i, text.len - i};
        }
    }
    return text;
}

fl_status fl_order_find(const fl_room *room, fl_sv text, const fl_lot **lot,
                        const fl_ev_place_set **place, fl_err *err)
{
    fl_err lot_err = {0};
    fl_sv word = code_in(fl_sv_trim(text));
    *lot = NULL;
    *place = NULL;
    if (word.len == FL_CODE_TEXT_MAX - 2 && word.len < text.len && !fl_id_code_is_valid(word)) {
        return fl_fail(err, FL_EINVAL, "code \"%.*s\": one of its letters is misread",
                       FL_SHOWN(word));
    }
    if (fl_room_find_lot(room, word, lot, &lot_err) == FL_OK) {
        return FL_OK;
    }
    if (fl_room_find_place(room, word, place, NULL) == FL_OK) {
        return FL_OK;
    }
    if (lot_err.code == FL_ENOTFOUND) {
        return fl_fail(err, FL_ENOTFOUND, "there is no lot or place \"%.*s\"", FL_SHOWN(word));
    }
    return fl_fail(err, lot_err.code, "%s", lot_err.message);
}

/* ---- labels ---- */

typedef struct picking {
    const fl_order *order;
    fl_arena *arena;
    fl_label *labels;
    size_t n;
    bool is_full;
} picking;

static void pick(picking *p, fl_label label)
{
    int copies = p->order->copies > 0 ? p->order->copies : 1;
    for (int i = 0; i < copies; i++) {
        p->is_full = p->is_full || p->n == FL_LABELS_MAX;
        if (!p->is_full) {
            p->labels[p->n++] = label;
        }
    }
}

static fl_status pick_named(picking *p, fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < p->order->n_of && status == FL_OK; i++) {
        const fl_lot *lot = NULL;
        const fl_ev_place_set *place = NULL;
        status = fl_order_find(p->order->room, p->order->of[i], &lot, &place, err);
        if (status == FL_OK && lot != NULL) {
            pick(p, fl_label_of_lot(p->order->room, lot, p->arena));
        } else if (status == FL_OK) {
            pick(p, fl_label_of_place(place, p->arena));
        }
    }
    return status;
}

static void pick_lots(picking *p)
{
    const fl_room *room = p->order->room;
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        fl_phase phase = fl_phase_of(room, lot);
        if (phase != FL_PHASE_ESTABLISHED && phase != FL_PHASE_GONE) {
            pick(p, fl_label_of_lot(room, lot, p->arena));
        }
    }
}

static void pick_places(picking *p)
{
    const fl_room *room = p->order->room;
    for (size_t i = 0; i < room->defs.places.count; i++) {
        const fl_ev_place_set *place = &room->defs.places.events[i]->body.place_set;
        if (!place->is_retired && place->kind != FL_PLACE_OUTSIDE) {
            pick(p, fl_label_of_place(place, p->arena));
        }
    }
}

static fl_status read_options(const fl_order *order, fl_arena *arena, fl_labels_options *out,
                              fl_err *err)
{
    fl_printer printer = {0};
    fl_sv name = order->stock.len > 0 ? order->stock : fl_sv_from_cstr(fl_stocks[0].name);
    fl_labels_options options = {
        .skip = order->skip, .made_s = order->room->now_s, .progress = order->app->progress};
    fl_status status = fl_stock_find(name, &options.stock, err);
    if (status == FL_OK) {
        status = fl_paper_base_url(order->app, arena, &options.base_url, err);
    }
    if (status == FL_OK) {
        status = fl_paper_printer(order->app, order->printer, arena, &printer, err);
    }
    options.offset_x_mm = printer.x_mm;
    options.offset_y_mm = printer.y_mm;
    if (status == FL_OK) {
        *out = options;
    }
    return status;
}

static fl_status make_labels(const fl_order *order, fl_arena *arena, fl_str *out, fl_err *err)
{
    fl_labels_options options;
    picking p = {.order = order, .arena = arena};
    fl_status status = read_options(order, arena, &options, err);
    if (status != FL_OK) {
        return status;
    }
    if (order->kind == FL_ORDER_TEST_PAGE) {
        return fl_labels_test_page(&options, out, err);
    }
    if (order->copies < 0 || order->copies > FL_ORDER_COPIES_MAX) {
        return fl_fail(err, FL_EDOMAIN, "copies %d: give 1 to %d", order->copies,
                       FL_ORDER_COPIES_MAX);
    }
    p.labels = FL_ARENA_ARRAY(arena, fl_label, FL_LABELS_MAX);
    if (order->n_of > 0) {
        status = pick_named(&p, err);
    } else if (order->has_places) {
        pick_places(&p);
    } else {
        pick_lots(&p);
    }
    if (status == FL_OK && p.is_full) {
        status =
            fl_fail(err, FL_ETOOBIG, "more than %d labels: name fewer at a time", FL_LABELS_MAX);
    }
    if (status == FL_OK && p.n == 0) {
        status =
            fl_fail(err, FL_ENOTFOUND, "every lot is released: name the lots or places to label");
    }
    return status == FL_OK ? fl_labels_print(&options, p.labels, p.n, out, err) : status;
}

/* ---- sheets ---- */

static fl_status need_one(const fl_order *order, const char *what, fl_err *err)
{
    return order->n_of == 1
               ? FL_OK
               : fl_fail(err, FL_EINVAL, "%s: name one %s", fl_words_order[order->kind].word, what);
}

static fl_status make_card(const fl_order *order, const fl_print_sheet *sheet, fl_str *out,
                           fl_err *err)
{
    const fl_lot *lot = NULL;
    fl_status status = need_one(order, "lot", err);
    if (status == FL_OK) {
        status = fl_room_find_lot(order->room, order->of[0], &lot, err);
    }
    return status == FL_OK ? fl_print_sheet_card(sheet, lot, out, err) : status;
}

static fl_status make_place(const fl_order *order, const fl_print_sheet *sheet, fl_str *out,
                            fl_err *err)
{
    const fl_ev_place_set *place = NULL;
    fl_status status = need_one(order, "place", err);
    if (status == FL_OK) {
        status = fl_room_find_place(order->room, order->of[0], &place, err);
    }
    return status == FL_OK ? fl_print_sheet_place(sheet, place, out, err) : status;
}

static fl_status make_outbreak(const fl_order *order, const fl_print_sheet *sheet, fl_str *out,
                               fl_err *err)
{
    fl_trace_question question = {.from_s = INT64_MIN, .to_s = FL_TIME_OPEN};
    fl_status status = need_one(order, "finding, or the place it was found in", err);
    if (status == FL_OK) {
        status = fl_trace_find_subject(order->room, order->of[0], NULL, &question, err);
    }
    return status == FL_OK ? fl_print_sheet_outbreak(sheet, &question, out, err) : status;
}

static fl_status make_pesticides(const fl_order *order, const fl_print_sheet *sheet,
                                 fl_arena *arena, fl_str *out, fl_err *err)
{
    fl_pesticides record;
    int64_t from_s = 0;
    int64_t to_s = 0;
    fl_status status = fl_pesticides_span(order->room, order->from, order->to, &from_s, &to_s, err);
    if (status != FL_OK) {
        return status;
    }
    fl_pesticides_list(order->room, from_s, to_s, arena, &record);
    return fl_print_sheet_pesticides(sheet, &record, out, err);
}

static fl_status make_complaint(const fl_order *order, const fl_print_sheet *sheet, fl_arena *arena,
                                fl_str *out, fl_err *err)
{
    fl_complaint complaint;
    const fl_event *event = NULL;
    fl_status status = need_one(order, "complaint, by its code", err);
    if (status == FL_OK) {
        event = fl_complaint_find(order->room, order->of[0]);
        if (event == NULL) {
            return fl_fail(err, FL_ENOTFOUND, "there is no complaint \"%.*s\"",
                           FL_SHOWN(order->of[0]));
        }
        status = fl_complaint_ask_event(order->room, order->app, order->chances, event, arena,
                                        &complaint, err);
    }
    return status == FL_OK ? fl_print_sheet_complaint(sheet, &complaint, out, err) : status;
}

static fl_status make_sheet(const fl_order *order, fl_arena *arena, fl_str *out, fl_err *err)
{
    fl_print_sheet sheet = {.room = order->room, .chances = order->chances, .paper = order->paper};
    const fl_print_sheet_evening_args evening = {
        .tub_ml = order->tub_ml > 0.0 ? order->tub_ml : TUB_ML, .label_pct = order->label_pct};
    fl_status status = fl_paper_base_url(order->app, arena, &sheet.base_url, err);
    if (status != FL_OK) {
        return status;
    }
    switch (order->kind) {
    case FL_ORDER_EVENING:
        return fl_print_sheet_evening(&sheet, &evening, out, err);
    case FL_ORDER_ROUND:
        return fl_print_sheet_round(&sheet, out, err);
    case FL_ORDER_PLACE:
        return make_place(order, &sheet, out, err);
    case FL_ORDER_SITTER:
        return fl_print_sheet_sitter(&sheet, out, err);
    case FL_ORDER_OUTBREAK:
        return make_outbreak(order, &sheet, out, err);
    case FL_ORDER_PESTICIDES:
        return make_pesticides(order, &sheet, arena, out, err);
    case FL_ORDER_COMPLAINT:
        return make_complaint(order, &sheet, arena, out, err);
    case FL_ORDER_CARD:
    case FL_ORDER_LABELS:
    case FL_ORDER_TEST_PAGE:
    case FL_ORDER_COUNT:
    default:
        return make_card(order, &sheet, out, err);
    }
}

fl_status fl_order_make(const fl_order *order, fl_str *out, fl_err *err)
{
    fl_arena arena;
    fl_arena_init(&arena);
    bool is_label = order->kind == FL_ORDER_LABELS || order->kind == FL_ORDER_TEST_PAGE;
    fl_status status =
        is_label ? make_labels(order, &arena, out, err) : make_sheet(order, &arena, out, err);
    fl_arena_done(&arena);
    return status;
}
