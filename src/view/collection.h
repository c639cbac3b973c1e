/* The collection, by plant. */
#ifndef FL_VIEW_COLLECTION_H
#define FL_VIEW_COLLECTION_H

#include "app/collection.h"
#include "view/view.h"

/* {"plants":[{"plant","name","botanical","count","text","mothers_text","rooting_text",
 * "success_text","lots":[…]}]}. chances must be there. */
void fl_view_collection(const fl_view *v, const char *key, const fl_collection *collection);

/* "One mother in one place: keep another elsewhere."; empty without mothers. */
fl_sv fl_say_mothers(const fl_room *room, const fl_collection_plant *plant, fl_arena *arena);

/* Of a mother: "can give 2 now, then again after about 8 weeks (it makes a few shoots; common
 * practice)"; empty when it is none. */
fl_sv fl_say_giving(const fl_room *room, const fl_collection_lot *lot, fl_arena *arena);

/* "Mothers in one place only, without a back-up: fig, pilea."; empty when each has one. */
fl_sv fl_say_no_backup(const fl_collection *collection, fl_arena *arena);

/* "14 of your 16 cuttings lived (7 to 10 in 10)."; empty when none was taken. No other figure:
 * published shares are lacking. */
fl_sv fl_say_cuttings(const fl_collection_plant *plant, fl_arena *arena);

/* "Roots in 21 to 28 days at 21 to 25 degrees; tip cutting."; empty when not known. */
fl_sv fl_say_rooting(const fl_collection_plant *plant, fl_arena *arena);

/* "quiet enough for plants only and stock"; "not quiet enough for anything yet"; "lives there". */
fl_sv fl_say_quiet_for(const fl_collection_lot *lot, fl_arena *arena);

#endif
