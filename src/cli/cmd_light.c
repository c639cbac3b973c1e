/* What a keeper tells of a place's light, air and water. */
#include <stdio.h>

#include "cli/compose.h"
#include "cli/unknown.h"
#include "core/climate/light_at.h"
#include "core/light/lamp.h"

enum {
    LAMP = FL_OPTION_FIRST,
    FACTOR,
    LUMENS,
    STRIP,
    HEIGHT,
    ALONG,
    ACROSS,
    COUNT,
    SPACING,
    HOURS,
    WATTS,
    LID,
    LENGTH,
    WIDTH,
    MIX,
    MAT
};
enum { LUX = FL_OPTION_FIRST, PPFD };

static const fl_arg set_options[] = {
    FL_OPTIONS_RECORDING,
    [LAMP] = {"lamp", FL_ARG_TEXT, .help = "by name: white_led_4000k …; none: it has no lamp"},
    [FACTOR] = {"lux-per-umol", FL_ARG_NUMBER, .min = 10, .max = 200,
                .help = "of this lamp, if you know better than the table"},
    [LUMENS] = {"lumens", FL_ARG_NUMBER, .min = 1, .max = 1e6, .help = "of one strip"},
    [STRIP] = {"strip-mm", FL_ARG_NUMBER, .min = 1, .max = 1e5, .help = "lit length of a strip"},
    [HEIGHT] = {"height-mm", FL_ARG_NUMBER, .min = 1, .max = 1e5, .help = "above the leaves"},
    [ALONG] = {"offset-along-mm", FL_ARG_NUMBER, .min = -1e6, .max = 1e6,
               .help = "the place's middle from below the lamp's middle, along the lamp"},
    [ACROSS] = {"offset-across-mm", FL_ARG_NUMBER, .min = -1e6, .max = 1e6,
                .help = "the same, across the lamp"},
    [COUNT] = {"strips", FL_ARG_INT, .min = 1, .max = 20, .help = "side by side"},
    [SPACING] = {"spacing-mm", FL_ARG_NUMBER, .min = 0, .max = 1e5, .help = "from strip to strip"},
    [HOURS] = {"hours", FL_ARG_NUMBER, .min = 0.1, .max = 24, .help = "lit a day"},
    [WATTS] = {"watts", FL_ARG_NUMBER, .min = 0, .max = 1e5, .help = "of all strips"},
    [LID] = {"lid", FL_ARG_TEXT, .help = "by name: polypropylene, glass …; none"},
    [LENGTH] = {"length-mm", FL_ARG_NUMBER, .min = 1, .max = 1e5,
                .help = "inside, along the shelf"},
    [WIDTH] = {"width-mm", FL_ARG_NUMBER, .min = 1, .max = 1e5, .help = "inside, across the shelf"},
    [MIX] = {"mix-l", FL_ARG_NUMBER, .min = 0.01, .max = 1e5, .help = "litres of mix in it"},
    [MAT] = {"mat-watts", FL_ARG_NUMBER, .min = 0.1, .max = 1e5, .help = "of a heat mat under it"},
};
static const fl_arg read_options[] = {
    FL_OPTIONS_RECORDING,
    [LUX] = {"lux", FL_ARG_NUMBER, .min = 0.1, .max = 200000, .help = "at leaf height, lid on"},
    [PPFD] = {"ppfd", FL_ARG_NUMBER, .min = 0.01, .max = 5000,
              .help = "the same in \xC2\xB5mol m-2 s-1"},
};

static const char *lamp_code_at(size_t index)
{
    return fl_lamp_at(index).code;
}

static const char *lid_code_at(size_t index)
{
    return fl_lid_at(index).code;
}

static fl_status check_codes(const fl_arg_value *value, fl_err *err)
{
    fl_sv lamp = value[LAMP].text;
    fl_sv lid = value[LID].text;
    if (lamp.len > 0 && !fl_sv_eq_cstr(lamp, "none") && fl_lamp_find(lamp) == fl_lamp_count()) {
        return fl_cli_unknown(err, "lamp", lamp, lamp_code_at, fl_lamp_count());
    }
    if (lid.len > 0 && !fl_sv_eq_cstr(lid, "none") && fl_lid_find(lid) == fl_lid_count()) {
        return fl_cli_unknown(err, "lid", lid, lid_code_at, fl_lid_count());
    }
    return FL_OK;
}

static void put_if_given(const fl_arg_value *value, double *out)
{
    *out = value->is_given ? value->number : *out;
}

/* The lamp as it is known, with what is told now laid over it. */
static void lay_lamp(const fl_arg_value *value, const fl_climate_facts *facts, fl_ev_place_set *set)
{
    bool is_told = false;
    for (int i = LAMP; i <= WATTS; i++) {
        is_told = is_told || value[i].is_given;
    }
    if (!is_told) {
        return;
    }
    const fl_climate_lamp *lamp = &facts->lamp;
    set->lamp = value[LAMP].is_given ? value[LAMP].text : lamp->code;
    set->lamp_lux_per_umol = lamp->lux_per_umol;
    set->lamp_lumens = lamp->lumens;
    set->lamp_length_mm = lamp->length_mm;
    set->lamp_height_mm = lamp->height_mm;
    set->lamp_along_mm = lamp->along_mm;
    set->lamp_across_mm = lamp->across_mm;
    set->lamp_count = value[COUNT].is_given ? value[COUNT].integer : lamp->count;
    set->lamp_spacing_mm = lamp->spacing_mm;
    set->lamp_hours = lamp->hours;
    set->lamp_watts = lamp->watts;
    put_if_given(&value[FACTOR], &set->lamp_lux_per_umol);
    put_if_given(&value[LUMENS], &set->lamp_lumens);
    put_if_given(&value[STRIP], &set->lamp_length_mm);
    put_if_given(&value[HEIGHT], &set->lamp_height_mm);
    put_if_given(&value[ALONG], &set->lamp_along_mm);
    put_if_given(&value[ACROSS], &set->lamp_across_mm);
    put_if_given(&value[SPACING], &set->lamp_spacing_mm);
    put_if_given(&value[HOURS], &set->lamp_hours);
    put_if_given(&value[WATTS], &set->lamp_watts);
}

/* The place as it is, without what is told of its light: that stays as told before. */
static fl_ev_place_set bare(const fl_ev_place_set *old)
{
    return (fl_ev_place_set){.place = old->place,
                             .name = old->name,
                             .kind = old->kind,
                             .uses = old->uses,
                             .animals = old->animals,
                             .has_animals = old->has_animals,
                             .has_gasket = old->has_gasket,
                             .set_temp_c = old->set_temp_c,
                             .volume_l = old->volume_l,
                             .shelf = old->shelf,
                             .is_retired = old->is_retired};
}

static fl_status record(fl_session *s, const fl_ev_place_set *set, fl_err *err)
{
    fl_event *event = NULL;
    fl_climate_facts facts;
    fl_light_at light;
    fl_status status = fl_compose(s, FL_KIND_PLACE_SET, &event, err);
    if (status == FL_OK) {
        event->body.place_set = *set;
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK) {
        bool is_closed = set->kind == FL_PLACE_BIN || set->kind == FL_PLACE_JAR;
        fl_climate_facts_of(s->room.events, s->room.n_events, set->place, &facts);
        status = fl_climate_light(&facts, is_closed, &light, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        fl_sv name = fl_room_place_name(&s->room, set->place);
        (void)printf("Recorded: %.*s gets %.0f lux, %.0f \xC2\xB5mol m-2 s-1 for %.1f hours, %.1f "
                     "mol a day.\n",
                     FL_SV_ARG(name), light.lux, light.ppfd_umol_m2_s, light.hours,
                     light.dli_mol_m2_d);
    }
    return status;
}

static fl_status set_light(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    const fl_ev_place_set *old = NULL;
    fl_climate_facts facts;
    fl_status status = check_codes(value, err);
    if (status == FL_OK) {
        status = fl_room_find_place(&s->room, call->words[0], &old, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_climate_facts_of(s->room.events, s->room.n_events, old->place, &facts);
    fl_ev_place_set set = bare(old);
    lay_lamp(value, &facts, &set);
    set.lid = value[LID].text;
    put_if_given(&value[LENGTH], &set.length_mm);
    put_if_given(&value[WIDTH], &set.width_mm);
    put_if_given(&value[MIX], &set.mix_l);
    put_if_given(&value[MAT], &set.mat_watts);
    return record(s, &set, err);
}

static fl_status read_light(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    const fl_ev_place_set *old = NULL;
    if (value[LUX].is_given == value[PPFD].is_given) {
        return fl_fail(err, FL_EINVAL, "give --lux or --ppfd, as the meter shows it");
    }
    fl_status status = fl_room_find_place(&s->room, call->words[0], &old, err);
    if (status != FL_OK) {
        return status;
    }
    fl_ev_place_set set = bare(old);
    set.light_lux = value[LUX].is_given ? value[LUX].number : 0.0;
    set.light_umol_m2_s = value[PPFD].is_given ? value[PPFD].number : 0.0;
    return record(s, &set, err);
}

static const fl_verb verbs[] = {
    {.name = "set",
     .usage = "PLACE [--lumens F] [--height-mm H] [--hours N] …",
     .summary = "The lamp over a place, its lid, its size, its mix. What is not given stays.",
     .args = FL_VERB_ARGS_WORDS(set_options, "PLACE", 1),
     .words_min = 1,
     .fn = set_light},
    {.name = "read",
     .usage = "PLACE --lux N | --ppfd N",
     .summary = "A meter's reading at leaf height, under the lid: it beats the lamp's label until "
                "the lamp is changed.",
     .args = FL_VERB_ARGS_WORDS(read_options, "PLACE", 1),
     .words_min = 1,
     .fn = read_light},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_light;
const fl_command fl_command_light = {
    .name = "light",
    .rank = 36,
    .summary = "tell the lamp over a place, or a meter's reading there",
    .usage = "set PLACE … | read PLACE --lux N",
    .example = "fernlock light set \"bin 3\" --lumens 3200 --height-mm 250 --hours 10",
    .fn = run,
    .help = help,
};
