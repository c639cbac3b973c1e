/* Inside the evening's files only. */
#ifndef FL_APP_EVENING_WORK_H
#define FL_APP_EVENING_WORK_H

#include "app/evening.h"

typedef struct fl_evening_work {
    const fl_room *room;
    fl_chances *chances; /* NULL: nothing is more suspect than another */
    const fl_evening_options *options;
    fl_arena *arena;
    fl_evening *out;
} fl_evening_work;

/* evening_steps.c: the lot's plan step by step, and what the journal says of each. */
void fl_evening_read_steps(const fl_evening_work *w, fl_evening_lot *lot);

/* evening_sheet.c: the run sheet for what is left. */
fl_status fl_evening_schedule(fl_evening_work *w, fl_err *err) FL_MUST_USE;

/* evening.c: the text that lots of one purchase share. */
fl_sv fl_evening_purchase_of(const fl_lot *lot, fl_arena *arena);

/* Stands by itself once hands have put it in. */
bool fl_evening_stands(fl_step step);
/* Takes a tub. */
bool fl_evening_needs_tub(fl_step step);

#endif
