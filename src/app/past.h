/* What a lot has been through, and before it those it was cut or split from: sprays that are still
 * in it, and animals it has been with. What happened to a mother after the child left her is not
 * the child's past. */
#ifndef FL_APP_PAST_H
#define FL_APP_PAST_H

#include "app/room.h"
#include "core/gate/gate.h"
#include "core/residue/residue.h"

/* Pesticides put on it here: each active once, with the last time. Writes at most capacity; views
 * into the room. */
size_t fl_past_sprays(const fl_room *room, const fl_lot *lot, fl_residue_spray *sprays,
                      size_t capacity);

/* Where it has been, for the diseases of animals, as places were at the time; was_disinfected: a
 * bleach dip at a strength and time that was tested against all of them (data/efficacy.csv) came
 * after the last of it. is_sterile is set by the form it came in. */
void fl_past_animals(const fl_room *room, const fl_lot *lot, fl_pathogen_facts *out);

#endif
