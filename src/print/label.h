/* Labels for lots and places, in exact millimetres: a QR code that opens the page of the thing, its
 * short code in large letters, what it is, and for a lot not a date that a finding would make a lie
 * but "not released: ask the program", with a box to write in. */
#ifndef FL_PRINT_LABEL_H
#define FL_PRINT_LABEL_H

#include "app/room.h"
#include "print/page.h"
#include "print/stock.h"

/* The least side of a black square: what readers manage on paper, and from thermal printers. */
#define FL_MODULE_LEAST_MM 0.4
#define FL_MODULE_LEAST_ROLL_MM 0.5
#define FL_LABELS_MAX 2000

typedef struct fl_label {
    fl_sv code;   /* "K7F2QX" */
    fl_sv name;   /* the plant, or the place */
    fl_sv detail; /* a line or two; may be empty */
    bool is_lot;  /* with the box to write in */
} fl_label;

/* The label of a lot: plant, count and form, source and day of arrival. Texts in the arena. */
fl_label fl_label_of_lot(const fl_room *room, const fl_lot *lot, fl_arena *arena);
/* The label of a bin, jar, spot, bench or enclosure. */
fl_label fl_label_of_place(const fl_ev_place_set *place, fl_arena *arena);

typedef struct fl_labels_options {
    const fl_stock *stock;
    fl_sv base_url;                  /* "http://fern.local:8462" */
    double offset_x_mm, offset_y_mm; /* the printer's */
    int skip;                        /* places of the first sheet that are used up already */
    int64_t made_s;                  /* the room's clock */
    const fl_progress *progress;     /* whom long printing tells; NULL: nobody */
} fl_labels_options;

/* The address on a label, in upper case: "HTTP://FERN.LOCAL:8462/L/K7F2QX". FL_EINVAL: not an http
 * address of a host and a port, or one with a numeric host, which would not outlive its lease. */
fl_status fl_label_url(fl_sv base_url, fl_sv code, fl_arena *arena, fl_sv *out,
                       fl_err *err) FL_MUST_USE;

/* The PDF, appended to *out. FL_EINVAL (no label, skip), FL_ETOOBIG: the code does not fit this
 * size with squares that can be read; errors of fl_label_url and fl_pdf_finish. */
fl_status fl_labels_print(const fl_labels_options *options, const fl_label *labels, size_t count,
                          fl_str *out, fl_err *err) FL_MUST_USE;

/* A page with every label's outline, a cross in the middle of each, and a ruler of 50 mm: to be
 * printed at 100 %, held against the paper, and measured. */
fl_status fl_labels_test_page(const fl_labels_options *options, fl_str *out,
                              fl_err *err) FL_MUST_USE;

#endif
