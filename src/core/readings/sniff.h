/* Inside core/readings only: the steps of finding a file's shape. */
#ifndef FL_CORE_READINGS_SNIFF_H
#define FL_CORE_READINGS_SNIFF_H

#include "core/readings/split.h"

#define FL_SNIFF_ROWS 200 /* rows looked at for everything but the order of the date */

/* What stands in the first rows below the header, column by column. */
typedef struct fl_sniffed {
    int n_rows;
    int is_date[FL_PROBE_COLUMNS_MAX];  /* rows in which the field has a date */
    int has_time[FL_PROBE_COLUMNS_MAX]; /* a date with a time of day */
    int is_time[FL_PROBE_COLUMNS_MAX];  /* a time of day alone */
    int is_number[FL_PROBE_COLUMNS_MAX];
    int is_missing[FL_PROBE_COLUMNS_MAX];
    char unit[FL_PROBE_COLUMNS_MAX];                                 /* that the values say; '\0' */
    int32_t least[FL_PROBE_COLUMNS_MAX], most[FL_PROBE_COLUMNS_MAX]; /* of the numbers, in milli */
} fl_sniffed;

/* The columns by what is told, by the header's names and by what stands in them. Sets columns,
 * questions, columns_open. FL_EINVAL: a column was told that is not there. */
fl_status fl_sniff_columns(const fl_sniffed *seen, const fl_probe_told *told, fl_probe_shape *shape,
                           fl_err *err) FL_MUST_USE;

/* The unit, by what is told, the values, the header's name, or what is possible. */
void fl_sniff_unit(const fl_sniffed *seen, const fl_probe_told *told, fl_probe_shape *shape);

/* The zone of the times, by themselves, by the header ("UTC", "GMT+01:00"), or the room's. */
void fl_sniff_zone(fl_sv text, const fl_probe_told *told, fl_probe_shape *shape);

/* The order of the date, by what is told or by the whole file. FL_EFORMAT: no order fits. */
fl_status fl_sniff_order(fl_sv text, const fl_probe_told *told, fl_probe_shape *shape,
                         fl_err *err) FL_MUST_USE;

#endif
