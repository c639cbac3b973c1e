/* Growth forms are words, "creeping vine": the first that is found in them decides. */
#include "core/know/growth.h"

#include <string.h>

#define TRIM_RUNS_DAYS 42
#define TRIM_BRANCHES_DAYS 70

static const fl_growth kinds[] = {
    [FL_GROWTH_RUNS] = {FL_GROWTH_RUNS, "runs", "makes many shoots", 3, 42},
    [FL_GROWTH_BRANCHES] = {FL_GROWTH_BRANCHES, "branches", "makes a few shoots", 2, 56},
    [FL_GROWTH_DIVIDES] = {FL_GROWTH_DIVIDES, "divides", "divides slowly", 1, 84},
};

static const char *const dividing[] = {"rosette", "clump",      "rhizomatous",
                                       "fan",     "monopodial", NULL};
static const char *const running[] = {"vine",    "creep",   "climb",    "mat",  "trail",
                                      "scrambl", "spread",  "stolon",   "twin", "pendent",
                                      "hummock", "cushion", "thallose", NULL};
static const char *const stemmed[] = {"upright", "mound", NULL};

static const char *form_of(const fl_know_plant *row)
{
    return row != NULL && row->growth_form != NULL ? row->growth_form : "";
}

static bool tells(const char *form, const char *const *words)
{
    for (; *words != NULL; words++) {
        if (strstr(form, *words) != NULL) {
            return true;
        }
    }
    return false;
}

const fl_growth *fl_know_growth(const fl_know_plant *row)
{
    const char *form = form_of(row);
    return &kinds[tells(form, dividing)  ? FL_GROWTH_DIVIDES
                  : tells(form, running) ? FL_GROWTH_RUNS
                                         : FL_GROWTH_BRANCHES];
}

int fl_know_trim_days(const fl_know_plant *row)
{
    switch (fl_know_growth(row)->kind) {
    case FL_GROWTH_RUNS:
        return TRIM_RUNS_DAYS;
    case FL_GROWTH_BRANCHES:
        return tells(form_of(row), stemmed) ? TRIM_BRANCHES_DAYS : 0;
    case FL_GROWTH_DIVIDES:
        break;
    }
    return 0;
}
