/* Which row of a table holds for a threat (scope.h). */
#include "core/know/scope.h"

#include <string.h>

bool fl_scope_is(const char *a, const char *b)
{
    return strcmp(a, b) == 0;
}

int fl_scope_rank(const fl_threat *threat, const char *scope)
{
    if (fl_scope_is(scope, threat->code)) {
        return 4;
    }
    if (fl_scope_is(scope, threat->trait)) {
        return 3;
    }
    if (fl_scope_is(scope, "root_zone")) {
        return threat->is_root_zone ? 2 : 0;
    }
    return fl_scope_is(scope, "all") ? 1 : 0;
}

fl_grade fl_scope_grade(const char *word)
{
    if (fl_scope_is(word, "measured")) {
        return FL_GRADE_MEASURED;
    }
    return fl_scope_is(word, "practice") ? FL_GRADE_PRACTICE : FL_GRADE_ASSUMED;
}
