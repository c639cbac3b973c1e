/* The answer about builds, and its sentences. */
#ifndef FL_VIEW_BUILDS_H
#define FL_VIEW_BUILDS_H

#include "app/build.h"
#include "view/view.h"

/* All open builds: {"builds":[…],"late_days","bound_late_days","text","bins":[…],
 * "bins_not_free","helps":[…]}. chances may be NULL. */
void fl_view_builds(const fl_view *v, const char *key, const fl_build_study *study);

/* "Ready by 3 March, planted on 10 March: in time." or what is short and the first day it can. */
fl_sv fl_say_build(const fl_room *room, const fl_build_outlook *o, fl_arena *arena);

/* "Buy 2 from Corner Nursery between today and 3 March, into bin 4; ready on 14 April." */
fl_sv fl_say_build_line(const fl_room *room, const fl_build_line *line, fl_arena *arena);

/* "from Corner Nursery, potted: about 6 weeks" or why it never opens. */
fl_sv fl_say_build_way(const fl_build_prospect *p, fl_arena *arena);

/* What the lots add up to, and which adds most. */
fl_sv fl_say_build_sum(const fl_build_outlook *o, fl_arena *arena);

/* The whole in a sentence: how late the latest is, and that no plan could be better, or by how much
 * one might. */
fl_sv fl_say_build_study(const fl_build_study *study, fl_arena *arena);

/* "One more bin: nothing would be late." */
fl_sv fl_say_build_help(const fl_build_study *study, fl_build_help help, fl_arena *arena);

#endif
