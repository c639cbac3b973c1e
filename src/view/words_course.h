/* How a number is opened in words: where a chance is from, what each treatment left and each look
 * could have shown, what temperatures went in, and what would help. Beside view/words.h; the rules
 * there hold here too. Texts are made in the arena, or are static. */
#ifndef FL_VIEW_WORDS_COURSE_H
#define FL_VIEW_WORDS_COURSE_H

#include "app/course.h"
#include "app/examine.h"
#include "app/looks.h"
#include "view/words.h"

/* "measured", "practice", "assumed". */
const char *fl_grade_word(fl_grade grade);
/* What a grade means: "from a published figure". */
const char *fl_say_grade(fl_grade grade);

/* The curve in a sentence or two: where it began, where it is, how wide the range is. */
fl_sv fl_say_course(const fl_room *room, const fl_course *course, fl_arena *arena);

/* One way in: where its prior is from. */
fl_sv fl_say_origin(const fl_room *room, const fl_course *course, size_t index, fl_arena *arena);

/* One step, look or find of the course, without its date. index < n_marks. */
fl_sv fl_say_mark(const fl_course *course, size_t index, fl_arena *arena);

/* "Temperatures: 480 hours as the place was set, …; 20.0 to 23.0 C". */
fl_sv fl_say_temps(const fl_course_temps *temps, fl_arena *arena);

/* How long it takes from egg to breeding at the temperature used, fast to slow. */
fl_sv fl_say_development(const fl_course *course, fl_arena *arena);

/* What lies ahead, if every look finds nothing. Empty when nothing is forecast. */
fl_sv fl_say_ahead(const fl_room *room, const fl_course *course, fl_arena *arena);

/* ---- what if ---- */

/* "Careful looks instead of glances: 3 January, not 17 January." With what warmth does to plants.
 * A question that does not apply says so. */
fl_sv fl_say_what_if(const fl_room *room, const fl_what_if *what, fl_arena *arena);

/* A release date as a keeper says it: "today", "3 January", "no date within half a year". */
fl_sv fl_say_release(const fl_room *room, int64_t release_s, fl_arena *arena);

/* What warmth does to one plant of the place: "little anthurium: 25 C is within its best range". */
fl_sv fl_say_warm_plant(const fl_room *room, const fl_warm_plant *plant, double temp_c,
                        fl_arena *arena);

/* How much of a lot to look at: "Look at every one of the 4 plants, at the right time …", or the
 * sample of a tray. */
fl_sv fl_say_examine(const fl_examine *examine, fl_arena *arena);

/* The same for a look as the room's rounds are, with the cards that hang there. Empty when looks do
 * not decide about it: it may go, it is not in quarantine, or it is gone. */
fl_sv fl_say_examine_usual(const fl_room *room, const fl_gate_report *report, fl_arena *arena);

/* The look plan in a sentence: how many looks, which days, the release. */
fl_sv fl_say_looks_plan(const fl_room *room, const fl_looks_plan *plan, fl_arena *arena);

#endif
