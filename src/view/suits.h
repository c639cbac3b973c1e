/* Which plants suit a place: JSON and sentences. Never "safe". */
#ifndef FL_VIEW_SUITS_H
#define FL_VIEW_SUITS_H

#include "app/suits.h"
#include "view/view.h"

/* {"place","uses","uses_text","site":{…},"site_text","plants":[{"name","botanical","is_known",
 * "lot","whole","whole_text","text","aspects":[…]}],"note"}. chances may be NULL. */
void fl_view_suits(const fl_view *v, const char *key, const fl_suits *suits);

/* "plants":[…] of it alone: for a build. */
void fl_view_suits_kinds(const fl_view *v, const char *key, const fl_suits *suits);

/* What is known of the place, a line: "light 3.1 mol a day (medium, measured here); humidity not
 * told; 23 degrees (as told); 600 x 450 x 400 mm above the mix." */
fl_sv fl_say_suits_site(const fl_suits *suits, fl_arena *arena);

/* One aspect: "light: wants 1.7 to 6.5 mol a day (class M, mostly from memory); fits". */
fl_sv fl_say_suits_aspect(const fl_suits *suits, const fl_suits_kind *kind, fl_suits_aspect aspect,
                          fl_arena *arena);

/* The plant in a sentence or two: what is against it, what is at the edge, what is not known. */
fl_sv fl_say_suits(const fl_suits *suits, const fl_suits_kind *kind, fl_arena *arena);

/* What no list says: stands under every answer where animals are. */
extern const char fl_suits_note[];

#endif
