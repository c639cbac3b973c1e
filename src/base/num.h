/* Numbers in and out, without the locale: the whole text must match, '.' is the point. */
#ifndef FL_BASE_NUM_H
#define FL_BASE_NUM_H

#include <stdint.h>

#include "base/err.h"
#include "base/sv.h"

#define FL_NUM_TEXT_MAX 40

/* A finite decimal ("-3.5", "1e3"). FL_EFORMAT for anything else, also for "nan", "inf", "0x1",
 * spaces and trailing text. `what` names the value in the message. */
fl_status fl_num_parse_double(fl_sv text, const char *what, double *out, fl_err *err) FL_MUST_USE;

/* The same and min <= value <= max, else FL_EDOMAIN naming the range. */
fl_status fl_num_parse_double_in(fl_sv text, const char *what, double min, double max, double *out,
                                 fl_err *err) FL_MUST_USE;

/* A decimal integer with min <= value <= max; FL_EFORMAT or FL_EDOMAIN. */
fl_status fl_num_parse_int(fl_sv text, const char *what, int64_t min, int64_t max, int64_t *out,
                           fl_err *err) FL_MUST_USE;

/* Writes the value with up to `digits` significant digits (1 to 17), without trailing zeros, into
 * buffer[FL_NUM_TEXT_MAX]; returns buffer. value must be finite. */
const char *fl_num_format(char *buffer, double value, int digits);

#endif
