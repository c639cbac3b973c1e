/* The pesticide record in JSON and in words. */
#ifndef FL_VIEW_PESTICIDES_H
#define FL_VIEW_PESTICIDES_H

#include "app/pesticides.h"
#include "view/view.h"

/* {"from_on","to_on","notice","rules":[…],"entries":[…]}; chances are not asked. */
void fl_view_pesticides(const fl_view *v, const char *key, const fl_pesticides *record);

/* "Regulation (EC) No 1107/2009, article 67(1): keep it for at least 3 years." */
fl_sv fl_say_record_keep(const fl_record_rule *rule, fl_arena *arena);

/* What a rule asks of every entry and this one lacks, in a line; empty when it lacks nothing. */
fl_sv fl_say_record_missing(const fl_pesticide_entry *entry, const fl_record_rule *rule,
                            fl_arena *arena);

/* The same of what is asked of some: "the time it was begun (where …)". */
fl_sv fl_say_record_missing_if(const fl_pesticide_entry *entry, const fl_record_rule *rule,
                               fl_arena *arena);

/* "19 March 2026, 18:30": with the time where it is known. */
fl_sv fl_say_record_when(const fl_room *room, const fl_pesticide_entry *entry, fl_arena *arena);

#endif
