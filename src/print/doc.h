/* A document that flows over pages: title, headings, paragraphs, boxes to tick, tables, cautions.
 * Black on white, one column, large enough for a bench; the frame of all sheets and cards. */
#ifndef FL_PRINT_DOC_H
#define FL_PRINT_DOC_H

#include "base/arena.h"
#include "print/page.h"

typedef enum fl_paper { FL_PAPER_A4 = 0, FL_PAPER_LETTER, FL_PAPER_A5 } fl_paper;

typedef struct fl_doc {
    fl_pdf *pdf;
    double width_mm, height_mm; /* of the page */
    double left_mm, right_mm;   /* margins' inner edges: x */
    double y_mm;                /* where the next thing goes */
    double bottom_mm;           /* nothing goes below */
    int page;
    fl_sv running; /* at the foot of each page */
    fl_arena *arena;
} fl_doc;

typedef struct fl_doc_options {
    fl_paper paper;
    fl_sv title;    /* large, at the top */
    fl_sv under;    /* a line below it; may be empty */
    fl_sv running;  /* at the foot of each page, before the page's number */
    fl_sv code_url; /* of a QR code beside the title, as fl_qr_make wants it; empty: none */
    fl_sv code;     /* its letters */
    int64_t made_s;
} fl_doc_options;

/* Begins with the title. The arena holds small texts. Errors of fl_pdf_new and fl_qr_make. */
fl_status fl_doc_begin(const fl_doc_options *options, fl_arena *arena, fl_doc *out,
                       fl_err *err) FL_MUST_USE;
/* Appends the file to *out; lets everything go, also after an error. */
fl_status fl_doc_end(fl_doc *doc, fl_str *out, fl_err *err) FL_MUST_USE;
/* Lets everything go without a file; fine after fl_doc_end. */
void fl_doc_drop(fl_doc *doc);

/* A new page when less than so much is left. */
void fl_doc_need(fl_doc *doc, double mm);
void fl_doc_space(fl_doc *doc, double mm);
void fl_doc_next_page(fl_doc *doc);

void fl_doc_heading(fl_doc *doc, fl_sv text);
/* A smaller one, bold, in the line. */
void fl_doc_subheading(fl_doc *doc, fl_sv text);
void fl_doc_para(fl_doc *doc, fl_sv text);
void fl_doc_small(fl_doc *doc, fl_sv text); /* grey, smaller */
/* A box to tick, then text; `right` (may be empty) stands at the right edge. */
void fl_doc_tick(fl_doc *doc, fl_sv text, fl_sv right);
/* "lead" in its own column (a date, a number), then text. */
void fl_doc_item(fl_doc *doc, fl_sv lead, double lead_mm, fl_sv text);
/* A caution: the mark, then text, beside a bar. */
void fl_doc_caution(fl_doc *doc, fl_sv text);
/* Ruled lines to write on, with a word in front of the first. */
void fl_doc_lines(fl_doc *doc, fl_sv word, int count);

#define FL_DOC_COLUMNS_MAX 8
/* A table: columns as shares of the width; the row of names is bold and stands again on each page.
 */
typedef struct fl_doc_table {
    size_t n_columns;
    double share[FL_DOC_COLUMNS_MAX];
    fl_sv name[FL_DOC_COLUMNS_MAX];
    double row_mm; /* the least height of a row: room to write; 0 */
} fl_doc_table;
void fl_doc_table_begin(fl_doc *doc, const fl_doc_table *table);
/* A cell of the single text "[]" is a box to tick. */
void fl_doc_table_row(fl_doc *doc, const fl_doc_table *table, const fl_sv *cells);

#endif
