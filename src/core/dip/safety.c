/* Hard blocks and cautions, from their tables. */
#include "core/dip/safety.h"

#include <assert.h>
#include <string.h>

#include "data/cautions.h"
#include "data/incompatible.h"

bool fl_dip_conflict_words(fl_sv a, fl_sv b, fl_dip_clash *out)
{
    for (size_t i = 0; i < fl_rows_incompatible_count; i++) {
        const struct fl_row_incompatible *r = &fl_rows_incompatible[i];
        bool is_match = (fl_sv_eq_cstr(a, r->a) && fl_sv_eq_cstr(b, r->b)) ||
                        (fl_sv_eq_cstr(a, r->b) && fl_sv_eq_cstr(b, r->a));
        if (is_match) {
            *out = (fl_dip_clash){r->hazard, r->text, r->grade, r->source};
            return true;
        }
    }
    return false;
}

bool fl_dip_conflict(fl_agent a, fl_agent b, fl_dip_clash *out)
{
    return fl_dip_conflict_words(fl_sv_from_cstr(fl_words_agent[a].word),
                                 fl_sv_from_cstr(fl_words_agent[b].word), out);
}

/* The mask of an occasion's word; 0 for "always". */
static unsigned mask_of(const char *occasion)
{
    static const struct {
        const char *word;
        unsigned mask;
    } words[] = {{"age_unknown", FL_OCCASION_AGE_UNKNOWN},
                 {"replace", FL_OCCASION_REPLACE},
                 {"extrapolated", FL_OCCASION_EXTRAPOLATED},
                 {"strong", FL_OCCASION_STRONG},
                 {"weak", FL_OCCASION_WEAK}};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (strcmp(occasion, words[i].word) == 0) {
            return words[i].mask;
        }
    }
    return 0;
}

size_t fl_dip_cautions(fl_agent agent, unsigned occasions, fl_caution *out)
{
    if (agent == FL_AGENT_NONE) {
        return 0;
    }
    size_t n = 0;
    for (size_t i = 0; i < fl_rows_cautions_count; i++) {
        const struct fl_row_cautions *r = &fl_rows_cautions[i];
        bool is_ours =
            strcmp(r->agent, "any") == 0 || strcmp(r->agent, fl_words_agent[agent].word) == 0;
        unsigned mask = mask_of(r->occasion);
        if (is_ours && (mask == 0 || (mask & occasions) != 0)) {
            assert(n < FL_CAUTIONS_MAX);
            out[n++] = (fl_caution){r->code, r->text, r->grade, r->source};
        }
    }
    return n;
}

unsigned fl_bleach_occasions(const fl_bleach_mix *mix)
{
    unsigned occasions = 0;
    if (mix->strength.is_age_unknown) {
        occasions |= FL_OCCASION_AGE_UNKNOWN;
    }
    if (mix->strength.should_replace) {
        occasions |= FL_OCCASION_REPLACE;
    }
    if (mix->strength.is_extrapolated) {
        occasions |= FL_OCCASION_EXTRAPOLATED;
    }
    if (mix->chlorine_mg_per_l > FL_BLEACH_STRONG_MG_PER_L) {
        occasions |= FL_OCCASION_STRONG;
    }
    if (mix->chlorine_mg_per_l < FL_BLEACH_WEAK_MG_PER_L) {
        occasions |= FL_OCCASION_WEAK;
    }
    return occasions;
}
