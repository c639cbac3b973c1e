/* How numbers, dates and reasons are said: one place, so that the command line, the browser and
 * the paper say the same (design section 8). Two figures at most; "about 1 in 15"; weeks rather
 * than false days; under 1 in 1,000 is said so; never "safe", never "guaranteed". English; all
 * texts are made in the arena, or are static. */
#ifndef FL_VIEW_WORDS_H
#define FL_VIEW_WORDS_H

#include "app/backup.h"
#include "app/gate.h"
#include "app/plans.h"
#include "base/arena.h"

/* ---- chances; a probability outside 0 to 1 counts as the nearest end ---- */

/* "about 1 in 15", "about 2 in 3", "over 99 in 100", "under 1 in 1,000": round odds, the nearest;
 * the smaller of the chance and the chance against is at most 16 % off. NAN: "not known". */
fl_sv fl_say_chance(double prob, fl_arena *arena);

/* "1 in 40 to 1 in 5": rounded outwards, so that the band said always contains the band meant.
 * Empty when both ends would be said alike. */
fl_sv fl_say_band(double least, double most, fl_arena *arena);

/* "about 7 in 100", "about 0.4 in 100", "under 0.1 in 100". */
fl_sv fl_say_in_100(double prob, fl_arena *arena);

/* A weighted sum or a share as percent, two figures: "2.3 %", "23 %", "under 0.1 %". */
fl_sv fl_say_percent(double share, fl_arena *arena);

/* The gate's weighted sum as what it is, the number of harmful pests to be expected: a percent
 * under 1, "more than one pest to be expected", "about 3 pests to be expected". */
fl_sv fl_say_sum(double sum, fl_arena *arena);

/* "about 1 in 15, 1 in 40 to 1 in 5, that thrips are still there; mostly our judgement". */
typedef struct fl_say_threat_args {
    const fl_threat *threat;
    double chance, least, most;
    bool is_mostly_judgement;
} fl_say_threat_args;
fl_sv fl_say_threat(const fl_say_threat_args *args, fl_arena *arena);

/* More than one of a threat: "fungus gnats", "ants", "stowaway frogs and their eggs". */
fl_sv fl_say_plural(const fl_threat *threat, fl_arena *arena);

/* ---- time; local to the room ---- */

/* "19 March", "19 March 2027" when it is not the year of now; "in March 2023" for a month,
 * "in 2023" for a year. FL_TIME_OPEN and FL_GATE_NEVER: "no date". */
fl_sv fl_say_date(const fl_room *room, int64_t at_s, fl_precision precision, fl_arena *arena);

/* How far off: "today", "tomorrow", "yesterday", "in 9 days", "in about 3 weeks", "about 5 months
 * ago"; FL_GATE_NEVER: "not by waiting". By local days. */
fl_sv fl_say_when(const fl_room *room, int64_t at_s, fl_arena *arena);

/* A length: "5 days", "about 3 weeks", "about 4 months". */
fl_sv fl_say_days(double days, fl_arena *arena);

/* "2026-03-19" in the room's zone; empty for FL_TIME_OPEN, FL_GATE_NEVER and INT64_MIN. */
fl_sv fl_say_civil(const fl_room *room, int64_t at_s, fl_arena *arena);

/* ---- the gate ---- */

/* What stands after "for": "stock", "plants only and amphibians". uses 0: "no use". */
fl_sv fl_say_uses(unsigned uses, fl_arena *arena);
/* "strip the old mix, rinse and pot up in fresh mix"; 0: "nothing". */
fl_sv fl_say_steps(unsigned steps, fl_arena *arena);

/* What the dates count on: "The dates count on a careful look every Saturday." and, when the last
 * look was less than that, that it was. */
fl_sv fl_say_looks_counted_on(const fl_room *room, const fl_gate_report *report, fl_arena *arena);

/* What a look of less effort than the room's rounds means for the dates; empty when it is not. */
fl_sv fl_say_less_than_round(const fl_room *room, fl_effort effort, fl_arena *arena);

/* The answer in a line: "Quiet enough for stock." or "Not yet for stock: about 3 weeks more." */
fl_sv fl_say_answer(const fl_room *room, const fl_gate_report *report, fl_arena *arena);

/* The worst threat in words; "nothing that is known could be on it" when there is none. */
fl_sv fl_say_worst(const fl_gate_report *report, fl_arena *arena);

/* One condition in a sentence, with what would meet it. index < FL_CONDITION_COUNT. */
fl_sv fl_say_condition(const fl_room *room, const fl_gate_report *report, size_t index,
                       fl_arena *arena);

/* ---- how a chance came about ---- */

/* "came with the purchase from Corner Nursery; the chance then was about 1 in 12". */
fl_sv fl_say_reason(const fl_reason *reason, fl_arena *arena);

/* ---- backups ---- */

/* What is said where a backup failed, or could not be read back, and none was made since: "The
 * backup of today failed: … The last good one is of 20 November." Empty when all is well. */
fl_sv fl_say_backup(const fl_room *room, const fl_backup_state *state, fl_arena *arena);

/* ---- prices and pace ---- */

/* The price of one move in a sentence: "bin 3 would open on 19 March, not 4 March." Empty when it
 * costs nothing. */
fl_sv fl_say_price(const fl_room *room, const fl_place_price *price, fl_arena *arena);

/* Who is there: "empty", "2 other lots in it". */
fl_sv fl_say_there(const fl_place_price *price, fl_arena *arena);

/* When the lots could go from there: "could go today", "could go on 19 March", "no date within half
 * a year". */
fl_sv fl_say_own_date(const fl_room *room, const fl_place_price *price, fl_arena *arena);

/* Why there is no date, where that is known, and what would give one: a box that closes tight.
 * Empty otherwise. */
fl_sv fl_say_no_date(const fl_room *room, const fl_place_price *price, fl_arena *arena);

/* One choice in a line: "bin 3 (bin), empty: could go on 19 March; the best choice." and what it
 * costs. */
fl_sv fl_say_choice(const fl_room *room, const fl_place_price *price, fl_arena *arena);

/* The room's pace: "About one bad release in 12 years at this rate." Says so when the releases of
 * the last year carry no answers to count with. */
fl_sv fl_say_pace(const fl_pace *pace, fl_arena *arena);

#endif
