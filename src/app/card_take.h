/* A lot that came with a history card: it arrives like any other, and gets the past that was
 * told. */
#ifndef FL_APP_CARD_TAKE_H
#define FL_APP_CARD_TAKE_H

#include "app/card_file.h"

typedef struct fl_card_taking {
    fl_id key;    /* the events' ids derive from it: sent twice, it is recorded once */
    fl_sv source; /* one of the room, by what a person types */
    fl_sv place;  /* where it stands now */
    fl_use use;
    int64_t count; /* 0: the card's */
    int64_t at_s;
} fl_card_taking;

/* Records plant, arrival and told past in one transaction; *lot is the new lot. FL_ENOTFOUND or
 * FL_EINVAL of the source and the place; errors of fl_app_record_events. */
fl_status fl_card_take(fl_app *app, const fl_room *room, const fl_card_read *card,
                       const fl_card_taking *taking, fl_id *lot, fl_err *err) FL_MUST_USE;

#endif
