/* Inside of fl_trace_ask, shared by trace.c, trace_walk.c, trace_back.c and trace_forward.c only:
 * one walk over the history for one threat, and what is kept of it. */
#ifndef FL_APP_TRACE_WALK_H
#define FL_APP_TRACE_WALK_H

#include "app/programme_store.h"
#include "app/trace.h"
#include "core/trace/passage.h"
#include "core/trace/source.h"

/* Development sets that are walked: slow and fast. */
#define FL_TRACE_SETS 2
/* Roots of potting mix that are followed besides the network's own. */
#define FL_TRACE_MIX_MAX 256

/* What a contact of the passage was. Nodes: carriers, then lots (n_carriers_max + lot). */
typedef struct fl_walk_contact {
    fl_link link; /* FL_LINK_COUNT: a lot came to stand on a carrier, or left it */
    const fl_event *event;
} fl_walk_contact;

/* A root that came in on a carrier. */
typedef struct fl_walk_root {
    size_t root;
    size_t carrier;
    const fl_event *event;
} fl_walk_root;

/* A lot on a carrier, from_s <= t < to_s. */
typedef struct fl_walk_stand {
    size_t lot;
    size_t carrier;
    int64_t from_s, to_s;
} fl_walk_stand;

/* A way in, weighed at the find. */
typedef struct fl_suspect {
    size_t root;   /* as in fl_copy */
    double weight; /* prior x likelihood, mean of the sets */
    double prior;
    double best_weight; /* of its likeliest copy: the chain is that copy's */
    int set;
    size_t copy;         /* the likeliest: the chain is that copy's */
    const fl_prog *prog; /* of that copy, at the find */
} fl_suspect;

typedef struct fl_trace_walk {
    const fl_room *room;
    fl_chances *chances;
    fl_arena *arena;
    const fl_threat *threat;
    fl_carriage carriage;
    bool has_stages;
    const fl_finding_now *finding; /* whose moment is caught; NULL */
    int64_t until_s;               /* contacts after it are left out */

    fl_network network;
    fl_programmes programmes;
    fl_spread spread[FL_TRACE_SETS];
    size_t *parent[FL_TRACE_SETS]; /* [cap_copies]: the copy it was made from; FL_NO_INDEX */
    size_t cap_copies;
    size_t n_mix;     /* roots of mix, from the end of network.roots */
    double mix_prior; /* of each */

    fl_passage_contact *contacts;
    fl_walk_contact *what;
    size_t n_contacts, cap_contacts;
    fl_walk_root *roots;
    size_t n_roots, cap_roots;
    fl_walk_stand *stands;
    size_t n_stands, cap_stands;
    size_t *lot_stand;      /* [n_lots]: its last stand + 1; 0: none yet */
    bool *is_closed;        /* [cap_carriers] */
    double *efficacy;       /* [cap_carriers]: of the cleaning that closed it; NAN */
    fl_passage_node *nodes; /* of the last passage */
    int32_t *before;
    int32_t *chain;

    /* caught at the find */
    bool is_caught;
    size_t found_on; /* carrier */
    int64_t found_h;
    int stage;
    double detect[FL_STAGES_MAX];
    double colony[FL_STAGES_MAX];
    fl_suspect *suspects;
    size_t n_suspects;
    double found_weight;    /* sum over suspects */
    const fl_prog *longest; /* of the oldest unthinned copy: the history of that carrier's plants */
    int64_t longest_from_h;
    bool is_longest_whole; /* not thinned, not the room's */
} fl_trace_walk;

/* Walks; everything in w->arena. The caller has set the fields up to until_s. */
fl_status fl_trace_walk_run(fl_trace_walk *w, fl_err *err) FL_MUST_USE;

/* The root a suspect or copy names; NULL for a find's. */
const fl_root *fl_walk_root_of(const fl_trace_walk *w, size_t root);
bool fl_walk_is_mix(const fl_trace_walk *w, size_t root);
/* The prior of a root as the rest of the program has it, 0 to 1; *is_learned may be NULL. */
double fl_walk_prior(const fl_trace_walk *w, size_t root, bool *is_learned);

/* Where a carrier is at a moment: its place, or, of a lot that is its own carrier, the lot's. */
fl_id fl_walk_place(const fl_trace_walk *w, size_t carrier, int64_t at_s);

/* The window (trace_back.c). */
fl_status fl_trace_back_window(const fl_trace_walk *w, fl_trace *out, double **likelihood,
                               int64_t *start_h, fl_err *err) FL_MUST_USE;
/* The ranked ways in: of a find (caught in the walk), or by contacts alone. */
fl_status fl_trace_back_sources(fl_trace_walk *w, fl_trace *out, fl_err *err) FL_MUST_USE;

/* Forward (trace_forward.c): from the ways in (out->sources), or from the subject itself.
 * likelihood by hours from start_h, as fl_trace_back_window gave it; NULL. */
fl_status fl_trace_forward(fl_trace_walk *w, const double *likelihood, int64_t start_h,
                           fl_trace *out, fl_err *err) FL_MUST_USE;

/* The carriers of the subject between two moments; array in the arena. */
typedef struct fl_walk_subject {
    size_t carrier;
    int64_t from_s, to_s;
} fl_walk_subject;
size_t fl_walk_subjects(const fl_trace_walk *w, fl_id place, const fl_lot *lot, int64_t from_s,
                        int64_t to_s, fl_walk_subject **out);

/* The passage from some seeds, up to a moment, into w->nodes. */
fl_status fl_walk_pass(fl_trace_walk *w, const fl_passage_seed *seeds, size_t n_seeds, int64_t to_s,
                       fl_err *err) FL_MUST_USE;
int32_t fl_walk_lot_node(const fl_trace_walk *w, size_t lot);
/* After it: the chain of a node as lines, without the ones where something only stood; in the
 * arena. */
const fl_trace_contact *fl_walk_chain(const fl_trace_walk *w, int32_t node, size_t *n_lines);
fl_id fl_walk_lot_of_event(const fl_event *event);

#endif
