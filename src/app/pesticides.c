/* Gathers the steps that are pesticides, and names what was treated and where. */
#include "app/pesticides.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/limits.h"
#include "base/shown.h"

/* ---- one entry ---- */

/* Adds a text to a list of them, "a; b", once. */
static void add_once(fl_str *list, fl_sv text)
{
    fl_sv rest = fl_str_sv(list);
    while (rest.len > 0) {
        if (fl_sv_eq(fl_sv_trim(fl_sv_split(&rest, ';')), text)) {
            return;
        }
    }
    fl_str_append_cstr(list, list->len > 0 ? "; " : "");
    fl_str_append(list, text);
}

static fl_sv crop_of(const fl_room *room, const fl_lot *lot, fl_arena *arena)
{
    const fl_ev_plant_set *plant = fl_defs_plant(&room->defs, lot->plant);
    fl_sv name = plant != NULL ? plant->name : lot->name.len > 0 ? lot->name : FL_SV("unnamed");
    if (plant == NULL || plant->taxon.len == 0 || fl_sv_eq_nocase(plant->taxon, name)) {
        return name;
    }
    return fl_arena_printf(arena, "%.*s (%.*s)", FL_SV_ARG(name), FL_SV_ARG(plant->taxon));
}

/* The moment the step was begun: of a timed one its start, else when it was done. */
static void begin_of(const fl_room *room, size_t done, fl_pesticide_entry *entry)
{
    const fl_id run = room->events[done].body.step_done.run;
    entry->start_s = room->events[done].at_s;
    entry->precision = room->events[done].precision;
    for (size_t i = 0; i < done && !fl_id_is_none(run); i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_STEP_STARTED && fl_id_eq(event->body.step_started.run, run)) {
            entry->start_s = event->at_s;
            entry->precision = event->precision;
        }
    }
}

static void name_what(const fl_room *room, fl_arena *arena, fl_pesticide_entry *entry)
{
    fl_str crop, places;
    fl_str_init(&crop, FL_NOTE_BYTES_MAX);
    fl_str_init(&places, FL_NOTE_BYTES_MAX);
    for (size_t i = 0; i < entry->step->lots.count; i++) {
        const fl_lot *lot = fl_meaning_lot(&room->meaning, entry->step->lots.ids[i]);
        const fl_stay *stay =
            fl_meaning_stay_at(&room->meaning, entry->step->lots.ids[i], entry->start_s);
        if (lot != NULL) {
            add_once(&crop, crop_of(room, lot, arena));
        }
        if (stay != NULL) {
            add_once(&places, fl_room_place_name(room, stay->place));
        }
    }
    entry->crop = fl_arena_copy_sv(arena, fl_str_sv(&crop));
    entry->places = fl_arena_copy_sv(arena, fl_str_sv(&places));
    fl_str_done(&crop);
    fl_str_done(&places);
}

/* ---- the record ---- */

static size_t count_steps(const fl_room *room)
{
    size_t n = 0;
    for (size_t i = 0; i < room->n_events; i++) {
        n += room->events[i].kind == FL_KIND_STEP_DONE ? room->events[i].body.step_done.n_steps : 0;
    }
    return n;
}

static int compare_entries(const void *a, const void *b)
{
    const fl_pesticide_entry *x = a;
    const fl_pesticide_entry *y = b;
    if (x->start_s != y->start_s) {
        return x->start_s < y->start_s ? -1 : 1;
    }
    return fl_event_compare(x->event, y->event);
}

void fl_pesticides_list(const fl_room *room, int64_t from_s, int64_t to_s, fl_arena *arena,
                        fl_pesticides *out)
{
    *out = (fl_pesticides){.from_s = from_s, .to_s = to_s};
    out->entries = FL_ARENA_ARRAY(arena, fl_pesticide_entry, count_steps(room) + 1);
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        size_t n_steps = event->kind == FL_KIND_STEP_DONE ? event->body.step_done.n_steps : 0;
        for (size_t k = 0; k < n_steps; k++) {
            fl_pesticide_entry entry = {.event = event, .step = &event->body.step_done.steps[k]};
            begin_of(room, i, &entry);
            if (fl_record_is_entry(entry.step) && entry.start_s >= from_s && entry.start_s < to_s) {
                entry.has = fl_record_has(entry.step, entry.precision);
                name_what(room, arena, &entry);
                out->entries[out->n_entries++] = entry;
            }
        }
    }
    if (out->n_entries > 1) {
        qsort(out->entries, out->n_entries, sizeof out->entries[0], compare_entries);
    }
}

static fl_status read_day(const fl_room *room, fl_sv text, int64_t *noon_s, fl_err *err)
{
    fl_precision precision;
    fl_status status = fl_civil_parse(text, room->tz_offset_min, noon_s, &precision, err);
    if (status == FL_OK && precision != FL_PRECISION_DAY) {
        return fl_fail(err, FL_EFORMAT, "\"%.*s\": give a date, as 2026-03-01", FL_SHOWN(text));
    }
    return status;
}

fl_status fl_pesticides_span(const fl_room *room, fl_sv from, fl_sv to, int64_t *from_s,
                             int64_t *to_s, fl_err *err)
{
    int64_t first_s = INT64_MIN;
    int64_t end_s = FL_TIME_OPEN;
    fl_status status = FL_OK;
    if (from.len > 0) {
        status = read_day(room, from, &first_s, err);
        first_s = status == FL_OK ? fl_civil_day_end(first_s, room->tz_offset_min) - FL_DAY_S : 0;
    }
    if (status == FL_OK && to.len > 0) {
        status = read_day(room, to, &end_s, err);
        end_s = status == FL_OK ? fl_civil_day_end(end_s, room->tz_offset_min) : 0;
    }
    if (status == FL_OK && end_s <= first_s) {
        return fl_fail(err, FL_EINVAL, "from %.*s to %.*s: give the earlier date first",
                       FL_SHOWN(from), FL_SHOWN(to));
    }
    if (status == FL_OK) {
        *from_s = first_s;
        *to_s = end_s;
    }
    return status;
}

/* ---- quantities in words ---- */

typedef struct quantity {
    double value;
    const char *unit;
} quantity;

/* "0.75 mL/L, 2 g/m²": those that were told. */
static fl_sv say(const quantity *list, size_t n, fl_arena *arena)
{
    fl_sv text = FL_SV("");
    for (size_t i = 0; i < n; i++) {
        if (list[i].value > 0.0) {
            text = fl_arena_printf(arena, "%.*s%s%.6g %s", FL_SV_ARG(text),
                                   text.len > 0 ? ", " : "", list[i].value, list[i].unit);
        }
    }
    return text;
}

fl_sv fl_pesticides_rate(const fl_ev_step *step, fl_arena *arena)
{
    const quantity list[] = {{step->rate_g_per_l, "g/L"},
                             {step->rate_ml_per_l, "mL/L"},
                             {step->rate_g_per_m2, "g/m²"},
                             {step->rate_ml_per_m2, "mL/m²"}};
    return say(list, sizeof list / sizeof list[0], arena);
}

fl_sv fl_pesticides_amount(const fl_ev_step *step, fl_arena *arena)
{
    const quantity list[] = {{step->amount_g, "g"}, {step->amount_ml, "mL"}};
    return say(list, sizeof list / sizeof list[0], arena);
}

fl_sv fl_pesticides_size(const fl_ev_step *step, fl_arena *arena)
{
    const quantity list[] = {{step->area_m2, "m²"},
                             {step->space_m3, "m³"},
                             {(double)step->units, step->units == 1 ? "plant" : "plants"}};
    return say(list, sizeof list / sizeof list[0], arena);
}

/* ---- CSV ---- */

static void put_told(fl_csv_out *csv, double value)
{
    if (value > 0.0) {
        fl_csv_put_number(csv, value);
    } else {
        fl_csv_put_text(csv, FL_SV(""));
    }
}

static void put_when(const fl_room *room, const fl_pesticide_entry *e, fl_csv_out *csv)
{
    static const char *const precisions[FL_PRECISION_COUNT] = {"exact", "hour", "day", "month",
                                                               "year"};
    char text[FL_CIVIL_TEXT_MAX];
    const fl_civil local = fl_civil_from_utc(e->start_s, room->tz_offset_min);
    fl_csv_put_moment(csv, e->start_s);
    fl_csv_put_cstr(csv, precisions[e->precision]);
    fl_csv_put_cstr(csv, fl_civil_format_date(text, e->start_s, room->tz_offset_min));
    if (e->precision <= FL_PRECISION_HOUR) {
        (void)snprintf(text, sizeof text, "%02d:%02d", local.hour, local.minute);
    } else {
        text[0] = '\0';
    }
    fl_csv_put_cstr(csv, text);
}

static void put_quantities(const fl_ev_step *step, fl_csv_out *csv)
{
    const double list[] = {step->amount_g,      step->amount_ml,     step->rate_g_per_l,
                           step->rate_ml_per_l, step->rate_g_per_m2, step->rate_ml_per_m2,
                           step->area_m2,       step->space_m3,      (double)step->units};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        put_told(csv, list[i]);
    }
}

/* "registration rate": the words of what a rule asks of every entry and this one lacks. */
static void put_missing(const fl_pesticide_entry *e, const fl_record_rule *rule, fl_csv_out *csv)
{
    fl_str words;
    fl_str_init(&words, FL_NOTE_BYTES_MAX);
    for (int f = 0; f < FL_RECORD_FIELDS; f++) {
        if ((rule->asked & ~e->has & 1U << f) != 0) {
            fl_str_append_cstr(&words, words.len > 0 ? " " : "");
            fl_str_append_cstr(&words, fl_words_record_field[f].word);
        }
    }
    fl_csv_put_text(csv, fl_str_sv(&words));
    fl_str_done(&words);
}

static void put_lots(const fl_ev_step *step, fl_csv_out *csv)
{
    char code[FL_CODE_TEXT_MAX];
    fl_str codes;
    fl_str_init(&codes, FL_NOTE_BYTES_MAX);
    for (size_t i = 0; i < step->lots.count; i++) {
        fl_str_append_cstr(&codes, i > 0 ? " " : "");
        fl_str_append_cstr(&codes, fl_id_code(code, step->lots.ids[i]));
    }
    fl_csv_put_text(csv, fl_str_sv(&codes));
    fl_str_done(&codes);
}

void fl_pesticides_csv(const fl_room *room, const fl_pesticides *record, fl_csv_out *csv)
{
    for (size_t i = 0; i < record->n_entries; i++) {
        const fl_pesticide_entry *e = &record->entries[i];
        fl_csv_put_id(csv, e->event->id);
        put_when(room, e, csv);
        fl_csv_put_text(csv, e->step->brand);
        fl_csv_put_text(csv, e->step->registration);
        fl_csv_put_text(csv, e->step->product);
        put_quantities(e->step, csv);
        fl_csv_put_text(csv, e->crop);
        fl_csv_put_text(csv, e->step->eppo_code);
        fl_csv_put_text(csv, e->step->growth_stage);
        fl_csv_put_text(csv, e->places);
        fl_csv_put_text(csv, e->step->site);
        fl_csv_put_text(csv, e->step->operator_name);
        fl_csv_put_text(csv, e->step->operator_number);
        fl_csv_put_text(csv, e->step->reason);
        put_told(csv, e->step->reentry_h);
        put_told(csv, e->step->harvest_d);
        put_lots(e->step, csv);
        for (size_t r = 0; r < FL_RECORD_RULES; r++) {
            put_missing(e, &fl_record_rules[r], csv);
        }
        fl_csv_put_text(csv, e->event->note);
        fl_csv_end_row(csv);
    }
}
