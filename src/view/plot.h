/* The picture of a chance over time, as one SVG that stands alone: for the guide, for paper and for
 * whoever wants to keep it. The browser draws its own from the same numbers. */
#ifndef FL_VIEW_PLOT_H
#define FL_VIEW_PLOT_H

#include "base/str.h"
#include "view/words_course.h"

#define FL_PLOT_BYTES_MAX ((size_t)1 << 20)

/* Draws the course: the chance as a line on a scale of odds (1 in 1 at the top, 1 in 1,000 at the
 * bottom; each step down is a tenth), the range as a hatched band with a dashed edge, looks, steps
 * and finds as marks of different shapes, the forecast as a dotted line. The same course gives the
 * same bytes. text must have room (FL_PLOT_BYTES_MAX); it is appended to. */
void fl_plot_course(const fl_room *room, const fl_course *course, fl_arena *arena, fl_str *text);

#endif
