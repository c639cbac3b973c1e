/* The JSON of a bleach dip: the same keys as `reckon bleach`. Apart from view/view.h because the
 * words of core/dip/safety.h and event/meaning.h collide. */
#ifndef FL_VIEW_RECIPE_H
#define FL_VIEW_RECIPE_H

#include "core/dip/bleach.h"
#include "json/json.h"

/* Volumes, strengths and cautions of a planned dip, as one object. */
void fl_view_recipe(fl_json_writer *w, const char *key, const fl_bleach_mix *mix);

#endif
