/* The bodies of all kinds, member by member. schema/ says the same to other programs; a test holds
 * the two together. */
#include "json/event_codec_fields.h"

#include <assert.h>
#include <math.h>

#define LIST_OF(words, count)                                                                      \
    {                                                                                              \
        words, count                                                                               \
    }
static const fl_word_list source_kinds = LIST_OF(fl_words_source_kind, FL_SOURCE_COUNT);
static const fl_word_list forms = LIST_OF(fl_words_form, FL_FORM_COUNT);
static const fl_word_list place_kinds = LIST_OF(fl_words_place_kind, FL_PLACE_COUNT);
static const fl_word_list uses = LIST_OF(fl_words_use, FL_USE_COUNT);
static const fl_word_list steps = LIST_OF(fl_words_step, FL_STEP_COUNT);
static const fl_word_list prills = LIST_OF(fl_words_prills, FL_PRILLS_COUNT);
static const fl_word_list agents = LIST_OF(fl_words_agent, FL_AGENT_COUNT);
static const fl_word_list efforts = LIST_OF(fl_words_effort, FL_EFFORT_COUNT);
static const fl_word_list devices = LIST_OF(fl_words_device, FL_DEVICE_COUNT);
static const fl_word_list hand_states = LIST_OF(fl_words_hands, FL_HANDS_COUNT);
static const fl_word_list animal_events = LIST_OF(fl_words_animal_event, FL_ANIMAL_COUNT);

/* A row: the struct, the member (its name is the key), the type. Then what else it takes. */
#define ROW(body, member, kind)                                                                    \
    .key = #member, .type = FL_FIELD_##kind, .offset = offsetof(fl_ev_##body, member)
#define TIME_ROW(body, member, name)                                                               \
    .key = name, .type = FL_FIELD_TIME, .offset = offsetof(fl_ev_##body, member)
#define NEEDED .is_needed = true
#define NOT_TOLD .fallback = NAN
#define ELSE(value) .fallback = (value)
#define OF(list) .words = &(list)
#define SHAPE(table, body)                                                                         \
    {                                                                                              \
        table, sizeof(table) / sizeof((table)[0]), sizeof(fl_ev_##body)                            \
    }

static const fl_field source_set[] = {
    {ROW(source_set, source, ID), NEEDED},
    {ROW(source_set, name, LINE), NEEDED},
    {ROW(source_set, kind, WORD), NEEDED, OF(source_kinds)},
    {ROW(source_set, has_animals_with_plants, BOOL)},
    {ROW(source_set, take_back_days, INT)},
};

static const fl_field plant_set[] = {
    {ROW(plant_set, plant, ID), NEEDED},
    {ROW(plant_set, name, LINE), NEEDED},
    {ROW(plant_set, taxon, LINE)},
    {ROW(plant_set, is_delicate, BOOL)},
    {ROW(plant_set, rots_when_closed, BOOL)},
    {ROW(plant_set, is_mother, BOOL)},
    {ROW(plant_set, is_thriving, BOOL)},
};

static const fl_field place_set[] = {
    {ROW(place_set, place, ID), NEEDED},
    {ROW(place_set, name, LINE), NEEDED},
    {ROW(place_set, kind, WORD), NEEDED, OF(place_kinds)},
    {ROW(place_set, uses, WORDS), OF(uses)},
    {ROW(place_set, animals, LINE)},
    {ROW(place_set, has_animals, BOOL)},
    {ROW(place_set, has_gasket, BOOL)},
    {ROW(place_set, set_temp_c, NUMBER), NOT_TOLD},
    {ROW(place_set, volume_l, NUMBER), NOT_TOLD},
    {ROW(place_set, shelf, INT), ELSE(-1)},
    {ROW(place_set, is_retired, BOOL)},
    {ROW(place_set, length_mm, NUMBER)},
    {ROW(place_set, width_mm, NUMBER)},
    {ROW(place_set, height_mm, NUMBER)},
    {ROW(place_set, rh_pct, NUMBER)},
    {ROW(place_set, lid, LINE)},
    {ROW(place_set, mix_l, NUMBER)},
    {ROW(place_set, mat_watts, NUMBER)},
    {ROW(place_set, lamp, LINE)},
    {ROW(place_set, lamp_lux_per_umol, NUMBER)},
    {ROW(place_set, lamp_lumens, NUMBER)},
    {ROW(place_set, lamp_length_mm, NUMBER)},
    {ROW(place_set, lamp_height_mm, NUMBER)},
    {ROW(place_set, lamp_along_mm, NUMBER)},
    {ROW(place_set, lamp_across_mm, NUMBER)},
    {ROW(place_set, lamp_count, INT)},
    {ROW(place_set, lamp_spacing_mm, NUMBER)},
    {ROW(place_set, lamp_hours, NUMBER)},
    {ROW(place_set, lamp_watts, NUMBER)},
    {ROW(place_set, light_lux, NUMBER)},
    {ROW(place_set, light_umol_m2_s, NUMBER)},
};

static const fl_field bottle_opened[] = {
    {ROW(bottle_opened, bottle, ID), NEEDED},
    {ROW(bottle_opened, agent, WORD), NEEDED, OF(agents)},
    {ROW(bottle_opened, name, LINE), NEEDED},
    {ROW(bottle_opened, label_pct, NUMBER), NEEDED},
    {ROW(bottle_opened, specific_gravity, NUMBER), NOT_TOLD},
    {ROW(bottle_opened, store_c, NUMBER), NOT_TOLD},
};

static const fl_field bottle_tested[] = {
    {ROW(bottle_tested, bottle, ID), NEEDED},
    {ROW(bottle_tested, strength_pct, NUMBER), NEEDED},
};

static const fl_field lot_already_here[] = {
    {ROW(lot_already_here, lot, ID), NEEDED},
    {ROW(lot_already_here, plant, ID)},
    {ROW(lot_already_here, name, LINE)},
    {ROW(lot_already_here, count, INT), NEEDED},
    {ROW(lot_already_here, form, WORD), NEEDED, OF(forms)},
    {ROW(lot_already_here, use, WORD), NEEDED, OF(uses)},
    {ROW(lot_already_here, place, ID), NEEDED},
    {ROW(lot_already_here, source, ID)},
};

static const fl_field lot_arrived[] = {
    {ROW(lot_arrived, lot, ID), NEEDED},
    {ROW(lot_arrived, arrival, ID), NEEDED},
    {ROW(lot_arrived, source, ID), NEEDED},
    {ROW(lot_arrived, plant, ID)},
    {ROW(lot_arrived, name, LINE)},
    {ROW(lot_arrived, count, INT), NEEDED},
    {ROW(lot_arrived, form, WORD), NEEDED, OF(forms)},
    {ROW(lot_arrived, use, WORD), NEEDED, OF(uses)},
    {ROW(lot_arrived, place, ID), NEEDED},
    {ROW(lot_arrived, label_active, LINE)},
    {ROW(lot_arrived, is_label_clean, BOOL)},
    {ROW(lot_arrived, cost, NUMBER), NOT_TOLD},
    {ROW(lot_arrived, take_back_days, INT)},
};

static const fl_field lot_cut[] = {
    {ROW(lot_cut, mother, ID), NEEDED},          {ROW(lot_cut, lot, ID), NEEDED},
    {ROW(lot_cut, count, INT), NEEDED},          {ROW(lot_cut, form, WORD), NEEDED, OF(forms)},
    {ROW(lot_cut, use, WORD), NEEDED, OF(uses)}, {ROW(lot_cut, place, ID), NEEDED},
};

static const fl_field lot_split[] = {
    {ROW(lot_split, lot, ID), NEEDED},
    {ROW(lot_split, new_lot, ID), NEEDED},
    {ROW(lot_split, count, INT), NEEDED},
};

static const fl_field place_cleaned[] = {
    {ROW(place_cleaned, place, ID), NEEDED},
    {ROW(place_cleaned, agent, WORD), OF(agents), ELSE(FL_AGENT_NONE)},
    {ROW(place_cleaned, efficacy, NUMBER), NOT_TOLD},
    {ROW(place_cleaned, part, LINE)},
};

static const fl_field step_on_lots[] = {
    {ROW(step, lots, IDS), NEEDED},
    {ROW(step, step, WORD), NEEDED, OF(steps)},
    {ROW(step, agent, WORD), OF(agents), ELSE(FL_AGENT_NONE)},
    {ROW(step, dose_mg_per_l, NUMBER), NOT_TOLD},
    {ROW(step, pct, NUMBER), NOT_TOLD},
    {ROW(step, temp_c, NUMBER), NOT_TOLD},
    {ROW(step, minutes, NUMBER), NOT_TOLD},
    {ROW(step, tub, LINE)},
    {ROW(step, product, LINE)},
    {ROW(step, bottle, ID)},
    {ROW(step, prills, WORD), OF(prills), ELSE(FL_PRILLS_NOT_TOLD)},
    {ROW(step, container, LINE)},
    {ROW(step, brand, LINE)},
    {ROW(step, registration, LINE)},
    {ROW(step, amount_g, NUMBER)},
    {ROW(step, amount_ml, NUMBER)},
    {ROW(step, rate_g_per_l, NUMBER)},
    {ROW(step, rate_ml_per_l, NUMBER)},
    {ROW(step, rate_g_per_m2, NUMBER)},
    {ROW(step, rate_ml_per_m2, NUMBER)},
    {ROW(step, area_m2, NUMBER)},
    {ROW(step, space_m3, NUMBER)},
    {ROW(step, units, INT)},
    {ROW(step, eppo_code, LINE)},
    {ROW(step, growth_stage, LINE)},
    {ROW(step, site, LINE)},
    {ROW(step, operator_name, LINE)},
    {ROW(step, operator_number, LINE)},
    {ROW(step, reason, LINE)},
    {ROW(step, reentry_h, NUMBER)},
    {ROW(step, harvest_d, NUMBER)},
};
static const fl_shape step_shape = SHAPE(step_on_lots, step);

static const fl_field step_started[] = {
    {ROW(step_started, run, ID), NEEDED},
    {ROW(step_started, step, OBJECT), NEEDED, .shape = &step_shape},
    {ROW(step_started, planned_s, INT), NEEDED},
};

static const fl_field step_done[] = {
    {ROW(step_done, run, ID)},
    {ROW(step_done, steps, OBJECTS), NEEDED, .shape = &step_shape,
     .count_offset = offsetof(fl_ev_step_done, n_steps)},
};

static const fl_field step_abandoned[] = {
    {ROW(step_abandoned, run, ID), NEEDED},
    {ROW(step_abandoned, why, TEXT)},
};

static const fl_field lot_moved[] = {
    {ROW(lot_moved, lots, IDS), NEEDED},
    {ROW(lot_moved, to, ID), NEEDED},
};

static const fl_field card_set[] = {
    {ROW(card_set, place, ID), NEEDED},
    {ROW(card_set, device, WORD), NEEDED, OF(devices)},
    {ROW(card_set, is_taken_away, BOOL)},
};

static const fl_field finding_seen[] = {
    {ROW(finding, finding, ID), NEEDED}, {ROW(finding, lot, ID)},
    {ROW(finding, threat, LINE)},        {ROW(finding, stage, LINE)},
    {ROW(finding, count, INT), ELSE(1)}, {ROW(finding, is_removed, BOOL)},
    {ROW(finding, what, TEXT)},
};
static const fl_shape finding_shape = SHAPE(finding_seen, finding);

static const fl_field look_done[] = {
    {ROW(look_done, place, ID), NEEDED},
    {ROW(look_done, lots, IDS)},
    {ROW(look_done, effort, WORD), OF(efforts), ELSE(FL_EFFORT_GLANCE)},
    {ROW(look_done, is_after_dark, BOOL)},
    {ROW(look_done, devices, WORDS), OF(devices)},
    {ROW(look_done, frac_examined, NUMBER), ELSE(1)},
    {ROW(look_done, hands, WORD), OF(hand_states), ELSE(FL_HANDS_UNSURE)},
    {ROW(look_done, findings, OBJECTS), .shape = &finding_shape,
     .count_offset = offsetof(fl_ev_look_done, n_findings)},
    {ROW(look_done, has_new_growth, BOOL)},
};

static const fl_field finding_identified[] = {
    {ROW(finding_identified, finding, ID), NEEDED},
    {ROW(finding_identified, threat, LINE), NEEDED},
    {ROW(finding_identified, stage, LINE)},
};

static const fl_field finding_retracted[] = {
    {ROW(finding_retracted, finding, ID), NEEDED},
    {ROW(finding_retracted, why, TEXT)},
};

static const fl_field tolerated_set[] = {
    {ROW(tolerated_set, place, ID), NEEDED},
    {ROW(tolerated_set, threat, LINE), NEEDED},
    {ROW(tolerated_set, is_tolerated, BOOL), NEEDED},
};

static const fl_field animal_noted[] = {
    {ROW(animal_noted, place, ID), NEEDED},
    {ROW(animal_noted, what, WORD), NEEDED, OF(animal_events)},
    {ROW(animal_noted, animal, LINE)},
    {ROW(animal_noted, threat, LINE)},
    {ROW(animal_noted, is_positive, BOOL)},
    {TIME_ROW(animal_noted, sampled_s, "sampled_at")},
};

static const fl_field hold_set[] = {
    {ROW(hold_set, hold, ID), NEEDED},
    {ROW(hold_set, place, ID), NEEDED},
    {ROW(hold_set, why, TEXT)},
};

static const fl_field hold_lifted[] = {
    {ROW(hold_lifted, hold, ID), NEEDED},
    {ROW(hold_lifted, why, TEXT)},
};

static const fl_field lot_released[] = {
    {ROW(lot_released, lot, ID), NEEDED},       {ROW(lot_released, to, ID), NEEDED},
    {ROW(lot_released, is_against_gate, BOOL)}, {ROW(lot_released, answer_json, JSON)},
    {ROW(lot_released, knowledge, LINE)},
};

static const fl_field lot_lost[] = {
    {ROW(lot_lost, lot, ID), NEEDED},
    {ROW(lot_lost, count, INT), NEEDED},
    {ROW(lot_lost, why, TEXT)},
};

static const fl_field readings_imported[] = {
    {ROW(readings_imported, place, ID), NEEDED},
    {ROW(readings_imported, blob, LINE), NEEDED},
    {TIME_ROW(readings_imported, from_s, "from_at"), NEEDED},
    {TIME_ROW(readings_imported, to_s, "to_at"), NEEDED},
    {ROW(readings_imported, n_readings, INT), NEEDED},
};

static const fl_field photo_attached[] = {
    {ROW(photo_attached, subject, ID), NEEDED},
    {ROW(photo_attached, blob, LINE), NEEDED},
    {ROW(photo_attached, caption, TEXT)},
};

static const fl_field history_told[] = {
    {ROW(history_told, lot, ID), NEEDED},
    {ROW(history_told, teller, LINE), NEEDED},
    {ROW(history_told, card_json, JSON), NEEDED},
};

static const fl_field complaint_noted[] = {
    {ROW(complaint_noted, lot, ID), NEEDED},
    {ROW(complaint_noted, customer, LINE)},
    {ROW(complaint_noted, threat, LINE), NEEDED},
    {ROW(complaint_noted, stage, LINE)},
    {ROW(complaint_noted, hazard_per_30_days, NUMBER), NOT_TOLD},
    {ROW(complaint_noted, look_days, NUMBER), NOT_TOLD},
    {ROW(complaint_noted, temp_c, NUMBER), NOT_TOLD},
    {ROW(complaint_noted, what, TEXT)},
};

static const fl_field build_planned[] = {
    {ROW(build_planned, build, ID), NEEDED},  {ROW(build_planned, enclosure, ID)},
    {ROW(build_planned, name, LINE), NEEDED}, {ROW(build_planned, need_by, DATE), NEEDED},
    {ROW(build_planned, plan_json, JSON)},
};

static const fl_field knowledge_set[] = {
    {ROW(knowledge_set, table, LINE), NEEDED},
    {ROW(knowledge_set, row, LINE), NEEDED},
    {ROW(knowledge_set, column, LINE), NEEDED},
    {ROW(knowledge_set, value, NUMBER), NEEDED},
    {ROW(knowledge_set, why, TEXT)},
};

static const fl_field room_set[] = {
    {ROW(room_set, name, LINE)},
    {ROW(room_set, round_weekday, INT), ELSE(-1)},
    {ROW(room_set, round_effort, WORD), OF(efforts), ELSE(FL_EFFORT_GLANCE)},
    {ROW(room_set, is_demo, BOOL)},
    {ROW(room_set, away_from, DATE)},
    {ROW(room_set, away_until, DATE)},
};

static const fl_field event_voided[] = {
    {ROW(event_voided, event, ID), NEEDED},
    {ROW(event_voided, why, TEXT)},
};

static const fl_shape bodies[FL_KIND_COUNT] = {
    [FL_KIND_SOURCE_SET] = SHAPE(source_set, source_set),
    [FL_KIND_PLANT_SET] = SHAPE(plant_set, plant_set),
    [FL_KIND_PLACE_SET] = SHAPE(place_set, place_set),
    [FL_KIND_BOTTLE_OPENED] = SHAPE(bottle_opened, bottle_opened),
    [FL_KIND_BOTTLE_TESTED] = SHAPE(bottle_tested, bottle_tested),
    [FL_KIND_LOT_ALREADY_HERE] = SHAPE(lot_already_here, lot_already_here),
    [FL_KIND_LOT_ARRIVED] = SHAPE(lot_arrived, lot_arrived),
    [FL_KIND_LOT_CUT] = SHAPE(lot_cut, lot_cut),
    [FL_KIND_LOT_SPLIT] = SHAPE(lot_split, lot_split),
    [FL_KIND_PLACE_CLEANED] = SHAPE(place_cleaned, place_cleaned),
    [FL_KIND_STEP_STARTED] = SHAPE(step_started, step_started),
    [FL_KIND_STEP_DONE] = SHAPE(step_done, step_done),
    [FL_KIND_STEP_ABANDONED] = SHAPE(step_abandoned, step_abandoned),
    [FL_KIND_LOT_MOVED] = SHAPE(lot_moved, lot_moved),
    [FL_KIND_CARD_SET] = SHAPE(card_set, card_set),
    [FL_KIND_LOOK_DONE] = SHAPE(look_done, look_done),
    [FL_KIND_FINDING_IDENTIFIED] = SHAPE(finding_identified, finding_identified),
    [FL_KIND_FINDING_RETRACTED] = SHAPE(finding_retracted, finding_retracted),
    [FL_KIND_TOLERATED_SET] = SHAPE(tolerated_set, tolerated_set),
    [FL_KIND_ANIMAL_NOTED] = SHAPE(animal_noted, animal_noted),
    [FL_KIND_HOLD_SET] = SHAPE(hold_set, hold_set),
    [FL_KIND_HOLD_LIFTED] = SHAPE(hold_lifted, hold_lifted),
    [FL_KIND_LOT_RELEASED] = SHAPE(lot_released, lot_released),
    [FL_KIND_LOT_LOST] = SHAPE(lot_lost, lot_lost),
    [FL_KIND_READINGS_IMPORTED] = SHAPE(readings_imported, readings_imported),
    [FL_KIND_PHOTO_ATTACHED] = SHAPE(photo_attached, photo_attached),
    [FL_KIND_HISTORY_TOLD] = SHAPE(history_told, history_told),
    [FL_KIND_COMPLAINT_NOTED] = SHAPE(complaint_noted, complaint_noted),
    [FL_KIND_BUILD_PLANNED] = SHAPE(build_planned, build_planned),
    [FL_KIND_KNOWLEDGE_SET] = SHAPE(knowledge_set, knowledge_set),
    [FL_KIND_ROOM_SET] = SHAPE(room_set, room_set),
    [FL_KIND_EVENT_VOIDED] = SHAPE(event_voided, event_voided),
};

const fl_shape *fl_event_body_shape(fl_kind kind)
{
    assert(kind < FL_KIND_COUNT && bodies[kind].fields != NULL);
    return &bodies[kind];
}

static const fl_field envelope[] = {
    {.key = "id", .type = FL_FIELD_ID, NEEDED, .offset = offsetof(fl_event, id)},
    {.key = "device", .type = FL_FIELD_LINE, .offset = offsetof(fl_event, device)},
    {.key = "seq", .type = FL_FIELD_INT, .offset = offsetof(fl_event, seq)},
    {.key = "note", .type = FL_FIELD_TEXT, .offset = offsetof(fl_event, note)},
};

const fl_shape *fl_event_envelope_shape(void)
{
    static const fl_shape shape = {envelope, sizeof envelope / sizeof envelope[0],
                                   sizeof(fl_event)};
    return &shape;
}
