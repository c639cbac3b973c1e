/* A keeper's shelf for tests of finds: a bench, four bins, an outside, two shops; findings with a
 * stage; and the answers of app/trace and app/outbreak by lot and place. */
#ifndef FL_TESTS_SUPPORT_SHELF_H
#define FL_TESTS_SUPPORT_SHELF_H

#include "app/outbreak.h"
#include "app/trace.h"
#include "support/keeper.h"

#define FL_SHELF_BINS 4

typedef struct fl_shelf {
    fl_keeper k;
    fl_arena arena;
    fl_trace t;    /* of the last fl_shelf_trace */
    fl_outbreak o; /* of the last fl_shelf_outbreak */
    fl_id bench, outside, shop, other_shop;
    fl_id bin[FL_SHELF_BINS + 1]; /* from 1 */
} fl_shelf;

/* "the bench", "bin 1" … at 22 C, "Corner Nursery" (nursery), "Garden Hall" (chain store). */
void fl_shelf_init(fl_shelf *s);
void fl_shelf_done(fl_shelf *s);

/* One potted plant of an arrival onto the bench. */
fl_id fl_shelf_buy(fl_shelf *s, fl_id source, fl_id arrival);
/* A plant with a name of its own, in `taxon` of data/plants.csv; its lot already here in a
 * place. */
fl_id fl_shelf_named(fl_shelf *s, fl_id place, const char *name, const char *taxon);
/* An enclosure with animals in it. */
fl_id fl_shelf_tank(fl_shelf *s, const char *name, unsigned uses);

/* A careful look at the whole place that finds one of a threat ("": not identified), seen and taken
 * away; lot may be none. Returns the finding. */
fl_id fl_shelf_find(fl_shelf *s, fl_id place, const char *threat, const char *stage, fl_id lot);
/* An event about an animal; sampled_s INT64_MIN: not told. Returns the event's id. */
fl_id fl_shelf_animal(fl_shelf *s, fl_id place, fl_animal_event what, const char *threat,
                      bool is_positive, int64_t sampled_s);

/* After fl_keeper_ask: the finding, or the event, as it stands. */
const fl_finding_now *fl_shelf_finding(const fl_shelf *s, fl_id finding);
const fl_event *fl_shelf_event(const fl_shelf *s, fl_id event);

/* Ask the room as of the clock. */
void fl_shelf_trace(fl_shelf *s, fl_id finding);
void fl_shelf_trace_animal(fl_shelf *s, fl_id event);
void fl_shelf_outbreak(fl_shelf *s, fl_id finding);
void fl_shelf_outbreak_animal(fl_shelf *s, fl_id event);

/* Of s->t; the second of each pair fails the test when it was not reached. */
bool fl_shelf_is_reached(const fl_shelf *s, fl_id lot);
fl_trace_reached fl_shelf_reached(const fl_shelf *s, fl_id lot);
bool fl_shelf_is_place_reached(const fl_shelf *s, fl_id place);
fl_trace_place fl_shelf_place(const fl_shelf *s, fl_id place);

/* Of s->o: the first proposal of the kind (about that place, when given); NULL. */
const fl_proposal *fl_shelf_proposal(const fl_shelf *s, fl_proposal_kind kind, fl_id place);
size_t fl_shelf_count(const fl_shelf *s, fl_proposal_kind kind);
/* Records what a proposal asks, as it stands. */
void fl_shelf_accept(fl_shelf *s, const fl_proposal *proposal);
/* The first line of the story of this kind; fails the test when there is none. */
fl_story_line fl_shelf_line(const fl_shelf *s, fl_story_kind kind);

/* The table's share of a link. */
double fl_shelf_share(const char *threat, fl_link link);

#endif
