/* Are the bins right? Light, air and water of every place, and what would help. */
#include <math.h>
#include <stdio.h>

#include "cli/verb.h"
#include "view/view_climate.h"
#include "view/words.h"

enum { ALL };

static const fl_arg options[] = {
    [ALL] = {"all", FL_ARG_FLAG, .help = "also what fits, in full"},
};

static void print_place(const fl_view *v, const fl_climate_place *p, bool is_full)
{
    static const char *const marks[] = {"   ", " ? ", " ! ", "!! "};
    size_t n = 0;
    (void)printf("%s%.*s: %.*s\n", marks[p->rank], FL_SV_ARG(p->place->name),
                 FL_SV_ARG(fl_say_climate(p, v->arena)));
    if (!is_full && p->rank <= FL_CLIMATE_UNTOLD) {
        return;
    }
    (void)printf("     light %.0f lux, %.1f mol a day (%.0f \xC2\xB5mol m-2 s-1 for %.1f h)",
                 p->light.lux, p->light.dli_mol_m2_d, p->light.ppfd_umol_m2_s, p->light.hours);
    if (!isnan(p->want.low) && p->want.low <= p->want.high) {
        (void)printf("; its plants want %.1f to %.1f", p->want.low, p->want.high);
    }
    (void)putchar('\n');
    if (!isnan(p->days.temp_mean_c)) {
        (void)printf("     last %d days %.1f \xC2\xB0"
                     "C (%.1f to %.1f)",
                     FL_AIR_DAYS, p->days.temp_mean_c, p->days.temp_min_c, p->days.temp_max_c);
        if (!isnan(p->days.rh_mean_pct)) {
            (void)printf(", %.0f %%, vapour pressure deficit %.2f kPa, dew point %.1f \xC2\xB0"
                         "C",
                         p->days.rh_mean_pct, p->days.vpd_mean_kpa, p->days.dew_point_c);
        }
        (void)putchar('\n');
    }
    const fl_sv *list = fl_say_climate_advice(v, p, &n);
    for (size_t i = 0; i < n; i++) {
        (void)printf("     %.*s\n", FL_SV_ARG(list[i]));
    }
}

static void print_all(const fl_view *v, const fl_climate *climate, const fl_recheck *rechecks,
                      size_t n_rechecks, bool is_full)
{
    for (size_t i = 0; i < climate->n_places; i++) {
        print_place(v, &climate->places[i], is_full);
    }
    if (climate->n_places == 0) {
        (void)puts("No bins yet.");
    }
    if (n_rechecks > 0) {
        (void)puts(
            "\nReleased when another temperature was believed, and above the ceiling today:");
    }
    for (size_t i = 0; i < n_rechecks; i++) {
        (void)printf("  %.*s\n", FL_SV_ARG(fl_say_recheck(v, &rechecks[i])));
    }
}

static fl_status show_climate(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_climate climate;
    fl_recheck *rechecks = NULL;
    size_t n = 0;
    fl_json_writer *w = s->cli->is_json ? fl_json_writer_new() : NULL;
    fl_status status = fl_session_chances(s, err);
    if (status == FL_OK) {
        status = fl_climate_of_room(&s->room, &s->arena, &climate, err);
    }
    if (status == FL_OK) {
        status = fl_recheck_list(s->chances, &s->room, &s->arena, &rechecks, &n, err);
    }
    if (status == FL_OK) {
        const fl_view view = fl_session_view(s, w);
        if (w != NULL) {
            fl_view_climate(&view, NULL, &climate, rechecks, n);
            fl_print_json(w);
        } else {
            print_all(&view, &climate, rechecks, n, call->value[ALL].is_given);
        }
        for (size_t i = 0; i < climate.n_places; i++) {
            call->code = climate.places[i].rank >= FL_CLIMATE_WATCH ? FL_EXIT_NO : call->code;
        }
    }
    fl_json_writer_free(w);
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "[--all]",
     .summary = "Which bin is wrong, and what to do. Exit code 1: one is.",
     .args = FL_VERB_ARGS(options),
     .fn = show_climate},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_climate;
const fl_command fl_command_climate = {
    .name = "climate",
    .rank = 34,
    .summary = "light, air and water: which bin is wrong, and what to do",
    .usage = "[--all]",
    .example = "fernlock climate",
    .fn = run,
    .help = help,
};
