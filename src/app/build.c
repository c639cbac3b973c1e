/* The study of builds: stock is shared out by need-by day, what is still wanted is laid onto the
 * bins by core/builds, and each line gets its days. */
#include "app/build.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>

#include "app/build_work.h"
#include "app/giving.h"
#include "app/temps.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_build_means[FL_BUILD_MEANS_COUNT] = {FL_BUILD_MEANS_LIST(FL_WORD_ENTRY)};
const fl_word fl_words_build_help[FL_BUILD_HELP_COUNT] = {FL_BUILD_HELP_LIST(FL_WORD_ENTRY)};

#define LINES_MAX (3 * FL_BUILD_ITEMS_MAX)
#define JAR_PLANTS 3 /* small plants that one jar holds: common practice, no source */
#define WARM_C 25.0

/* A study at work. */
typedef struct study {
    const fl_room *room;
    fl_app *app;
    fl_arena *arena;
    fl_chances *chances;
    fl_build_study *out;
    int *left; /* [lots of the room]: plants that no build has taken yet; of mothers, cuttings */
    fl_build_asked *asked; /* [n_asked]: one for each item */
    size_t n_asked;
    fl_build_line *line_of_want[FL_BUILD_WANTS_MAX];
    fl_build_want wants[FL_BUILD_WANTS_MAX];
    const fl_build_prospect *way_of[FL_BUILD_WANTS_MAX][FL_BUILD_WAYS_MAX];
    size_t n_wants;
    fl_build_bin bins[FL_BUILD_BINS_MAX];
} study;

/* Local noon, so many days from today. */
static int64_t day_s(const fl_room *room, int day)
{
    return fl_civil_noon(room->now_s, room->tz_offset_min) + (int64_t)day * FL_DAY_S;
}

/* ---- what stands ready ---- */

static fl_build_line *add_line(fl_build_outlook *o, const fl_build_item *item, int count,
                               fl_build_means means)
{
    if (o->n_lines == LINES_MAX) {
        return NULL;
    }
    fl_build_line *line = &o->lines[o->n_lines++];
    *line = (fl_build_line){.item = item,
                            .count = count,
                            .means = means,
                            .ready_s = FL_GATE_NEVER,
                            .from_s = FL_GATE_NEVER,
                            .by_s = FL_GATE_NEVER};
    return line;
}

/* A lot on the shelf that is not a mother, not in an enclosure and not outside. */
static bool is_stock(const fl_room *room, const fl_lot *lot)
{
    const fl_ev_place_set *place = fl_defs_place(&room->defs, lot->place);
    return !lot->is_gone && place != NULL && place->kind != FL_PLACE_ENCLOSURE &&
           place->kind != FL_PLACE_OUTSIDE && !fl_build_is_mother(room, lot);
}

/* Takes from lots of the kind that will be open by the day the plants are needed, that day too. */
static fl_status take_stock(study *st, fl_build_outlook *o, const fl_build_item *item, int *wanted,
                            fl_err *err)
{
    const fl_room *room = st->room;
    fl_status status = FL_OK;
    for (size_t i = 0; i<room->meaning.n_lots && * wanted> 0 && status == FL_OK; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        fl_build_opening opening;
        if (st->left[i] == 0 || !fl_build_is_kind(room, lot, item) || !is_stock(room, lot)) {
            continue;
        }
        status = fl_build_opens(st->chances, room, lot, o->build->uses, st->arena, &opening, err);
        if (status != FL_OK || opening.at_s >= o->plant_s + FL_DAY_S / 2) {
            continue;
        }
        const int n = st->left[i] < *wanted ? st->left[i] : *wanted;
        fl_build_line *line = add_line(o, item, n, FL_BUILD_FROM_STOCK);
        if (line != NULL) {
            line->lot = lot;
            line->ready_s = opening.at_s;
            line->sum = opening.sum;
            st->left[i] -= n;
            *wanted -= n;
        }
    }
    return status;
}

/* ---- what must come ---- */

/* What may share a cohort: a source on one trip; cuttings of one mother's place. */
static int group_of(const fl_room *room, const fl_build_prospect *p)
{
    if (p->means == FL_BUILD_BY_BUYING) {
        for (size_t i = 0; i < room->defs.sources.count; i++) {
            if (&room->defs.sources.events[i]->body.source_set == p->source) {
                return (int)i;
            }
        }
    }
    for (size_t i = 0; p->mother != NULL && i < room->defs.places.count; i++) {
        if (fl_id_eq(room->defs.places.events[i]->body.place_set.place, p->mother->place)) {
            return (int)(room->defs.sources.count + i);
        }
    }
    return (int)(room->defs.sources.count + room->defs.places.count);
}

static int *left_of(study *st, const fl_lot *mother)
{
    return &st->left[mother - st->room->meaning.lots];
}

/* Whether the way can give `count` plants; of cuttings, those are then spoken for. */
static bool can_give(study *st, const fl_build_prospect *p, int count, bool *has_cut)
{
    if (p->gate_days < 1) {
        return false;
    }
    if (p->means == FL_BUILD_BY_BUYING) {
        return true;
    }
    int *left = left_of(st, p->mother);
    if (*has_cut || *left < count) {
        return false;
    }
    *has_cut = true;
    *left -= count;
    return true;
}

/* A want of `count` plants: every way that can give so many and opens at all. */
static void add_want(study *st, fl_build_outlook *o, const fl_build_asked *asked, int count)
{
    fl_build_want want = {.need_day = fl_build_days_until(st->room, o->plant_s)};
    bool has_cut = false;
    fl_build_line *line = add_line(o, asked->item, count, FL_BUILD_NOT_AT_ALL);
    if (line == NULL) {
        return;
    }
    line->prospects = asked->prospects;
    line->n_prospects = asked->n;
    for (size_t k = 0; k < asked->n && st->n_wants < FL_BUILD_WANTS_MAX; k++) {
        const fl_build_prospect *p = &asked->prospects[k];
        if (want.n_ways == FL_BUILD_WAYS_MAX || !can_give(st, p, count, &has_cut)) {
            continue;
        }
        st->way_of[st->n_wants][want.n_ways] = p;
        want.ways[want.n_ways++] = (fl_build_way){.group = group_of(st->room, p),
                                                  .first_day = p->first_day,
                                                  .bin_days = p->gate_days,
                                                  .fits_jar = count <= JAR_PLANTS,
                                                  .cost = p->means == FL_BUILD_BY_BUYING};
    }
    if (want.n_ways > 0) {
        st->line_of_want[st->n_wants] = line;
        st->wants[st->n_wants++] = want;
    }
}

/* Cuttings as far as one mother can spare, the rest by other ways. */
static void add_wants(study *st, fl_build_outlook *o, const fl_build_asked *asked, int wanted)
{
    int spare = 0;
    for (size_t k = 0; k < asked->n; k++) {
        const fl_build_prospect *p = &asked->prospects[k];
        if (p->means == FL_BUILD_BY_CUTTING && p->gate_days >= 1) {
            const int left = *left_of(st, p->mother);
            spare = left > spare ? left : spare;
        }
    }
    if (spare > 0 && spare < wanted) {
        add_want(st, o, asked, spare);
        wanted -= spare;
    }
    add_want(st, o, asked, wanted);
}

/* ---- bins ---- */

/* The bin's lots stand there for good: it is no bin for quarantine. */
static bool holds_stock(const fl_room *room, fl_id place)
{
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        if (!lot->is_gone && fl_id_eq(lot->place, place) &&
            (!fl_id_is_none(lot->released_by) || lot->origin == FL_KIND_LOT_ALREADY_HERE)) {
            return true;
        }
    }
    return false;
}

/* When all that stands there could go. One lot that never can is enough: the rest is not asked. */
static fl_status bin_opens(study *st, fl_id place, int64_t *out, fl_err *err)
{
    const fl_room *room = st->room;
    fl_status status = FL_OK;
    *out = room->now_s;
    for (size_t i = 0; i < room->meaning.n_lots && status == FL_OK && *out != FL_GATE_NEVER; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        fl_build_opening opening;
        if (!lot->is_gone && fl_id_eq(lot->place, place)) {
            status =
                fl_build_opens(st->chances, room, lot, 1U << lot->use, st->arena, &opening, err);
            *out = status == FL_OK && opening.at_s > *out ? opening.at_s : *out;
        }
    }
    return status;
}

static fl_status gather_bins(study *st, fl_err *err)
{
    const fl_def_set *places = &st->room->defs.places;
    fl_build_study *out = st->out;
    fl_status status = FL_OK;
    out->bins = FL_ARENA_ARRAY(st->arena, const fl_ev_place_set *, places->count + 1);
    out->bin_free_day = FL_ARENA_ARRAY(st->arena, int, places->count + 1);
    for (size_t i = 0; i < places->count && status == FL_OK; i++) {
        const fl_ev_place_set *place = &places->events[i]->body.place_set;
        const bool is_bin = place->kind == FL_PLACE_BIN || place->kind == FL_PLACE_JAR;
        int64_t opens_s = 0;
        if (!is_bin || place->is_retired || out->n_bins == FL_BUILD_BINS_MAX) {
            continue;
        }
        const bool is_for_stock = holds_stock(st->room, place->place);
        status = is_for_stock ? FL_OK : bin_opens(st, place->place, &opens_s, err);
        if (is_for_stock || opens_s == FL_GATE_NEVER) {
            out->n_bins_shut++;
            continue;
        }
        out->bins[out->n_bins] = place;
        out->bin_free_day[out->n_bins] = fl_build_days_until(st->room, opens_s);
        st->bins[out->n_bins] = (fl_build_bin){.free_day = out->bin_free_day[out->n_bins],
                                               .is_jar = place->kind == FL_PLACE_JAR};
        out->n_bins++;
    }
    return status;
}

static double usual_c(const study *st)
{
    return fl_temps_usual_of(st->out->bins, st->out->n_bins, st->arena);
}

/* ---- the whole ---- */

static int *plants_left(const study *st)
{
    const fl_meaning *m = &st->room->meaning;
    int *left = FL_ARENA_ARRAY(st->arena, int, m->n_lots + 1);
    for (size_t i = 0; i < m->n_lots; i++) {
        fl_giving giving = {.spare = 1};
        if (fl_build_is_mother(st->room, &m->lots[i])) {
            fl_giving_of(st->room, &m->lots[i], st->arena, &giving);
        }
        left[i] = (int)m->lots[i].count * giving.spare;
    }
    return left;
}

static fl_status share_out(study *st, fl_err *err)
{
    fl_status status = FL_OK;
    size_t asked = 0;
    for (size_t b = 0; b < st->out->n_builds && status == FL_OK; b++) {
        fl_build_outlook *o = &st->out->builds[b];
        for (size_t i = 0; i < o->build->n_items && status == FL_OK; i++) {
            int wanted = o->build->items[i].count;
            status = take_stock(st, o, &o->build->items[i], &wanted, err);
            if (status == FL_OK && wanted > 0) {
                add_wants(st, o, &st->asked[asked], wanted);
            }
            asked++;
        }
    }
    return status;
}

static void write_line(study *st, size_t w)
{
    const fl_build_plan *plan = &st->out->plan;
    fl_build_line *line = st->line_of_want[w];
    const fl_build_cohort *cohort = &plan->cohorts[plan->cohort[w]];
    line->prospect = st->way_of[w][plan->way[w]];
    line->means = line->prospect->means;
    line->cohort = cohort;
    line->bin = st->out->bins[cohort->bin];
    line->ready_s = day_s(st->room, plan->ready_day[w]);
    line->from_s = day_s(st->room, cohort->first_day);
    line->by_s = day_s(st->room, cohort->last_day);
    line->sum = line->prospect->sum;
}

static void finish_builds(study *st)
{
    for (size_t b = 0; b < st->out->n_builds; b++) {
        fl_build_outlook *o = &st->out->builds[b];
        o->ready_s = day_s(st->room, 0);
        for (size_t i = 0; i < o->n_lines; i++) {
            o->sum += o->lines[i].sum;
            if (o->worst == NULL || o->lines[i].sum > o->worst->sum) {
                o->worst = &o->lines[i];
            }
            o->ready_s = o->lines[i].ready_s > o->ready_s ? o->lines[i].ready_s : o->ready_s;
        }
        o->first_need_s = o->ready_s == FL_GATE_NEVER
                              ? FL_GATE_NEVER
                              : o->ready_s + (int64_t)o->build->settle_days * FL_DAY_S;
    }
}

static fl_status schedule(study *st, const fl_build_bin *bins, size_t n_bins, fl_build_plan *out,
                          fl_err *err)
{
    const fl_build_input input = {st->wants, st->n_wants, bins, n_bins};
    return fl_build_make(&input, out, err);
}

/* One more bin, empty today. */
static fl_status help_by_bin(study *st, fl_err *err)
{
    fl_build_plan plan;
    size_t n = st->out->n_bins;
    if (n == FL_BUILD_BINS_MAX) {
        return FL_OK;
    }
    st->bins[n] = (fl_build_bin){.free_day = 0};
    const fl_status status = schedule(st, st->bins, n + 1, &plan, err);
    if (status == FL_OK) {
        st->out->help_late_days[FL_BUILD_HELP_BIN] = plan.late_days;
    }
    return status;
}

static fl_status ask_all(study *st, double temp_c, bool is_culture_instead, fl_err *err)
{
    const fl_build_asking how = {.room = st->room,
                                 .app = st->app,
                                 .arena = st->arena,
                                 .temp_c = temp_c,
                                 .is_culture_instead = is_culture_instead};
    return fl_build_ask(&how, st->asked, st->n_asked, err);
}

/* The same wants with the ways asked anew; what has no way any more keeps the old ones. */
static fl_status help_by_ways(study *st, fl_build_help help, fl_err *err)
{
    fl_build_plan plan;
    study again = *st;
    fl_build_study out = *st->out;
    const bool is_warm = help == FL_BUILD_HELP_WARM;
    again.out = &out;
    again.n_wants = 0;
    again.asked = FL_ARENA_ARRAY(st->arena, fl_build_asked, st->n_asked + 1);
    out.builds = FL_ARENA_ARRAY(st->arena, fl_build_outlook, st->out->n_builds + 1);
    for (size_t i = 0; i < st->n_asked; i++) {
        again.asked[i] = (fl_build_asked){.build = st->asked[i].build, .item = st->asked[i].item};
    }
    fl_status status = ask_all(&again, is_warm ? WARM_C : usual_c(st), !is_warm, err);
    if (status != FL_OK) {
        return status;
    }
    again.left = plants_left(st);
    for (size_t b = 0; b < out.n_builds; b++) {
        out.builds[b] = (fl_build_outlook){.build = st->out->builds[b].build,
                                           .plant_s = st->out->builds[b].plant_s};
        out.builds[b].lines = FL_ARENA_ARRAY(st->arena, fl_build_line, LINES_MAX);
    }
    status = share_out(&again, err);
    if (status == FL_OK && again.n_wants > 0) {
        status = schedule(&again, again.bins, out.n_bins, &plan, err);
        st->out->help_late_days[help] = status == FL_OK ? plan.late_days : -1;
    }
    return status;
}

static fl_status ask_for_help(study *st, fl_err *err)
{
    fl_status status = FL_OK;
    if (st->out->plan.late_days > 0) {
        status = help_by_bin(st, err);
        if (status == FL_OK) {
            status = help_by_ways(st, FL_BUILD_HELP_CULTURE, err);
        }
        if (status == FL_OK) {
            status = help_by_ways(st, FL_BUILD_HELP_WARM, err);
        }
    }
    return status;
}

static void begin(study *st, const fl_build *builds, size_t n_builds)
{
    fl_build_study *out = st->out;
    size_t n_items = 0;
    for (size_t b = 0; b < n_builds; b++) {
        n_items += builds[b].n_items;
    }
    *out = (fl_build_study){.room = st->room, .n_builds = n_builds};
    for (int h = 0; h < FL_BUILD_HELP_COUNT; h++) {
        out->help_late_days[h] = -1;
    }
    out->builds = FL_ARENA_ARRAY(st->arena, fl_build_outlook, n_builds + 1);
    st->asked = FL_ARENA_ARRAY(st->arena, fl_build_asked, n_items + 1);
    st->left = plants_left(st);
    for (size_t b = 0; b < n_builds; b++) {
        out->builds[b].build = &builds[b];
        out->builds[b].lines = FL_ARENA_ARRAY(st->arena, fl_build_line, LINES_MAX);
        out->builds[b].plant_s = builds[b].need_s - (int64_t)builds[b].settle_days * FL_DAY_S;
        for (size_t i = 0; i < builds[b].n_items; i++) {
            st->asked[st->n_asked++] =
                (fl_build_asked){.build = &builds[b], .item = &builds[b].items[i]};
        }
    }
}

static fl_status run(study *st, fl_err *err)
{
    fl_status status = gather_bins(st, err);
    if (status == FL_OK) {
        status = ask_all(st, usual_c(st), false, err);
    }
    if (status == FL_OK) {
        status = share_out(st, err);
    }
    if (status == FL_OK && st->out->n_bins > 0) {
        status = schedule(st, st->bins, st->out->n_bins, &st->out->plan, err);
        for (size_t w = 0; status == FL_OK && w < st->n_wants; w++) {
            write_line(st, w);
        }
    }
    if (status == FL_OK) {
        finish_builds(st);
        status = ask_for_help(st, err);
    }
    return status;
}

fl_status fl_build_study_make(const fl_room *room, fl_app *app, const fl_build *builds,
                              size_t n_builds, fl_arena *arena, fl_build_study *out, fl_err *err)
{
    study *st = FL_ARENA_NEW(arena, study);
    *st = (study){.room = room, .app = app, .arena = arena, .out = out};
    fl_status status = fl_chances_new(room, app, &st->chances, err);
    if (status != FL_OK) {
        return status;
    }
    begin(st, builds, n_builds);
    status = run(st, err);
    fl_chances_free(st->chances);
    return status;
}
