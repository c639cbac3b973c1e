/* What a logger's file seems to be, for the keeper to agree to or to correct: numbers, and the
 * sentences that the command line and the browser share. */
#ifndef FL_VIEW_VIEW_READINGS_H
#define FL_VIEW_VIEW_READINGS_H

#include "app/readings.h"
#include "view/view.h"

/* One object: how the file is read, questions with their choices, what is in it. v->chances may be
 * NULL. */
void fl_view_readings_look(const fl_view *v, const char *key, const fl_readings_look *look);

/* How the file is read and what is in it, a sentence each, in the arena; *count of them. */
fl_sv *fl_say_readings(const fl_room *room, const fl_readings_look *look, fl_arena *arena,
                       size_t *count);

/* The choices of an open question: what to answer, and what that means. */
typedef struct fl_readings_choice {
    fl_sv value;
    fl_sv text;
} fl_readings_choice;
fl_readings_choice *fl_readings_choices(const fl_readings_look *look, fl_probe_question question,
                                        fl_arena *arena, size_t *count);

/* "2026-03-01 18:30" by a clock tz_offset_min east of UTC; in the arena. */
fl_sv fl_say_clock(int64_t at_s, int tz_offset_min, fl_arena *arena);

#endif
