/* A dilution as two numbers, parts of product and parts of water, and the ways people write it.
 * "1:10" is not among them: it means 1 in 10 to one reader and 1 plus 10 to another. */
#ifndef FL_CORE_DIP_PARTS_H
#define FL_CORE_DIP_PARTS_H

#include "base/err.h"
#include "base/sv.h"

#define FL_PARTS_MAX 100000.0

/* Invariant: product > 0, water >= 0, both at most FL_PARTS_MAX. */
typedef struct fl_parts {
    double product;
    double water;
} fl_parts;

/* Reads "1+19" (1 part and 19 parts of water), "1 in 20" (1 part in 20 in all: 19 of water), or
 * "5 %" and "5 % by volume" (5 parts in 100 in all).
 * Spaces around the sign are fine. FL_EINVAL for "1:10" and "1/10", asking which of the two is
 * meant and naming both; FL_EFORMAT for other text; FL_EDOMAIN when a part is out of range. */
fl_status fl_parts_parse(fl_sv text, fl_parts *out, fl_err *err) FL_MUST_USE;

/* FL_OK when the invariant holds, else FL_EDOMAIN naming the part. */
fl_status fl_parts_check(fl_parts parts, fl_err *err) FL_MUST_USE;

/* Share of product in the whole, by volume, 0 to 1. The invariant is asserted. */
double fl_parts_share(fl_parts parts);

#endif
