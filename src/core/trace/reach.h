/* Who could have passed something to whom: reach through contacts in time order, with cleanings.
 * Start reading here. Which contacts a threat can use is the caller's choice: leave the others out.
 *
 * A contact u -> v at time t carries dirt from u to v when u is dirty. A cleaning makes a node
 * clean until dirt comes again. At one time, cleanings come before contacts. Times are whole
 * numbers of any one unit; the window [from, to] is inclusive.
 *
 * Forward from a root: the root is dirty when the window opens (before everything else, so that a
 * cleaning of it at that very time counts); reached is who is ever dirty inside the window.
 * Backward from a root: reached is who could have made the root what it is when the window closes:
 * u is reached when there is a time in the window such that dirt on u at that time (after the
 * cleanings, before the contacts of it) leaves the root dirty at the end. The two are each other's
 * mirror image in time.
 *
 * Chained (not strict): one thing can pass on at the same time as it arrived, through any chain of
 * contacts of that time. Strict: only later. What a node has when the window opens (or, backward,
 * when it closes) it can pass on at once in both. */
#ifndef FL_CORE_TRACE_REACH_H
#define FL_CORE_TRACE_REACH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/err.h"

typedef struct fl_contact {
    int64_t time;
    int32_t from; /* node, 0 to n_nodes - 1 */
    int32_t to;
} fl_contact;

typedef struct fl_cleaning {
    int64_t time;
    int32_t node;
} fl_cleaning;

typedef struct fl_reach_query {
    const fl_contact *contacts;   /* by time (fl_contact_compare) */
    size_t n_contacts;            /* at most INT32_MAX */
    const fl_cleaning *cleanings; /* by time (fl_cleaning_compare) */
    size_t n_cleanings;
    int32_t n_nodes;
    int32_t root;
    int64_t from; /* the window, inclusive; from <= to */
    int64_t to;
    bool is_backward;
    bool is_strict;
} fl_reach_query;

#define FL_REACH_ROOT (-1) /* no contact: dirty from the start */
#define FL_REACH_NONE (-2) /* no contact: not reached */

/* What the pass says about a node; the fields after `time` are its working storage. 32 bytes: a
 * trace is bound by how fast nodes come from memory. */
typedef struct fl_reach_node {
    bool is_reached; /* ever, the root too */
    bool is_dirty;   /* forward: dirty when the window closes; backward: dirt on it when the window
                        opens leaves the root dirty at the end */
    int32_t contact; /* that did it, an index; FL_REACH_ROOT or FL_REACH_NONE */
    int64_t time;    /* forward: first dirty; backward: the last time dirt on it would do; for the
                        root the window's own end. Only when is_reached */
    int32_t current; /* the contact that began the present spell of dirt */
    int32_t group;   /* the first contact of the last group the node had a list in */
    int32_t list;    /* its contacts in that group */
    int32_t stack;   /* the next node to look at */
} fl_reach_node;

/* Per contact. */
typedef struct fl_reach_link {
    int32_t before; /* the contact that had made its giving end dirty; FL_REACH_ROOT: the root;
                       FL_REACH_NONE: this contact changed nothing */
    int32_t next;   /* working storage */
} fl_reach_link;

typedef struct fl_reach_count {
    int32_t reached; /* nodes ever reached, the root left out */
    int32_t dirty;   /* nodes with is_dirty, the root counted */
} fl_reach_count;

/* One pass in time order: O(contacts + cleanings + nodes).
 *   query     see above
 *   nodes     [n_nodes], any content; complete on success, untouched otherwise
 *   links     [n_contacts], as nodes
 *   count     written on success
 * Errors: FL_EINVAL naming what is wrong (a node out of range, not sorted, from > to).
 * Source: earliest arrival over an edge stream (Wu et al. 2014, PVLDB 7), with equal times
 * taken as one group and a dirty flag for cleanings. Ingoing and outgoing contact chains without
 * cleanings: Dube et al. 2009; Noremark et al. 2011 (chained, inclusive, root left out). */
fl_status fl_reach(const fl_reach_query *query, fl_reach_node *nodes, fl_reach_link *links,
                   fl_reach_count *count, fl_err *err) FL_MUST_USE;

/* The contacts between a reached node and the root, from the node's side on: forward, latest first;
 * backward, earliest first. Along them every giving end is dirty, cleanings included.
 *   nodes, links  of fl_reach
 *   chain         [max], the indices
 * Returns how many there are; no more than max are written. 0 for the root and for nodes that are
 * not reached. */
size_t fl_reach_chain(const fl_reach_node *nodes, const fl_reach_link *links, int32_t node,
                      int32_t *chain, size_t max);

/* For qsort: by time, then from, then to; by time, then node. */
int fl_contact_compare(const void *a, const void *b);
int fl_cleaning_compare(const void *a, const void *b);

#endif
