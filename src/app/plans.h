/* Plans for the evening and prices for the shelf: what to do with a lot, what a dip takes, and
 * what each place would cost in days. */
#ifndef FL_APP_PLANS_H
#define FL_APP_PLANS_H

#include "app/gate.h"
#include "app/joining.h"
#include "core/dip/bleach.h"
#include "core/prep/prep.h"

/* The plan for one lot, from its form, plant, source and use. */
void fl_plan_for_lot(const fl_room *room, const fl_lot *lot, fl_prep_plan *out);

/* Steps that were done to the lot since the last find on it: mask of 1u << fl_step. */
unsigned fl_steps_done(const fl_room *room, const fl_lot *lot);

/* What was last told of the fertiliser prills among its roots, when it was stripped; a split has
 * what was told of its lot before. */
fl_prills fl_steps_prills(const fl_room *room, const fl_lot *lot);

/* What its plants stand in: the container told when it was last potted up, or when the lot it was
 * split from was, before. Empty: not told. */
fl_sv fl_steps_container(const fl_room *room, const fl_lot *lot);

/* Bleach that was on the lot on the local day of now, and whether it was neutralised and rinsed
 * since. */
fl_gate_chlorine fl_steps_chlorine(const fl_room *room, const fl_lot *lot);

/* Since when steps count for a lot: the last find on it; INT64_MIN without one. */
int64_t fl_steps_since(const fl_room *room, const fl_lot *lot);

/* The bottle of bleach that was opened last; NULL when none is recorded. */
const fl_ev_bottle_opened *fl_plan_bottle(const fl_room *room);

/* The recipe for `total_ml` of the plan's bleach dip from an opened bottle of the room (its age
 * from when it was opened, its latest strip reading), 5 parts in 100 by volume. FL_ENOTFOUND when
 * no bottle of bleach is recorded: then label_pct must be given (> 0) and the age is unknown. */
fl_status fl_plan_bleach(const fl_room *room, double label_pct, double total_ml, fl_bleach_mix *out,
                         fl_err *err) FL_MUST_USE;

/* One choice of a place for some lots. */
typedef struct fl_place_price {
    const fl_ev_place_set *place;
    size_t n_there;         /* lots that stand there now */
    int64_t their_before_s; /* when the last of them could go: now; FL_GATE_NEVER */
    int64_t their_after_s;  /* the same if these lots come in */
    int64_t own_s;          /* when these lots could go from there */
    int64_t own_sealed_s;   /* no date, an empty box without a gasket: when, if it closed tight */
    bool is_mixed;          /* lots of another arrival are there */
    fl_joining joining;     /* whether each side is fit to be joined to the other */
    bool is_held;
    bool is_unclean; /* empty, but not cleaned since its last lots left */
    bool rots;       /* a closed box, and one of these lots would rot there */
    bool is_best;
} fl_place_price;

/* Prices every bin, jar and open spot for `lots` going there now; cheapest first. The first is
 * marked best, unless these lots would have no date there and would have one elsewhere, or they and
 * those there are not fit to be joined: then none is. Array in the arena. */
fl_status fl_plan_prices(const fl_room *room, fl_app *app, const fl_lot *const *lots, size_t n_lots,
                         fl_arena *arena, fl_place_price **out, size_t *count,
                         fl_err *err) FL_MUST_USE;

/* Whole days that the choice costs those who are there, 0 when none; FL_DELAY_NEVER: they would not
 * open within the looks ahead. */
#define FL_DELAY_NEVER INT32_MAX
/* True when nothing speaks against the place: no delay, no hold, clean, nothing rots, and nobody is
 * joined who is not fit to be. */
bool fl_plan_price_is_free(const fl_place_price *price);
int64_t fl_plan_delay_days(const fl_place_price *price);

#endif
