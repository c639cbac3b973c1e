/* Applies operations to a filter and writes their canonical bytes. The bytes of time and what time
 * does both go by runs of equal rounded temperatures, which is why equal bytes mean equal
 * states. */
#include "core/clear/programme.h"

#include <math.h>
#include <string.h>

#include "core/clear/steady.h"

#define BATCH_HOURS 168
#define CENTI 100.0

/* ---- runs of equal temperature ---- */

/* Hundredths of a degree; the temperature is in the filter's range. */
static int centi_c(double temp_c)
{
    return (int)lround(temp_c * CENTI);
}

static int hour_centi_c(const fl_op *op, int hour)
{
    return centi_c(op->time.temps_c != NULL ? op->time.temps_c[hour] : op->time.temp_c);
}

/* The hour after the run that begins at `from`. */
static int run_end(const fl_op *op, int from)
{
    if (op->time.temps_c == NULL) {
        return op->time.n_hours;
    }
    int end = from + 1;
    while (end < op->time.n_hours && hour_centi_c(op, end) == hour_centi_c(op, from)) {
        end++;
    }
    return end;
}

static fl_status check_temp(double temp_c, fl_err *err)
{
    if (!(temp_c >= FL_FILTER_TEMP_MIN_C && temp_c <= FL_FILTER_TEMP_MAX_C)) {
        return fl_fail(err, FL_EDOMAIN, "temperature %g C: give -90 to 100", temp_c);
    }
    return FL_OK;
}

/* Everything about a TIME that could be wrong, so that the batches below cannot fail half way. */
static fl_status check_time(const fl_op *op, fl_err *err)
{
    int n_hours = op->time.n_hours;
    if (n_hours < 0) {
        return fl_fail(err, FL_EDOMAIN, "%d hours: give 0 or more", n_hours);
    }
    if (n_hours > FL_FILTER_HOURS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%d hours: at most %d", n_hours, FL_FILTER_HOURS_MAX);
    }
    if (op->time.temps_c == NULL) {
        return check_temp(op->time.temp_c, err);
    }
    fl_status status = FL_OK;
    for (int h = 0; h < n_hours && status == FL_OK; h++) {
        status = check_temp(op->time.temps_c[h], err);
    }
    return status;
}

/* ---- applying ---- */

/* Runs are never split: short ones are batched, long ones go alone. */
static fl_status apply_time(const fl_stage_model *model, const fl_op *op, fl_filter *state,
                            fl_err *err)
{
    fl_status status = fl_filter_check(model, state, err);
    if (status == FL_OK) {
        status = check_time(op, err);
    }
    double batch[BATCH_HOURS];
    int filled = 0;
    for (int h = 0; h < op->time.n_hours && status == FL_OK;) {
        int end = run_end(op, h);
        double temp_c = hour_centi_c(op, h) / CENTI;
        if (end - h > BATCH_HOURS - filled) {
            status = fl_filter_advance(model, batch, filled, state, err);
            filled = 0;
        }
        if (status == FL_OK && end - h > BATCH_HOURS) {
            status = fl_filter_advance_constant(model, temp_c, end - h, state, err);
        } else {
            for (int i = h; i < end; i++) {
                batch[filled++] = temp_c;
            }
        }
        h = end;
    }
    return status == FL_OK ? fl_filter_advance(model, batch, filled, state, err) : status;
}

static fl_status apply_start(const fl_stage_model *model, const fl_op *op, fl_filter *state,
                             fl_err *err)
{
    const double *share = op->start.is_colony ? NULL : op->start.share;
    fl_status status = fl_filter_check_model(model, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_filter_seed seed = {.prior = op->start.prior,
                                 .share = share,
                                 .substage = fl_filter_substages(model) - 1,
                                 .n_mix = state->n_mix,
                                 .multiplier = state->multiplier};
    return fl_filter_start(model, &seed, state, err);
}

fl_status fl_op_apply(const fl_stage_model *model, const fl_op *op, fl_filter *state, fl_err *err)
{
    switch (op->kind) {
    case FL_OP_START:
        return apply_start(model, op, state, err);
    case FL_OP_TIME:
        return apply_time(model, op, state, err);
    case FL_OP_TREAT:
        return fl_filter_treat(model, op->treat.survival, op->treat.has_colony_rule, state, err);
    case FL_OP_LOOK:
        return fl_filter_look(model, op->look.detect, op->look.cap, state, err);
    case FL_OP_THIN:
        return fl_filter_thin(model, op->thin.ride, state, err);
    case FL_OP_FIND:
        return fl_filter_find(model, &op->find, state, err);
    case FL_OP_REWEIGHT:
        return fl_filter_reweight(op->reweight.prior, state, err);
    case FL_OP_START_EMPTY:
        return fl_filter_start_empty(model, state->n_mix, state->multiplier, state, err);
    case FL_OP_INFLOW:
        return fl_filter_inflow(model, op->inflow.mean, op->inflow.share, state, err);
    }
    return fl_fail(err, FL_EINVAL, "operation kind %d: 0 to %d", (int)op->kind, FL_OP_INFLOW);
}

bool fl_op_sums(const fl_stage_model *model, const fl_op *op, const fl_filter_sums *before,
                fl_filter_sums *out)
{
    double dying = 0.0;
    double coming = 0.0;
    if (op->kind != FL_OP_TIME && op->kind != FL_OP_INFLOW) {
        return false;
    }
    for (int s = 0; s < model->n_stages; s++) {
        dying += op->kind == FL_OP_TIME ? model->stage[s].mortality_per_day : 0.0;
        coming += op->kind == FL_OP_INFLOW ? op->inflow.mean * op->inflow.share[s] : 0.0;
    }
    if (dying > 0.0) {
        return false;
    }
    fl_filter_sums after = *before;
    for (int w = 0; w < after.n_mix; w++) {
        after.alive[w] += coming;
    }
    *out = after;
    return true;
}

/* ---- canonical bytes ---- */

/* Counts every byte and stores those that fit. */
typedef struct byte_sink {
    uint8_t *buffer;
    size_t capacity;
    size_t len;
} byte_sink;

static void put_bits(byte_sink *sink, uint64_t bits, int n_bytes)
{
    for (int i = 0; i < n_bytes; i++) {
        if (sink->len < sink->capacity) {
            sink->buffer[sink->len] = (uint8_t)(bits >> (8 * i));
        }
        sink->len++;
    }
}

static void put_int(byte_sink *sink, int value)
{
    put_bits(sink, (uint64_t)(int64_t)value, 4);
}

static void put_double(byte_sink *sink, double value)
{
    double plain = value + 0.0; /* -0 + 0 is 0 */
    uint64_t bits = 0;
    memcpy(&bits, &plain, sizeof bits);
    put_bits(sink, bits, 8);
}

static void put_doubles(byte_sink *sink, const double *value, int n)
{
    for (int i = 0; i < n; i++) {
        put_double(sink, value[i]);
    }
}

static void put_time(byte_sink *sink, const fl_op *op)
{
    put_int(sink, op->time.n_hours);
    for (int h = 0; h < op->time.n_hours;) {
        int end = run_end(op, h);
        put_int(sink, end - h);
        put_bits(sink, (uint64_t)(int64_t)hour_centi_c(op, h), 2);
        h = end;
    }
}

static void put_finding(byte_sink *sink, const fl_filter_finding *find)
{
    put_int(sink, find->n_found);
    put_double(sink, find->mean);
    put_double(sink, find->size);
    put_doubles(sink, find->weight, FL_MIXTURE_MAX);
    put_int(sink, find->youngest_hidden_stage);
}

/* Returns the bytes needed; 0 for an unknown kind. */
static size_t put_op(byte_sink *sink, const fl_op *op, int n_stages)
{
    put_bits(sink, (uint64_t)op->kind, 1);
    switch (op->kind) {
    case FL_OP_START:
        put_double(sink, op->start.prior);
        put_bits(sink, op->start.is_colony ? 1 : 0, 1);
        put_doubles(sink, op->start.share, op->start.is_colony ? 0 : n_stages);
        return sink->len;
    case FL_OP_TIME:
        put_time(sink, op);
        return sink->len;
    case FL_OP_TREAT:
        put_doubles(sink, op->treat.survival, n_stages);
        put_bits(sink, op->treat.has_colony_rule ? 1 : 0, 1);
        return sink->len;
    case FL_OP_LOOK:
        put_doubles(sink, op->look.detect, n_stages);
        put_double(sink, op->look.cap);
        return sink->len;
    case FL_OP_THIN:
        put_doubles(sink, op->thin.ride, n_stages);
        return sink->len;
    case FL_OP_FIND:
        put_finding(sink, &op->find);
        return sink->len;
    case FL_OP_REWEIGHT:
        put_double(sink, op->reweight.prior);
        return sink->len;
    case FL_OP_START_EMPTY:
        return sink->len;
    case FL_OP_INFLOW:
        put_double(sink, op->inflow.mean);
        put_doubles(sink, op->inflow.share, n_stages);
        return sink->len;
    }
    return 0;
}

size_t fl_op_bytes(const fl_op *op, const fl_stage_model *model, uint8_t *buffer, size_t capacity)
{
    if (fl_filter_check_model(model, NULL) != FL_OK) {
        return 0;
    }
    if (op->kind == FL_OP_TIME && check_time(op, NULL) != FL_OK) {
        return 0;
    }
    byte_sink sink = {buffer, capacity, 0};
    return put_op(&sink, op, model->n_stages);
}

size_t fl_model_bytes(const fl_stage_model *model, uint8_t *buffer, size_t capacity)
{
    if (fl_filter_check_model(model, NULL) != FL_OK) {
        return 0;
    }
    byte_sink sink = {buffer, capacity, 0};
    put_int(&sink, FL_SOLVER_VERSION);
    put_int(&sink, model->n_stages);
    put_double(&sink, model->life_days);
    put_int(&sink, model->life_days > 0.0 ? model->n_young : 0);
    for (int s = 0; s < model->n_stages; s++) {
        const fl_stage_rate *rate = &model->stage[s];
        put_int(&sink, rate->n_substages);
        put_double(&sink, rate->mortality_per_day);
        if (s < model->n_stages - 1) { /* the last stage's rate means nothing */
            put_double(&sink, rate->threshold_c);
            put_double(&sink, rate->degree_days);
            put_double(&sink, rate->upper_c);
        }
    }
    return sink.len;
}

size_t fl_mixture_bytes(int n_mix, const double *multiplier, uint8_t *buffer, size_t capacity)
{
    if (n_mix < 1 || n_mix > FL_MIXTURE_MAX) {
        return 0;
    }
    byte_sink sink = {buffer, capacity, 0};
    put_int(&sink, n_mix);
    put_doubles(&sink, multiplier, n_mix);
    return sink.len;
}
