/* What potting on and giving away share: some plants of a lot, or all of them. */
#ifndef FL_CLI_NURSERY_H
#define FL_CLI_NURSERY_H

#include "cli/verb.h"

/* The lot that `count` plants of *lot are to be: the lot itself when it has no more than that, else
 * a new one, for which a split is composed. FL_EINVAL when it has fewer, or none. */
fl_status fl_nursery_part(fl_session *s, const fl_lot *lot, const fl_arg_value *count, fl_id *out,
                          int64_t *n, fl_err *err) FL_MUST_USE;

/* The batch as it is now, in two lines. */
void fl_nursery_print(fl_session *s, fl_id lot);

#endif
