/* Flowing text over pages. */
#include "print/doc.h"

#include <math.h>

#include "print/qr.h"

#define MARGIN_MM 17.0
#define FOOT_MM 9.0
#define BODY_PT 9.6
#define SMALL_PT 8.0
#define LINE_MM 1.4 /* between paragraphs */
#define TICK_MM 3.6
#define CELL_MM 1.2

static const double papers[][2] = {[FL_PAPER_A4] = {210.0, 297.0},
                                   [FL_PAPER_LETTER] = {215.9, 279.4},
                                   [FL_PAPER_A5] = {148.0, 210.0}};

/* ---- pages ---- */

static void put_foot(fl_doc *doc)
{
    double y = doc->height_mm - MARGIN_MM + 5.0;
    fl_text text = {.x_mm = doc->left_mm,
                    .y_mm = y,
                    .width_mm = doc->right_mm - doc->left_mm - 20.0,
                    .size_pt = 7.5,
                    .is_grey = true,
                    .lines_max = 1,
                    .text = doc->running};
    const double from[2] = {doc->left_mm, y - 1.2};
    const double to[2] = {doc->right_mm, y - 1.2};
    fl_pdf_line(doc->pdf, from, to, (fl_stroke){.width_mm = 0.15, .grey = 0.4});
    (void)fl_pdf_text(doc->pdf, &text);
    text.x_mm = doc->right_mm - 20.0;
    text.width_mm = 20.0;
    text.align = FL_ALIGN_RIGHT;
    text.text = fl_arena_printf(doc->arena, "page %d", doc->page);
    (void)fl_pdf_text(doc->pdf, &text);
}

void fl_doc_next_page(fl_doc *doc)
{
    put_foot(doc);
    fl_pdf_next_page(doc->pdf);
    doc->page++;
    doc->y_mm = MARGIN_MM;
}

void fl_doc_need(fl_doc *doc, double mm)
{
    if (doc->y_mm + mm > doc->bottom_mm && doc->y_mm > MARGIN_MM + 0.1) {
        fl_doc_next_page(doc);
    }
}

void fl_doc_space(fl_doc *doc, double mm)
{
    doc->y_mm += mm;
}

static double width_of(const fl_doc *doc)
{
    return doc->right_mm - doc->left_mm;
}

#define CODE_MODULE_MM 0.625
#define CODE_UP_MM 4.0 /* above the title's top: its quiet zone is white anyway */

/* At the top right; *end_mm is its lower end. */
static fl_status put_code(fl_doc *doc, const fl_doc_options *options, double *end_mm, fl_err *err)
{
    fl_qr qr;
    fl_status status = FL_OK;
    *end_mm = 0.0;
    if (options->code_url.len == 0) {
        return FL_OK;
    }
    status = fl_qr_make(options->code_url, doc->arena, &qr, err);
    if (status != FL_OK) {
        return status;
    }
    double side = fl_qr_side(&qr) * CODE_MODULE_MM;
    double quiet = FL_QR_QUIET * CODE_MODULE_MM;
    double x = doc->right_mm - side + quiet;
    double y = MARGIN_MM - quiet - CODE_UP_MM;
    fl_qr_draw(doc->pdf, &qr, x, y, CODE_MODULE_MM);
    fl_text text = {.x_mm = x,
                    .y_mm = y + side - 0.8,
                    .width_mm = side,
                    .size_pt = 11.0,
                    .is_mono = true,
                    .is_bold = true,
                    .align = FL_ALIGN_CENTRE,
                    .text = options->code};
    *end_mm = text.y_mm + fl_pdf_text(doc->pdf, &text).height_mm;
    return FL_OK;
}

static fl_status put_title(fl_doc *doc, const fl_doc_options *options, fl_err *err)
{
    double code_end_mm = 0.0;
    fl_status status = put_code(doc, options, &code_end_mm, err);
    if (status != FL_OK) {
        return status;
    }
    fl_text title = {.x_mm = doc->left_mm,
                     .y_mm = doc->y_mm,
                     .width_mm = width_of(doc) - 34.0,
                     .size_pt = 19.0,
                     .is_bold = true,
                     .lines_max = 3,
                     .text = options->title};
    fl_text under = {.x_mm = doc->left_mm,
                     .width_mm = width_of(doc) - 34.0,
                     .size_pt = 10.0,
                     .text = options->under};
    doc->y_mm += fl_pdf_text(doc->pdf, &title).height_mm + 0.8;
    if (options->under.len > 0) {
        under.y_mm = doc->y_mm;
        doc->y_mm += fl_pdf_text(doc->pdf, &under).height_mm + 1.2;
    }
    doc->y_mm = fmax(doc->y_mm, code_end_mm) + 1.0;
    const double from[2] = {doc->left_mm, doc->y_mm};
    const double to[2] = {doc->right_mm, doc->y_mm};
    fl_pdf_line(doc->pdf, from, to, (fl_stroke){.width_mm = 0.6});
    doc->y_mm += 2.6;
    return FL_OK;
}

void fl_doc_drop(fl_doc *doc)
{
    fl_pdf_free(doc->pdf);
    doc->pdf = NULL;
}

fl_status fl_doc_begin(const fl_doc_options *options, fl_arena *arena, fl_doc *out, fl_err *err)
{
    const double *paper = papers[options->paper];
    const fl_pdf_options pages = {.width_mm = paper[0],
                                  .height_mm = paper[1],
                                  .title = options->title,
                                  .made_s = options->made_s};
    fl_doc doc = {.width_mm = paper[0],
                  .height_mm = paper[1],
                  .left_mm = MARGIN_MM,
                  .right_mm = paper[0] - MARGIN_MM,
                  .y_mm = MARGIN_MM,
                  .bottom_mm = paper[1] - MARGIN_MM,
                  .page = 1,
                  .running = options->running,
                  .arena = arena};
    fl_status status = fl_pdf_new(&pages, &doc.pdf, err);
    if (status == FL_OK) {
        status = put_title(&doc, options, err);
    }
    if (status == FL_OK) {
        *out = doc;
    } else {
        fl_doc_drop(&doc);
    }
    return status;
}

fl_status fl_doc_end(fl_doc *doc, fl_str *out, fl_err *err)
{
    put_foot(doc);
    fl_status status = fl_pdf_finish(doc->pdf, out, err);
    fl_doc_drop(doc);
    return status;
}

/* ---- text ---- */

static fl_text body_text(const fl_doc *doc, fl_sv text)
{
    return (fl_text){.x_mm = doc->left_mm,
                     .y_mm = doc->y_mm,
                     .width_mm = width_of(doc),
                     .size_pt = BODY_PT,
                     .text = text};
}

static void put_text(fl_doc *doc, fl_text text, double after_mm)
{
    fl_doc_need(doc, fl_pdf_measure(doc->pdf, &text).height_mm);
    text.y_mm = doc->y_mm;
    doc->y_mm += fl_pdf_text(doc->pdf, &text).height_mm + after_mm;
}

void fl_doc_heading(fl_doc *doc, fl_sv text)
{
    fl_doc_need(doc, 22.0);
    doc->y_mm += 2.4;
    fl_text heading = body_text(doc, text);
    heading.size_pt = 12.0;
    heading.is_bold = true;
    put_text(doc, heading, 0.6);
    const double from[2] = {doc->left_mm, doc->y_mm};
    const double to[2] = {doc->right_mm, doc->y_mm};
    fl_pdf_line(doc->pdf, from, to, (fl_stroke){.width_mm = 0.2});
    doc->y_mm += 1.8;
}

void fl_doc_subheading(fl_doc *doc, fl_sv text)
{
    fl_doc_need(doc, 14.0);
    fl_text heading = body_text(doc, text);
    doc->y_mm += 1.0;
    heading.size_pt = 10.4;
    heading.is_bold = true;
    put_text(doc, heading, 0.9);
}

void fl_doc_para(fl_doc *doc, fl_sv text)
{
    put_text(doc, body_text(doc, text), LINE_MM);
}

void fl_doc_small(fl_doc *doc, fl_sv text)
{
    fl_text small = body_text(doc, text);
    small.size_pt = SMALL_PT;
    small.is_grey = true;
    put_text(doc, small, LINE_MM);
}

static void put_tick(fl_doc *doc, double x, double y)
{
    const double box[4] = {x, y, TICK_MM, TICK_MM};
    fl_pdf_box(doc->pdf, box, 0.4, (fl_stroke){.width_mm = 0.3});
}

void fl_doc_tick(fl_doc *doc, fl_sv text, fl_sv right)
{
    double right_mm = right.len > 0 ? 34.0 : 0.0;
    fl_text line = body_text(doc, text);
    line.x_mm += TICK_MM + 2.2;
    line.width_mm -= TICK_MM + 2.2 + right_mm;
    double height = fmax(fl_pdf_measure(doc->pdf, &line).height_mm, TICK_MM + 0.6);
    fl_doc_need(doc, height);
    put_tick(doc, doc->left_mm, doc->y_mm + 0.3);
    line.y_mm = doc->y_mm;
    (void)fl_pdf_text(doc->pdf, &line);
    if (right.len > 0) {
        fl_text beside = body_text(doc, right);
        beside.x_mm = doc->right_mm - right_mm;
        beside.width_mm = right_mm;
        beside.align = FL_ALIGN_RIGHT;
        beside.y_mm = doc->y_mm;
        (void)fl_pdf_text(doc->pdf, &beside);
    }
    doc->y_mm += height + LINE_MM;
}

void fl_doc_item(fl_doc *doc, fl_sv lead, double lead_mm, fl_sv text)
{
    fl_text line = body_text(doc, text);
    fl_text first = body_text(doc, lead);
    line.x_mm += lead_mm;
    line.width_mm -= lead_mm;
    first.width_mm = lead_mm - 2.0;
    double height = fl_pdf_measure(doc->pdf, &line).height_mm;
    height = fmax(height, fl_pdf_measure(doc->pdf, &first).height_mm);
    fl_doc_need(doc, height);
    line.y_mm = first.y_mm = doc->y_mm;
    (void)fl_pdf_text(doc->pdf, &first);
    (void)fl_pdf_text(doc->pdf, &line);
    doc->y_mm += height + 0.8;
}

void fl_doc_caution(fl_doc *doc, fl_sv text)
{
    fl_text line = body_text(doc, text);
    line.x_mm += 8.0;
    line.width_mm -= 8.0;
    double height = fmax(fl_pdf_measure(doc->pdf, &line).height_mm, 4.4);
    fl_doc_need(doc, height + 1.0);
    const double bar[4] = {doc->left_mm, doc->y_mm, 0.8, height};
    fl_pdf_fill(doc->pdf, bar, 0.0);
    fl_pdf_caution_mark(doc->pdf, doc->left_mm + 2.2, doc->y_mm + 0.3, 4.2);
    line.y_mm = doc->y_mm;
    (void)fl_pdf_text(doc->pdf, &line);
    doc->y_mm += height + LINE_MM;
}

void fl_doc_lines(fl_doc *doc, fl_sv word, int count)
{
    double lead = 0.0;
    if (word.len > 0) {
        fl_text first = body_text(doc, word);
        first.width_mm = 0.0;
        lead = fl_pdf_measure(doc->pdf, &first).width_mm + 2.0;
    }
    for (int i = 0; i < count; i++) {
        fl_doc_need(doc, 8.0);
        double y = doc->y_mm + 6.4;
        if (i == 0 && word.len > 0) {
            fl_text first = body_text(doc, word);
            first.y_mm = doc->y_mm + 2.4;
            (void)fl_pdf_text(doc->pdf, &first);
        }
        const double from[2] = {doc->left_mm + (i == 0 ? lead : 0.0), y};
        const double to[2] = {doc->right_mm, y};
        fl_pdf_line(doc->pdf, from, to, (fl_stroke){.width_mm = 0.2, .grey = 0.3});
        doc->y_mm += 7.6;
    }
}

/* ---- tables ---- */

typedef struct cell_style {
    bool is_bold;
    double size_pt;
} cell_style;

static bool is_tick(fl_sv cell)
{
    return fl_sv_eq_cstr(cell, "[]");
}

static fl_text cell_text(const fl_doc *doc, double x, double width, fl_sv text, cell_style style)
{
    return (fl_text){.x_mm = x + 0.4,
                     .y_mm = doc->y_mm + CELL_MM * 0.6,
                     .width_mm = width - CELL_MM,
                     .size_pt = style.size_pt,
                     .is_bold = style.is_bold,
                     .text = text};
}

static double row_height(fl_doc *doc, const fl_doc_table *table, const fl_sv *cells,
                         cell_style style)
{
    double height = table->row_mm;
    for (size_t i = 0; i < table->n_columns; i++) {
        double width = table->share[i] * width_of(doc);
        fl_text text = cell_text(doc, 0.0, width, cells[i], style);
        double own = is_tick(cells[i]) ? TICK_MM : fl_pdf_measure(doc->pdf, &text).height_mm;
        height = fmax(height, own + CELL_MM * 1.2);
    }
    return height;
}

static void put_row(fl_doc *doc, const fl_doc_table *table, const fl_sv *cells, cell_style style)
{
    double x = doc->left_mm;
    double height = row_height(doc, table, cells, style);
    for (size_t i = 0; i < table->n_columns; i++) {
        double width = table->share[i] * width_of(doc);
        fl_text text = cell_text(doc, x, width, cells[i], style);
        if (is_tick(cells[i])) {
            put_tick(doc, x + 0.6, doc->y_mm + CELL_MM * 0.7);
        } else {
            (void)fl_pdf_text(doc->pdf, &text);
        }
        x += width;
    }
    doc->y_mm += height;
    const double from[2] = {doc->left_mm, doc->y_mm};
    const double to[2] = {doc->right_mm, doc->y_mm};
    fl_pdf_line(
        doc->pdf, from, to,
        (fl_stroke){.width_mm = style.is_bold ? 0.3 : 0.12, .grey = style.is_bold ? 0.0 : 0.45});
}

static const cell_style style_names = {true, 8.6};
static const cell_style style_row = {false, 9.0};

void fl_doc_table_begin(fl_doc *doc, const fl_doc_table *table)
{
    fl_doc_need(doc, 20.0);
    fl_doc_table names = *table;
    names.row_mm = 0.0;
    put_row(doc, &names, table->name, style_names);
}

void fl_doc_table_row(fl_doc *doc, const fl_doc_table *table, const fl_sv *cells)
{
    double height = row_height(doc, table, cells, style_row);
    if (doc->y_mm + height > doc->bottom_mm) {
        fl_doc_next_page(doc);
        fl_doc_table_begin(doc, table);
    }
    put_row(doc, table, cells, style_row);
}
