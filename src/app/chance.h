/* The chances of the room at one moment: the network, every pest's spread with the slow and the
 * fast set, priors learned from the keeper's own purchases, and the memo of programmes. */
#ifndef FL_APP_CHANCE_H
#define FL_APP_CHANCE_H

#include "app/room.h"
#include "core/clear/spread.h"

typedef struct fl_chances fl_chances;

/* Computes the structure for the room's moment (room->now_s). The app gives the memo (NULL: none
 * is used). The room must outlive the result. */
fl_status fl_chances_new(const fl_room *room, fl_app *app, fl_chances **out,
                         fl_err *err) FL_MUST_USE;

/* The same, to the last bit, with what the answers before left in `recall`: only what another
 * history has changed is computed, and of the rest what is asked for. The recall must outlive the
 * result, and serves one result at a time. */
typedef struct fl_recall fl_recall;
fl_status fl_chances_again(const fl_room *room, fl_app *app, fl_recall *recall, fl_chances **out,
                           fl_err *err) FL_MUST_USE;
void fl_chances_free(fl_chances *chances);

/* One threat on one lot. */
typedef struct fl_lot_chance {
    const fl_threat *threat;
    double chance;      /* slow development, middle detectability: the gate's */
    double least, most; /* over both sets and all readings */
    double prior;       /* of the likeliest root that reached the lot, when it began */
    bool is_learned;    /* the prior leans on the keeper's own purchases */
    bool is_out_of_reach;
} fl_lot_chance;

/* The chances of a lot now, all pests, in the order of the knowledge: out[fl_know_threat_count()],
 * *count pests. A lot that is nowhere has none. */
fl_status fl_chances_of_lot(fl_chances *chances, const fl_lot *lot, fl_lot_chance *out,
                            size_t *count, fl_err *err) FL_MUST_USE;

/* How one threat's chance on a lot came to be: each copy that reached it. */
typedef struct fl_reason {
    fl_root_kind kind;
    fl_sv what; /* "the purchase from …", "found on …", "the room" */
    double prior;
    double chance;   /* slow, middle */
    int64_t at_s;    /* when that root came in */
    fl_link link;    /* how it came to this carrier; FL_LINK_COUNT: it came in here */
    bool is_learned; /* the prior leans on the keeper's own purchases */
    fl_id event;     /* the event that brought it */
} fl_reason;
fl_status fl_chances_reasons(fl_chances *chances, const fl_lot *lot, const fl_threat *threat,
                             fl_arena *arena, fl_reason **out, size_t *count,
                             fl_err *err) FL_MUST_USE;

/* The forecast: the lot stays where it is, is looked at on each round day at the room's effort,
 * with the cards that hang there, and nothing is found. sum[use][k] is the weighted sum of all
 * reachable pests. */
#define FL_FORECAST_LOOKS 26
#define FL_QUICK_DAYS 30
typedef struct fl_forecast {
    int n;                               /* looks ahead */
    int64_t at_s[FL_FORECAST_LOOKS + 1]; /* [0] now; [k] local noon of the k-th round day ahead */
    double sum[FL_USE_COUNT][FL_FORECAST_LOOKS + 1];       /* after that look; slow, middle */
    double sum_quick[FL_USE_COUNT][FL_FORECAST_LOOKS + 1]; /* the quick pests alone */
} fl_forecast;
fl_status fl_chances_forecast(fl_chances *chances, const fl_lot *lot, fl_forecast *out,
                              fl_err *err) FL_MUST_USE;

/* True when the threat develops from its first to its last stage within FL_QUICK_DAYS at 21 C by
 * the slow set. */
bool fl_threat_is_quick(const fl_threat *threat);

/* When something could last have come to the lot (not the room's steady hazard). */
int64_t fl_chances_last_way_in(fl_chances *chances, const fl_lot *lot);

/* The guard of one threat: of what came in, over all roots that met the lot, the share that by each
 * of at_s[n] (in order, n at most FL_FORECAST_LOOKS) would have reached a stage that `effort` sees
 * with at least FL_GUARD_DETECT; without looks or treatments. share[n] is 0 where no stage of it
 * can be seen at that effort, 1 where nothing came in. */
#define FL_GUARD_DETECT 0.2
fl_status fl_chances_guard(fl_chances *chances, const fl_lot *lot, const fl_threat *threat,
                           fl_effort effort, const int64_t *at_s, int n, double *share,
                           fl_err *err) FL_MUST_USE;

/* The same with the place brought to another temperature from now on: for what-ifs. */
typedef struct fl_guard_case {
    const fl_threat *threat;
    fl_effort effort;
    double temp_c;       /* NAN: as the place will be */
    const int64_t *at_s; /* [n], in order */
    int n;               /* at most FL_FORECAST_LOOKS */
} fl_guard_case;
fl_status fl_chances_guard_if(fl_chances *chances, const fl_lot *lot, const fl_guard_case *guard,
                              double *share, fl_err *err) FL_MUST_USE;

/* What the keeper's purchases say of a source: what the next one of a form would be thought to
 * carry, none left out. Purchases are counted, not lots; material and what was already here are
 * none. */
typedef struct fl_source_risk {
    const fl_threat *threat;
    fl_source_kind kind;
    fl_know_prior table; /* by source kind and form */
    double mean;         /* with all purchases, of this source and of others of its kind */
    double low, high;    /* 5 % and 95 %; 0 where the tables say never */
    double kind_mean;    /* of a new source of that kind, with the same purchases */
    int n_purchases;     /* from this source */
    int n_found;         /* of them: it was found, and more likely theirs than anything else's */
    double judged;       /* as so many purchases whose state the looks could have told, faded */
    int n_of_kind;       /* purchases from other sources of its kind */
    int n_elsewhere;     /* purchases from other sources, whatever they are */
} fl_source_risk;
/* FL_ENOTFOUND for an unknown source or a threat without a clock. */
fl_status fl_chances_source_risk(fl_chances *chances, fl_id source, fl_form form,
                                 const fl_threat *threat, fl_source_risk *out,
                                 fl_err *err) FL_MUST_USE;

/* How the memo did in this run. */
typedef struct fl_chances_stats {
    size_t n_carriers, n_roots, n_copies, n_programmes, n_states, n_memo_hits;
} fl_chances_stats;
fl_chances_stats fl_chances_statistics(const fl_chances *chances);

#endif
