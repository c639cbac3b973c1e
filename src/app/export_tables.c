/* What each table holds. One row function a table; names stand beside ids so that a spreadsheet can
 * be read without joining. */
#include "app/export_tables.h"

#include "app/pesticides.h"

/* ---- fields that several tables have ---- */

static void put_place(const fl_room *room, fl_csv_out *csv, fl_id place)
{
    fl_csv_put_id(csv, place);
    fl_csv_put_text(csv, fl_id_is_none(place) ? FL_SV("") : fl_room_place_name(room, place));
}

static void put_lot(const fl_room *room, fl_csv_out *csv, fl_id lot)
{
    const fl_lot *found = fl_meaning_lot(&room->meaning, lot);
    fl_csv_put_id(csv, lot);
    fl_csv_put_text(csv, found == NULL ? FL_SV("") : fl_room_lot_name(room, found));
}

static void put_source(const fl_room *room, fl_csv_out *csv, fl_id source)
{
    fl_csv_put_id(csv, source);
    fl_csv_put_text(csv, fl_id_is_none(source) ? FL_SV("") : fl_room_source_name(room, source));
}

static void put_code(fl_csv_out *csv, fl_id id)
{
    char code[FL_CODE_TEXT_MAX];
    fl_csv_put_cstr(csv, fl_id_code(code, id));
}

static void put_precision(fl_csv_out *csv, fl_precision precision)
{
    static const char *const words[FL_PRECISION_COUNT] = {"exact", "hour", "day", "month", "year"};
    fl_csv_put_cstr(csv, words[precision]);
}

/* The words of a mask, with a space between them. */
static void put_mask(fl_csv_out *csv, unsigned mask, const fl_word *words, int count)
{
    fl_str text;
    fl_str_init(&text, 1000);
    for (int i = 0; i < count; i++) {
        if ((mask & (1U << i)) != 0) {
            fl_str_appendf(&text, "%s%s", text.len > 0 ? " " : "", words[i].word);
        }
    }
    fl_csv_put_text(csv, fl_str_sv(&text));
    fl_str_done(&text);
}

static void put_not_told(fl_csv_out *csv, int64_t value)
{
    if (value < 0) {
        fl_csv_put_cstr(csv, "");
    } else {
        fl_csv_put_int(csv, value);
    }
}

/* ---- what was named ---- */

static void fill_sources(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->defs.sources.count; i++) {
        const fl_ev_source_set *set = &room->defs.sources.events[i]->body.source_set;
        fl_csv_put_id(csv, set->source);
        fl_csv_put_text(csv, set->name);
        fl_csv_put_cstr(csv, fl_words_source_kind[set->kind].word);
        fl_csv_put_bool(csv, set->has_animals_with_plants);
        fl_csv_put_int(csv, set->take_back_days);
        fl_csv_end_row(csv);
    }
}

static void fill_plants(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->defs.plants.count; i++) {
        const fl_ev_plant_set *set = &room->defs.plants.events[i]->body.plant_set;
        fl_csv_put_id(csv, set->plant);
        fl_csv_put_text(csv, set->name);
        fl_csv_put_text(csv, set->taxon);
        fl_csv_put_bool(csv, set->is_delicate);
        fl_csv_put_bool(csv, set->rots_when_closed);
        fl_csv_put_bool(csv, set->is_mother);
        fl_csv_end_row(csv);
    }
}

static void fill_places(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->defs.places.count; i++) {
        const fl_ev_place_set *set = &room->defs.places.events[i]->body.place_set;
        fl_csv_put_id(csv, set->place);
        put_code(csv, set->place);
        fl_csv_put_text(csv, set->name);
        fl_csv_put_cstr(csv, fl_words_place_kind[set->kind].word);
        put_mask(csv, set->uses, fl_words_use, FL_USE_COUNT);
        fl_csv_put_text(csv, set->animals);
        fl_csv_put_bool(csv, set->has_animals);
        fl_csv_put_bool(csv, set->has_gasket);
        fl_csv_put_number(csv, set->set_temp_c);
        fl_csv_put_number(csv, set->volume_l);
        put_not_told(csv, set->shelf);
        fl_csv_put_bool(csv, set->is_retired);
        fl_csv_end_row(csv);
    }
}

static void fill_bottles(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->defs.bottles.count; i++) {
        const fl_event *event = room->defs.bottles.events[i];
        const fl_ev_bottle_opened *set = &event->body.bottle_opened;
        fl_csv_put_id(csv, set->bottle);
        fl_csv_put_text(csv, set->name);
        fl_csv_put_cstr(csv, fl_words_agent[set->agent].word);
        fl_csv_put_moment(csv, event->at_s);
        put_precision(csv, event->precision);
        fl_csv_put_number(csv, set->label_pct);
        fl_csv_put_number(csv, set->specific_gravity);
        fl_csv_put_number(csv, set->store_c);
        fl_csv_end_row(csv);
    }
}

/* ---- what it means ---- */

static void fill_lots(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        const fl_ev_plant_set *plant = fl_defs_plant(&room->defs, lot->plant);
        put_lot(room, csv, lot->id);
        put_code(csv, lot->id);
        fl_csv_put_id(csv, lot->plant);
        fl_csv_put_text(csv, plant == NULL ? FL_SV("") : plant->taxon);
        fl_csv_put_text(csv, lot->name);
        fl_csv_put_cstr(csv, fl_kinds[lot->origin].word);
        fl_csv_put_moment(csv, lot->born_s);
        put_precision(csv, lot->precision);
        put_lot(room, csv, lot->mother);
        fl_csv_put_id(csv, lot->arrival);
        put_source(room, csv, lot->source);
        fl_csv_put_cstr(csv, fl_words_form[lot->form].word);
        fl_csv_put_cstr(csv, fl_words_use[lot->use].word);
        fl_csv_put_text(csv, lot->label_active);
        fl_csv_put_bool(csv, lot->is_label_clean);
        fl_csv_put_int(csv, lot->count_born);
        fl_csv_put_int(csv, lot->count);
        put_place(room, csv, lot->place);
        fl_csv_put_bool(csv, lot->is_gone);
        fl_csv_put_id(csv, lot->released_by);
        fl_csv_end_row(csv);
    }
}

static void fill_stays(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->meaning.n_stays; i++) {
        const fl_stay *stay = &room->meaning.stays[i];
        put_lot(room, csv, stay->lot);
        put_place(room, csv, stay->place);
        fl_csv_put_moment(csv, stay->from_s);
        fl_csv_put_moment(csv, stay->to_s);
        fl_csv_put_id(csv, stay->from_event);
        fl_csv_put_id(csv, stay->to_event);
        fl_csv_end_row(csv);
    }
}

static void fill_fills(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->meaning.n_fills; i++) {
        const fl_fill *fill = &room->meaning.fills[i];
        fl_csv_put_id(csv, fill->id);
        put_place(room, csv, fill->place);
        fl_csv_put_moment(csv, fill->from_s);
        fl_csv_put_moment(csv, fill->to_s);
        fl_csv_put_id(csv, fill->from_event);
        fl_csv_put_id(csv, fill->to_event);
        fl_csv_put_bool(csv, fill->began_with_lots);
        fl_csv_end_row(csv);
    }
}

static void fill_holds(const fl_room *room, fl_csv_out *csv)
{
    static const char *const causes[] = {"keeper", "finding", "animal"};
    for (size_t i = 0; i < room->meaning.n_holds; i++) {
        const fl_hold *hold = &room->meaning.holds[i];
        fl_csv_put_id(csv, hold->id);
        put_place(room, csv, hold->place);
        fl_csv_put_cstr(csv, causes[hold->cause]);
        fl_csv_put_id(csv, hold->finding);
        fl_csv_put_moment(csv, hold->from_s);
        fl_csv_put_moment(csv, hold->to_s);
        fl_csv_put_text(csv, hold->why);
        fl_csv_end_row(csv);
    }
}

static void fill_findings(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->meaning.n_findings; i++) {
        const fl_finding_now *finding = &room->meaning.findings[i];
        fl_csv_put_id(csv, finding->finding);
        fl_csv_put_id(csv, finding->look);
        fl_csv_put_moment(csv, finding->at_s);
        put_place(room, csv, finding->place);
        put_lot(room, csv, finding->lot);
        fl_csv_put_text(csv, finding->threat);
        fl_csv_put_text(csv, finding->stage);
        fl_csv_put_int(csv, finding->count);
        fl_csv_put_bool(csv, finding->is_removed);
        fl_csv_put_bool(csv, finding->is_retracted);
        fl_csv_put_text(csv, finding->what);
        fl_csv_end_row(csv);
    }
}

static void fill_conflicts(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->meaning.n_conflicts; i++) {
        const fl_conflict *conflict = &room->meaning.conflicts[i];
        fl_csv_put_cstr(csv, fl_words_conflict[conflict->kind].word);
        fl_csv_put_cstr(csv, fl_words_conflict[conflict->kind].text);
        fl_csv_put_moment(csv, conflict->at_s);
        fl_csv_put_id(csv, conflict->event);
        fl_csv_put_id(csv, conflict->other);
        put_lot(room, csv, conflict->lot);
        put_place(room, csv, conflict->place);
        fl_csv_end_row(csv);
    }
}

/* ---- what was done ---- */

static void fill_looks(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        const fl_ev_look_done *look = &event->body.look_done;
        if (event->kind != FL_KIND_LOOK_DONE) {
            continue;
        }
        fl_csv_put_id(csv, event->id);
        fl_csv_put_moment(csv, event->at_s);
        put_precision(csv, event->precision);
        put_place(room, csv, look->place);
        fl_csv_put_int(csv, (int64_t)look->lots.count);
        fl_csv_put_cstr(csv, fl_words_effort[look->effort].word);
        fl_csv_put_bool(csv, look->is_after_dark);
        put_mask(csv, look->devices, fl_words_device, FL_DEVICE_COUNT);
        fl_csv_put_number(csv, look->frac_examined);
        fl_csv_put_cstr(csv, fl_words_hands[look->hands].word);
        fl_csv_put_bool(csv, look->has_new_growth);
        fl_csv_put_int(csv, (int64_t)look->n_findings);
        fl_csv_put_text(csv, event->note);
        fl_csv_end_row(csv);
    }
}

static void put_step(const fl_room *room, fl_csv_out *csv, const fl_event *event,
                     const fl_ev_step *step)
{
    for (size_t i = 0; i < step->lots.count; i++) {
        fl_csv_put_id(csv, event->id);
        fl_csv_put_cstr(csv, fl_kinds[event->kind].word);
        fl_csv_put_moment(csv, event->at_s);
        put_precision(csv, event->precision);
        put_lot(room, csv, step->lots.ids[i]);
        fl_csv_put_cstr(csv, fl_words_step[step->step].word);
        fl_csv_put_cstr(csv, fl_words_agent[step->agent].word);
        fl_csv_put_number(csv, step->dose_mg_per_l);
        fl_csv_put_number(csv, step->pct);
        fl_csv_put_number(csv, step->temp_c);
        fl_csv_put_number(csv, step->minutes);
        fl_csv_put_text(csv, step->tub);
        fl_csv_put_text(csv, step->product);
        fl_csv_put_id(csv, step->bottle);
        fl_csv_end_row(csv);
    }
}

static void fill_steps(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_STEP_STARTED) {
            put_step(room, csv, event, &event->body.step_started.step);
        } else if (event->kind == FL_KIND_STEP_DONE) {
            for (size_t k = 0; k < event->body.step_done.n_steps; k++) {
                put_step(room, csv, event, &event->body.step_done.steps[k]);
            }
        }
    }
}

static void fill_pesticides(const fl_room *room, fl_csv_out *csv)
{
    fl_arena arena;
    fl_pesticides record;
    fl_arena_init(&arena);
    fl_pesticides_list(room, INT64_MIN, FL_TIME_OPEN, &arena, &record);
    fl_pesticides_csv(room, &record, csv);
    fl_arena_done(&arena);
}

static void fill_complaints(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        const fl_ev_complaint_noted *b = &event->body.complaint_noted;
        if (event->kind != FL_KIND_COMPLAINT_NOTED) {
            continue;
        }
        fl_csv_put_id(csv, event->id);
        fl_csv_put_moment(csv, event->at_s);
        put_precision(csv, event->precision);
        put_lot(room, csv, b->lot);
        fl_csv_put_text(csv, b->customer);
        fl_csv_put_text(csv, b->threat);
        fl_csv_put_text(csv, b->stage);
        fl_csv_put_number(csv, b->hazard_per_30_days);
        fl_csv_put_number(csv, b->look_days);
        fl_csv_put_number(csv, b->temp_c);
        fl_csv_put_text(csv, b->what);
        fl_csv_put_text(csv, event->note);
        fl_csv_end_row(csv);
    }
}

static void fill_cleanings(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind != FL_KIND_PLACE_CLEANED) {
            continue;
        }
        fl_csv_put_id(csv, event->id);
        fl_csv_put_moment(csv, event->at_s);
        put_precision(csv, event->precision);
        put_place(room, csv, event->body.place_cleaned.place);
        fl_csv_put_cstr(csv, fl_words_agent[event->body.place_cleaned.agent].word);
        fl_csv_put_number(csv, event->body.place_cleaned.efficacy);
        fl_csv_put_text(csv, event->body.place_cleaned.part);
        fl_csv_put_text(csv, event->note);
        fl_csv_end_row(csv);
    }
}

static void fill_releases(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        const fl_ev_lot_released *release = &event->body.lot_released;
        if (event->kind != FL_KIND_LOT_RELEASED) {
            continue;
        }
        fl_csv_put_id(csv, event->id);
        fl_csv_put_moment(csv, event->at_s);
        put_precision(csv, event->precision);
        put_lot(room, csv, release->lot);
        put_place(room, csv, release->to);
        fl_csv_put_bool(csv, release->is_against_gate);
        fl_csv_put_text(csv, release->answer_json);
        fl_csv_put_text(csv, release->knowledge);
        fl_csv_end_row(csv);
    }
}

static void fill_attachments(const fl_room *room, fl_csv_out *csv)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_PHOTO_ATTACHED) {
            fl_csv_put_id(csv, event->id);
            fl_csv_put_cstr(csv, "photo");
            fl_csv_put_moment(csv, event->at_s);
            fl_csv_put_id(csv, event->body.photo_attached.subject);
            fl_csv_put_text(csv, event->body.photo_attached.blob);
            fl_csv_put_text(csv, event->body.photo_attached.caption);
            fl_csv_end_row(csv);
        } else if (event->kind == FL_KIND_READINGS_IMPORTED) {
            fl_csv_put_id(csv, event->id);
            fl_csv_put_cstr(csv, "readings");
            fl_csv_put_moment(csv, event->at_s);
            fl_csv_put_id(csv, event->body.readings_imported.place);
            fl_csv_put_text(csv, event->body.readings_imported.blob);
            fl_csv_put_text(csv, event->note);
            fl_csv_end_row(csv);
        }
    }
}

const fl_export_table fl_export_tables[] = {
    {"lots", "each lot as it stands",
     "lot,lot_name,code,plant,taxon,sold_as,origin,born_at,"
     "precision,mother,mother_name,arrival,source,source_name,form,use,label_active,is_label_clean,"
     "count_born,count,place,place_name,is_gone,released_by",
     fill_lots},
    {"stays", "which lot was where, and when; to_at is empty while it lasts",
     "lot,lot_name,place,place_name,from_at,to_at,from_event,to_event", fill_stays},
    {"fills", "a bin's life from clean to clean",
     "fill,place,place_name,from_at,to_at,from_event,to_event,began_with_lots", fill_fills},
    {"holds", "when a place was on hold, and why",
     "hold,place,place_name,cause,finding,from_at,to_at,why", fill_holds},
    {"findings", "what was seen at looks, with what was said of it later",
     "finding,look,at,place,place_name,lot,lot_name,threat,stage,count,is_removed,is_retracted,"
     "what",
     fill_findings},
    {"conflicts", "records that contradict each other",
     "conflict,meaning,at,event,other_event,lot,lot_name,place,place_name", fill_conflicts},
    {"looks", "each look; lots_named 0 is the whole place",
     "event,at,precision,place,place_name,lots_named,effort,is_after_dark,devices,frac_examined,"
     "hands,has_new_growth,findings,note",
     fill_looks},
    {"steps", "each step on each lot, begun or done",
     "event,kind,at,precision,lot,lot_name,step,agent,dose_mg_per_l,pct,temp_c,minutes,tub,product,"
     "bottle",
     fill_steps},
    {"pesticides", "the record of pesticides, with what rules would ask besides",
     FL_PESTICIDES_COLUMNS, fill_pesticides},
    {"complaints", "what customers noticed on plants that they were given or sold",
     "event,noticed_at,precision,lot,lot_name,customer,threat,stage,hazard_per_30_days,look_days,"
     "temp_c,what,note",
     fill_complaints},
    {"cleanings", "each cleaning of a place",
     "event,at,precision,place,place_name,agent,efficacy,part,note", fill_cleanings},
    {"releases", "each release with the gate's answer as it was then",
     "event,at,precision,lot,lot_name,to,to_name,is_against_gate,answer_json,knowledge",
     fill_releases},
    {"attachments", "photos and logger readings: which file of blobs/ belongs to what",
     "event,kind,at,subject,blob,caption", fill_attachments},
    {"sources", "where plants come from", "source,name,kind,has_animals_with_plants,take_back_days",
     fill_sources},
    {"plants", "what is grown", "plant,name,taxon,is_delicate,rots_when_closed,is_mother",
     fill_plants},
    {"places", "benches, bins, jars, open spots, enclosures, outside",
     "place,code,name,kind,uses,animals,has_animals,has_gasket,set_temp_c,volume_l,shelf,is_"
     "retired",
     fill_places},
    {"bottles", "what was opened when",
     "bottle,name,agent,opened_at,precision,label_pct,specific_gravity,store_c", fill_bottles},
};
const size_t fl_export_table_count = sizeof fl_export_tables / sizeof fl_export_tables[0];

const char fl_export_readme[] =
    "A room of fernlock, whole, in open formats\r\n"
    "==========================================\r\n"
    "\r\n"
    "journal.jsonl   What happened: one event a line (JSON, UTF-8), in the order of recording. "
    "This\r\n"
    "                is the record itself; everything else follows from it. The bytes are those\r\n"
    "                that were recorded.\r\n"
    "recorded.jsonl  When each of these events was recorded.\r\n"
    "room.json       The room's zone, how many events and blobs there are, and the SHA-256 of\r\n"
    "                journal.jsonl.\r\n"
    "blobs/          Photos and logger readings. A file's name is the SHA-256 of its bytes; "
    "events\r\n"
    "                and tables/attachments.csv name it.\r\n"
    "schema/         What each kind of event looks like (JSON Schema, 2020-12).\r\n"
    "tables/         The same for spreadsheets, see below.\r\n"
    "\r\n"
    "To have the room back:  fernlock --room NEW import THIS.zip\r\n"
    "It reads journal.jsonl, recorded.jsonl, room.json and blobs/, and checks them; what was "
    "changed\r\n"
    "in tables/ has no effect.\r\n"
    "\r\n"
    "Not in here: keys and sessions of the server, and computed chances, which are computed "
    "again.\r\n"
    "\r\n"
    "The tables\r\n"
    "----------\r\n"
    "CSV by RFC 4180: UTF-8, comma, CRLF, a row of names first. Moments are RFC 3339 in UTC; where "
    "a\r\n"
    "column \"precision\" says day, month or year, only that much is known and the moment is "
    "its\r\n"
    "middle. A number's unit is in its name. An empty field: none, or not told. A text that "
    "begins\r\n"
    "with = + - or @ has an apostrophe in front, so that no spreadsheet runs it as a formula. "
    "Events\r\n"
    "that were voided later are in events.csv only, with what voided them.\r\n"
    "\r\n";
