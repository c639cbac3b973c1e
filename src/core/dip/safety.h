/* What is never combined, and what is said with every recipe. The program gives no treatment: it
 * names the label and the poison centre. Tables: data/incompatible.csv, data/cautions.csv. */
#ifndef FL_CORE_DIP_SAFETY_H
#define FL_CORE_DIP_SAFETY_H

#include <stddef.h>

#include "base/sv.h"
#include "core/dip/bleach.h"
#include "event/words.h"

/* A hard block between two things in one bath. All texts are static and never NULL. */
typedef struct fl_dip_clash {
    const char *hazard; /* gas, fire, corrosive, heat, cancels */
    const char *text;   /* one or two sentences for a person */
    const char *grade;
    const char *source;
} fl_dip_clash;

/* True, and *out set, when agents a and b may not be in one bath (or the second put into what is
 * left of the first without a plain rinse and a fresh tub). Order does not matter; the same agent
 * twice, and plain water, never conflict. */
bool fl_dip_conflict(fl_agent a, fl_agent b, fl_dip_clash *out);

/* The same for words: agents' words, and "acid", "ammonia", "alcohol", "peroxyacetic", "formalin",
 * "glycerol". An unknown word conflicts with nothing known. */
bool fl_dip_conflict_words(fl_sv a, fl_sv b, fl_dip_clash *out);

/* States of a recipe that call for a caution of their own. */
#define FL_OCCASION_AGE_UNKNOWN 1u
#define FL_OCCASION_REPLACE 2u
#define FL_OCCASION_EXTRAPOLATED 4u
#define FL_OCCASION_STRONG 8u /* above FL_BLEACH_STRONG_MG_PER_L */
#define FL_OCCASION_WEAK 16u  /* below FL_BLEACH_WEAK_MG_PER_L */

/* Available chlorine, mg/L: the highest strength in our table of dips (6 000 as NaOCl, S53), and
 * the lowest at which a dip of minutes was tested (300 as NaOCl). */
#define FL_BLEACH_STRONG_MG_PER_L 6000.0
#define FL_BLEACH_WEAK_MG_PER_L 280.0

typedef struct fl_caution {
    const char *code;
    const char *text;
    const char *grade;
    const char *source;
} fl_caution;

#define FL_CAUTIONS_MAX 24

/* The cautions for an agent and the occasions at hand, in the order to show; out[FL_CAUTIONS_MAX].
 * Returns how many; plain water has none. */
size_t fl_dip_cautions(fl_agent agent, unsigned occasions, fl_caution *out);

/* The occasions of a planned bleach dip. */
unsigned fl_bleach_occasions(const fl_bleach_mix *mix);

#endif
