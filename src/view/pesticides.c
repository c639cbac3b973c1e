/* The pesticide record: the rules once, then each entry with what each rule would ask besides. */
#include "view/pesticides.h"

#include "base/limits.h"
#include "base/str.h"
#include "view/put.h"

/* ---- words ---- */

fl_sv fl_say_record_keep(const fl_record_rule *rule, fl_arena *arena)
{
    return fl_arena_printf(arena, "%s: kept for at least %d years.", rule->keep, rule->keep_years);
}

static fl_sv say_fields(unsigned fields, const fl_record_rule *rule, fl_arena *arena)
{
    fl_str text;
    fl_str_init(&text, FL_NOTE_BYTES_MAX);
    for (int f = 0; f < FL_RECORD_FIELDS; f++) {
        if ((fields & 1U << f) != 0) {
            fl_str_append_cstr(&text, text.len > 0 ? "; " : "");
            fl_str_append_cstr(&text, fl_words_record_field[f].text);
            if (rule->condition[f] != NULL) {
                fl_str_appendf(&text, " (%s)", rule->condition[f]);
            }
        }
    }
    const fl_sv copy = fl_arena_copy_sv(arena, fl_str_sv(&text));
    fl_str_done(&text);
    return copy;
}

fl_sv fl_say_record_missing(const fl_pesticide_entry *entry, const fl_record_rule *rule,
                            fl_arena *arena)
{
    return say_fields(rule->asked & ~entry->has, rule, arena);
}

fl_sv fl_say_record_missing_if(const fl_pesticide_entry *entry, const fl_record_rule *rule,
                               fl_arena *arena)
{
    return say_fields(rule->asked_if & ~entry->has, rule, arena);
}

fl_sv fl_say_record_when(const fl_room *room, const fl_pesticide_entry *entry, fl_arena *arena)
{
    fl_sv date = fl_say_date(room, entry->start_s, entry->precision, arena);
    const fl_civil local = fl_civil_from_utc(entry->start_s, room->tz_offset_min);
    const fl_civil now = fl_civil_from_utc(room->now_s, room->tz_offset_min);
    if (entry->precision <= FL_PRECISION_DAY && local.year == now.year) { /* it left the year out */
        date = fl_arena_printf(arena, "%.*s %d", FL_SV_ARG(date), local.year);
    }
    if (entry->precision > FL_PRECISION_HOUR) {
        return date;
    }
    return fl_arena_printf(arena, "%.*s, %02d:%02d", FL_SV_ARG(date), local.hour, local.minute);
}

/* ---- JSON ---- */

static void put_rule(const fl_view *v, const fl_record_rule *rule)
{
    fl_json_begin_object(v->w, NULL);
    fl_json_put_cstr(v->w, "rule", rule->word);
    fl_json_put_cstr(v->w, "name", rule->name);
    fl_json_put_cstr(v->w, "short_name", rule->brief);
    fl_json_put_cstr(v->w, "whom_text", rule->whom);
    fl_json_put_cstr(v->w, "when_text", rule->when);
    fl_json_put_int(v->w, "keep_years", rule->keep_years);
    fl_json_put_text(v->w, "keep_text", fl_say_record_keep(rule, v->arena));
    fl_json_end(v->w);
}

static void put_fields(fl_json_writer *w, const char *key, unsigned fields)
{
    fl_put_mask(w, key, fields, fl_words_record_field, FL_RECORD_FIELDS);
}

static void put_missing(const fl_view *v, const fl_pesticide_entry *e, const fl_record_rule *rule)
{
    fl_json_begin_object(v->w, NULL);
    fl_json_put_cstr(v->w, "rule", rule->word);
    put_fields(v->w, "fields", rule->asked & ~e->has);
    fl_put_text(v->w, "text", fl_say_record_missing(e, rule, v->arena));
    put_fields(v->w, "fields_if", rule->asked_if & ~e->has);
    fl_put_text(v->w, "text_if", fl_say_record_missing_if(e, rule, v->arena));
    fl_json_end(v->w);
}

/* A quantity that is 0 where it was not told. */
static void put_told(fl_json_writer *w, const char *key, double value)
{
    if (value > 0.0) {
        fl_json_put_number(w, key, value);
    } else {
        fl_json_put_null(w, key);
    }
}

static void put_quantities(const fl_view *v, const fl_ev_step *step)
{
    fl_json_writer *w = v->w;
    put_told(w, "amount_g", step->amount_g);
    put_told(w, "amount_ml", step->amount_ml);
    fl_put_text(w, "amount_text", fl_pesticides_amount(step, v->arena));
    put_told(w, "rate_g_per_l", step->rate_g_per_l);
    put_told(w, "rate_ml_per_l", step->rate_ml_per_l);
    put_told(w, "rate_g_per_m2", step->rate_g_per_m2);
    put_told(w, "rate_ml_per_m2", step->rate_ml_per_m2);
    fl_put_text(w, "rate_text", fl_pesticides_rate(step, v->arena));
    put_told(w, "area_m2", step->area_m2);
    put_told(w, "space_m3", step->space_m3);
    put_told(w, "units", (double)step->units);
    fl_put_text(w, "size_text", fl_pesticides_size(step, v->arena));
    put_told(w, "reentry_h", step->reentry_h);
    put_told(w, "harvest_d", step->harvest_d);
}

static void put_entry(const fl_view *v, const fl_pesticide_entry *e)
{
    fl_json_writer *w = v->w;
    const fl_ev_step *step = e->step;
    fl_json_begin_object(w, NULL);
    fl_put_id(w, "event_id", e->event->id);
    fl_put_at(w, "started_at", e->start_s);
    fl_put_on(v, "on", e->start_s);
    fl_json_put_text(w, "when_text", fl_say_record_when(v->room, e, v->arena));
    fl_put_text(w, "brand", step->brand);
    fl_put_text(w, "registration", step->registration);
    fl_put_text(w, "active", step->product);
    put_quantities(v, step);
    fl_put_text(w, "crop", e->crop);
    fl_put_text(w, "eppo_code", step->eppo_code);
    fl_put_text(w, "growth_stage", step->growth_stage);
    fl_put_text(w, "places", e->places);
    fl_put_text(w, "site", step->site);
    fl_put_text(w, "operator_name", step->operator_name);
    fl_put_text(w, "operator_number", step->operator_number);
    fl_put_text(w, "reason", step->reason);
    fl_put_text(w, "note", e->event->note);
    fl_json_begin_array(w, "lots");
    for (size_t i = 0; i < step->lots.count; i++) {
        fl_put_lot_ref(v, NULL, fl_meaning_lot(&v->room->meaning, step->lots.ids[i]));
    }
    fl_json_end(w);
    fl_json_begin_array(w, "missing");
    for (size_t r = 0; r < FL_RECORD_RULES; r++) {
        put_missing(v, e, &fl_record_rules[r]);
    }
    fl_json_end(w);
    fl_json_end(w);
}

void fl_view_pesticides(const fl_view *v, const char *key, const fl_pesticides *record)
{
    fl_json_writer *w = v->w;
    const int64_t last_s = record->to_s == FL_TIME_OPEN ? FL_TIME_OPEN : record->to_s - 1;
    fl_json_begin_object(w, key);
    fl_put_on(v, "from_on", record->from_s);
    fl_put_on(v, "to_on", last_s);
    fl_json_put_cstr(w, "notice", FL_PESTICIDES_NOTICE);
    fl_json_begin_array(w, "rules");
    for (size_t r = 0; r < FL_RECORD_RULES; r++) {
        put_rule(v, &fl_record_rules[r]);
    }
    fl_json_end(w);
    fl_json_begin_array(w, "entries");
    for (size_t i = 0; i < record->n_entries; i++) {
        put_entry(v, &record->entries[i]);
    }
    fl_json_end(w);
    fl_json_end(w);
}
