/* A lot as it is typed: "3x Pilea cadierei:potted:amphibian", with more fields after further
 * colons: label=imidacloprid, clean, cost=4.50, back=14. */
#ifndef FL_CLI_LOT_SPEC_H
#define FL_CLI_LOT_SPEC_H

#include "cli/session.h"

typedef struct fl_lot_spec {
    int64_t count;
    fl_sv name;
    bool has_form, has_use;
    fl_form form;
    fl_use use;
    fl_sv label_active;
    bool is_label_clean;
    double cost;            /* NAN when not told */
    int64_t take_back_days; /* 0 when not told */
} fl_lot_spec;

/* Reads one. FL_EINVAL, FL_EFORMAT or FL_EDOMAIN naming the field and what would do. */
fl_status fl_lot_spec_read(fl_sv text, fl_lot_spec *out, fl_err *err) FL_MUST_USE;

/* The plant that a spec names: one of the room's, one that this command has made before, or a new
 * one, whose plant_set joins the command's events (with the taxon when the name is in the plant
 * table). Material has none. */
fl_status fl_lot_spec_plant(fl_session *s, const fl_lot_spec *spec, fl_id *out,
                            fl_err *err) FL_MUST_USE;

#endif
