/* A customer's complaint: a pest was noticed on plants that were given or sold. Did it come along,
 * or did it begin there; who else has, or may have, the same; what now. The numbers are
 * core/trace/complaint.h's over what the room knows of the plant on the day it left; who else is
 * app/trace.h's and app/batch.h's. Nothing here moves a chance or holds a place: what a look finds
 * does. Model card: docs/models/complaint.md. */
#ifndef FL_APP_COMPLAINT_H
#define FL_APP_COMPLAINT_H

#include "app/batch.h"
#include "app/trace.h"
#include "core/trace/complaint.h"

/* Three readings of a chance. */
typedef struct fl_complaint_range {
    double middle;      /* slow development, middle detectability, as the gate's */
    double least, most; /* over both sets, all eyes, and what is not told of the customer */
} fl_complaint_range;

/* What was said. */
typedef struct fl_complaint_question {
    const fl_lot *lot; /* the plants that the customer has */
    const fl_threat *threat;
    int64_t noticed_s;
    fl_sv stage;               /* empty: not told */
    double hazard_per_30_days; /* NAN: our judgement, with its range */
    double look_days;          /* likewise */
    double temp_c;             /* NAN: FL_COMPLAINT_TEMP_C */
} fl_complaint_question;

typedef struct fl_complaint {
    const fl_event *event;          /* complaint_noted; NULL: only asked */
    fl_complaint_question question; /* NANs replaced by what was taken */
    bool is_hazard_told;
    bool is_look_told;
    fl_batch_leaving left; /* when it went, to whom, how many */
    fl_sv customer;
    const char *no_chance;          /* why there is no number; NULL: there is one */
    fl_complaint_range on_it;       /* that it was on the plant when it left */
    fl_complaint_range here;        /* that it came along, given that it was noticed then */
    double noticed_here;            /* P(noticed then, of what came along), middle */
    double noticed_there;           /* of what began there */
    fl_trace trace;                 /* who else may have it, here and outside */
    const fl_batch_leaving *others; /* who else has plants of the same plants */
    size_t n_others;
} fl_complaint;

/* Asks. app gives the memo (NULL: none). Texts and arrays in the arena. FL_EINVAL, naming what
 * would do: the lot has not left by the record, or was noticed before it left. */
fl_status fl_complaint_ask(const fl_room *room, fl_app *app, fl_chances *chances,
                           const fl_complaint_question *question, fl_arena *arena,
                           fl_complaint *out, fl_err *err) FL_MUST_USE;

/* The question that a complaint_noted event asks. FL_ENOTFOUND for a lot or threat that is not
 * there, FL_EINVAL for what is no threat. */
fl_status fl_complaint_question_of(const fl_room *room, const fl_event *event,
                                   fl_complaint_question *out, fl_err *err) FL_MUST_USE;

/* The same, asked of the event. */
fl_status fl_complaint_ask_event(const fl_room *room, fl_app *app, fl_chances *chances,
                                 const fl_event *event, fl_arena *arena, fl_complaint *out,
                                 fl_err *err) FL_MUST_USE;

/* The leaving of a lot that went outside. FL_EINVAL naming the parts of it that did, when it did
 * not itself. */
fl_status fl_complaint_leaving(const fl_room *room, const fl_lot *lot, fl_arena *arena,
                               fl_batch_leaving *out, fl_err *err) FL_MUST_USE;

/* A live complaint by its id or short code; NULL. */
const fl_event *fl_complaint_find(const fl_room *room, fl_sv text);

#endif
