/* Arrival triage in words and as JSON. */
#ifndef FL_VIEW_TRIAGE_H
#define FL_VIEW_TRIAGE_H

#include "app/triage.h"
#include "view/view.h"

/* "It could still go back until 9 March."; "It could go back until 2 March."; empty: not told. */
fl_sv fl_say_claim(const fl_room *room, const fl_claim *claim, fl_arena *arena);

/* Which way it leans, why, and what was weighed, in a few sentences. */
fl_sv fl_say_triage(const fl_room *room, const fl_triage_lot *lot, fl_arena *arena);

/* The same in a few words: "leans to: keep it (about 6 weeks, 2.1 bin-weeks); it could still go
 * back until 9 March". */
fl_sv fl_say_triage_short(const fl_room *room, const fl_triage_lot *lot, fl_arena *arena);

/* What one way would mean: "about 6 weeks, 2.1 bin-weeks"; "nothing of it can be cut". */
fl_sv fl_say_triage_option(const fl_room *room, const fl_triage_lot *lot, fl_triage_way way,
                           fl_arena *arena);

/* What is assumed, as lines; out[FL_TRIAGE_ASSUMPTIONS]. */
#define FL_TRIAGE_ASSUMPTIONS 4
void fl_say_triage_assumptions(const fl_triage_worth *worth, fl_arena *arena,
                               fl_sv out[FL_TRIAGE_ASSUMPTIONS]);

/* Which lots were asked about: those on trial, and those that are not. */
typedef struct fl_triage_asked {
    const fl_lot *lots[FL_TRIAGE_LOTS_MAX];
    size_t n;
    const fl_lot *others[FL_TRIAGE_LOTS_MAX];
    size_t n_others;
} fl_triage_asked;

/* {"assumptions":[…],"lots":[…],"not_on_trial":[…]}: each of weighed[asked->n] with its
 * claim, what was weighed, its options with what going that way records (without ids), and which
 * way it leans. */
void fl_view_triage(const fl_view *v, const char *key, const fl_triage_worth *worth,
                    const fl_triage_lot *weighed, const fl_triage_asked *asked);

/* The claim of a lot, as one object; null when nothing was told. */
void fl_view_claim(const fl_view *v, const char *key, const fl_claim *claim);

#endif
