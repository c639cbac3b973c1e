/* Batches: what became of the plants of a tray, who got some, and what each person got. */
#ifndef FL_VIEW_BATCH_H
#define FL_VIEW_BATCH_H

#include "app/batch.h"
#include "view/view.h"

/* One batch whole: its lots, what was lost, who got some, its cuttings. chances may be NULL. */
void fl_view_batch(const fl_view *v, const char *key, const fl_batch *batch);

/* All batches, and everyone who got some of any: {"batches":[…],"takers":[…]}. chances may be
 * NULL. */
void fl_view_batches(const fl_view *v, const char *key);

/* What somebody got, of which batches: {"place","count","leavings":[…]}. chances may be NULL. */
void fl_view_taker(const fl_view *v, const char *key, fl_id place);

/* "72 came: 58 are here, 4 died, 10 left."; and what the record contradicts, when it does. */
fl_sv fl_say_batch(const fl_batch *batch, fl_arena *arena);

/* "10 Pilea to Anna Example on 4 May 2026 (7H3KQ2)". */
fl_sv fl_say_leaving(const fl_room *room, const fl_batch_leaving *leaving, fl_arena *arena);

/* "3 of Pilea (7H3KQ2) on 4 May 2026: damped off". */
fl_sv fl_say_loss(const fl_room *room, const fl_batch_loss *loss, fl_arena *arena);

/* "in 9 cm pots"; "as it came" when no container was told. */
fl_sv fl_say_container(fl_sv container, fl_arena *arena);

#endif
