/* Names and words for forms. */
#include "view/names.h"

#include "core/know/know.h"
#include "view/put.h"

static void put_words(fl_json_writer *w, const char *key, const fl_word *list, int count)
{
    fl_json_begin_array(w, key);
    for (int i = 0; i < count; i++) {
        fl_json_begin_object(w, NULL);
        fl_put_word(w, "word", "text", &list[i]);
        fl_json_end(w);
    }
    fl_json_end(w);
}

static void put_all_words(fl_json_writer *w)
{
    fl_json_begin_object(w, "words");
    put_words(w, "source_kind", fl_words_source_kind, FL_SOURCE_COUNT);
    put_words(w, "form", fl_words_form, FL_FORM_COUNT);
    put_words(w, "place_kind", fl_words_place_kind, FL_PLACE_COUNT);
    put_words(w, "use", fl_words_use, FL_USE_COUNT);
    put_words(w, "step", fl_words_step, FL_STEP_COUNT);
    put_words(w, "agent", fl_words_agent, FL_AGENT_COUNT);
    put_words(w, "effort", fl_words_effort, FL_EFFORT_COUNT);
    put_words(w, "device", fl_words_device, FL_DEVICE_COUNT);
    put_words(w, "animal_event", fl_words_animal_event, FL_ANIMAL_COUNT);
    fl_json_end(w);
}

static void put_sources(const fl_view *v)
{
    fl_json_begin_array(v->w, "sources");
    for (size_t i = 0; i < v->room->defs.sources.count; i++) {
        const fl_ev_source_set *one = &v->room->defs.sources.events[i]->body.source_set;
        fl_json_begin_object(v->w, NULL);
        fl_put_id(v->w, "id", one->source);
        fl_json_put_text(v->w, "name", one->name);
        fl_put_word(v->w, "kind", "kind_text", &fl_words_source_kind[one->kind]);
        fl_json_put_bool(v->w, "has_animals_with_plants", one->has_animals_with_plants);
        fl_json_put_int(v->w, "take_back_days", one->take_back_days);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

static void put_plants(const fl_view *v)
{
    fl_json_begin_array(v->w, "plants");
    for (size_t i = 0; i < v->room->defs.plants.count; i++) {
        const fl_ev_plant_set *one = &v->room->defs.plants.events[i]->body.plant_set;
        fl_json_begin_object(v->w, NULL);
        fl_put_id(v->w, "id", one->plant);
        fl_json_put_text(v->w, "name", one->name);
        fl_put_text(v->w, "taxon", one->taxon);
        fl_json_put_bool(v->w, "is_delicate", one->is_delicate);
        fl_json_put_bool(v->w, "rots_when_closed", one->rots_when_closed);
        fl_json_put_bool(v->w, "is_thriving", one->is_thriving);
        fl_json_put_bool(v->w, "is_mother", one->is_mother);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

static void put_known_plants(fl_json_writer *w)
{
    fl_json_begin_array(w, "known_plants");
    for (size_t i = 0; i < fl_know_plant_count(); i++) {
        const fl_know_plant *row = fl_know_plant_at(i);
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "botanical_name", row->botanical_name);
        fl_put_text(w, "common_name", fl_sv_from_cstr(row->common_name));
        fl_json_end(w);
    }
    fl_json_end(w);
}

static void put_bottles(const fl_view *v)
{
    fl_json_begin_array(v->w, "bottles");
    for (size_t i = 0; i < v->room->defs.bottles.count; i++) {
        const fl_event *event = v->room->defs.bottles.events[i];
        const fl_ev_bottle_opened *one = &event->body.bottle_opened;
        fl_json_begin_object(v->w, NULL);
        fl_put_id(v->w, "id", one->bottle);
        fl_json_put_text(v->w, "name", one->name);
        fl_put_word(v->w, "agent", "agent_text", &fl_words_agent[one->agent]);
        fl_json_put_number(v->w, "label_pct", one->label_pct);
        fl_put_on(v, "opened_on", event->at_s);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

static void put_threats(const fl_view *v)
{
    static const char *const classes[] = {"pest", "stowaway", "pathogen"};
    fl_json_begin_array(v->w, "threats");
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *one = fl_know_threat(i);
        fl_json_begin_object(v->w, NULL);
        fl_json_put_cstr(v->w, "threat", one->code);
        fl_json_put_cstr(v->w, "name", one->name);
        fl_json_put_text(v->w, "plural", fl_say_plural(one, v->arena));
        fl_json_put_cstr(v->w, "class", classes[one->class]);
        fl_json_begin_array(v->w, "stages");
        for (int k = 0; k < one->n_stages; k++) {
            fl_json_put_cstr(v->w, NULL, one->stage[k].name);
        }
        fl_json_end(v->w);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

void fl_view_names(const fl_view *v, const char *key)
{
    fl_json_begin_object(v->w, key);
    put_all_words(v->w);
    put_sources(v);
    put_plants(v);
    put_known_plants(v->w);
    put_bottles(v);
    put_threats(v);
    fl_json_end(v->w);
}
