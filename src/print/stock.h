/* What labels are printed on: sheets and rolls by their measures, without a maker's name. */
#ifndef FL_PRINT_STOCK_H
#define FL_PRINT_STOCK_H

#include <stdbool.h>
#include <stddef.h>

#include "base/err.h"
#include "base/sv.h"
#include "json/json.h"

typedef struct fl_stock {
    const char *name;  /* "a4-24-70x37": paper, how many, millimetres */
    const char *text;  /* for a person */
    double page_mm[2]; /* width, height of the sheet; of a roll: of one label */
    int columns, rows;
    double label_mm[2]; /* width, height */
    double first_mm[2]; /* from the paper's left and top to the first label */
    double step_mm[2];  /* from one label to the next */
    bool is_roll;       /* a thermal printer's: larger squares */
} fl_stock;

#define FL_STOCK_COUNT 17
extern const fl_stock fl_stocks[FL_STOCK_COUNT];

/* By name; FL_EINVAL lists some. */
fl_status fl_stock_find(fl_sv name, const fl_stock **out, fl_err *err) FL_MUST_USE;

/* {"stocks":[…]}: all of them, by their measures. */
void fl_stocks_put(fl_json_writer *w);

/* Labels on one page. */
int fl_stock_per_page(const fl_stock *stock);

#endif
