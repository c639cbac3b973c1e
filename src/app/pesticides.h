/* A grower's record of pesticides: every treatment on record in a span of dates, what it tells, and
 * what each rule would ask besides (core/residue/record.h). Nothing here says that a record is
 * enough: FL_PESTICIDES_NOTICE stands on every form of it. */
#ifndef FL_APP_PESTICIDES_H
#define FL_APP_PESTICIDES_H

#include "app/csv_out.h"
#include "app/room.h"
#include "core/residue/record.h"

#define FL_PESTICIDES_NOTICE                                                                       \
    "This is the keeper's own record. What your rule asks, and whether this is enough, is your "   \
    "authority's to say; the product's label comes first."

typedef struct fl_pesticide_entry {
    const fl_event *event; /* step_done */
    const fl_ev_step *step;
    int64_t start_s;        /* when it was begun: of a timed step its start */
    fl_precision precision; /* of start_s */
    fl_sv crop;             /* the plants: "creeping fig (Ficus pumila); lemon button fern" */
    fl_sv places;           /* where they stood: "bench 1; bin 2" */
    unsigned has;           /* mask of fl_record_field */
} fl_pesticide_entry;

typedef struct fl_pesticides {
    int64_t from_s, to_s;        /* the span, from_s <= t < to_s */
    fl_pesticide_entry *entries; /* oldest first */
    size_t n_entries;
} fl_pesticides;

/* Lists what was begun in from_s <= t < to_s (INT64_MIN, FL_TIME_OPEN: without end). What was
 * started and not yet done, or abandoned, is left out. Arrays and texts in the arena. */
void fl_pesticides_list(const fl_room *room, int64_t from_s, int64_t to_s, fl_arena *arena,
                        fl_pesticides *out);

/* The span of two civil dates, both days in it; an empty text is no end. FL_EFORMAT, FL_EINVAL
 * naming the date. */
fl_status fl_pesticides_span(const fl_room *room, fl_sv from, fl_sv to, int64_t *from_s,
                             int64_t *to_s, fl_err *err) FL_MUST_USE;

/* "0.75 mL/L", "2 g/m²": the dose as it was told; empty. */
fl_sv fl_pesticides_rate(const fl_ev_step *step, fl_arena *arena);
/* "1.5 mL" */
fl_sv fl_pesticides_amount(const fl_ev_step *step, fl_arena *arena);
/* "2.4 m², 12 plants" */
fl_sv fl_pesticides_size(const fl_ev_step *step, fl_arena *arena);

/* The columns and rows of the record as CSV; the rows are added to csv. */
#define FL_PESTICIDES_COLUMNS                                                                      \
    "event,started_at,precision,on,time,brand,registration,active,amount_g,amount_ml,"             \
    "rate_g_per_l,rate_ml_per_l,rate_g_per_m2,rate_ml_per_m2,area_m2,space_m3,units,crop,"         \
    "eppo_code,growth_stage,place,site,operator_name,operator_number,reason,reentry_h,harvest_d,"  \
    "lots,missing_eu,missing_us,note"
void fl_pesticides_csv(const fl_room *room, const fl_pesticides *record, fl_csv_out *csv);

#endif
