/* Who was with whom, and what happened there: the same for every threat of one carriage.
 *
 * A mobile threat lives on the pool: all lots of an arrival on the bench, then all lots of a fill.
 * A sedentary one stays on its lot. This module walks a sorted, live history once and tells, in
 * order of time, what happened on each carrier: the ways in (roots), the transfers, steps, looks,
 * finds. core/clear/spread then says what that means for one threat. No number of a threat is
 * used here. Design section 4, rules 1 to 6. */
#ifndef FL_CORE_CLEAR_NETWORK_H
#define FL_CORE_CLEAR_NETWORK_H

#include "core/ledger/defs.h"
#include "event/meaning.h"

#define FL_NO_INDEX SIZE_MAX

typedef enum fl_carriage {
    FL_CARRIAGE_POOL = 0, /* mobile threats */
    FL_CARRIAGE_LOT       /* sedentary threats */
} fl_carriage;

/* Something that can hold copies of a root. */
typedef struct fl_carrier {
    fl_id id;           /* the fill's, the lot's, or derived from bench and arrival */
    fl_id place;        /* where it is at first */
    size_t lot;         /* FL_CARRIAGE_LOT: index in the meaning; else FL_NO_INDEX */
    bool is_closed_box; /* bin or jar: the room's hazard comes by openings and the lid */
    bool has_gasket;
} fl_carrier;

typedef enum fl_root_kind {
    FL_ROOT_PURCHASE = 0, /* source x arrival, or a material lot */
    FL_ROOT_ALREADY_HERE, /* a collection that has been here */
    FL_ROOT_ROOM,         /* the room's steady hazard on one carrier */
    FL_ROOT_FIND          /* an outbreak that was seen (made by core/clear/spread) */
} fl_root_kind;

/* An independent way in. */
typedef struct fl_root {
    fl_root_kind kind;
    fl_id key;      /* of a purchase: derived from source and arrival; else lot, place or carrier */
    fl_id source;   /* none when not known */
    size_t lot;     /* the first lot of it; FL_NO_INDEX for the room */
    unsigned forms; /* mask of 1u << fl_form of its lots */
    size_t carrier; /* where it first came in */
    int64_t at_h;   /* whole hours since 1970 */
} fl_root;

typedef enum fl_hap_kind {
    FL_HAP_ROOT = 0, /* `root` comes in on `carrier` */
    FL_HAP_TRANSFER, /* from `other` to `carrier` by `link` */
    FL_HAP_CLOSE,    /* `carrier` ends: cleaned */
    FL_HAP_PLACE,    /* `carrier` (a lot) stands in `place` from now on; none: out of sight */
    FL_HAP_PART,     /* lot `lot` of the carrier (n_plants of it) had `step` */
    FL_HAP_TREATED,  /* after all parts of one event: the carrier's n_plants in all */
    FL_HAP_FOUND,    /* `finding` was made on the carrier; its FL_HAP_LOOK follows */
    FL_HAP_LOOK,     /* a look that examined frac_seen of the carrier's plants */
    FL_HAP_OPENED,   /* the carrier was opened */
    FL_HAP_STAND     /* lot `lot` is on `carrier` from now on; FL_NO_INDEX: on none */
} fl_hap_kind;

typedef struct fl_happening {
    fl_hap_kind kind;
    int64_t at_h;
    const fl_event *event;
    size_t carrier;
    size_t other;                  /* TRANSFER */
    size_t root;                   /* ROOT */
    fl_link link;                  /* TRANSFER */
    double factor;                 /* TRANSFER: NAN: the link's own; else this share */
    double days;                   /* TRANSFER: 0; else the link's own is a day's, for so many */
    fl_id place;                   /* PLACE */
    size_t lot;                    /* PART, STAND */
    const fl_ev_step *step;        /* PART */
    int64_t n_plants;              /* PART, TREATED */
    const fl_finding_now *finding; /* FOUND */
    const fl_ev_look_done *look;   /* LOOK */
    double frac_seen;              /* LOOK: 0 to 1 */
    bool has_unidentified;         /* LOOK: something without a name was seen here */
} fl_happening;

/* The caller's storage. carriers: n_fills + n_stays + n_lots is always enough; roots likewise
 * n_lots + n_fills + n_stays. scratch: fl_network_scratch_bytes, aligned for any type. */
typedef struct fl_network {
    fl_carrier *carriers;
    size_t cap_carriers;
    size_t n_carriers;
    fl_root *roots;
    size_t cap_roots;
    size_t n_roots;
    size_t *lot_carrier; /* [n_lots]: where each lot is at the end; FL_NO_INDEX: nowhere */
} fl_network;

typedef fl_status (*fl_happening_sink)(void *context, const fl_happening *happening, fl_err *err);

typedef struct fl_network_input {
    const fl_event *events; /* live, sorted */
    size_t n_events;
    const fl_meaning *meaning; /* of these events */
    const fl_defs *defs;
    fl_carriage carriage;
    int64_t now_s; /* until when what stands together on a bench does so */
    void *scratch;
} fl_network_input;

size_t fl_network_scratch_bytes(const fl_meaning *meaning, const fl_defs *defs);

/* Walks the history and hands every happening to `sink`, oldest first; fills *out. Steps that
 * share a tub link the lots of one event both ways; the same tub within FL_TUB_S carries forward.
 * A look within FL_ROUND_S of the one before it, with hands not cleaned or unsure, carries
 * forward. FL_ETOOBIG when a caller's array is too small; else what the sink returns. */
fl_status fl_network_walk(const fl_network_input *input, fl_happening_sink sink, void *context,
                          fl_network *out, fl_err *err) FL_MUST_USE;

#define FL_TUB_S (12 * 3600)
#define FL_ROUND_S (3 * 3600)

#endif
