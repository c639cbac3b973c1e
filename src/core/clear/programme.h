/* A programme: what happened to one root on one carrier, as a list of operations on its filter.
 * Operations are plain data, so that a history can be compared, hashed as a chain and shared: equal
 * bytes give equal states, bit for bit. Whole hours only; nothing here knows of carriers or lots.
 *
 * Order inside one hour is the caller's: it is the order of the list. */
#ifndef FL_CORE_CLEAR_PROGRAMME_H
#define FL_CORE_CLEAR_PROGRAMME_H

#include <stddef.h>
#include <stdint.h>

#include "base/err.h"
#include "core/clear/filter.h"

/* Goes up whenever the same operations could give other numbers: stored states are then stale. */
#define FL_SOLVER_VERSION 2

/* Room for any operation but a TIME with more than 300 changes of temperature. */
#define FL_OP_BYTES_USUAL 2048

typedef enum fl_op_kind {
    FL_OP_START,       /* a root begins, or begins again */
    FL_OP_TIME,        /* hours pass */
    FL_OP_TREAT,       /* a step that kills */
    FL_OP_LOOK,        /* a look that found nothing of this threat */
    FL_OP_THIN,        /* only what can ride comes along */
    FL_OP_FIND,        /* the threat was found and what was seen removed */
    FL_OP_REWEIGHT,    /* the prior is set anew */
    FL_OP_START_EMPTY, /* a steady hazard begins (core/clear/steady) */
    FL_OP_INFLOW       /* what it let in */
} fl_op_kind;
#define FL_OP_KINDS (FL_OP_INFLOW + 1)

/* One operation. Arrays are by stage; those of stages beyond the model's are not looked at. */
typedef struct fl_op {
    fl_op_kind kind;
    int64_t at_h; /* whole hours since 1970-01-01T00Z, for people and for the order of the chain */
    union {
        struct {
            double prior;                /* 0 to 1 */
            double share[FL_STAGES_MAX]; /* sums to 1 */
            bool is_colony; /* an established one: all in the last stage, for good; no share read */
        } start;
        struct {
            int n_hours;           /* 0 to FL_FILTER_HOURS_MAX */
            const double *temps_c; /* temps_c[n_hours], borrowed; NULL: temp_c throughout */
            double temp_c;
        } time;
        struct {
            double survival[FL_STAGES_MAX]; /* 0 to 1 */
            bool has_colony_rule;
        } treat;
        struct {
            double detect[FL_STAGES_MAX]; /* 0 to 1 */
            double cap;                   /* 0 to 1 */
        } look;
        struct {
            double ride[FL_STAGES_MAX]; /* 0 to 1 */
        } thin;
        fl_filter_finding find;
        struct {
            double prior; /* 0 to 1 */
        } reweight;
        struct {
            double mean;                 /* founders, 0 to 1000 */
            double share[FL_STAGES_MAX]; /* sums to 1 */
        } inflow;
    };
} fl_op;

/* Applies one operation to *state. Temperatures are rounded to 0.01 C first, as in fl_op_bytes.
 * FL_OP_START keeps the multipliers that are in *state: set n_mix and multiplier before the first
 * one; nothing else of *state is read then. Errors are those of the filter's functions, FL_EINVAL
 * for an unknown kind; *state is untouched on any of them. */
fl_status fl_op_apply(const fl_stage_model *model, const fl_op *op, fl_filter *state,
                      fl_err *err) FL_MUST_USE;

/* The masses after an operation, where they follow from those before it: waiting moves none out
 * while nothing dies, and what comes in adds up. Equal to those of fl_op_apply within 1e-12. False,
 * and *out untouched, when the state itself is needed. The operation and the model are sound. */
bool fl_op_sums(const fl_stage_model *model, const fl_op *op, const fl_filter_sums *before,
                fl_filter_sums *out);

/* The canonical bytes of an operation, for hashing: kind, then its numbers, little-endian; doubles
 * as IEEE 754 bits with -0 as 0; time as hours, then runs of equal temperatures (hours, hundredths
 * of a degree), so that a constant written out hour by hour has the same bytes. at_h is not part:
 * equal histories at other dates share a programme.
 * Returns the bytes needed; buffer[capacity] holds them when that is at most capacity, and else
 * means nothing (NULL with capacity 0 asks for the size). 0 when the operation or the model cannot
 * be encoded: fl_op_apply says what is wrong with it. */
size_t fl_op_bytes(const fl_op *op, const fl_stage_model *model, uint8_t *buffer, size_t capacity);

/* The canonical bytes of a model with FL_SOLVER_VERSION in front: the seed of a chain of hashes.
 * Returns as fl_op_bytes; 0 for a model that fl_filter_check_model refuses. At most 300 bytes. */
size_t fl_model_bytes(const fl_stage_model *model, uint8_t *buffer, size_t capacity);

/* The canonical bytes of the multipliers: n_mix (1 to FL_MIXTURE_MAX, else 0 is returned) and each.
 * They belong in a chain's seed too, unless a hash over all knowledge is there already. */
size_t fl_mixture_bytes(int n_mix, const double *multiplier, uint8_t *buffer, size_t capacity);

#endif
