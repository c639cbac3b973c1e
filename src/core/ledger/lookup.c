/* Rows of a meaning by their keys. */
#include "core/ledger/ledger.h"

const fl_lot *fl_meaning_lot(const fl_meaning *meaning, fl_id lot)
{
    size_t low = 0;
    size_t high = meaning->n_lots;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        int order = fl_id_compare(meaning->lots[middle].id, lot);
        if (order == 0) {
            return &meaning->lots[middle];
        }
        if (order < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return NULL;
}

/* True when a row with this key and start comes after (key, at_s). */
static bool is_after(fl_id row_key, int64_t from_s, fl_id key, int64_t at_s)
{
    int order = fl_id_compare(row_key, key);
    return order > 0 || (order == 0 && from_s > at_s);
}

const fl_stay *fl_meaning_stay_at(const fl_meaning *meaning, fl_id lot, int64_t at_s)
{
    size_t low = 0;
    size_t high = meaning->n_stays;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (is_after(meaning->stays[middle].lot, meaning->stays[middle].from_s, lot, at_s)) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    const fl_stay *last = low > 0 ? &meaning->stays[low - 1] : NULL;
    return last != NULL && fl_id_eq(last->lot, lot) && at_s < last->to_s ? last : NULL;
}

const fl_fill *fl_meaning_fill_at(const fl_meaning *meaning, fl_id place, int64_t at_s)
{
    size_t low = 0;
    size_t high = meaning->n_fills;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (is_after(meaning->fills[middle].place, meaning->fills[middle].from_s, place, at_s)) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    const fl_fill *last = low > 0 ? &meaning->fills[low - 1] : NULL;
    return last != NULL && fl_id_eq(last->place, place) && at_s < last->to_s ? last : NULL;
}

bool fl_meaning_is_held(const fl_meaning *meaning, fl_id place, int64_t at_s)
{
    size_t low = 0;
    size_t high = meaning->n_holds;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (is_after(meaning->holds[middle].place, meaning->holds[middle].from_s, place, at_s)) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    /* holds overlap: any of the place that began may last */
    while (low > 0 && fl_id_eq(meaning->holds[low - 1].place, place)) {
        if (at_s < meaning->holds[low - 1].to_s) {
            return true;
        }
        low--;
    }
    return false;
}
