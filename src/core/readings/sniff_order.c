/* The order of day, month and year: by what is told, by days above 12, by the clock, by the steps
 * from reading to reading. Two orders that both make sense are a question. */
#include "core/readings/sniff.h"

#define AHEAD_S 86400                /* a clock may be a day ahead */
#define JUMP_S ((int64_t)20 * 86400) /* a step that an order in error makes at each midnight */

/* What one order makes of the file. */
typedef struct trial {
    bool fits;
    bool is_ahead; /* some reading would lie in the future */
    int64_t last_s;
    int64_t n, n_forward, n_backward, n_jumps;
} trial;

static void take(trial *t, int64_t at_s, int64_t now_s)
{
    t->is_ahead = t->is_ahead || at_s > now_s + AHEAD_S;
    if (t->n > 0) {
        int64_t step_s = at_s - t->last_s;
        t->n_forward += step_s > 0;
        t->n_backward += step_s < 0;
        t->n_jumps += step_s > JUMP_S || step_s < -JUMP_S;
    }
    t->last_s = at_s;
    t->n++;
}

/* One date, by every order that is still open; a date that is none by any of them is a bad row, not
 * evidence. */
static void take_all(trial *trials, const fl_probe_when *date, const fl_probe_when *time,
                     const fl_probe_told *told)
{
    bool is_day[FL_PROBE_ORDERS] = {false};
    int64_t at_s[FL_PROBE_ORDERS] = {0};
    bool is_any = false;
    for (int o = 0; o < FL_PROBE_ORDERS; o++) {
        is_day[o] = trials[o].fits &&
                    fl_probe_when_utc(date, time, (fl_probe_order)o, told->tz_offset_min, &at_s[o]);
        is_any = is_any || is_day[o];
    }
    for (int o = 0; o < FL_PROBE_ORDERS && is_any; o++) {
        trials[o].fits = is_day[o];
        if (is_day[o]) {
            take(&trials[o], at_s[o] + told->shift_s, told->now_s);
        }
    }
}

static int count_open(const trial *trials, int *only)
{
    int n = 0;
    for (int o = 0; o < FL_PROBE_ORDERS; o++) {
        if (trials[o].fits) {
            *only = o;
            n++;
        }
    }
    return n;
}

/* Runs through the file until one order is left, or to its end. Rows without a date are passed. */
static void run(fl_sv text, const fl_probe_told *told, const fl_probe_shape *shape, trial *trials)
{
    size_t at = shape->first_byte;
    int only = 0;
    fl_sv field[FL_PROBE_COLUMNS_MAX];
    for (;;) {
        int64_t lines = 0;
        fl_probe_when date;
        fl_probe_when time;
        size_t n = fl_probe_split(text, &at, shape->delimiter, field, FL_PROBE_COLUMNS_MAX, &lines);
        if (n == 0 || count_open(trials, &only) <= 1) {
            return;
        }
        size_t time_at =
            (size_t)(shape->time_column >= 0 ? shape->time_column : shape->date_column);
        if ((size_t)shape->date_column >= n || time_at >= n || n > FL_PROBE_COLUMNS_MAX ||
            !fl_probe_when_read(field[shape->date_column], &date) || !date.has_date ||
            !fl_probe_when_read(field[time_at], &time)) {
            continue;
        }
        if (date.is_epoch) {
            return;
        }
        take_all(trials, &date, &time, told);
    }
}

/* Strikes out the orders that a mark speaks against, unless it speaks against all of them. */
static int strike(trial *trials, bool (*is_marked)(const trial *), int *only)
{
    int n_clean = 0;
    for (int o = 0; o < FL_PROBE_ORDERS; o++) {
        n_clean += trials[o].fits && !is_marked(&trials[o]);
    }
    for (int o = 0; o < FL_PROBE_ORDERS && n_clean > 0; o++) {
        trials[o].fits = trials[o].fits && !is_marked(&trials[o]);
    }
    return count_open(trials, only);
}

static bool lies_ahead(const trial *t)
{
    return t->is_ahead;
}

static bool turns_back(const trial *t)
{
    return t->n_forward > 0 && t->n_backward > 0;
}

static bool jumps(const trial *t)
{
    return t->n_jumps > 0;
}

/* True when some date was one by some order. */
static bool has_any(const trial *trials)
{
    return trials[0].n + trials[1].n + trials[2].n > 0;
}

fl_status fl_sniff_order(fl_sv text, const fl_probe_told *told, fl_probe_shape *shape, fl_err *err)
{
    static const struct {
        bool (*is_marked)(const trial *);
        const char *why;
    } evidence[] = {
        {lies_ahead, "the other way some readings would lie in the future"},
        {turns_back, "the other way time would run back and forth"},
        {jumps, "the other way the readings would jump by a month at midnight"},
    };
    trial trials[FL_PROBE_ORDERS] = {0};
    fl_probe_when first = {0};
    int only = 0;
    if (shape->date_column < 0) {
        return FL_OK; /* first things first */
    }
    (void)fl_probe_when_read(shape->sample[shape->date_column], &first);
    if (first.is_epoch) {
        shape->order = FL_PROBE_YMD;
        shape->order_why = "seconds since 1970";
        return FL_OK;
    }
    for (int o = 0; o < FL_PROBE_ORDERS; o++) {
        trials[o].fits = (first.orders & 1U << o) != 0 && (told->order < 0 || told->order == o);
    }
    bool is_by_form = told->order < 0 && count_open(trials, &only) == 1;
    run(text, told, shape, trials);
    int n_open = count_open(trials, &only);
    n_open = n_open > 1 && !has_any(trials) ? 0 : n_open;
    const char *why = told->order >= 0 ? "as you said"
                      : is_by_form     ? "the way it is written leaves no other"
                                       : "a day above 12";
    for (size_t i = 0; i < sizeof evidence / sizeof evidence[0] && n_open > 1; i++) {
        n_open = strike(trials, evidence[i].is_marked, &only);
        why = evidence[i].why;
    }
    if (n_open == 0) {
        return fl_fail(err, FL_EFORMAT,
                       "the dates fit no order of day, month and year%s: \"%.*s\" is the first",
                       told->order >= 0 ? " such as you said" : "",
                       (int)shape->sample[shape->date_column].len,
                       shape->sample[shape->date_column].ptr);
    }
    shape->order = (fl_probe_order)only;
    shape->order_why = why;
    if (n_open > 1) {
        shape->order_why = "";
        shape->questions |= 1U << FL_PROBE_ASK_ORDER;
        for (int o = 0; o < FL_PROBE_ORDERS; o++) {
            shape->orders_open |= trials[o].fits ? 1U << o : 0U;
        }
    }
    return FL_OK;
}
