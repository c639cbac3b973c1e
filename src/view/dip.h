/* A bath in anything at all, as JSON: reckon dip and GET /api/v1/dip. */
#ifndef FL_VIEW_DIP_H
#define FL_VIEW_DIP_H

#include "base/err.h"
#include "base/sv.h"
#include "event/words.h"
#include "json/json.h"

/* What is asked. A number that was not told is NAN, a text empty. */
typedef struct fl_dip_asked {
    fl_agent agent;
    double target; /* mg/L of available chlorine, permanganate or peroxide; % of soap; C of water */
    double total_ml;
    double label_pct;     /* of peroxide or soap */
    double stock_g_per_l; /* of permanganate */
    double hot_c, cold_c; /* of hot water */
    double minutes;
    double pct_by_volume; /* of bleach: product in the bath */
    fl_sv plant;          /* botanical or common name */
    fl_sv form;           /* word of fl_form; empty: bare_root */
    fl_sv with;           /* what else would be in the bath */
    bool has_animals_in;
} fl_dip_asked;

/* Puts the members of the answer into the object that is open. FL_EINVAL, FL_EDOMAIN: what is never
 * done (animals in, things never mixed, a plant that does not stand it), or a number out of range;
 * FL_ENOTFOUND: no such plant. What was put by then is to be thrown away. */
fl_status fl_view_dip(const fl_dip_asked *asked, fl_json_writer *w, fl_err *err) FL_MUST_USE;

#endif
