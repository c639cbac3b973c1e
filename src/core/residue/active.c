/* The table of actives as structs. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "core/residue/residue.h"
#include "data/actives.h"

static int index_of(const char *const *words, int count, const char *word)
{
    for (int i = 0; i < count; i++) {
        if (strcmp(words[i], word) == 0) {
            return i;
        }
    }
    assert(false && "word of data/actives.csv");
    return 0;
}

static fl_residue_flag flag_of(const char *word)
{
    static const char *const words[] = {"unknown", "caution", "block"};
    return (fl_residue_flag)index_of(words, 3, word);
}

static fl_movement movement_of(const char *word)
{
    static const char *const words[] = {"surface", "slight", "translaminar", "partial", "systemic"};
    return (fl_movement)index_of(words, 5, word);
}

static double or_else(double value, double fallback)
{
    return isnan(value) ? fallback : value;
}

fl_active fl_active_at(size_t index)
{
    assert(index < fl_rows_actives_count);
    const struct fl_row_actives *r = &fl_rows_actives[index];
    double mean_d = sqrt(r->plant_h_lo_d * r->plant_h_hi_d);
    double planned_frac = or_else(r->washoff_frac, 0.0);
    return (fl_active){.code = r->code,
                       .name = r->name,
                       .kind = r->kind,
                       .movement = movement_of(r->movement),
                       .decays = r->decays != 0,
                       .half_life_low_d = r->plant_h_lo_d,
                       .half_life_plan_d = or_else(r->plan_h_d, mean_d),
                       .half_life_high_d = or_else(r->worst_h_d, r->plant_h_hi_d),
                       .washoff_frac = planned_frac,
                       .washoff_low_frac = or_else(r->washoff_lo_frac, planned_frac),
                       .washoff_high_frac = or_else(r->washoff_hi_frac, planned_frac),
                       .is_photolabile = r->indoor_x3 != 0,
                       .persists_in_mix = r->mix_persists != 0,
                       .invertebrates = flag_of(r->flag_invertebrates),
                       .amphibians = flag_of(r->flag_amphibians),
                       .grade = r->grade,
                       .source = r->source,
                       .note = r->note};
}

size_t fl_active_count(void)
{
    return fl_rows_actives_count;
}

static char folded(char c)
{
    if (c == '-' || c == ' ') {
        return '_';
    }
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool is_same(fl_sv given, const char *word)
{
    if (given.len != strlen(word)) {
        return false;
    }
    for (size_t i = 0; i < given.len; i++) {
        if (folded(given.ptr[i]) != folded(word[i])) {
            return false;
        }
    }
    return true;
}

bool fl_active_find(fl_sv name, fl_active *out)
{
    fl_sv trimmed = fl_sv_trim(name);
    for (size_t i = 0; i < fl_rows_actives_count; i++) {
        if (is_same(trimmed, fl_rows_actives[i].code) ||
            is_same(trimmed, fl_rows_actives[i].name)) {
            *out = fl_active_at(i);
            return true;
        }
    }
    return false;
}

bool fl_active_is_systemic(const fl_active *active)
{
    return active->movement == FL_MOVEMENT_SYSTEMIC || active->movement == FL_MOVEMENT_PARTIAL;
}
