/* Keep, tip, return, refuse: four options, and which of them the figures lean to. */
#include "core/prep/triage.h"

#include <math.h>

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_triage_way[FL_TRIAGE_WAY_COUNT] = {FL_TRIAGE_WAY_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_triage_why[FL_TRIAGE_WHY_COUNT] = {FL_TRIAGE_WHY_LIST(FL_WORD_ENTRY)};

#define DAYS_A_WEEK 7.0

fl_triage_worth fl_triage_worth_usual(void)
{
    return (fl_triage_worth){.bin_week = 1.0, .times_price = 2.0, .tip_share = 0.5};
}

static double bin_weeks_of(const fl_triage_input *in, const fl_triage_road *road)
{
    return road->days / DAYS_A_WEEK * in->bin_share * (1.0 + road->prob_find);
}

/* A way through quarantine; `value` NAN: the price was not told. */
static fl_triage_option through_quarantine(const fl_triage_input *in, const fl_triage_road *road,
                                           double value)
{
    double bin_weeks = bin_weeks_of(in, road);
    return (fl_triage_option){.is_there = road->is_there,
                              .bin_weeks = bin_weeks,
                              .worth = value - in->worth.bin_week * bin_weeks};
}

/* It ends, and where it was meant to go. */
static bool leads_there(const fl_triage_input *in, const fl_triage_option *option)
{
    return option->is_there && !isnan(option->bin_weeks) && in->verdict != FL_PREP_NOT_FOR_THERE;
}

/* The way of the largest worth; the first of equals. */
static fl_triage_way dearest(const fl_triage_input *in, const fl_triage *t)
{
    fl_triage_way best = FL_TRIAGE_REFUSE;
    for (int way = FL_TRIAGE_WAY_COUNT - 1; way >= 0; way--) {
        const fl_triage_option *option = &t->option[way];
        bool ends = way >= FL_TRIAGE_RETURN ? option->is_there : leads_there(in, option);
        if (ends && option->worth >= t->option[best].worth) {
            best = (fl_triage_way)way;
        }
    }
    return best;
}

static fl_triage_way nothing_leads_there(const fl_triage_input *in)
{
    return in->is_claim_open ? FL_TRIAGE_RETURN : FL_TRIAGE_REFUSE;
}

/* Both roads lead there, or one of them. */
static void lean(const fl_triage_input *in, bool is_kept, bool is_tip, fl_triage *t)
{
    const double whole = t->option[FL_TRIAGE_KEEP].bin_weeks;
    const double tip = t->option[FL_TRIAGE_TIP].bin_weeks;
    if (in->price > 0.0) {
        t->leans = dearest(in, t);
        t->why = FL_TRIAGE_ROOM_DEAR;
    } else {
        bool is_lighter =
            is_kept && tip <= FL_TRIAGE_TIP_ROOM * whole && whole - tip >= FL_TRIAGE_TIP_SAVES;
        t->leans = is_tip && (!is_kept || is_lighter) ? FL_TRIAGE_TIP : FL_TRIAGE_KEEP;
    }
    if (t->leans == FL_TRIAGE_KEEP) {
        t->why = FL_TRIAGE_WORTH_IT;
    } else if (t->leans == FL_TRIAGE_TIP) {
        t->why = is_kept ? FL_TRIAGE_TIP_SOONER : FL_TRIAGE_TIP_OPENS;
    }
    if (in->verdict == FL_PREP_CLEAN_TIP && is_tip) {
        t->leans = FL_TRIAGE_TIP;
        t->why = FL_TRIAGE_TIP_ONLY;
    }
}

void fl_triage_weigh(const fl_triage_input *in, fl_triage *out)
{
    const double price = in->price > 0.0 ? in->price : (double)NAN;
    const double value = in->worth.times_price * price;
    fl_triage t = {.leans = FL_TRIAGE_KEEP, .why = FL_TRIAGE_WORTH_IT};
    t.option[FL_TRIAGE_KEEP] = through_quarantine(in, &in->whole, value);
    t.option[FL_TRIAGE_TIP] = through_quarantine(in, &in->tip, value * in->worth.tip_share);
    t.option[FL_TRIAGE_RETURN] = (fl_triage_option){.is_there = in->is_claim_open, .worth = price};
    t.option[FL_TRIAGE_REFUSE] =
        (fl_triage_option){.is_there = true, .worth = isnan(price) ? (double)NAN : 0.0};
    const bool is_kept = leads_there(in, &t.option[FL_TRIAGE_KEEP]);
    const bool is_tip = leads_there(in, &t.option[FL_TRIAGE_TIP]);
    if (is_kept || is_tip) {
        lean(in, is_kept, is_tip, &t);
    } else {
        t.leans = nothing_leads_there(in);
        t.why =
            in->verdict == FL_PREP_NOT_FOR_THERE ? FL_TRIAGE_NOT_FOR_THERE : FL_TRIAGE_NEVER_OPENS;
    }
    *out = t;
}
