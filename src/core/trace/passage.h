/* How likely did it get there? Along contacts in time order, each with the share that passes. Start
 * here after reach.h, which says who can be reached at all.
 *
 * Two readings of each node's chance:
 *   prob   of the likeliest single chain of contacts: the product of its shares. What design 4.4
 *          takes for a root that reaches a lot by several copies (the largest), and what a chain
 *          that is printed accounts for.
 *   most   every contact counts by itself: 1 - (1 - p)(1 - share x p of the giver), once per
 *          contact, in order of time. Not below the truth for independent contacts of different
 *          times (reference 7.5).
 * The true chance of being reached lies between the two.
 *
 * Seeds say where it is known or supposed to be, from when, how surely. What stands on a node stays
 * on it; a cleaned place is another node from then on (core/clear/network makes them so). Contacts
 * of one time pass on through any chain of that time. */
#ifndef FL_CORE_TRACE_PASSAGE_H
#define FL_CORE_TRACE_PASSAGE_H

#include <stddef.h>
#include <stdint.h>

#include "base/err.h"

typedef struct fl_passage_contact {
    int64_t time;
    int32_t from; /* node, 0 to n_nodes - 1 */
    int32_t to;
    double share; /* 0 to 1: of what is on `from`, what passes */
} fl_passage_contact;

typedef struct fl_passage_seed {
    int64_t time;
    int32_t node;
    double prob; /* 0 to 1 */
} fl_passage_seed;

typedef struct fl_passage_query {
    const fl_passage_contact *contacts; /* by time */
    size_t n_contacts;                  /* at most INT32_MAX */
    const fl_passage_seed *seeds;       /* by time; a seed comes before contacts of its time */
    size_t n_seeds;
    int32_t n_nodes;
    int64_t to; /* contacts and seeds after it are left out */
} fl_passage_query;

#define FL_PASSAGE_SEED (-1) /* not by a contact: it was seeded */
#define FL_PASSAGE_NONE (-2)

typedef struct fl_passage_node {
    double prob;
    double most;
    int64_t time;    /* when prob came to what it is; only when prob > 0 */
    int32_t contact; /* that made it so, an index; FL_PASSAGE_SEED or FL_PASSAGE_NONE */
} fl_passage_node;

/* One pass in order of time.
 *   nodes   [n_nodes], any content; complete on success, untouched otherwise
 *   before  [n_contacts], likewise: the contact that had given the giver what it passed on;
 *           FL_PASSAGE_SEED; FL_PASSAGE_NONE: this contact raised nothing
 * Errors: FL_EINVAL naming what is wrong. Cost: O(contacts + seeds + nodes), and for contacts of
 * one time up to their number again for each link of the longest chain of that time. */
fl_status fl_passage(const fl_passage_query *query, fl_passage_node *nodes, int32_t *before,
                     fl_err *err) FL_MUST_USE;

/* The contacts that `prob` of a node is the product of, earliest first; how many there are (no more
 * than max are written). 0 for a seeded node and for one that was not reached. */
size_t fl_passage_chain(const fl_passage_node *nodes, const int32_t *before, int32_t node,
                        int32_t *chain, size_t max);

#endif
