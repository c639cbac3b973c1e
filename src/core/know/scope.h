/* Inside know/ only: which row of a table holds for a threat, and what the tables' words mean.
 * Tables whose rows have a column `scope` name a threat, a trait, root_zone or all; the closest
 * match wins. */
#ifndef FL_CORE_KNOW_SCOPE_H
#define FL_CORE_KNOW_SCOPE_H

#include "core/know/know.h"

/* How closely `scope` names the threat: 4 its code, 3 its trait, 2 "root_zone" and it is one,
 * 1 "all", 0 not at all. */
int fl_scope_rank(const fl_threat *threat, const char *scope);

/* True when both terminated words are the same. */
bool fl_scope_is(const char *a, const char *b);

/* "measured", "practice" or "assumed"; anything else counts as assumed. */
fl_grade fl_scope_grade(const char *word);

#endif
