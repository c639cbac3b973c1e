/* What rules ask for in a grower's record of a pesticide, field by field. It says what an entry has
 * and lacks under each rule that we have read; whether an entry is enough, and which rule holds for
 * a grower at all, is for the grower's authority to say.
 * Model card: docs/models/pesticide-record.md. */
#ifndef FL_CORE_RESIDUE_RECORD_H
#define FL_CORE_RESIDUE_RECORD_H

#include <stdbool.h>

#include "event/event.h"

/* X(enum, word, what a person reads) */
#define FL_RECORD_FIELD_LIST(X)                                                                    \
    X(FL_RECORD_BRAND, "brand", "the product's name")                                              \
    X(FL_RECORD_REGISTRATION, "registration", "its authorisation or registration number")          \
    X(FL_RECORD_DATE, "date", "the date")                                                          \
    X(FL_RECORD_START, "start", "the time it was begun")                                           \
    X(FL_RECORD_RATE, "rate", "the dose")                                                          \
    X(FL_RECORD_AMOUNT, "amount", "the total amount of product")                                   \
    X(FL_RECORD_SIZE, "size", "the area, the room or the number of units treated")                 \
    X(FL_RECORD_SITE, "site", "where it was, as an authority would find it")                       \
    X(FL_RECORD_CROP, "crop", "the crop")                                                          \
    X(FL_RECORD_EPPO, "eppo_code", "the crop's EPPO code")                                         \
    X(FL_RECORD_STAGE, "growth_stage", "the crop's growth stage")                                  \
    X(FL_RECORD_OPERATOR, "operator_name", "who applied it or supervised")                         \
    X(FL_RECORD_CERTIFICATE, "operator_number", "the number of that person's certificate")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_record_field {
    FL_RECORD_FIELD_LIST(FL_WORD_ENUM) FL_RECORD_FIELDS
} fl_record_field;
#undef FL_WORD_ENUM
extern const fl_word fl_words_record_field[FL_RECORD_FIELDS];

/* One rule. */
typedef struct fl_record_rule {
    const char *word;  /* "eu" */
    const char *name;  /* as it is cited */
    const char *brief; /* the same in short */
    const char *whom;  /* whom it concerns, and for what */
    int keep_years;    /* how long records are kept, at least */
    const char *keep;  /* which rule says so */
    const char *when;  /* by when it is written down, and how */
    unsigned asked;    /* mask of 1u << fl_record_field: asked of every entry */
    unsigned asked_if; /* asked of some: condition[field] says of which */
    const char *condition[FL_RECORD_FIELDS]; /* NULL where not in asked_if */
} fl_record_rule;

#define FL_RECORD_RULES 2
extern const fl_record_rule fl_record_rules[FL_RECORD_RULES]; /* the EU's, the USA's */

/* True when the step belongs into the record: a pesticide, or whatever was given a product's name
 * or number. */
bool fl_record_is_entry(const fl_ev_step *step);

/* The fields that the step tells, as a mask. The date counts from a day on, the time it was begun
 * from an hour on; the crop is always told: the lots are plants. */
unsigned fl_record_has(const fl_ev_step *step, fl_precision precision);

#endif
