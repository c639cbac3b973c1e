/* The layout of a label. */
#include "print/label.h"

#include <math.h>
#include <string.h>

#include "base/num.h"
#include "base/shown.h"
#include "print/qr.h"
#include "view/words.h"

#define EDGE_MM 1.3   /* nothing is printed nearer to the label's edge */
#define GAP_MM 1.2    /* between the code and the words */
#define STEP_MM 0.125 /* squares are whole dots of a printer with 8 dots a millimetre */
#define MODULE_MOST_MM 1.0
#define LEAST_PT 4.6
#define CODE_SHARE 0.86 /* of the QR code's width that its letters take */
#define BOX_TEXT "not released: ask the program"

/* ---- what stands on it ---- */

fl_label fl_label_of_lot(const fl_room *room, const fl_lot *lot, fl_arena *arena)
{
    char code[FL_CODE_TEXT_MAX];
    fl_sv date = fl_say_civil(room, lot->born_s, arena);
    bool is_vague = lot->precision >= FL_PRECISION_MONTH;
    if (is_vague) {
        date = fl_say_date(room, lot->born_s, lot->precision, arena);
    }
    const char *came = lot->origin == FL_KIND_LOT_CUT            ? "cut"
                       : lot->origin == FL_KIND_LOT_ALREADY_HERE ? "here since before"
                                                                 : "came";
    fl_sv source = fl_room_source_name(room, lot->source);
    bool has_source = !fl_id_is_none(lot->source) && lot->origin == FL_KIND_LOT_ARRIVED;
    fl_sv detail = fl_arena_printf(arena, "%lld %s, %s %.*s%s%.*s", (long long)lot->count,
                                   fl_words_form[lot->form].text, came, FL_SV_ARG(date),
                                   has_source ? ", " : "", has_source ? (int)source.len : 0,
                                   has_source ? source.ptr : "");
    return (fl_label){.code = fl_arena_copy_sv(arena, fl_sv_from_cstr(fl_id_code(code, lot->id))),
                      .name = fl_room_lot_name(room, lot),
                      .detail = detail,
                      .is_lot = true};
}

fl_label fl_label_of_place(const fl_ev_place_set *place, fl_arena *arena)
{
    char code[FL_CODE_TEXT_MAX];
    fl_sv uses = fl_say_uses(place->uses, arena);
    bool has_uses = place->uses != 0;
    fl_sv detail = fl_arena_printf(arena, "%s%s%.*s%s%.*s", fl_words_place_kind[place->kind].text,
                                   has_uses ? ", for " : "", has_uses ? (int)uses.len : 0,
                                   has_uses ? uses.ptr : "", place->animals.len > 0 ? "; " : "",
                                   FL_SV_ARG(place->animals));
    return (fl_label){.code =
                          fl_arena_copy_sv(arena, fl_sv_from_cstr(fl_id_code(code, place->place))),
                      .name = place->name,
                      .detail = detail};
}

/* ---- the address ---- */

static bool is_numeric_host(fl_sv host)
{
    bool is_numeric = host.len > 0;
    for (size_t i = 0; i < host.len; i++) {
        char c = host.ptr[i];
        is_numeric = is_numeric && ((c >= '0' && c <= '9') || c == '.');
    }
    return is_numeric || (host.len > 0 && host.ptr[0] == '[');
}

static bool is_host_text(fl_sv text)
{
    for (size_t i = 0; i < text.len; i++) {
        char c = text.ptr[i];
        bool is_good = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
                       c == '-' || c == '.' || c == ':';
        if (!is_good) {
            return false;
        }
    }
    return text.len > 0;
}

fl_status fl_label_url(fl_sv base_url, fl_sv code, fl_arena *arena, fl_sv *out, fl_err *err)
{
    static const char *const schemes[] = {"http://", "https://"};
    fl_sv rest = base_url;
    for (size_t i = 0; i < 2 && rest.len == base_url.len; i++) {
        size_t len = strlen(schemes[i]);
        if (base_url.len > len &&
            fl_sv_eq_nocase((fl_sv){base_url.ptr, len}, fl_sv_from_cstr(schemes[i]))) {
            rest = (fl_sv){base_url.ptr + len, base_url.len - len};
        }
    }
    while (rest.len > 0 && rest.ptr[rest.len - 1] == '/') {
        rest.len--;
        base_url.len--;
    }
    fl_sv port = rest;
    fl_sv host = fl_sv_split(&port, ':');
    if (rest.len == base_url.len || !is_host_text(rest) || host.len == 0) {
        return fl_fail(err, FL_EINVAL,
                       "address \"%.*s\": give http://NAME:PORT, as http://fern.local:8462",
                       FL_SHOWN(base_url));
    }
    if (is_numeric_host(host)) {
        return fl_fail(err, FL_EINVAL,
                       "address \"%.*s\": a label outlives a numeric address: give a name",
                       FL_SHOWN(base_url));
    }
    fl_sv url = fl_arena_printf(arena, "%.*s/L/%.*s", FL_SV_ARG(base_url), FL_SV_ARG(code));
    char *text = FL_ARENA_ARRAY(arena, char, url.len + 1);
    for (size_t i = 0; i < url.len; i++) {
        char c = url.ptr[i];
        text[i] = (char)(c >= 'a' && c <= 'z' ? c - 'a' + 'A' : c);
    }
    *out = (fl_sv){text, url.len};
    return FL_OK;
}

/* ---- where what goes ---- */

typedef struct layout {
    fl_pdf *pdf;
    const fl_stock *stock;
    double width_mm, height_mm; /* of the label as it is read */
    double grid_mm[2];          /* from its corner to the next whole dot of the page, as read */
} layout;

/* The largest squares that leave room for the words, in whole dots where that can be. */
static double module_for(const layout *l, int side)
{
    double room_mm = l->height_mm - 2.0 * EDGE_MM;
    double least = l->stock->is_roll ? FL_MODULE_LEAST_ROLL_MM : FL_MODULE_LEAST_MM;
    if (room_mm > l->width_mm * 0.46) {
        room_mm = l->width_mm * 0.46;
    }
    double module = floor(room_mm / side / STEP_MM) * STEP_MM;
    if (module > MODULE_MOST_MM) {
        module = MODULE_MOST_MM;
    }
    /* between the last whole step and the least, any measure will do on a sheet */
    if (module < least && room_mm / side >= least - 1e-9) {
        module = least;
    }
    return module + 1e-9 >= least ? module : 0.0;
}

/* Text that shrinks until it fits; *y moves below it. */
typedef struct fitting {
    fl_text text;
    double height_mm; /* what it may take */
    double least_pt;
} fitting;

static double put_fitting(fl_pdf *pdf, const fitting *f)
{
    fl_text text = f->text;
    fl_extent extent = fl_pdf_measure(pdf, &text);
    while ((extent.is_cut || extent.height_mm > f->height_mm) && text.size_pt > f->least_pt) {
        text.size_pt -= 0.25;
        extent = fl_pdf_measure(pdf, &text);
    }
    while (extent.height_mm > f->height_mm && text.lines_max > 1) {
        text.lines_max--;
        extent = fl_pdf_measure(pdf, &text);
    }
    return fl_pdf_text(pdf, &text).height_mm;
}

/* The code in letters, as wide as the squares. */
static double code_size_pt(fl_pdf *pdf, fl_sv code, double width_mm)
{
    fl_text text = {.size_pt = 10.0, .is_mono = true, .is_bold = true, .text = code};
    fl_extent extent = fl_pdf_measure(pdf, &text);
    return extent.width_mm > 0.0 ? 10.0 * width_mm / extent.width_mm : 10.0;
}

static void put_box(const layout *l, const double box[4])
{
    fl_text text = {.x_mm = box[0] + 0.8,
                    .y_mm = box[1] + 0.4,
                    .width_mm = box[2] - 1.6,
                    .size_pt = box[3] > 9.0 ? 6.5 : 5.5,
                    .lines_max = 2,
                    .text = FL_SV(BOX_TEXT)};
    fl_pdf_box(l->pdf, box, 0.8, (fl_stroke){.width_mm = 0.25});
    (void)put_fitting(l->pdf, &(fitting){.text = text, .height_mm = box[3] * 0.6, .least_pt = 4.2});
}

/* Name, detail, and the box, in the column beside the squares. */
static void put_words(const layout *l, const fl_label *label, const double box[4])
{
    double box_mm = label->is_lot ? fmin(fmax(box[3] * 0.34, 6.2), 13.0) : 0.0;
    double words_mm = box[3] - box_mm - (label->is_lot ? 0.6 : 0.0);
    double name_pt = fmin(fmax(box[3] * 0.36, 6.5), 17.0);
    fitting name = {.text = {.x_mm = box[0],
                             .y_mm = box[1],
                             .width_mm = box[2],
                             .size_pt = label->is_lot ? name_pt : name_pt * 1.25,
                             .is_bold = true,
                             .lines_max = 3,
                             .text = label->name},
                    .height_mm = words_mm * 0.6,
                    .least_pt = LEAST_PT + 0.8};
    double used = put_fitting(l->pdf, &name);
    fitting detail = {.text = {.x_mm = box[0],
                               .y_mm = box[1] + used + 0.3,
                               .width_mm = box[2],
                               .size_pt = fmin(fmax(box[3] * 0.24, 5.2), 11.0),
                               .lines_max = 4,
                               .text = label->detail},
                      .height_mm = words_mm - used - 0.3,
                      .least_pt = LEAST_PT};
    (void)put_fitting(l->pdf, &detail);
    if (label->is_lot) {
        const double at[4] = {box[0], box[1] + box[3] - box_mm, box[2], box_mm};
        put_box(l, at);
    }
}

/* The code's letters stand below the squares when there is room, else above the words. */
static void put_label(const layout *l, const fl_label *label, const fl_qr *qr, double module_mm)
{
    double side = fl_qr_side(qr) * module_mm;
    double quiet = FL_QR_QUIET * module_mm;
    double inside = side - 2.0 * quiet;
    double pt = code_size_pt(l->pdf, label->code, inside * CODE_SHARE);
    fl_text code = {.size_pt = pt, .is_mono = true, .is_bold = true, .text = label->code};
    double code_mm = fl_pdf_measure(l->pdf, &code).height_mm;
    /* the quiet zone must stay white: the letters begin below it */
    bool is_below = side + code_mm <= l->height_mm - EDGE_MM * 0.6;
    double top = is_below ? (l->height_mm - side - code_mm) / 2.0 : (l->height_mm - side) / 2.0;
    double x = STEP_MM * ceil(EDGE_MM * 0.4 / STEP_MM) + l->grid_mm[0];
    double y = STEP_MM * floor(fmax(top - STEP_MM, 0.0) / STEP_MM) + l->grid_mm[1];
    double left = x + side - quiet + fmax(GAP_MM, quiet * 0.9);
    const double words[4] = {left, EDGE_MM, l->width_mm - EDGE_MM - left,
                             l->height_mm - 2.0 * EDGE_MM};
    fl_qr_draw(l->pdf, qr, x, y, module_mm);
    if (is_below) {
        code.x_mm = x;
        code.y_mm = y + side;
        code.width_mm = side;
        code.align = FL_ALIGN_CENTRE;
        (void)fl_pdf_text(l->pdf, &code);
        put_words(l, label, words);
    } else {
        code.x_mm = words[0];
        code.y_mm = words[1] - 0.4;
        code.size_pt = fmin(code.size_pt, code_size_pt(l->pdf, label->code, words[2]));
        code.size_pt = fmin(code.size_pt, 11.0);
        double used = fl_pdf_text(l->pdf, &code).height_mm - 0.4;
        const double below[4] = {words[0], words[1] + used, words[2], words[3] - used};
        put_words(l, label, below);
    }
}

/* ---- pages ---- */

/* The corner of the n-th label of a page; labels fill rows. */
static void corner_of(const fl_stock *stock, int n, double corner[2])
{
    corner[0] = stock->first_mm[0] + (n % stock->columns) * stock->step_mm[0];
    corner[1] = stock->first_mm[1] + (n / stock->columns) * stock->step_mm[1];
}

/* What is upright is turned, so that its words run along it. */
static bool is_upright(const fl_stock *stock)
{
    return stock->label_mm[1] > stock->label_mm[0] * 1.3;
}

static fl_status check_options(const fl_labels_options *o, fl_err *err)
{
    int per_page = fl_stock_per_page(o->stock);
    if (o->skip < 0 || o->skip >= per_page) {
        return fl_fail(err, FL_EINVAL, "skip %d: this sheet has %d labels", o->skip, per_page);
    }
    if (fabs(o->offset_x_mm) > 20.0 || fabs(o->offset_y_mm) > 20.0) {
        return fl_fail(err, FL_EDOMAIN, "offset %g, %g mm: give -20 to 20", o->offset_x_mm,
                       o->offset_y_mm);
    }
    return FL_OK;
}

static fl_status open_pages(const fl_labels_options *o, fl_sv title, fl_pdf **out, fl_err *err)
{
    const fl_pdf_options pages = {.width_mm = o->stock->page_mm[0],
                                  .height_mm = o->stock->page_mm[1],
                                  .offset_x_mm = o->offset_x_mm,
                                  .offset_y_mm = o->offset_y_mm,
                                  .title = title,
                                  .made_s = o->made_s};
    return fl_pdf_new(&pages, out, err);
}

/* How far the next whole dot is from a place on the page. */
static double to_grid(double mm)
{
    return ceil(mm / STEP_MM - 1e-9) * STEP_MM - mm;
}

static fl_status put_one(fl_pdf *pdf, const fl_labels_options *o, const fl_label *label, int at,
                         fl_err *err)
{
    fl_arena arena;
    fl_qr qr;
    fl_sv url;
    double corner[2];
    const fl_stock *stock = o->stock;
    bool is_turned = is_upright(stock);
    layout l = {.pdf = pdf,
                .stock = stock,
                .width_mm = stock->label_mm[is_turned ? 1 : 0],
                .height_mm = stock->label_mm[is_turned ? 0 : 1]};
    fl_arena_init(&arena);
    fl_status status = fl_label_url(o->base_url, label->code, &arena, &url, err);
    if (status == FL_OK) {
        status = fl_qr_make(url, &arena, &qr, err);
    }
    double module = status == FL_OK ? module_for(&l, fl_qr_side(&qr)) : 0.0;
    if (status == FL_OK && module <= 0.0) {
        status = fl_fail(err, FL_ETOOBIG,
                         "%s: the code of \"%.*s\" would be too fine to read: take larger labels "
                         "or a shorter address",
                         stock->name, FL_SHOWN(url));
    }
    if (status == FL_OK) {
        corner_of(stock, at, corner);
        const double box[4] = {corner[0], corner[1], stock->label_mm[0], stock->label_mm[1]};
        fl_pdf_push_box(pdf, box);
        l.grid_mm[0] = to_grid(is_turned ? corner[1] : corner[0]);
        l.grid_mm[1] = is_turned ? 0.0 : to_grid(corner[1]);
        if (is_turned) {
            fl_pdf_push_turned(pdf, stock->label_mm[0], 0.0);
        }
        put_label(&l, label, &qr, module);
        if (is_turned) {
            fl_pdf_pop(pdf);
        }
        fl_pdf_pop(pdf);
    }
    fl_arena_done(&arena);
    return status;
}

fl_status fl_labels_print(const fl_labels_options *options, const fl_label *labels, size_t count,
                          fl_str *out, fl_err *err)
{
    fl_pdf *pdf = NULL;
    int per_page = fl_stock_per_page(options->stock);
    if (count == 0 || count > FL_LABELS_MAX) {
        return fl_fail(err, FL_EINVAL, "%zu labels: name 1 to %d", count, FL_LABELS_MAX);
    }
    fl_status status = check_options(options, err);
    if (status == FL_OK) {
        status = open_pages(options, FL_SV("Labels"), &pdf, err);
    }
    int at = options->skip;
    for (size_t i = 0; i < count && status == FL_OK; i++, at++) {
        if (at == per_page) {
            fl_pdf_next_page(pdf);
            at = 0;
        }
        status =
            fl_progress_tick(options->progress, FL_WORK_LABELS, (int64_t)i, (int64_t)count, err);
        if (status == FL_OK) {
            status = put_one(pdf, options, &labels[i], at, err);
        }
    }
    if (status == FL_OK) {
        status = fl_pdf_finish(pdf, out, err);
    }
    fl_pdf_free(pdf);
    return status;
}

/* ---- the test page ---- */

#define RULER_MM 50.0

static void put_ruler(fl_pdf *pdf, double x, double y)
{
    const fl_stroke fine = {.width_mm = 0.15};
    const double from[2] = {x, y};
    const double to[2] = {x + RULER_MM, y};
    fl_pdf_line(pdf, from, to, fine);
    for (int mm = 0; mm <= (int)RULER_MM; mm++) {
        double tick = mm % 10 == 0 ? 3.0 : mm % 5 == 0 ? 2.2 : 1.3;
        const double top[2] = {x + mm, y};
        const double bottom[2] = {x + mm, y + tick};
        fl_pdf_line(pdf, top, bottom, fine);
    }
}

static void put_outline(fl_pdf *pdf, const fl_stock *stock, int at)
{
    const fl_stroke fine = {.width_mm = 0.1, .grey = 0.4};
    double corner[2];
    corner_of(stock, at, corner);
    double x = corner[0] + stock->label_mm[0] / 2.0;
    double y = corner[1] + stock->label_mm[1] / 2.0;
    const double box[4] = {corner[0], corner[1], stock->label_mm[0], stock->label_mm[1]};
    const double left[2] = {x - 2.0, y};
    const double right[2] = {x + 2.0, y};
    const double top[2] = {x, y - 2.0};
    const double bottom[2] = {x, y + 2.0};
    fl_pdf_box(pdf, box, 0.0, fine);
    fl_pdf_line(pdf, left, right, fine);
    fl_pdf_line(pdf, top, bottom, fine);
}

fl_status fl_labels_test_page(const fl_labels_options *options, fl_str *out, fl_err *err)
{
    fl_pdf *pdf = NULL;
    const fl_stock *stock = options->stock;
    fl_status status = check_options(options, err);
    if (status == FL_OK) {
        status = open_pages(options, FL_SV("Test page for labels"), &pdf, err);
    }
    if (status != FL_OK) {
        return status;
    }
    for (int i = 0; i < fl_stock_per_page(stock); i++) {
        put_outline(pdf, stock, i);
    }
    /* what is narrower than the ruler shows it along the label */
    bool is_turned = stock->page_mm[0] < RULER_MM + 4.0 && stock->page_mm[1] >= RULER_MM + 4.0;
    double width = is_turned ? stock->page_mm[1] : stock->page_mm[0];
    double x = fmax((width - RULER_MM) / 2.0, 0.0);
    double y = is_turned || stock->is_roll ? 2.0 : stock->first_mm[1] + 3.0;
    if (is_turned) {
        fl_pdf_push_turned(pdf, stock->page_mm[0], 0.0);
    }
    put_ruler(pdf, x, y);
    fl_text text = {.x_mm = x,
                    .y_mm = y + 3.4,
                    .width_mm = RULER_MM,
                    .size_pt = 6.0,
                    .align = FL_ALIGN_CENTRE,
                    .lines_max = 4,
                    .text = FL_SV("50 mm. Print at 100 %, without fitting to the page; hold it "
                                  "against the labels, and measure.")};
    (void)fl_pdf_text(pdf, &text);
    if (is_turned) {
        fl_pdf_pop(pdf);
    }
    status = fl_pdf_finish(pdf, out, err);
    fl_pdf_free(pdf);
    return status;
}
