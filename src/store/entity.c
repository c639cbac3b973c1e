/* Word lists of the room file that no event's JSON needs, and the seal of a journal row. */
#include "store/entity.h"

#include <assert.h>
#include <stdio.h>

const fl_word fl_entity_words[FL_ENTITY_COUNT] = {
    [FL_ENTITY_SOURCE] = {"source", "source"},    [FL_ENTITY_PLANT] = {"plant", "plant"},
    [FL_ENTITY_PLACE] = {"place", "place"},       [FL_ENTITY_BOTTLE] = {"bottle", "bottle"},
    [FL_ENTITY_ARRIVAL] = {"arrival", "arrival"}, [FL_ENTITY_LOT] = {"lot", "lot"},
    [FL_ENTITY_RUN] = {"run", "timed step"},      [FL_ENTITY_FINDING] = {"finding", "finding"},
    [FL_ENTITY_HOLD] = {"hold", "hold"},          [FL_ENTITY_BUILD] = {"build", "build"},
    [FL_ENTITY_EVENT] = {"event", "event"},
};

const fl_word fl_precision_words[FL_PRECISION_COUNT] = {
    [FL_PRECISION_EXACT] = {"exact", "to the minute"},
    [FL_PRECISION_HOUR] = {"hour", "to the hour"},
    [FL_PRECISION_DAY] = {"day", "to the day"},
    [FL_PRECISION_MONTH] = {"month", "to the month"},
    [FL_PRECISION_YEAR] = {"year", "to the year"},
};

const fl_word fl_cause_words[FL_HOLD_BY_ANIMAL + 1] = {
    [FL_HOLD_BY_KEEPER] = {"keeper", "set by the keeper"},
    [FL_HOLD_BY_FINDING] = {"finding", "a finding"},
    [FL_HOLD_BY_ANIMAL] = {"animal", "an animal ill, dead, or tested positive"},
};

fl_hash fl_journal_seal(const fl_sealed *row)
{
    char id[FL_ID_TEXT_MAX];
    char line[256];
    int len = snprintf(line, sizeof line, "%lld %s %.*s %lld %lld %lld", (long long)row->position,
                       fl_id_format(id, row->id), FL_SV_ARG(row->kind), (long long)row->at_s,
                       (long long)row->rank, (long long)row->recorded_s);
    assert(len > 0);
    size_t used = (size_t)len < sizeof line ? (size_t)len : sizeof line - 1; /* a damaged kind */
    return fl_hash_link(fl_hash_of(row->canonical.ptr, row->canonical.len), line, used);
}
