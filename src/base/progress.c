/* Telling and asking; the words of the phases. */
#include "base/progress.h"

#include <assert.h>
#include <stddef.h>

#define TICK 32

typedef struct work_entry {
    const char *word;
    const char *text;
    const char *unit;
} work_entry;

#define WORK_ENTRY(code, word, text, unit) {word, text, unit},
static const work_entry words[FL_WORK_COUNT] = {FL_WORK_LIST(WORK_ENTRY)};
#undef WORK_ENTRY

const char *fl_work_word(fl_work work)
{
    assert((unsigned)work < FL_WORK_COUNT);
    return words[work].word;
}

const char *fl_work_text(fl_work work)
{
    assert((unsigned)work < FL_WORK_COUNT);
    return words[work].text;
}

const char *fl_work_unit(fl_work work)
{
    assert((unsigned)work < FL_WORK_COUNT);
    return words[work].unit;
}

fl_status fl_progress_fail(fl_err *err)
{
    return fl_fail(err, FL_ECANCELLED, "cancelled; nothing was changed");
}

fl_status fl_progress_step(const fl_progress *progress, fl_work work, int64_t done, int64_t total,
                           fl_err *err)
{
    if (progress == NULL || progress->step(progress->context, work, done, total)) {
        return FL_OK;
    }
    return fl_progress_fail(err);
}

fl_status fl_progress_tick(const fl_progress *progress, fl_work work, int64_t done, int64_t total,
                           fl_err *err)
{
    return done % TICK == 0 ? fl_progress_step(progress, work, done, total, err) : FL_OK;
}
