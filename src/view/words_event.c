/* Events in words. Each kind has a small function that appends what the kind's own text does not
 * say. */
#include "view/words_event.h"

#include <math.h>

#include "app/photos.h"
#include "base/num.h"
#include "base/str.h"
#include "view/words.h"

#define LINE_BYTES_MAX 1000

typedef struct line {
    const fl_room *room;
    fl_str text;
} line;

/* ---- pieces ---- */

static void put_lot(line *l, fl_id id)
{
    const fl_lot *lot = fl_meaning_lot(&l->room->meaning, id);
    char code[FL_CODE_TEXT_MAX];
    (void)fl_id_code(code, id);
    if (lot != NULL) {
        fl_str_appendf(&l->text, "%.*s (%s)", FL_SV_ARG(fl_room_lot_name(l->room, lot)), code);
    } else {
        fl_str_append_cstr(&l->text, code);
    }
}

static void put_lots(line *l, fl_id_list lots)
{
    for (size_t i = 0; i < lots.count; i++) {
        fl_str_append_cstr(&l->text, i == 0 ? "" : ", ");
        put_lot(l, lots.ids[i]);
    }
}

static void put_place(line *l, fl_id place)
{
    fl_str_append(&l->text, fl_room_place_name(l->room, place));
}

static void put_number(line *l, double value, const char *unit)
{
    char text[FL_NUM_TEXT_MAX];
    if (!isnan(value)) {
        fl_str_appendf(&l->text, ", %s %s", fl_num_format(text, value, 3), unit);
    }
}

static void put_why(line *l, fl_sv why)
{
    if (why.len > 0) {
        fl_str_appendf(&l->text, ": %.*s", FL_SV_ARG(why));
    }
}

static void put_plant(line *l, fl_id plant, fl_sv name)
{
    const fl_ev_plant_set *set = fl_defs_plant(&l->room->defs, plant);
    if (set != NULL) {
        fl_str_append(&l->text, set->name);
    } else {
        fl_str_append(&l->text, name.len > 0 ? name : FL_SV("unnamed"));
    }
}

static void put_threat(line *l, fl_sv code)
{
    const fl_threat *threat = fl_know_threat_find(code);
    if (threat != NULL) {
        fl_str_append_cstr(&l->text, threat->name);
    } else {
        fl_str_append(&l->text, code.len > 0 ? code : FL_SV("something without a name"));
    }
}

/* ---- kinds ---- */

static void say_source(line *l, const fl_event *e)
{
    const fl_ev_source_set *b = &e->body.source_set;
    fl_str_appendf(&l->text, "%.*s, %s", FL_SV_ARG(b->name), fl_words_source_kind[b->kind].text);
}

static void say_plant(line *l, const fl_event *e)
{
    fl_str_append(&l->text, e->body.plant_set.name);
}

static void say_place(line *l, const fl_event *e)
{
    const fl_ev_place_set *b = &e->body.place_set;
    fl_str_appendf(&l->text, "%.*s, %s", FL_SV_ARG(b->name), fl_words_place_kind[b->kind].text);
    put_number(l, b->set_temp_c, "°C");
    fl_str_append_cstr(&l->text, b->is_retired ? ", retired" : "");
}

static void say_bottle(line *l, const fl_event *e)
{
    const fl_ev_bottle_opened *b = &e->body.bottle_opened;
    fl_str_append(&l->text, b->name);
    put_number(l, b->label_pct, "% on the label");
}

static void say_tested(line *l, const fl_event *e)
{
    const fl_ev_bottle_opened *bottle =
        fl_defs_bottle(&l->room->defs, e->body.bottle_tested.bottle);
    fl_str_append(&l->text, bottle != NULL ? bottle->name : FL_SV("a bottle"));
    put_number(l, e->body.bottle_tested.strength_pct, "%");
}

static void say_already_here(line *l, const fl_event *e)
{
    const fl_ev_lot_already_here *b = &e->body.lot_already_here;
    fl_str_appendf(&l->text, "%lld x ", (long long)b->count);
    put_plant(l, b->plant, b->name);
    fl_str_append_cstr(&l->text, " in ");
    put_place(l, b->place);
}

static void say_arrived(line *l, const fl_event *e)
{
    const fl_ev_lot_arrived *b = &e->body.lot_arrived;
    fl_sv source = fl_room_source_name(l->room, b->source);
    fl_str_appendf(&l->text, "%lld x ", (long long)b->count);
    put_plant(l, b->plant, b->name);
    fl_str_appendf(&l->text, ", %s, from %.*s", fl_words_form[b->form].text, FL_SV_ARG(source));
}

static void say_cut(line *l, const fl_event *e)
{
    const fl_ev_lot_cut *b = &e->body.lot_cut;
    fl_str_appendf(&l->text, "%lld %s from ", (long long)b->count, fl_words_form[b->form].text);
    put_lot(l, b->mother);
    fl_str_append_cstr(&l->text, " to ");
    put_place(l, b->place);
}

static void say_split(line *l, const fl_event *e)
{
    const fl_ev_lot_split *b = &e->body.lot_split;
    fl_str_appendf(&l->text, "%lld of ", (long long)b->count);
    put_lot(l, b->lot);
    fl_str_append_cstr(&l->text, " became ");
    put_lot(l, b->new_lot);
}

static void say_cleaned(line *l, const fl_event *e)
{
    const fl_ev_place_cleaned *b = &e->body.place_cleaned;
    put_place(l, b->place);
    if (b->part.len > 0) {
        fl_str_appendf(&l->text, ", only %.*s", FL_SV_ARG(b->part));
    }
    fl_str_appendf(&l->text, ", %s",
                   b->agent == FL_AGENT_NONE ? "soap and water" : fl_words_agent[b->agent].text);
}

static void put_step(line *l, const fl_ev_step *step)
{
    fl_str_append_cstr(&l->text, fl_words_step[step->step].text);
    if (step->agent != FL_AGENT_NONE) {
        fl_str_appendf(&l->text, " in %s", fl_words_agent[step->agent].text);
    }
    put_number(l, step->dose_mg_per_l, "mg/L");
    put_number(l, step->minutes, "min");
    if (step->prills != FL_PRILLS_NOT_TOLD) {
        fl_str_appendf(&l->text, ", prills: %s", fl_words_prills[step->prills].text);
    }
    if (step->container.len > 0) {
        fl_str_appendf(&l->text, ", in %.*s", FL_SV_ARG(step->container));
    }
    fl_str_append_cstr(&l->text, " (");
    put_lots(l, step->lots);
    fl_str_append_char(&l->text, ')');
}

static void say_step_started(line *l, const fl_event *e)
{
    put_step(l, &e->body.step_started.step);
}

static void say_steps_done(line *l, const fl_event *e)
{
    for (size_t i = 0; i < e->body.step_done.n_steps; i++) {
        fl_str_append_cstr(&l->text, i == 0 ? "" : "; ");
        put_step(l, &e->body.step_done.steps[i]);
    }
}

static void say_abandoned(line *l, const fl_event *e)
{
    put_why(l, e->body.step_abandoned.why);
}

static void say_moved(line *l, const fl_event *e)
{
    put_lots(l, e->body.lot_moved.lots);
    fl_str_append_cstr(&l->text, " to ");
    put_place(l, e->body.lot_moved.to);
}

static void say_card(line *l, const fl_event *e)
{
    const fl_ev_card_set *b = &e->body.card_set;
    fl_str_appendf(&l->text, "%s %s ", fl_words_device[b->device].text,
                   b->is_taken_away ? "out of" : "in");
    put_place(l, b->place);
}

static void say_look(line *l, const fl_event *e)
{
    const fl_ev_look_done *b = &e->body.look_done;
    put_place(l, b->place);
    fl_str_appendf(&l->text, ", %s%s", fl_words_effort[b->effort].word,
                   b->is_after_dark ? ", after dark" : "");
    if (b->lots.count > 0) {
        fl_str_append_cstr(&l->text, ", only ");
        put_lots(l, b->lots);
    }
    if (b->frac_examined < 1.0) {
        put_number(l, 100.0 * b->frac_examined, "% of it");
    }
    for (size_t i = 0; i < b->n_findings; i++) {
        fl_str_append_cstr(&l->text, i == 0 ? "; found " : ", ");
        put_threat(l, b->findings[i].threat);
    }
    fl_str_append_cstr(&l->text, b->n_findings == 0 ? "; nothing found" : "");
}

static void say_identified(line *l, const fl_event *e)
{
    put_threat(l, e->body.finding_identified.threat);
}

static void say_retracted(line *l, const fl_event *e)
{
    put_why(l, e->body.finding_retracted.why);
}

static void say_tolerated(line *l, const fl_event *e)
{
    const fl_ev_tolerated_set *b = &e->body.tolerated_set;
    put_threat(l, b->threat);
    fl_str_append_cstr(&l->text, b->is_tolerated ? " in " : " no more in ");
    put_place(l, b->place);
}

static void say_animal(line *l, const fl_event *e)
{
    const fl_ev_animal_noted *b = &e->body.animal_noted;
    put_place(l, b->place);
    fl_str_appendf(&l->text, ", %s", fl_words_animal_event[b->what].text);
    if (b->what == FL_ANIMAL_TESTED) {
        fl_str_append_cstr(&l->text, b->is_positive ? " positive for " : " negative for ");
        put_threat(l, b->threat);
    }
}

static void say_hold_set(line *l, const fl_event *e)
{
    put_place(l, e->body.hold_set.place);
    put_why(l, e->body.hold_set.why);
}

static void say_hold_lifted(line *l, const fl_event *e)
{
    put_why(l, e->body.hold_lifted.why);
}

static void say_released(line *l, const fl_event *e)
{
    const fl_ev_lot_released *b = &e->body.lot_released;
    put_lot(l, b->lot);
    fl_str_append_cstr(&l->text, " into ");
    put_place(l, b->to);
    fl_str_append_cstr(&l->text, b->is_against_gate ? ", against the gate" : "");
}

static void say_lost(line *l, const fl_event *e)
{
    const fl_ev_lot_lost *b = &e->body.lot_lost;
    fl_str_appendf(&l->text, "%lld of ", (long long)b->count);
    put_lot(l, b->lot);
    put_why(l, b->why);
}

static void say_readings(line *l, const fl_event *e)
{
    fl_str_appendf(&l->text, "%lld of ", (long long)e->body.readings_imported.n_readings);
    put_place(l, e->body.readings_imported.place);
}

static void say_photo(line *l, const fl_event *e)
{
    const fl_ev_photo_attached *b = &e->body.photo_attached;
    const fl_photo_subject of = fl_photo_subject_of(l->room, b->subject);
    if (of.kind == FL_ENTITY_LOT) {
        put_lot(l, of.id);
    } else if (of.kind == FL_ENTITY_PLACE) {
        put_place(l, of.id);
    } else {
        fl_str_append_cstr(&l->text, of.kind == FL_ENTITY_FINDING ? "what was found" : "a plant");
    }
    fl_str_appendf(&l->text, "%s%.*s", b->caption.len > 0 ? ": " : "", FL_SV_ARG(b->caption));
}

static void say_told(line *l, const fl_event *e)
{
    put_lot(l, e->body.history_told.lot);
    fl_str_appendf(&l->text, ", by %.*s", FL_SV_ARG(e->body.history_told.teller));
}

static void say_complaint(line *l, const fl_event *e)
{
    const fl_ev_complaint_noted *b = &e->body.complaint_noted;
    put_threat(l, b->threat);
    fl_str_append_cstr(&l->text, " on ");
    put_lot(l, b->lot);
    if (b->customer.len > 0) {
        fl_str_appendf(&l->text, ", told by %.*s", FL_SV_ARG(b->customer));
    }
}

static void say_build(line *l, const fl_event *e)
{
    const fl_ev_build_planned *b = &e->body.build_planned;
    fl_str_appendf(&l->text, "%.*s, needed by %.*s", FL_SV_ARG(b->name), FL_SV_ARG(b->need_by));
}

static void say_knowledge(line *l, const fl_event *e)
{
    const fl_ev_knowledge_set *b = &e->body.knowledge_set;
    fl_str_appendf(&l->text, "%.*s, %.*s", FL_SV_ARG(b->row), FL_SV_ARG(b->column));
    put_number(l, b->value, "");
}

static void say_room(line *l, const fl_event *e)
{
    fl_str_append(&l->text, e->body.room_set.name);
}

static void say_voided(line *l, const fl_event *e)
{
    char id[FL_ID_TEXT_MAX];
    fl_str_append_cstr(&l->text, fl_id_format(id, e->body.event_voided.event));
    put_why(l, e->body.event_voided.why);
}

static void (*const sayers[FL_KIND_COUNT])(line *, const fl_event *) = {
    [FL_KIND_SOURCE_SET] = say_source,
    [FL_KIND_PLANT_SET] = say_plant,
    [FL_KIND_PLACE_SET] = say_place,
    [FL_KIND_BOTTLE_OPENED] = say_bottle,
    [FL_KIND_BOTTLE_TESTED] = say_tested,
    [FL_KIND_LOT_ALREADY_HERE] = say_already_here,
    [FL_KIND_LOT_ARRIVED] = say_arrived,
    [FL_KIND_LOT_CUT] = say_cut,
    [FL_KIND_LOT_SPLIT] = say_split,
    [FL_KIND_PLACE_CLEANED] = say_cleaned,
    [FL_KIND_STEP_STARTED] = say_step_started,
    [FL_KIND_STEP_DONE] = say_steps_done,
    [FL_KIND_STEP_ABANDONED] = say_abandoned,
    [FL_KIND_LOT_MOVED] = say_moved,
    [FL_KIND_CARD_SET] = say_card,
    [FL_KIND_LOOK_DONE] = say_look,
    [FL_KIND_FINDING_IDENTIFIED] = say_identified,
    [FL_KIND_FINDING_RETRACTED] = say_retracted,
    [FL_KIND_TOLERATED_SET] = say_tolerated,
    [FL_KIND_ANIMAL_NOTED] = say_animal,
    [FL_KIND_HOLD_SET] = say_hold_set,
    [FL_KIND_HOLD_LIFTED] = say_hold_lifted,
    [FL_KIND_LOT_RELEASED] = say_released,
    [FL_KIND_LOT_LOST] = say_lost,
    [FL_KIND_READINGS_IMPORTED] = say_readings,
    [FL_KIND_PHOTO_ATTACHED] = say_photo,
    [FL_KIND_HISTORY_TOLD] = say_told,
    [FL_KIND_COMPLAINT_NOTED] = say_complaint,
    [FL_KIND_BUILD_PLANNED] = say_build,
    [FL_KIND_KNOWLEDGE_SET] = say_knowledge,
    [FL_KIND_ROOM_SET] = say_room,
    [FL_KIND_EVENT_VOIDED] = say_voided,
};

fl_sv fl_say_event(const fl_room *room, const fl_event *event, fl_arena *arena)
{
    line l = {.room = room};
    fl_str_init(&l.text, LINE_BYTES_MAX);
    fl_str_append_cstr(&l.text, fl_kinds[event->kind].text);
    size_t head = l.text.len;
    fl_str_append_cstr(&l.text, ": ");
    sayers[event->kind](&l, event);
    if (event->note.len > 0) {
        fl_str_appendf(&l.text, " (%.*s)", FL_SV_ARG(event->note));
    }
    bool is_bare = l.text.len == head + 2; /* there was nothing to say of it */
    fl_sv whole = fl_str_sv(&l.text);
    fl_sv copy = fl_arena_copy_sv(arena, is_bare ? (fl_sv){whole.ptr, head} : whole);
    fl_str_done(&l.text);
    return copy;
}
