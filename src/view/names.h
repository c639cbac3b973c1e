/* What a form offers: the names there are, the words of the events; the journal as sentences. */
#ifndef FL_VIEW_NAMES_H
#define FL_VIEW_NAMES_H

#include "view/view.h"

/* {"words","sources","plants","known_plants","bottles","threats"}: each word list of event/words.h
 * with its texts; what the keeper has named; the plant table's names; the threats with their
 * stages. chances may be NULL. */
void fl_view_names(const fl_view *v, const char *key);

#define FL_HISTORY_MAX 500

/* Which part of the journal. */
typedef struct fl_history_of {
    fl_id about;  /* a lot or a place; none: the whole journal */
    size_t limit; /* at most so many, 1 to FL_HISTORY_MAX */
} fl_history_of;

/* {"events":[…],"is_more"}: the newest first, what was voided among them and marked; voidings are
 * not listed by themselves. A look at the place where a lot stood counts as about the lot. chances
 * may be NULL. */
void fl_view_history(const fl_view *v, const char *key, fl_history_of which);

#endif
