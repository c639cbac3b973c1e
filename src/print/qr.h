/* The squares that a phone's camera reads: a QR code (ISO/IEC 18004) of error correction level M,
 * drawn as exact rectangles. */
#ifndef FL_PRINT_QR_H
#define FL_PRINT_QR_H

#include "base/arena.h"
#include "print/page.h"

#define FL_QR_QUIET 4 /* modules of white around it: the standard's least */

typedef struct fl_qr {
    int modules;               /* a side, without the quiet zone */
    const unsigned char *bits; /* modules * modules, row by row; 1: black */
} fl_qr;

/* Of a text of upper-case letters, digits and " $%*+-./:" (the alphanumeric mode, which is the
 * densest for an address). FL_EINVAL for other characters, FL_ETOOBIG. In the arena. */
fl_status fl_qr_make(fl_sv text, fl_arena *arena, fl_qr *out, fl_err *err) FL_MUST_USE;

/* Of any ASCII text, for an address that is only shown on a screen
 * ("http://192.0.2.20:8462/p#…"): the byte mode, which keeps small letters and '#'. The same
 * errors. */
fl_status fl_qr_make_bytes(fl_sv text, fl_arena *arena, fl_qr *out, fl_err *err) FL_MUST_USE;

/* Its side with the quiet zone, in modules. */
int fl_qr_side(const fl_qr *qr);

/* Draws it with its quiet zone; x and y are the quiet zone's corner. */
void fl_qr_draw(fl_pdf *pdf, const fl_qr *qr, double x_mm, double y_mm, double module_mm);

#endif
