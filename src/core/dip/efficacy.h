/* What a dip is known to do, and that only at the strength and the time that were tried.
 * Minutes are never traded for strength: the published points contradict such a law. Nearly all
 * of them are from clean cultures (in vitro); roots, axils, mix and moss are not that. Table:
 * data/efficacy.csv. */
#ifndef FL_CORE_DIP_EFFICACY_H
#define FL_CORE_DIP_EFFICACY_H

#include <stdbool.h>
#include <stddef.h>

#include "base/sv.h"
#include "event/words.h"

/* A bath as it was made or is planned. */
typedef struct fl_dip_bath {
    fl_agent agent;
    double strength; /* bleach: mg/L available chlorine, strict; permanganate, peroxide: mg/L;
                        hot water: C; NAN: not known */
    double product_pct_by_volume; /* bleach: 1+19 is 5; NAN: not known */
    double minutes;               /* NAN: not known */
} fl_dip_bath;

/* From knowing nothing to knowing that it kills. */
typedef enum fl_efficacy_outcome {
    FL_EFFICACY_UNTESTED = 0, /* no row fits: count on nothing */
    FL_EFFICACY_FAILS,        /* tried at this strength and time or more, and it did not work */
    FL_EFFICACY_PARTLY,       /* tried likewise: some die */
    FL_EFFICACY_REDUCES,      /* tried at this strength and time or less: fewer afterwards */
    FL_EFFICACY_KILLS         /* tried likewise: none found alive */
} fl_efficacy_outcome;

typedef struct fl_efficacy {
    fl_efficacy_outcome outcome;
    bool is_in_vitro;          /* clean cultures only */
    double tested_conc;        /* of the row that decided; NAN when untested */
    const char *tested_unit;   /* never NULL */
    double tested_minutes;     /* NAN: at any time tried */
    const char *organism;      /* its word; never NULL */
    const char *organism_name; /* never NULL; empty when there is no such row at all */
    const char *setting;       /* in_vitro, water, bench, plants; empty when untested */
    const char *source;        /* keys of data/chem_sources.csv, '|' between; empty when untested */
    const char *note;          /* never NULL */
} fl_efficacy;

/* What this bath does to an organism ("bd", "ranavirus", "snails" ...). A row that kills or reduces
 * counts when the bath has at least its strength and at least its minutes; a row that failed counts
 * when the bath has at most both. An unknown word, strength or time is untested. */
fl_efficacy fl_dip_efficacy(const fl_dip_bath *bath, fl_sv organism);

/* The tested points of the table, one by one. */
size_t fl_dip_tested_count(void);
/* Its row as if it had decided, and its agent; index < fl_dip_tested_count(). */
fl_agent fl_dip_tested_at(size_t index, fl_efficacy *out);

/* The organisms of the table, each once, in its order. */
size_t fl_dip_organism_count(void);
/* Its word; index < fl_dip_organism_count(). */
const char *fl_dip_organism(size_t index);

/* A tried use of an agent: data/agents.csv, for showing. Numbers are NAN where not stated. */
typedef struct fl_agent_use {
    const char *code;
    const char *agent; /* word of fl_agent; empty: not offered as a step */
    const char *name;
    double conc_low, conc_high;
    const char *unit;
    const char *basis; /* what the concentration counts */
    double minutes_low, minutes_high;
    const char *use_on; /* plants, water, tools */
    const char *good_for;
    const char *not_good_for; /* what it is not known to do */
    const char *plant_risk;
    const char *after;
    const char *grade;
    const char *source;
} fl_agent_use;

size_t fl_agent_use_count(void);
/* index < fl_agent_use_count(). */
fl_agent_use fl_agent_use_at(size_t index);

/* The work that one key of data/chem_sources.csv names; NULL for an unknown key. */
const char *fl_dip_citation(fl_sv key);

#endif
