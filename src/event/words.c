/* The word lists as data, made from the same X-macros as the enums. */
#include "event/words.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_source_kind[FL_SOURCE_COUNT] = {FL_SOURCE_KIND_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_form[FL_FORM_COUNT] = {FL_FORM_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_place_kind[FL_PLACE_COUNT] = {FL_PLACE_KIND_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_use[FL_USE_COUNT] = {FL_USE_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_step[FL_STEP_COUNT] = {FL_STEP_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_agent[FL_AGENT_COUNT] = {FL_AGENT_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_prills[FL_PRILLS_COUNT] = {FL_PRILLS_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_effort[FL_EFFORT_COUNT] = {FL_EFFORT_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_device[FL_DEVICE_COUNT] = {FL_DEVICE_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_hands[FL_HANDS_COUNT] = {FL_HANDS_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_animal_event[FL_ANIMAL_COUNT] = {FL_ANIMAL_EVENT_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_link[FL_LINK_COUNT] = {FL_LINK_LIST(FL_WORD_ENTRY)};

int fl_word_find(const fl_word *list, int count, fl_sv word)
{
    for (int i = 0; i < count; i++) {
        if (fl_sv_eq_cstr(word, list[i].word)) {
            return i;
        }
    }
    return -1;
}

bool fl_form_is_material(fl_form form)
{
    return form >= FL_FORM_MIX_BAGGED;
}

fl_use fl_use_strictest(unsigned uses)
{
    fl_use strictest = FL_USE_PLANTS_ONLY;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        strictest = (uses & (1U << use)) != 0 ? (fl_use)use : strictest;
    }
    return strictest;
}
