/* The walk that finds carriers, roots and transfers (design 4.1 to 4.6): who was with whom, at
 * which moment, and that nothing seen or shared is dropped. */
#include "unit/core/clear/small.h"
#include "unit/core/clear/walked.h"

/* ---- the bench ---- */

/* Two purchases side by side on an open bench: each may have given to the other, and it is told for
 * how long when one leaves, or for those who stand there still. */
static void test_bench_links_go_both_ways(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, 1 * DAY, 1, 1, 1, BENCH);
    buy(h, 2 * DAY, 2, 2, 2, BENCH);
    buy(h, 3 * DAY, 3, 3, 1, BENCH);
    unsigned leaves = move(h, 5 * DAY, 1, BIN);
    walked *w = walk_until(h, 6 * DAY);
    size_t first = carrier_at_told(w, 1, 6);
    size_t b = carrier_of_lot(w, 2);
    size_t c = carrier_of_lot(w, 3);
    check_close(days_beside(w, first, b), 3.0, 1e-12, 0.0);
    check_close(days_beside(w, b, first), 3.0, 1e-12, 0.0);
    check_close(days_beside(w, first, c), 2.0, 1e-12, 0.0);
    check_close(days_beside(w, b, c), 3.0, 1e-12, 0.0);
    check_close(days_beside(w, c, b), 3.0, 1e-12, 0.0);
    /* What the bench gave it goes along into the bin: the move is told after the link. */
    size_t in_bin = carrier_of_lot(w, 1);
    check_true(transfer_told(w, first, in_bin, FL_LINK_MOVE) >
               transfer_told(w, b, first, FL_LINK_OPEN_BENCH));
    check_int(told_times(w, FL_HAP_TRANSFER, first, NONE, leaves), 2);
    walked_end(w);
    history_end(h);
}

/* What was already there on a bench is one pool with one root, however many plants it is. */
static void test_an_old_collection_on_a_bench(void **state)
{
    (void)state;
    history *h = history_with_places();
    for (unsigned lot = 1; lot <= 20; lot++) {
        fl_event *e = add(h, FL_KIND_LOT_ALREADY_HERE, lot * HOUR);
        e->body.lot_already_here =
            (fl_ev_lot_already_here){.lot = lot_id(lot), .count = 1, .place = place_id(BENCH)};
    }
    walked *w = walk_until(h, 30 * DAY);
    check_int(w->network.n_roots, 1);
    check_int(told_times(w, FL_HAP_TRANSFER, NONE, NONE, 0), 0);
    check_int(carrier_of_lot(w, 1), carrier_of_lot(w, 20));
    walked_end(w);
    history_end(h);
}

/* Lots of one arrival are one pool, whoever sold them; the roots are by source. */
static void test_an_arrival_is_one_pool(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, DAY, 1, 1, 1, BENCH);
    buy(h, DAY, 2, 1, 2, BENCH);
    walked *w = walk(h, FL_CARRIAGE_POOL);
    check_int(carrier_of_lot(w, 1), carrier_of_lot(w, 2));
    check_int(w->network.n_roots, 2);
    check_int(told_times(w, FL_HAP_TRANSFER, NONE, NONE, 0), 0);
    walked_end(w);
    walked *lots = walk_as(h, FL_CARRIAGE_LOT);
    check_int(carrier_of_lot(lots, 1), (int64_t)(lot_row(h, 1) - h->m.lots));
    check_true(carrier_of_lot(lots, 1) != carrier_of_lot(lots, 2));
    walked_end(lots);
    history_end(h);
}

/* A lot that comes back to the bench meets who stands there now, and does not meet again what its
 * own arrival left on a bench that has been empty since. */
static void test_coming_back_to_the_bench(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, 1 * DAY, 1, 1, 1, BENCH);
    move(h, 2 * DAY, 1, BIN);
    buy(h, 30 * DAY, 2, 2, 2, BENCH);
    move(h, 31 * DAY, 1, BENCH);
    walked *w = walk_until(h, 33 * DAY);
    size_t again = carrier_of_lot(w, 1);
    size_t other = carrier_of_lot(w, 2);
    check_true(is_linked(w, other, again, FL_LINK_OPEN_BENCH));
    check_true(is_linked(w, again, other, FL_LINK_OPEN_BENCH));
    size_t first = NONE;
    for (size_t i = 0; i < w->n_told && first == NONE; i++) {
        first = w->told[i].kind == FL_HAP_STAND ? w->told[i].carrier : NONE;
    }
    check_true(first != again);
    check_close(days_beside(w, other, again), 2.0, 1e-12, 0.0);
    walked_end(w);
    history_end(h);
}

/* While one lot of the arrival still stands there it is the same pool. */
static void test_the_bench_pool_lasts_while_a_lot_is_there(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, 1 * DAY, 1, 1, 1, BENCH);
    buy(h, 1 * DAY, 2, 1, 1, BENCH);
    move(h, 2 * DAY, 1, BIN);
    move(h, 9 * DAY, 1, BENCH);
    walked *w = walk(h, FL_CARRIAGE_POOL);
    check_int(carrier_of_lot(w, 1), carrier_of_lot(w, 2));
    walked_end(w);
    history_end(h);
}

/* ---- moves and openings ---- */

/* Six lots moved in one event are one opening of each box. */
static void test_one_event_opens_a_box_once(void **state)
{
    (void)state;
    history *h = history_with_places();
    fl_id *ids = FL_ARENA_ARRAY(&h->arena, fl_id, 6);
    for (unsigned i = 0; i < 6; i++) {
        buy(h, DAY, 1 + i, 1, 1, BENCH);
        ids[i] = lot_id(1 + i);
    }
    unsigned in = move(h, 2 * DAY, 1, BIN);
    event_at(h, in)->body.lot_moved.lots = (fl_id_list){ids, 6};
    unsigned over = move(h, 3 * DAY, 1, BIN_2);
    event_at(h, over)->body.lot_moved.lots = (fl_id_list){ids, 6};
    walked *w = walk(h, FL_CARRIAGE_POOL);
    check_int(told_times(w, FL_HAP_OPENED, NONE, NONE, in), 1);
    check_int(told_times(w, FL_HAP_OPENED, NONE, NONE, over), 2);
    for (unsigned i = 0; i < 6; i++) {
        check_int(carrier_of_lot(w, 1 + i), carrier_of_lot(w, 1));
    }
    walked_end(w);
    history_end(h);
}

/* What went outside is gone: a move recorded after that is the ledger's conflict, and moves
 * nothing here. */
static void test_what_is_gone_stays_gone(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, 1 * DAY, 1, 1, 1, BENCH);
    move(h, 2 * DAY, 1, OUTSIDE);
    unsigned late = move(h, 3 * DAY, 1, BIN);
    buy(h, 4 * DAY, 2, 2, 1, BENCH);
    lose(h, 5 * DAY, 2, 2);
    unsigned late_too = move(h, 6 * DAY, 2, BIN);
    walked *w = walk(h, FL_CARRIAGE_POOL);
    check_int(told_times(w, FL_HAP_TRANSFER, NONE, NONE, late), 0);
    check_int(told_times(w, FL_HAP_STAND, NONE, NONE, late), 0);
    check_int(told_times(w, FL_HAP_STAND, NONE, NONE, late_too), 0);
    check_true(carrier_of_lot(w, 1) == NONE);
    check_true(carrier_of_lot(w, 2) == NONE);
    walked_end(w);
    history_end(h);
}

/* A lot that is in a bin for less than a second leaves no stay there, but brings along what it had,
 * and what came in with it. */
static void test_a_moment_in_between(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, DAY, 1, 1, 1, BENCH);
    move(h, DAY, 1, BIN);
    move(h, DAY, 1, BIN_2);
    walked *w = walk(h, FL_CARRIAGE_POOL);
    size_t at = carrier_of_lot(w, 1);
    check_true(at != NONE);
    check_true(fl_id_eq(w->network.carriers[at].place, place_id(BIN_2)));
    bool has_root = told_times(w, FL_HAP_ROOT, at, NONE, 0) > 1; /* its own, and the room's */
    check_true(has_root || told_times(w, FL_HAP_TRANSFER, at, NONE, 0) > 0);
    walked_end(w);
    history_end(h);
}

/* Cuttings and splits: cut from the mother's carrier by the right link. */
static void test_cuttings_and_splits(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, DAY, 1, 1, 1, BIN);
    cut(h, 2 * DAY, 1, 2, JAR);
    unsigned division = cut(h, 3 * DAY, 1, 3, BIN_2);
    event_at(h, division)->body.lot_cut.form = FL_FORM_BARE_ROOT;
    split(h, 4 * DAY, 1, 4, 1);
    walked *w = walk(h, FL_CARRIAGE_POOL);
    size_t mother = carrier_of_lot(w, 1);
    check_true(is_linked(w, mother, carrier_of_lot(w, 2), FL_LINK_CUTTING));
    check_true(is_linked(w, mother, carrier_of_lot(w, 3), FL_LINK_DIVISION));
    check_int(carrier_of_lot(w, 4), mother);
    walked_end(w);
    walked *lots = walk_as(h, FL_CARRIAGE_LOT);
    check_true(is_linked(lots, carrier_of_lot(lots, 1), carrier_of_lot(lots, 4), FL_LINK_MOVE));
    walked_end(lots);
    history_end(h);
}

/* ---- cleaning ---- */

/* Cleaning closes the fill; the next begins with its leftover, and the lots keep what they have. */
static void test_cleaning_closes_a_fill(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, 1 * DAY, 1, 1, 1, BIN);
    move(h, 10 * DAY, 1, BIN_2);
    unsigned cleaned = clean(h, 11 * DAY, BIN);
    event_at(h, cleaned)->body.place_cleaned.efficacy = 0.9;
    buy(h, 20 * DAY, 2, 2, 2, BIN);
    walked *w = walk(h, FL_CARRIAGE_POOL);
    size_t next = carrier_of_lot(w, 2);
    check_int(told_times(w, FL_HAP_CLOSE, NONE, NONE, cleaned), 1);
    size_t n_leftovers = 0;
    for (size_t i = 0; i < w->n_told; i++) {
        const fl_happening *t = &w->told[i];
        if (t->kind == FL_HAP_CLOSE) {
            check_close(t->factor, 0.9, 0.0, 0.0);
        }
        if (t->kind == FL_HAP_TRANSFER && t->link == FL_LINK_LEFTOVER) {
            check_int(t->carrier, next);
            n_leftovers++;
        }
    }
    check_int(n_leftovers, 1);
    check_int(told_times(w, FL_HAP_CLOSE, carrier_of_lot(w, 1), NONE, 0), 0);
    walked_end(w);
    history_end(h);
}

/* Lots that stand there through the cleaning carry all they have into the next fill. */
static void test_cleaning_around_lots(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, 1 * DAY, 1, 1, 1, BIN);
    unsigned cleaned = clean(h, 11 * DAY, BIN);
    walked *w = walk(h, FL_CARRIAGE_POOL);
    check_int(told_times(w, FL_HAP_CLOSE, NONE, NONE, cleaned), 1);
    const fl_happening *moved = NULL;
    for (size_t i = 0; i < w->n_told; i++) {
        moved = w->told[i].kind == FL_HAP_TRANSFER ? &w->told[i] : moved;
    }
    check_true(moved != NULL && moved->link == FL_LINK_MOVE);
    check_int(moved->carrier, carrier_of_lot(w, 1));
    walked_end(w);
    history_end(h);
}

/* ---- tubs and tools ---- */

/* One tub in one event links all its lots both ways; later users get what was in it, for 12 h. */
static void test_a_shared_tub(void **state)
{
    (void)state;
    static const unsigned both[] = {1, 2};
    static const unsigned third[] = {3};
    static const unsigned fourth[] = {4};
    history *h = history_with_places();
    for (unsigned lot = 1; lot <= 4; lot++) {
        buy(h, DAY, lot, lot, 1, BIN);
        event_at(h, number_of(h))->body.lot_arrived.place = place_id(lot == 1   ? BIN
                                                                     : lot == 2 ? BIN_2
                                                                     : lot == 3 ? JAR
                                                                                : ENCLOSURE);
    }
    step_on(h, 2 * DAY, both, 2, FL_STEP_SOAK, "grey tub");
    step_on(h, 2 * DAY + 11 * HOUR, third, 1, FL_STEP_SOAK, "grey tub");
    step_on(h, 3 * DAY, fourth, 1, FL_STEP_SOAK, "grey tub");
    step_on(h, 3 * DAY, third, 1, FL_STEP_SOAK, "another tub");
    walked *w = walk(h, FL_CARRIAGE_POOL);
    size_t c[5] = {NONE};
    for (unsigned lot = 1; lot <= 4; lot++) {
        c[lot] = carrier_of_lot(w, lot);
    }
    check_true(is_linked(w, c[1], c[2], FL_LINK_SHARED_TUB));
    check_true(is_linked(w, c[2], c[1], FL_LINK_SHARED_TUB));
    check_true(is_linked(w, c[1], c[3], FL_LINK_SHARED_TUB));
    check_true(is_linked(w, c[2], c[3], FL_LINK_SHARED_TUB));
    check_false(is_linked(w, c[3], c[1], FL_LINK_SHARED_TUB));
    check_false(is_linked(w, c[1], c[4], FL_LINK_SHARED_TUB)); /* a day later */
    check_false(is_linked(w, c[3], c[4], FL_LINK_SHARED_TUB)); /* 13 h later */
    walked_end(w);
    history_end(h);
}

/* Two purchases use one tub, two hours apart; it is disinfected in between, or not. */
static history *evening_with_a_tub(bool is_cleaned)
{
    static const unsigned first[] = {1};
    static const unsigned second[] = {2};
    history *h = history_with_places();
    buy(h, DAY, 1, 1, 1, BENCH);
    buy(h, DAY, 2, 2, 1, BENCH);
    step_on(h, 2 * DAY, first, 1, FL_STEP_SOAK, "tub 1");
    if (is_cleaned) {
        clean(h, 2 * DAY + HOUR, BENCH);
        event_at(h, number_of(h))->body.place_cleaned.part = FL_SV("tub 1");
    }
    step_on(h, 2 * DAY + 2 * HOUR, second, 1, FL_STEP_SOAK, "tub 1");
    return h;
}

/* A tub that was disinfected in between reaches nobody, and the bench's fill goes on. */
static void test_a_disinfected_tub(void **state)
{
    (void)state;
    for (int is_cleaned = 0; is_cleaned < 2; is_cleaned++) {
        history *h = evening_with_a_tub(is_cleaned == 1);
        walked *w = walk(h, FL_CARRIAGE_LOT);
        check_int(is_linked(w, carrier_of_lot(w, 1), carrier_of_lot(w, 2), FL_LINK_SHARED_TUB),
                  !is_cleaned);
        walked_end(w);
        history_end(h);
        h = evening_with_a_tub(is_cleaned == 1);
        w = walk(h, FL_CARRIAGE_POOL);
        check_int(told_times(w, FL_HAP_CLOSE, NONE, NONE, 0), 0);
        walked_end(w);
        history_end(h);
    }
}

/* A big evening: 40 lots in one tub are all linked, none is forgotten. */
static void test_a_big_tub(void **state)
{
    (void)state;
    unsigned lots[40];
    history *h = history_with_places();
    for (unsigned i = 0; i < 40; i++) {
        lots[i] = i + 1;
        buy(h, DAY, lots[i], 1, 1, BENCH);
    }
    step_on(h, 2 * DAY, lots, 40, FL_STEP_SOAK, "bath");
    walked *w = walk(h, FL_CARRIAGE_LOT);
    check_int(told_times(w, FL_HAP_TRANSFER, NONE, NONE, 0), 40 * 39);
    check_true(is_linked(w, carrier_of_lot(w, 1), carrier_of_lot(w, 40), FL_LINK_SHARED_TUB));
    check_true(is_linked(w, carrier_of_lot(w, 40), carrier_of_lot(w, 1), FL_LINK_SHARED_TUB));
    walked_end(w);
    history_end(h);
}

/* Tools that were not cleaned carry from the place before, within three hours. */
static void test_tools_of_a_round(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, DAY, 1, 1, 1, BIN);
    buy(h, DAY, 2, 2, 1, BIN_2);
    buy(h, DAY, 3, 3, 1, JAR);
    look_whole(h, 8 * DAY, BIN, FL_EFFORT_CAREFUL, FL_HANDS_CLEANED);
    look_whole(h, 8 * DAY + 60, BIN_2, FL_EFFORT_CAREFUL, FL_HANDS_NOT_CLEANED);
    look_whole(h, 8 * DAY + 120, JAR, FL_EFFORT_CAREFUL, FL_HANDS_CLEANED);
    look_whole(h, 9 * DAY, BIN, FL_EFFORT_CAREFUL, FL_HANDS_UNSURE);
    look_whole(h, 9 * DAY + 60, JAR, FL_EFFORT_CAREFUL, FL_HANDS_UNSURE);
    walked *w = walk(h, FL_CARRIAGE_POOL);
    size_t a = carrier_of_lot(w, 1);
    size_t b = carrier_of_lot(w, 2);
    size_t c = carrier_of_lot(w, 3);
    check_true(is_linked(w, a, b, FL_LINK_SHARED_TOOL));
    check_false(is_linked(w, b, a, FL_LINK_SHARED_TOOL));
    check_false(is_linked(w, b, c, FL_LINK_SHARED_TOOL));
    check_true(is_linked(w, a, c, FL_LINK_UNSURE_TOOL));
    check_false(is_linked(w, c, a, FL_LINK_UNSURE_TOOL)); /* the day before: too long ago */
    walked_end(w);
    history_end(h);
}

/* ---- looks and findings ---- */

static double frac_told(const walked *w, size_t carrier)
{
    double frac = (double)NAN;
    for (size_t i = 0; i < w->n_told; i++) {
        if (w->told[i].kind == FL_HAP_LOOK && w->told[i].carrier == carrier) {
            frac = w->told[i].frac_seen;
        }
    }
    return frac;
}

/* n of N plants, times the share examined (design 4.5). */
static void test_a_look_at_part_of_a_pool(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, DAY, 1, 1, 1, BIN);
    buy(h, DAY, 2, 1, 1, BIN);
    lose(h, 2 * DAY, 2, 1);
    unsigned number = look(h, 3 * DAY, BIN);
    event_at(h, number)->body.look_done.frac_examined = 0.5;
    list_lot(h, number, 1);
    walked *w = walk(h, FL_CARRIAGE_POOL);
    check_close(frac_told(w, carrier_of_lot(w, 1)), 0.5 * 2.0 / 3.0, 1e-12, 0.0);
    walked_end(w);
    history_end(h);
}

/* A finding without a lot, made while only lot 1 was looked at, is not on lot 2; and it must not
 * wait there for a later look. */
static void test_a_finding_belongs_to_what_was_looked_at(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, DAY, 1, 1, 1, BIN);
    buy(h, DAY, 2, 1, 1, BIN);
    unsigned number = find(h, 2 * DAY, BIN, 1, "root_mealybug");
    event_at(h, number)->body.look_done.frac_examined = 1.0;
    list_lot(h, number, 1);
    walked *w = walk(h, FL_CARRIAGE_LOT);
    check_int(told_times(w, FL_HAP_FOUND, carrier_of_lot(w, 1), NONE, number), 1);
    check_int(told_times(w, FL_HAP_LOOK, carrier_of_lot(w, 1), NONE, number), 1);
    check_int(told_times(w, FL_HAP_FOUND, carrier_of_lot(w, 2), NONE, number), 0);
    walked_end(w);
    history_end(h);
}

/* Found on a lot that the look leaves out, or on one that stood elsewhere, or in a bin without
 * plants: it was seen all the same, and each FOUND has its LOOK. */
static void test_no_finding_is_dropped(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, DAY, 1, 1, 1, BIN);
    buy(h, DAY, 2, 1, 1, BIN);
    buy(h, DAY, 3, 3, 1, BIN_2);
    unsigned left_out = find(h, 2 * DAY, BIN, 1, "root_mealybug");
    list_lot(h, left_out, 1);
    finding_at(h, left_out)->lot = lot_id(2);
    unsigned elsewhere = find(h, 3 * DAY, BIN, 2, "root_mealybug");
    event_at(h, elsewhere)->body.look_done.frac_examined = 1.0;
    finding_at(h, elsewhere)->lot = lot_id(3);
    move(h, 4 * DAY, 3, BIN);
    unsigned empty = find(h, 5 * DAY, BIN_2, 3, "fungus_gnat");
    event_at(h, empty)->body.look_done.frac_examined = 1.0;
    walked *lots = walk(h, FL_CARRIAGE_LOT);
    check_int(told_times(lots, FL_HAP_FOUND, carrier_of_lot(lots, 2), NONE, left_out), 1);
    check_int(told_times(lots, FL_HAP_LOOK, carrier_of_lot(lots, 2), NONE, left_out), 1);
    check_true(frac_told(lots, carrier_of_lot(lots, 2)) > 0.0);
    check_int(told_times(lots, FL_HAP_FOUND, carrier_of_lot(lots, 1), NONE, elsewhere), 1);
    check_int(told_times(lots, FL_HAP_FOUND, carrier_of_lot(lots, 2), NONE, elsewhere), 1);
    walked_end(lots);
    walked *pools = walk_as(h, FL_CARRIAGE_POOL);
    check_int(told_times(pools, FL_HAP_FOUND, NONE, NONE, empty), 1);
    check_int(told_times(pools, FL_HAP_LOOK, NONE, NONE, empty), 1);
    walked_end(pools);
    history_end(h);
}

/* Quiet looks at an empty bin say nothing; a finding without a name takes its look's credit. */
static void test_looks_that_tell_little(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, DAY, 1, 1, 1, BIN);
    move(h, 2 * DAY, 1, BIN_2);
    unsigned empty = look_whole(h, 3 * DAY, BIN, FL_EFFORT_CAREFUL, FL_HANDS_CLEANED);
    unsigned unnamed = find(h, 4 * DAY, BIN_2, 1, "");
    event_at(h, unnamed)->body.look_done.frac_examined = 1.0;
    walked *w = walk(h, FL_CARRIAGE_POOL);
    check_int(told_times(w, FL_HAP_LOOK, NONE, NONE, empty), 0);
    check_int(told_times(w, FL_HAP_FOUND, NONE, NONE, unnamed), 0);
    for (size_t i = 0; i < w->n_told; i++) {
        if (w->told[i].kind == FL_HAP_LOOK) {
            check_true(w->told[i].has_unidentified);
        }
    }
    walked_end(w);
    history_end(h);
}

/* The walk tells in order of time, and only of carriers and roots that there are. */
static void test_order_and_indices(void **state)
{
    (void)state;
    history *h = history_with_places();
    buy(h, 1 * DAY, 1, 1, 1, BENCH);
    buy(h, 2 * DAY, 2, 2, 2, BENCH);
    move(h, 3 * DAY, 1, BIN);
    cut(h, 4 * DAY, 1, 3, JAR);
    look_whole(h, 5 * DAY, BIN, FL_EFFORT_CAREFUL, FL_HANDS_UNSURE);
    look_whole(h, 5 * DAY + 60, JAR, FL_EFFORT_CAREFUL, FL_HANDS_UNSURE);
    clean(h, 6 * DAY, BIN);
    release(h, 40 * DAY, 1, ENCLOSURE);
    walked *w = walk(h, FL_CARRIAGE_POOL);
    for (size_t i = 0; i < w->n_told; i++) {
        const fl_happening *t = &w->told[i];
        check_true(i == 0 || t->at_h >= w->told[i - 1].at_h);
        check_true(t->carrier < w->network.n_carriers ||
                   (t->kind == FL_HAP_STAND && t->carrier == NONE));
        check_true(t->kind != FL_HAP_ROOT || t->root < w->network.n_roots);
        check_true(t->kind != FL_HAP_TRANSFER || t->other < w->network.n_carriers);
    }
    walked_end(w);
    history_end(h);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_bench_links_go_both_ways),
    cmocka_unit_test(test_an_old_collection_on_a_bench),
    cmocka_unit_test(test_an_arrival_is_one_pool),
    cmocka_unit_test(test_coming_back_to_the_bench),
    cmocka_unit_test(test_the_bench_pool_lasts_while_a_lot_is_there),
    cmocka_unit_test(test_one_event_opens_a_box_once),
    cmocka_unit_test(test_what_is_gone_stays_gone),
    cmocka_unit_test(test_a_moment_in_between),
    cmocka_unit_test(test_cuttings_and_splits),
    cmocka_unit_test(test_cleaning_closes_a_fill),
    cmocka_unit_test(test_cleaning_around_lots),
    cmocka_unit_test(test_a_shared_tub),
    cmocka_unit_test(test_a_big_tub),
    cmocka_unit_test(test_a_disinfected_tub),
    cmocka_unit_test(test_tools_of_a_round),
    cmocka_unit_test(test_a_look_at_part_of_a_pool),
    cmocka_unit_test(test_a_finding_belongs_to_what_was_looked_at),
    cmocka_unit_test(test_no_finding_is_dropped),
    cmocka_unit_test(test_looks_that_tell_little),
    cmocka_unit_test(test_order_and_indices)};
FL_TEST_MAIN(tests)
