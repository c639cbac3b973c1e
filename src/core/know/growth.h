/* What a plant's way of growing means for its keeper: how many cuttings or divisions it can spare,
 * when again, and how often it is cut back. All of it common practice, no source; by the words of
 * the growth form in its row. */
#ifndef FL_CORE_KNOW_GROWTH_H
#define FL_CORE_KNOW_GROWTH_H

#include "core/know/know.h"

typedef enum fl_growth_kind {
    FL_GROWTH_RUNS,     /* many shoots */
    FL_GROWTH_BRANCHES, /* a few */
    FL_GROWTH_DIVIDES   /* crowns, slowly */
} fl_growth_kind;

typedef struct fl_growth {
    fl_growth_kind kind;
    const char *word; /* "runs", "branches", "divides" */
    const char *text;
    int spare;      /* cuttings or divisions of each plant, at a time */
    int again_days; /* until it has grown as much again */
} fl_growth;

/* How a plant grows; as one that branches when its row, or the form in it, is not known. */
const fl_growth *fl_know_growth(const fl_know_plant *row);

/* How often it is cut back before it covers all about it, in days; 0: it is not (rosettes, clumps,
 * single stems, what no row tells of). */
int fl_know_trim_days(const fl_know_plant *row);

#endif
