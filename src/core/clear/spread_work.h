/* Inside of core/clear/spread, shared by spread.c, spread_step.c, spread_find.c and spread_read.c
 * only. */
#ifndef FL_CORE_CLEAR_SPREAD_WORK_H
#define FL_CORE_CLEAR_SPREAD_WORK_H

#include "core/clear/spread.h"

/* The state of a carrier; a pool has had its place from the start. */
fl_spread_carrier *fl_spread_carrier_at(fl_spread *spread, size_t index);

/* True while nothing took the copy's place and its carrier was not cleaned. */
bool fl_spread_is_open(const fl_copy *copy);

/* Puts a copy on its carrier. FL_ETOOBIG. */
fl_status fl_spread_add_copy(fl_spread *spread, const fl_copy *copy, fl_err *err) FL_MUST_USE;

/* One more operation in the copy's programme. */
fl_status fl_spread_append(fl_spread *spread, fl_copy *copy, const fl_op *op,
                           fl_err *err) FL_MUST_USE;

/* Appends `op` (NULL: nothing) to every open copy of the happening's carrier, each brought up to
 * its hour first. */
fl_status fl_spread_append_all(fl_spread *spread, const fl_happening *happening, const fl_op *op,
                               fl_err *err) FL_MUST_USE;

/* The operation that begins a root of this kind. */
void fl_spread_start_op(const fl_spread *spread, fl_root_kind kind, int64_t at_h, fl_op *op);

/* The largest reading over the open copies of one root among those that begin at `first` (a copy
 * of a carrier), brought up to now_h; 0 when there is none. */
fl_status fl_spread_read_root(fl_spread *spread, size_t first, size_t root, int64_t now_h,
                              fl_reading *out, fl_err *err) FL_MUST_USE;

/* What each kind of happening does; the others are in spread.c. */
void fl_spread_on_part(fl_spread *spread, const fl_happening *happening);
fl_status fl_spread_on_treated(fl_spread *spread, const fl_happening *happening,
                               fl_err *err) FL_MUST_USE;
void fl_spread_on_found(fl_spread *spread, const fl_happening *happening);
fl_status fl_spread_on_look(fl_spread *spread, const fl_happening *happening,
                            fl_err *err) FL_MUST_USE;

#endif
