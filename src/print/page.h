/* A PDF under construction: pages in millimetres, text, lines, boxes. The drawing of print; what
 * stands on the paper is label.h, doc.h and the sheets.
 *
 * The same calls give the same bytes with the same packages: dates in the file come from the room's
 * clock, text is laid out without the screen's hinting, and fonts come from a configuration of our
 * own (DejaVu Sans first; what it does not have from the fonts of scripts/packages.txt). */
#ifndef FL_PRINT_PAGE_H
#define FL_PRINT_PAGE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/str.h"
#include "base/sv.h"

#define FL_PDF_BYTES_MAX ((size_t)48 << 20)
#define FL_MM_PER_PT (25.4 / 72.0)

typedef struct fl_pdf fl_pdf;

typedef struct fl_pdf_options {
    double width_mm, height_mm;      /* of every page, 5 to 2000 */
    double offset_x_mm, offset_y_mm; /* the printer's: everything is moved so far right and down */
    fl_sv title;                     /* in the file's properties */
    int64_t made_s;                  /* its date there, UTC */
} fl_pdf_options;

/* Begins with the first page. FL_EDOMAIN: the page's size; FL_EIO: no font can be loaded. */
fl_status fl_pdf_new(const fl_pdf_options *options, fl_pdf **out, fl_err *err) FL_MUST_USE;
void fl_pdf_free(fl_pdf *pdf); /* NULL is fine */

/* Ends the page and begins the next. */
void fl_pdf_next_page(fl_pdf *pdf);

/* The finished file appended to *out; nothing can be drawn after it. FL_EIO, FL_ETOOBIG. */
fl_status fl_pdf_finish(fl_pdf *pdf, fl_str *out, fl_err *err) FL_MUST_USE;

/* How many characters so far were in none of the fonts (they print as boxes with their number). */
int fl_pdf_unknown(const fl_pdf *pdf);

typedef enum fl_align { FL_ALIGN_LEFT = 0, FL_ALIGN_CENTRE, FL_ALIGN_RIGHT } fl_align;

/* One piece of text. */
typedef struct fl_text {
    double x_mm, y_mm; /* its top left */
    double width_mm;   /* it is broken to this width; 0: never */
    double size_pt;
    bool is_bold, is_italic, is_mono, is_grey;
    fl_align align; /* inside width_mm */
    int lines_max;  /* what is beyond ends in "…"; 0: no limit */
    fl_sv text;     /* UTF-8 */
} fl_text;

typedef struct fl_extent {
    double width_mm, height_mm;
    int lines;
    bool is_cut; /* it did not fit lines_max */
} fl_extent;

/* How large it is; and the same, drawn. */
fl_extent fl_pdf_measure(fl_pdf *pdf, const fl_text *text);
fl_extent fl_pdf_text(fl_pdf *pdf, const fl_text *text);

/* A line of black, of `grey` 0 (black) to 1 (white). */
typedef struct fl_stroke {
    double width_mm;
    double grey;
    bool is_dashed;
} fl_stroke;
void fl_pdf_line(fl_pdf *pdf, const double from_mm[2], const double to_mm[2], fl_stroke stroke);
/* box: x, y, width, height. radius_mm of its corners. */
void fl_pdf_box(fl_pdf *pdf, const double box_mm[4], double radius_mm, fl_stroke stroke);
void fl_pdf_fill(fl_pdf *pdf, const double box_mm[4], double grey);
/* Black cells of a grid, filled as one shape, so that no printer shows a seam between neighbours:
 * bits[side * side] row by row. */
void fl_pdf_fill_grid(fl_pdf *pdf, const double corner_mm[2], double cell_mm,
                      const unsigned char *bits, int side);
/* A triangle that stands on its side, for cautions: x, y, side. */
void fl_pdf_caution_mark(fl_pdf *pdf, double x_mm, double y_mm, double side_mm);

/* Everything until fl_pdf_pop is turned by 90 degrees clockwise around a new origin. */
void fl_pdf_push_turned(fl_pdf *pdf, double x_mm, double y_mm);
/* Everything until fl_pdf_pop is relative to a new origin, and cut at that box. */
void fl_pdf_push_box(fl_pdf *pdf, const double box_mm[4]);
void fl_pdf_pop(fl_pdf *pdf);

#endif
