/* Inside of core/clear/network, shared by network.c (births, moves, cleanings), network_place.c
 * (carriers and lots in places), network_step.c and network_look.c only. */
#ifndef FL_CORE_CLEAR_NETWORK_WORK_H
#define FL_CORE_CLEAR_NETWORK_WORK_H

#include "core/clear/network.h"

#define FL_NET_TUBS_MAX 256
#define FL_NET_PAIRS_MAX 1024

typedef struct fl_net_lot {
    size_t carrier; /* FL_NO_INDEX: nowhere */
    size_t last;    /* the last carrier it was on: what it brings along comes from there */
    size_t place;   /* index in defs->places; FL_NO_INDEX */
    size_t next;    /* next lot in the same place */
    size_t previous;
    int64_t count;
    bool is_born;
    bool is_gone;    /* outside, or no plant left: nothing that is told of it later counts */
    bool needs_root; /* it came in where it did not stay for a second: its root waits */
    fl_root_kind root_kind;
} fl_net_lot;

typedef struct fl_net_tub {
    fl_sv tub;
    int64_t at_s;
    size_t carrier;
    const fl_event *event;
} fl_net_tub;

/* Two groups that stand open on one bench, and since when that is not told yet. */
typedef struct fl_net_pair {
    size_t a;
    size_t b;
    int64_t since_s;
} fl_net_pair;

/* The walk so far. */
typedef struct fl_net_walk {
    const fl_network_input *in;
    fl_network *out;
    fl_happening_sink sink;
    void *context;
    fl_net_lot *lots;
    size_t *first_lot; /* by place */
    size_t *mark;      /* by carrier: the last mark it was given, see is_new_mark */
    size_t last_mark;
    size_t *n_on;               /* by carrier: lots that stand on it */
    int64_t *emptied_s;         /* by carrier: when the last of them left */
    const fl_event **opened_by; /* by carrier: the last event that opened it */
    bool *carrier_used;         /* fills only: its first lot has come */
    fl_net_tub tubs[FL_NET_TUBS_MAX];
    size_t n_tubs; /* ever used; the ring holds the last FL_NET_TUBS_MAX */
    const fl_event *last_look;
    fl_net_pair pairs[FL_NET_PAIRS_MAX];
    size_t n_pairs;
    fl_err *err;
} fl_net_walk;

/* How many carriers there may be. */
size_t fl_net_carriers_at_most(const fl_meaning *meaning);

/* True the first time a carrier is asked about since the last ++last_mark. */
bool fl_net_is_new_mark(fl_net_walk *walk, size_t carrier);

/* Indices by id, and the fill of a place at a second; FL_NO_INDEX when there is none. */
size_t fl_net_lot_index(const fl_net_walk *walk, fl_id id);
size_t fl_net_place_index(const fl_net_walk *walk, fl_id id);
size_t fl_net_fill_index(const fl_net_walk *walk, fl_id place, int64_t at_s);
/* A place's last definition, by index. */
const fl_ev_place_set *fl_net_place_at(const fl_net_walk *walk, size_t place);
int64_t fl_net_hour_of(int64_t at_s);

/* Hands a happening to the sink, at the event's hour. */
fl_status fl_net_emit(fl_net_walk *walk, fl_happening happening, const fl_event *event) FL_MUST_USE;
/* A transfer; nothing when either end is no carrier or they are the same. */
fl_status fl_net_emit_transfer(fl_net_walk *walk, size_t from, size_t to, fl_link link,
                               const fl_event *event) FL_MUST_USE;
/* A box was opened: once for each event. */
fl_status fl_net_emit_opened(fl_net_walk *walk, size_t carrier, const fl_event *event) FL_MUST_USE;

/* The carriers that are there from the start: every fill, or every lot. */
fl_status fl_net_add_fixed_carriers(fl_net_walk *walk) FL_MUST_USE;
/* A fill begins: what the one before it left, and the room's own hazard. */
fl_status fl_net_begin_fill(fl_net_walk *walk, size_t fill, const fl_event *event) FL_MUST_USE;
/* What two groups on a bench gave each other in the time since it was last told. */
fl_status fl_net_tell_pair(fl_net_walk *walk, fl_net_pair *pair, int64_t at_s,
                           const fl_event *event) FL_MUST_USE;
void fl_net_set_carrier(fl_net_walk *walk, size_t lot, size_t carrier, const fl_event *event);
/* Puts a lot into a place (FL_NO_INDEX: out of sight): finds its carrier, and tells a sedentary
 * carrier's new place. */
fl_status fl_net_put_lot(fl_net_walk *walk, size_t lot, size_t place,
                         const fl_event *event) FL_MUST_USE;
/* The lot brought a root in; it waits while the lot is on no carrier. */
fl_status fl_net_add_root(fl_net_walk *walk, size_t lot, size_t place, fl_root_kind kind,
                          const fl_event *event) FL_MUST_USE;

fl_status fl_net_on_steps(fl_net_walk *walk, const fl_event *event) FL_MUST_USE;

/* A tub was disinfected: what shared it before no longer reaches what comes after. */
void fl_net_forget_tub(fl_net_walk *walk, fl_sv tub);
fl_status fl_net_on_look(fl_net_walk *walk, const fl_event *event) FL_MUST_USE;

#endif
