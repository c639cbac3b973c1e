/* How one threat's chance on one lot came to be: hour by hour since the lot came, with what was
 * done and looked at on the way, what each look could have shown, what each treatment left, which
 * temperatures went in, and what lies ahead.
 *
 * It is read from the programmes that the chance of today rests on, so its last point is that
 * chance. Priors are those of today, also for the past: a later find, or what a source has taught
 * since, is in them. Nothing is recorded. */
#ifndef FL_APP_COURSE_H
#define FL_APP_COURSE_H

#include "app/gate.h"

/* The chance at one moment. Where something was done or looked at there are two points at one
 * moment: before and after. */
typedef struct fl_course_point {
    int64_t at_s;
    double chance;      /* slow development, middle detectability */
    double least, most; /* over both sets and all readings */
} fl_course_point;

/* X(enum, word, what a person reads) */
#define FL_COURSE_MARK_LIST(X)                                                                     \
    X(FL_COURSE_STEP, "step", "something was done")                                                \
    X(FL_COURSE_LOOK, "look", "a look that found none of it")                                      \
    X(FL_COURSE_FIND, "find", "a look that found it")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_course_mark_kind {
    FL_COURSE_MARK_LIST(FL_WORD_ENUM) FL_COURSE_MARK_COUNT
} fl_course_mark_kind;
#undef FL_WORD_ENUM
extern const fl_word fl_words_course_mark[FL_COURSE_MARK_COUNT];

/* One step of an event, one look, or one find. */
typedef struct fl_course_mark {
    fl_course_mark_kind kind;
    const fl_event *event;
    int64_t at_s;
    double before, after; /* the chance, before and after all of that hour */
    double frac_shown; /* LOOK: of what could then be there, the share it would have shown; NAN */
    bool is_credited;  /* LOOK: false when something without a name was seen at it */
    const fl_ev_step *step;       /* STEP */
    double left_least, left_most; /* STEP: what the tables say it leaves, over the stages */
    double frac_left;             /* STEP: of what was there, after all steps of that hour; NAN */
    fl_grade grade;               /* STEP: the weakest over the stages */
    const char *sources[FL_STAGES_MAX]; /* STEP: keys, each once */
    int n_sources;
} fl_course_mark;

/* The hours since the lot came by where their temperature is from (design 4.10). */
typedef struct fl_course_temps {
    int64_t hours_measured;         /* a logger's mean */
    int64_t hours_interpolated;     /* a gap of at most 6 h between two of them */
    int64_t hours_told;             /* the value that the place was set to */
    int64_t hours_assumed;          /* nobody told one */
    double least_c, mean_c, most_c; /* as used; NAN without hours */
} fl_course_temps;

/* One way in, with where its prior is from. */
typedef struct fl_course_origin {
    fl_reason reason;
    bool has_table; /* a purchase or what was already here: the tables speak */
    fl_source_kind source_kind;
    fl_form form; /* the likeliest of its lots' */
    fl_know_prior table;
    double already_here_factor; /* 1 for a purchase */
} fl_course_origin;

typedef struct fl_course {
    const fl_lot *lot;
    const fl_threat *threat;
    fl_lot_chance now;
    fl_course_point *points; /* [n_points], in order of time */
    size_t n_points;
    fl_course_mark *marks; /* [n_marks], in order of time */
    size_t n_marks;
    fl_course_origin *origins; /* [n_origins] those open now, the likeliest first */
    size_t n_origins;
    fl_course_temps temps;
    int64_t from_s;                               /* the first point */
    fl_course_point ahead[FL_FORECAST_LOOKS + 1]; /* [0] now, then after each look of the forecast;
                                                     least and most are NAN */
    int n_ahead;
} fl_course;

/* The course of one pest on a lot that is here. Everything in it lives in the arena or in what was
 * handed in. FL_EINVAL for a lot that is gone, FL_ENOTFOUND when the threat is no pest with a
 * clock (pathogens and stowaways have no chance of their own). */
fl_status fl_course_make(fl_chances *chances, const fl_room *room, const fl_lot *lot,
                         const fl_threat *threat, fl_arena *arena, fl_course *out,
                         fl_err *err) FL_MUST_USE;

#endif
