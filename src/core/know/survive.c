/* What each step of an evening leaves alive, and what the steps are. */
#include <assert.h>

#include "core/know/know.h"
#include "core/know/scope.h"
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

/* Only a dip has an agent of its own; every other step is plain water, air or heat. */
static fl_agent agent_that_counts(fl_step step, fl_agent agent)
{
    return step == FL_STEP_DIP ? agent : FL_AGENT_NONE;
}

fl_know_survival fl_know_survival_of(const fl_threat *threat, int stage, fl_step step,
                                     fl_agent agent)
{
    assert(stage >= 0 && stage < threat->n_stages);
    const char *step_word = fl_words_step[step].word;
    const char *agent_word = fl_words_agent[agent_that_counts(step, agent)].word;
    fl_know_survival best = {1.0, FL_GRADE_ASSUMED, "no_trial"};
    int best_rank = 0;
    if (step == FL_STEP_DIP && agent == FL_AGENT_NONE) {
        step_word = fl_words_step[FL_STEP_SOAK].word; /* a dip in plain water is a soak */
    }
    for (size_t i = 0; i < fl_rows_survival_count; i++) {
        const struct fl_row_survival *row = &fl_rows_survival[i];
        if (fl_scope_is(row->step, step_word) && fl_scope_is(row->agent, agent_word)) {
            int rank = row_rank(row, threat, threat->stage[stage].name);
            if (rank > best_rank) {
                best = (fl_know_survival){row->survival, fl_scope_grade(row->grade), row->source};
                best_rank = rank;
            }
        }
    }
    return best;
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
