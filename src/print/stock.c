/* Measures of sheets and rolls. Sheets are set in the middle of their paper, as the trade does
 * (common practice, no source); what a printer adds is its offset's to take away. */
#include "print/stock.h"

#include "base/shown.h"

/* A sheet of columns x rows labels, with gaps, in the middle of its paper. */
#define SHEET(paper_w, paper_h, n_columns, n_rows, w, h, gap_x, gap_y)                             \
    .page_mm = {(paper_w), (paper_h)}, .columns = (n_columns), .rows = (n_rows),                   \
    .label_mm = {(w), (h)}, .step_mm = {(w) + (gap_x), (h) + (gap_y)},                             \
    .first_mm = {((paper_w) - (n_columns) * (w) - ((n_columns)-1) * (gap_x)) / 2.0,                \
                 ((paper_h) - (n_rows) * (h) - ((n_rows)-1) * (gap_y)) / 2.0}
#define A4(...) SHEET(210.0, 297.0, __VA_ARGS__)
#define LETTER(...) SHEET(215.9, 279.4, __VA_ARGS__)
#define ROLL(w, h)                                                                                 \
    .page_mm = {(w), (h)}, .columns = 1, .rows = 1, .label_mm = {(w), (h)}, .step_mm = {(w), (h)}, \
    .is_roll = true

const fl_stock fl_stocks[FL_STOCK_COUNT] = {
    {"a4-24-70x37", "A4, 24 labels, 70 x 37 mm", A4(3, 8, 70.0, 37.0, 0.0, 0.0)},
    {"a4-21-63.5x38.1", "A4, 21 labels, 63.5 x 38.1 mm", A4(3, 7, 63.5, 38.1, 2.5, 0.0)},
    {"a4-14-99.1x38.1", "A4, 14 labels, 99.1 x 38.1 mm", A4(2, 7, 99.1, 38.1, 2.5, 0.0)},
    {"a4-12-97x42.4", "A4, 12 labels, 97 x 42.4 mm", A4(2, 6, 97.0, 42.4, 0.0, 0.0)},
    {"a4-8-99.1x67.7", "A4, 8 labels, 99.1 x 67.7 mm", A4(2, 4, 99.1, 67.7, 2.5, 0.0)},
    {"a4-40-52.5x29.7", "A4, 40 labels, 52.5 x 29.7 mm", A4(4, 10, 52.5, 29.7, 0.0, 0.0)},
    {"a4-65-38.1x21.2", "A4, 65 labels, 38.1 x 21.2 mm", A4(5, 13, 38.1, 21.2, 2.5, 0.0)},
    {"letter-30-66.7x25.4", "US letter, 30 labels, 66.7 x 25.4 mm",
     LETTER(3, 10, 66.7, 25.4, 3.1, 0.0)},
    {"letter-10-101.6x50.8", "US letter, 10 labels, 101.6 x 50.8 mm",
     LETTER(2, 5, 101.6, 50.8, 4.8, 0.0)},
    {"roll-50x25", "roll, 50 x 25 mm", ROLL(50.0, 25.0)},
    {"roll-54x25", "roll, 54 x 25 mm", ROLL(54.0, 25.0)},
    {"roll-57x32", "roll, 57 x 32 mm", ROLL(57.0, 32.0)},
    {"roll-62x29", "roll, 62 x 29 mm", ROLL(62.0, 29.0)},
    {"roll-62x40", "roll, 62 x 40 mm", ROLL(62.0, 40.0)},
    {"roll-89x36", "roll, 89 x 36 mm", ROLL(89.0, 36.0)},
    {"roll-100x50", "roll, 100 x 50 mm", ROLL(100.0, 50.0)},
    {"roll-25x76", "roll, 25 x 76 mm, to stick upright", ROLL(25.0, 76.0)},
};

fl_status fl_stock_find(fl_sv name, const fl_stock **out, fl_err *err)
{
    for (size_t i = 0; i < FL_STOCK_COUNT; i++) {
        if (fl_sv_eq_nocase(name, fl_sv_from_cstr(fl_stocks[i].name))) {
            *out = &fl_stocks[i];
            return FL_OK;
        }
    }
    return fl_fail(err, FL_EINVAL,
                   "labels \"%.*s\": give %s, %s, %s, or another of `fernlock print stocks`",
                   FL_SHOWN(name), fl_stocks[0].name, fl_stocks[1].name, fl_stocks[12].name);
}

int fl_stock_per_page(const fl_stock *stock)
{
    return stock->columns * stock->rows;
}

void fl_stocks_put(fl_json_writer *w)
{
    fl_json_begin_object(w, NULL);
    fl_json_begin_array(w, "stocks");
    for (size_t i = 0; i < FL_STOCK_COUNT; i++) {
        const fl_stock *stock = &fl_stocks[i];
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "stock", stock->name);
        fl_json_put_cstr(w, "text", stock->text);
        fl_json_put_number(w, "label_width_mm", stock->label_mm[0]);
        fl_json_put_number(w, "label_height_mm", stock->label_mm[1]);
        fl_json_put_int(w, "per_page", fl_stock_per_page(stock));
        fl_json_put_bool(w, "is_roll", stock->is_roll);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
}
