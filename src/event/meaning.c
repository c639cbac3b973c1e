/* The words of the conflicts, made from the same X-macro as their enum, and row comparison. */
#include "event/meaning.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_conflict[FL_CONFLICT_COUNT] = {FL_CONFLICT_LIST(FL_WORD_ENTRY)};

bool fl_lot_same(const fl_lot *a, const fl_lot *b)
{
    return fl_id_eq(a->id, b->id) && fl_id_eq(a->born_by, b->born_by) && a->origin == b->origin &&
           a->born_s == b->born_s && a->precision == b->precision &&
           fl_id_eq(a->mother, b->mother) && fl_id_eq(a->arrival, b->arrival) &&
           fl_id_eq(a->source, b->source) && fl_id_eq(a->plant, b->plant) &&
           fl_sv_eq(a->name, b->name) && a->form == b->form && a->use == b->use &&
           fl_sv_eq(a->label_active, b->label_active) && a->is_label_clean == b->is_label_clean &&
           a->count_born == b->count_born && a->count == b->count && fl_id_eq(a->place, b->place) &&
           a->is_gone == b->is_gone && fl_id_eq(a->released_by, b->released_by);
}

bool fl_stay_same(const fl_stay *a, const fl_stay *b)
{
    return fl_id_eq(a->lot, b->lot) && fl_id_eq(a->place, b->place) && a->from_s == b->from_s &&
           a->to_s == b->to_s && fl_id_eq(a->from_event, b->from_event) &&
           fl_id_eq(a->to_event, b->to_event);
}

bool fl_fill_same(const fl_fill *a, const fl_fill *b)
{
    return fl_id_eq(a->id, b->id) && fl_id_eq(a->place, b->place) && a->from_s == b->from_s &&
           a->to_s == b->to_s && fl_id_eq(a->from_event, b->from_event) &&
           fl_id_eq(a->to_event, b->to_event) && a->began_with_lots == b->began_with_lots;
}

bool fl_hold_same(const fl_hold *a, const fl_hold *b)
{
    return fl_id_eq(a->id, b->id) && fl_id_eq(a->place, b->place) && a->cause == b->cause &&
           fl_id_eq(a->from_event, b->from_event) && fl_id_eq(a->finding, b->finding) &&
           a->from_s == b->from_s && a->to_s == b->to_s && fl_id_eq(a->to_event, b->to_event) &&
           fl_sv_eq(a->why, b->why);
}

bool fl_finding_same(const fl_finding_now *a, const fl_finding_now *b)
{
    return fl_id_eq(a->finding, b->finding) && fl_id_eq(a->look, b->look) &&
           fl_id_eq(a->place, b->place) && fl_id_eq(a->lot, b->lot) && a->at_s == b->at_s &&
           fl_sv_eq(a->threat, b->threat) && fl_sv_eq(a->stage, b->stage) && a->count == b->count &&
           a->is_removed == b->is_removed && a->is_retracted == b->is_retracted &&
           fl_sv_eq(a->what, b->what);
}

bool fl_conflict_same(const fl_conflict *a, const fl_conflict *b)
{
    return a->kind == b->kind && fl_id_eq(a->event, b->event) && fl_id_eq(a->other, b->other) &&
           fl_id_eq(a->lot, b->lot) && fl_id_eq(a->place, b->place) && a->at_s == b->at_s;
}
