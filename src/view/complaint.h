/* A customer's complaint in JSON and in words. */
#ifndef FL_VIEW_COMPLAINT_H
#define FL_VIEW_COMPLAINT_H

#include "app/complaint.h"
#include "view/view.h"

/* One of them whole: what was said, the chances with their ranges and what they rest on, what now,
 * who else has of the same plants, and the trace. */
void fl_view_complaint(const fl_view *v, const char *key, const fl_complaint *c);

/* All that are on record, the last first, without their answers: {"complaints":[…]}. */
void fl_view_complaints(const fl_view *v, const char *key);

/* "That it came along: about 1 in 3, 1 in 20 to 4 in 5. Else it began at the customer's." */
fl_sv fl_say_complaint(const fl_complaint *c, fl_arena *arena);
/* "When it left, on 3 March: about 1 in 60, 1 in 200 to 1 in 30, that thrips were on it." */
fl_sv fl_say_complaint_left(const fl_room *room, const fl_complaint *c, fl_arena *arena);
/* What the number rests on at the customer's: hazard, looks, temperature; ours or theirs. */
fl_sv fl_say_complaint_there(const fl_complaint *c, fl_arena *arena);

/* What to do now, a sentence each; returns how many, no more than FL_COMPLAINT_NEXT_MAX. */
#define FL_COMPLAINT_NEXT_MAX 6
size_t fl_say_complaint_next(const fl_room *room, const fl_complaint *c, fl_arena *arena,
                             fl_sv next[FL_COMPLAINT_NEXT_MAX]);

#endif
