/* What each step of an evening leaves alive, and what the steps are. */
#include <assert.h>

#include "core/know/know.h"
#include "core/know/scope.h"
#include "data/hot_water.h"
#include "data/steps.h"
#include "data/survival.h"

#define STEP_FLOOR 0.1 /* design 4.11; docs/decisions/0002 */

/* How closely a row names threat and stage: the threat counts before the stage; 0 not at all. */
static int row_rank(const struct fl_row_survival *row, const fl_threat *threat, const char *stage)
{
    int rank = fl_scope_is(row->threat, threat->code) ? 4 : fl_scope_is(row->threat, "all") ? 2 : 0;
    if (rank == 0) {
        return 0;
    }
    if (fl_scope_is(row->stage, stage)) {
        return rank + 1;
    }
    return fl_scope_is(row->stage, "all") ? rank : 0;
}

/* The rows speak of dips in something and of soaks in plain water: a soak in something is a dip, a
 * dip in plain water a soak, and no other step has an agent. */
static void words_of(fl_step step, fl_agent agent, const char **step_word, const char **agent_word)
{
    bool is_bath = step == FL_STEP_DIP || step == FL_STEP_SOAK;
    fl_step bath = agent == FL_AGENT_NONE ? FL_STEP_SOAK : FL_STEP_DIP;
    *step_word = fl_words_step[is_bath ? bath : step].word;
    *agent_word = fl_words_agent[is_bath ? agent : FL_AGENT_NONE].word;
}

fl_know_survival fl_know_survival_of(const fl_threat *threat, int stage, fl_step step,
                                     fl_agent agent)
{
    assert(stage >= 0 && stage < threat->n_stages);
    fl_know_survival best = {1.0, FL_GRADE_ASSUMED, "no_trial"};
    const char *step_word, *agent_word;
    int best_rank = 0;
    words_of(step, agent, &step_word, &agent_word);
    for (size_t i = 0; i < fl_rows_survival_count; i++) {
        const struct fl_row_survival *row = &fl_rows_survival[i];
        int rank = row_rank(row, threat, threat->stage[stage].name);
        if (rank > best_rank && fl_scope_is(row->step, step_word) &&
            fl_scope_is(row->agent, agent_word)) {
            best = (fl_know_survival){row->survival, fl_scope_grade(row->grade), row->source};
            best_rank = rank;
        }
    }
    return best;
}

bool fl_know_hot_water_counts(const fl_threat *threat, double temp_c, double minutes)
{
    for (size_t i = 0; i < fl_rows_hot_water_count; i++) {
        const struct fl_row_hot_water *row = &fl_rows_hot_water[i];
        if (fl_scope_is(row->threat, threat->code) && temp_c >= row->temp_c &&
            minutes >= row->minutes) {
            return true; /* NaN compares false: an unknown bath earns nothing */
        }
    }
    return false;
}

double fl_know_step_floor(void)
{
    return STEP_FLOOR;
}

size_t fl_know_step_count(void)
{
    return fl_rows_steps_count;
}

fl_know_step fl_know_step_at(size_t index)
{
    assert(index < fl_rows_steps_count);
    const struct fl_row_steps *row = &fl_rows_steps[index];
    int step = fl_word_find(fl_words_step, FL_STEP_COUNT, fl_sv_from_cstr(row->step));
    int agent = fl_word_find(fl_words_agent, FL_AGENT_COUNT, fl_sv_from_cstr(row->agent));
    assert(step >= 0 && agent >= 0); /* a test goes through all rows */
    return (fl_know_step){.code = row->code,
                          .step = (fl_step)step,
                          .agent = (fl_agent)agent,
                          .minutes_low = row->minutes_low,
                          .minutes_high = row->minutes_high,
                          .minutes_usual = row->minutes_usual,
                          .strength = row->strength,
                          .how = row->how};
}
