/* The JSON and the sentences of a look at a logger's file. */
#include "view/view_readings.h"

#include <math.h>
#include <string.h>

#include "base/shown.h"
#include "view/put.h"

#define SENTENCES_MAX 16

fl_sv fl_say_clock(int64_t at_s, int tz_offset_min, fl_arena *arena)
{
    fl_civil c = fl_civil_from_utc(at_s, tz_offset_min);
    return fl_arena_printf(arena, "%04d-%02d-%02d %02d:%02d", c.year, c.month, c.day, c.hour,
                           c.minute);
}

/* "5 minutes", "90 seconds", "2 hours", "hour". */
static fl_sv say_step(int64_t step_s, fl_arena *arena)
{
    if (step_s == 60 || step_s == FL_HOUR_S) {
        return step_s == 60 ? FL_SV("minute") : FL_SV("hour");
    }
    if (step_s % FL_HOUR_S == 0) {
        return fl_arena_printf(arena, "%lld hours", (long long)(step_s / FL_HOUR_S));
    }
    if (step_s % 60 == 0) {
        return fl_arena_printf(arena, "%lld minutes", (long long)(step_s / 60));
    }
    return fl_arena_printf(arena, "%lld seconds", (long long)step_s);
}

/* ---- sentences ---- */

typedef struct sentences {
    const fl_room *room;
    const fl_readings_look *look;
    fl_arena *arena;
    fl_sv *list;
    size_t count;
} sentences;

static void add(sentences *s, fl_sv text)
{
    if (s->count < SENTENCES_MAX) {
        s->list[s->count++] = text;
    }
}

static const char *delimiter_name(char delimiter)
{
    return delimiter == '\t'  ? "tabs"
           : delimiter == ';' ? "semicolons"
           : delimiter == '|' ? "bars"
                              : "commas";
}

static void say_form(sentences *s)
{
    const fl_probe_shape *shape = &s->look->shape;
    add(s, fl_arena_printf(
               s->arena, "The file is %s; %s part its %zu columns, the decimal sign is a %s%s.",
               fl_words_probe_encoding[s->look->encoding].text, delimiter_name(shape->delimiter),
               shape->n_columns, shape->decimal == ',' ? "comma" : "point",
               shape->has_header ? "" : "; no line names the columns"));
}

static void say_settled(sentences *s)
{
    const fl_probe_shape *shape = &s->look->shape;
    int minutes = shape->tz_offset_min < 0 ? -shape->tz_offset_min : shape->tz_offset_min;
    add(s, fl_arena_printf(s->arena, "Dates are %s (%s).", fl_words_probe_order[shape->order].text,
                           shape->order_why));
    add(s, fl_arena_printf(s->arena, "Temperatures are %s (%s).",
                           fl_words_probe_unit[shape->unit].text, shape->unit_why));
    add(s, fl_arena_printf(s->arena, "Times are by a clock at UTC%c%02d:%02d (%s).",
                           shape->tz_offset_min < 0 ? '-' : '+', minutes / 60, minutes % 60,
                           shape->zone_why));
    if (shape->shift_s != 0) {
        add(s, fl_arena_printf(s->arena, "Every time is moved by %+lld minutes.",
                               (long long)(shape->shift_s / 60)));
    }
}

static void say_span(sentences *s)
{
    const fl_readings_look *look = s->look;
    int tz = s->room->tz_offset_min;
    if (look->n_rows == 0) {
        add(s, FL_SV("There is no reading in it."));
        return;
    }
    fl_sv from = fl_say_clock(look->from_s, tz, s->arena);
    fl_sv to = fl_say_clock(look->to_s, tz, s->arena);
    fl_sv step = look->step_s > 0 ? fl_arena_printf(s->arena, ", one every %.*s mostly",
                                                    FL_SV_ARG(say_step(look->step_s, s->arena)))
                                  : FL_SV("");
    add(s, fl_arena_printf(s->arena,
                           "%lld readings from %.*s to %.*s%.*s; %.1f to %.1f \xC2\xB0"
                           "C.",
                           (long long)look->n_rows, FL_SV_ARG(from), FL_SV_ARG(to), FL_SV_ARG(step),
                           look->temp_min_c, look->temp_max_c));
    if (!isnan(look->rh_min_pct)) {
        add(s, fl_arena_printf(s->arena, "Humidity %.0f to %.0f %%.", look->rh_min_pct,
                               look->rh_max_pct));
    }
    if (look->n_gaps > 0) {
        double hours = (double)(look->gaps[0].to_s - look->gaps[0].from_s) / FL_HOUR_S;
        add(s, fl_arena_printf(
                   s->arena, "%lld gap%s, the longest %.1f hours from %.*s: nothing is put there.",
                   (long long)look->n_gaps, look->n_gaps == 1 ? "" : "s", hours,
                   FL_SV_ARG(fl_say_clock(look->gaps[0].from_s, tz, s->arena))));
    }
}

static void say_count(sentences *s, int64_t n, const char *one, const char *many)
{
    if (n > 0) {
        add(s, fl_arena_printf(s->arena, "%lld %s", (long long)n, n == 1 ? one : many));
    }
}

static void say_left_out(sentences *s)
{
    const fl_readings_look *look = s->look;
    say_count(s, look->n_empty, "row has no value.", "rows have no value.");
    if (look->n_bad > 0) {
        add(s,
            fl_arena_printf(s->arena, "%lld row%s cannot be read and %s left out; line %lld: %s.",
                            (long long)look->n_bad, look->n_bad == 1 ? "" : "s",
                            look->n_bad == 1 ? "is" : "are", (long long)look->bad[0].line,
                            look->bad[0].why));
    }
    say_count(s, look->n_repeated, "row is there twice.", "rows are there twice.");
    say_count(s, look->n_clashing, "row has the time of another and other values: the first stays.",
              "rows have the time of another and other values: the first stays.");
    say_count(s, look->n_known, "reading is in the room already.",
              "readings are in the room already.");
    say_count(s, look->n_other,
              "reading differs from what the room has for that time and is left out: to replace "
              "it, void the earlier batch first.",
              "readings differ from what the room has for those times and are left out: to replace "
              "them, void the earlier batch first.");
    add(s, look->readings.count == 1
               ? FL_SV("1 reading is new.")
               : fl_arena_printf(s->arena, "%zu readings are new.", look->readings.count));
}

fl_sv *fl_say_readings(const fl_room *room, const fl_readings_look *look, fl_arena *arena,
                       size_t *count)
{
    sentences s = {.room = room,
                   .look = look,
                   .arena = arena,
                   .list = FL_ARENA_ARRAY(arena, fl_sv, SENTENCES_MAX)};
    say_form(&s);
    if (look->shape.questions == 0) {
        say_settled(&s);
        say_span(&s);
        say_left_out(&s);
    }
    *count = s.count;
    return s.list;
}

/* ---- choices ---- */

static fl_readings_choice order_choice(const fl_readings_look *look, fl_probe_order order,
                                       fl_arena *arena)
{
    static const char *const months[] = {"January",   "February", "March",    "April",
                                         "May",       "June",     "July",     "August",
                                         "September", "October",  "November", "December"};
    const fl_probe_shape *shape = &look->shape;
    fl_sv sample = shape->date_column >= 0 ? shape->sample[shape->date_column] : FL_SV("");
    fl_probe_when when;
    int64_t at_s = 0;
    fl_sv meaning = FL_SV("");
    if (fl_probe_when_read(sample, &when) && fl_probe_when_utc(&when, &when, order, 0, &at_s)) {
        fl_civil day = fl_civil_from_utc(at_s, 0);
        meaning = fl_arena_printf(arena, ": %.*s is %d %s %d", FL_SHOWN(sample), day.day,
                                  months[day.month - 1], day.year);
    }
    return (fl_readings_choice){
        fl_sv_from_cstr(fl_words_probe_order[order].word),
        fl_arena_printf(arena, "%s%.*s", fl_words_probe_order[order].text, FL_SV_ARG(meaning))};
}

static fl_readings_choice column_choice(const fl_probe_shape *shape, size_t column, fl_arena *arena)
{
    fl_sv name = shape->column[column];
    return (fl_readings_choice){fl_arena_printf(arena, "%zu", column + 1),
                                fl_arena_printf(arena, "column %zu%s%.*s, first value %.*s",
                                                column + 1, name.len > 0 ? ", " : "",
                                                FL_SHOWN(name), FL_SHOWN(shape->sample[column]))};
}

fl_readings_choice *fl_readings_choices(const fl_readings_look *look, fl_probe_question question,
                                        fl_arena *arena, size_t *count)
{
    const fl_probe_shape *shape = &look->shape;
    fl_readings_choice *list = FL_ARENA_ARRAY(arena, fl_readings_choice, FL_PROBE_COLUMNS_MAX + 1);
    size_t n = 0;
    if (question == FL_PROBE_ASK_ORDER) {
        for (int o = 0; o < FL_PROBE_ORDERS; o++) {
            if ((shape->orders_open & 1U << o) != 0) {
                list[n++] = order_choice(look, (fl_probe_order)o, arena);
            }
        }
    } else if (question == FL_PROBE_ASK_UNIT) {
        for (int u = 0; u < FL_PROBE_UNITS; u++) {
            list[n++] = (fl_readings_choice){fl_sv_from_cstr(fl_words_probe_unit[u].word),
                                             fl_sv_from_cstr(fl_words_probe_unit[u].text)};
        }
    } else {
        for (size_t i = 0; i < shape->n_columns; i++) {
            if ((shape->columns_open >> i & 1U) != 0) {
                list[n++] = column_choice(shape, i, arena);
            }
        }
        if (question == FL_PROBE_ASK_RH) {
            list[n++] = (fl_readings_choice){FL_SV("none"), FL_SV("none of them")};
        }
    }
    *count = n;
    return list;
}

/* ---- JSON ---- */

static void put_columns(const fl_view *v, const fl_probe_shape *shape)
{
    fl_json_begin_array(v->w, "columns");
    for (size_t i = 0; i < shape->n_columns; i++) {
        int column = (int)i;
        const char *role = column == shape->date_column   ? "time"
                           : column == shape->time_column ? "time_of_day"
                           : column == shape->temp_column ? "temp"
                           : column == shape->rh_column   ? "rh"
                                                          : NULL;
        fl_json_begin_object(v->w, NULL);
        fl_json_put_int(v->w, "number", column + 1);
        fl_put_text(v->w, "name", shape->column[i]);
        fl_json_put_text(v->w, "sample", shape->sample[i]);
        if (role != NULL) {
            fl_json_put_cstr(v->w, "role", role);
        } else {
            fl_json_put_null(v->w, "role");
        }
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

static void put_questions(const fl_view *v, const fl_readings_look *look)
{
    fl_json_begin_array(v->w, "questions");
    for (int q = 0; q < FL_PROBE_QUESTIONS; q++) {
        size_t n = 0;
        if ((look->shape.questions & 1U << q) == 0) {
            continue;
        }
        const fl_readings_choice *choices =
            fl_readings_choices(look, (fl_probe_question)q, v->arena, &n);
        fl_json_begin_object(v->w, NULL);
        fl_put_word(v->w, "question", "text", &fl_words_probe_question[q]);
        fl_json_begin_array(v->w, "choices");
        for (size_t i = 0; i < n; i++) {
            fl_json_begin_object(v->w, NULL);
            fl_json_put_text(v->w, "value", choices[i].value);
            fl_json_put_text(v->w, "text", choices[i].text);
            fl_json_end(v->w);
        }
        fl_json_end(v->w);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

static void put_shape(const fl_view *v, const fl_readings_look *look)
{
    const fl_probe_shape *shape = &look->shape;
    const char delimiter[2] = {shape->delimiter, '\0'};
    const char decimal[2] = {shape->decimal, '\0'};
    fl_put_word(v->w, "encoding", "encoding_text", &fl_words_probe_encoding[look->encoding]);
    fl_json_put_cstr(v->w, "delimiter", delimiter);
    fl_json_put_cstr(v->w, "decimal", decimal);
    fl_json_put_bool(v->w, "has_header", shape->has_header);
    if (shape->questions == 0) {
        fl_put_word(v->w, "order", "order_text", &fl_words_probe_order[shape->order]);
        fl_put_word(v->w, "unit", "unit_text", &fl_words_probe_unit[shape->unit]);
    } else {
        fl_json_put_null(v->w, "order");
        fl_json_put_null(v->w, "order_text");
        fl_json_put_null(v->w, "unit");
        fl_json_put_null(v->w, "unit_text");
    }
    fl_json_put_int(v->w, "tz_offset_min", shape->tz_offset_min);
    fl_json_put_int(v->w, "shift_s", shape->shift_s);
    put_columns(v, shape);
    put_questions(v, look);
}

static void put_counts(const fl_view *v, const fl_readings_look *look)
{
    fl_json_put_int(v->w, "n_rows", look->n_rows);
    fl_json_put_int(v->w, "n_new", (int64_t)look->readings.count);
    fl_json_put_int(v->w, "n_empty", look->n_empty);
    fl_json_put_int(v->w, "n_bad", look->n_bad);
    fl_json_put_int(v->w, "n_repeated", look->n_repeated);
    fl_json_put_int(v->w, "n_clashing", look->n_clashing);
    fl_json_put_int(v->w, "n_known", look->n_known);
    fl_json_put_int(v->w, "n_other", look->n_other);
    fl_json_put_int(v->w, "n_gaps", look->n_gaps);
    fl_put_at(v->w, "from_at", look->n_rows > 0 ? look->from_s : INT64_MIN);
    fl_put_at(v->w, "to_at", look->n_rows > 0 ? look->to_s : INT64_MIN);
    fl_json_put_int(v->w, "step_s", look->step_s);
    fl_json_put_number(v->w, "temp_min_c", look->temp_min_c);
    fl_json_put_number(v->w, "temp_max_c", look->temp_max_c);
    fl_json_put_number(v->w, "rh_min_pct", look->rh_min_pct);
    fl_json_put_number(v->w, "rh_max_pct", look->rh_max_pct);
}

static void put_lists(const fl_view *v, const fl_readings_look *look)
{
    fl_json_begin_array(v->w, "gaps");
    for (int64_t i = 0; i < look->n_gaps && i < FL_READINGS_SHOWN; i++) {
        fl_json_begin_object(v->w, NULL);
        fl_put_at(v->w, "from_at", look->gaps[i].from_s);
        fl_put_at(v->w, "to_at", look->gaps[i].to_s);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
    fl_json_begin_array(v->w, "bad_lines");
    for (int64_t i = 0; i < look->n_bad && i < FL_READINGS_SHOWN; i++) {
        fl_json_begin_object(v->w, NULL);
        fl_json_put_int(v->w, "line", look->bad[i].line);
        fl_json_put_cstr(v->w, "why", look->bad[i].why);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
    fl_json_begin_array(v->w, "first");
    for (size_t i = 0; i < look->n_shown; i++) {
        const fl_probe_reading *one = &look->shown[i];
        fl_json_begin_object(v->w, NULL);
        fl_json_put_int(v->w, "line", one->line);
        fl_put_at(v->w, "at", one->at_s);
        fl_json_put_text(v->w, "local", fl_say_clock(one->at_s, v->room->tz_offset_min, v->arena));
        fl_json_put_number(v->w, "temp_c", fl_probe_temp_c(one->temp_milli, look->shape.unit));
        fl_json_put_number(v->w, "rh_pct",
                           one->rh_milli == FL_PROBE_MISSING ? (double)NAN
                                                             : one->rh_milli / 1000.0);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

void fl_view_readings_look(const fl_view *v, const char *key, const fl_readings_look *look)
{
    size_t n = 0;
    const fl_sv *sentences_list = fl_say_readings(v->room, look, v->arena, &n);
    fl_json_begin_object(v->w, key);
    put_shape(v, look);
    put_counts(v, look);
    put_lists(v, look);
    fl_json_begin_array(v->w, "sentences");
    for (size_t i = 0; i < n; i++) {
        fl_json_put_text(v->w, NULL, sentences_list[i]);
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
}
