/* The JSON of a bleach dip, with the keys of `reckon bleach`; and the cautions of any dip. Apart
 * from view/view.h because the words of core/dip/safety.h and event/meaning.h collide. */
#ifndef FL_VIEW_RECIPE_H
#define FL_VIEW_RECIPE_H

#include "core/dip/bleach.h"
#include "event/words.h"
#include "json/json.h"

/* Volumes, strengths and cautions of a planned dip, as one object. */
void fl_view_recipe(fl_json_writer *w, const char *key, const fl_bleach_mix *mix);

/* What is said with the agents of a mask (1u << fl_agent), each once, as an array of texts. */
void fl_view_cautions(fl_json_writer *w, const char *key, unsigned agents);

/* The same after n_first lines of one's own. */
void fl_view_cautions_after(fl_json_writer *w, const char *key, const char *const *first,
                            size_t n_first, unsigned agents);

#endif
