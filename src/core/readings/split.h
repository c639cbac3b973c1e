/* Inside core/readings only: rows and fields of a delimited text. */
#ifndef FL_CORE_READINGS_SPLIT_H
#define FL_CORE_READINGS_SPLIT_H

#include "core/readings/logfile.h"

/* Splits the row that begins at *at into fields (views, without quotes and outer blanks), at most
 * `max` of them, and moves *at behind its end of line. Quoted fields may hold delimiters and line
 * ends, which count in *lines. Returns how many fields there are, also beyond `max`; 0 at the end
 * of the text. An empty line has one empty field. */
size_t fl_probe_split(fl_sv text, size_t *at, char delimiter, fl_sv *field, size_t max,
                      int64_t *lines);

/* A number with this decimal sign, in thousandths; a unit or a percent sign may follow. *unit
 * becomes 'C' or 'F' where the field says so. False when it is no number; *is_missing when it is
 * empty or one of the words that loggers write for "no value". */
bool fl_probe_number(fl_sv field, char decimal, int32_t *milli, bool *is_missing, char *unit);

#endif
