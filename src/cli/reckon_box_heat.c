/* reckon box-heat: what a lamp, a mat and the sun add to a closed box. */
#include "cli/reckon.h"
#include "core/air/heat.h"

enum { LIT, PPFD, MAT, SUN, SUN_AREA, SIDE, WALLS, FILM, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [LIT] = {"lit-m2", FL_ARG_NUMBER, .min = 0, .max = 100, .help = "of the lid, lit by the lamp"},
    [PPFD] = {"ppfd", FL_ARG_NUMBER, .min = 0, .max = 5000, .help = "umol m-2 s-1 under the lid"},
    [MAT] = {"mat-watts", FL_ARG_NUMBER, .min = 0, .max = 10000, .help = "of a mat, into the box"},
    [SUN] = {"sun-w-m2", FL_ARG_NUMBER, .min = 0, .max = 1400, .help = "sunlight; 800 at a window"},
    [SUN_AREA] = {"sun-m2", FL_ARG_NUMBER, .min = 0, .max = 100, .help = "of the side it meets"},
    [SIDE] = {"transmittance", FL_ARG_NUMBER, .min = 0, .max = 1, .fallback = 0.85,
              .help = "of that side; 0.85 if not given"},
    [WALLS] = {"wall-m2", FL_ARG_NUMBER, .is_required = true, .min = 0.001, .max = 100,
               .help = "all walls and the lid"},
    [FILM] = {"u", FL_ARG_NUMBER, .min = 0.001, .max = 100, .fallback = FL_BOX_U_DEFAULT,
              .help = "W/(m2 K); 5, one plastic wall, if not given"},
};

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    fl_box_heat heat;
    const fl_box_heat_in in = {.lit_m2 = value[LIT].number,
                               .ppfd_umol_m2_s = value[PPFD].number,
                               .mat_watts = value[MAT].number,
                               .sun_w_m2 = value[SUN].number,
                               .sun_m2 = value[SUN_AREA].number,
                               .transmittance = value[SIDE].number,
                               .wall_m2 = value[WALLS].number,
                               .u_w_m2_k = value[FILM].number};
    fl_status status = fl_box_heat_of(&in, &heat, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_put_number(w, "lamp_w", heat.lamp_w);
    fl_json_put_number(w, "mat_w", heat.mat_w);
    fl_json_put_number(w, "sun_w", heat.sun_w);
    fl_json_put_number(w, "warmer_k", heat.warmer_k);
    fl_json_put_cstr(w, "note",
                     "a model, steady; no published measurement of such a bin was found, and a "
                     "logger beats it. Never stand a closed box in the sun");
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_box_heat;
const fl_reckon_topic fl_reckon_topic_box_heat = {
    .name = "box-heat",
    .summary = "how much warmer than the room a closed box gets: lamp, mat, sun",
    .example = "box-heat --wall-m2 0.9 --lit-m2 0.15 --ppfd 80 --mat-watts 5",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
