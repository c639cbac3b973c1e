/* Readings of temperature and humidity loggers: a file looked at, taken in as one batch, shown,
 * moved in time. A batch is undone by voiding its event. */
#define _GNU_SOURCE
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/readings.h"
#include "base/alloc.h"
#include "cli/compose.h"
#include "cli/find.h"
#include "cli/zone.h"
#include "view/view_readings.h"

enum {
    PLACE = FL_OPTION_FIRST,
    PREVIEW,
    ORDER,
    UNIT,
    TIME_COLUMN,
    TEMP_COLUMN,
    RH_COLUMN,
    ZONE,
    SHIFT
};
enum { BY = FL_OPTION_FIRST };

static const fl_arg take_options[] = {
    FL_OPTIONS_RECORDING,
    [PLACE] = {"place", FL_ARG_TEXT, .is_required = true, .help = "where the logger stood"},
    [PREVIEW] = {"preview", FL_ARG_FLAG, .help = "only say how the file would be read"},
    [ORDER] = {"order", FL_ARG_TEXT, .choices = "dmy|mdy|ymd", .help = "of the parts of the date"},
    [UNIT] = {"unit", FL_ARG_TEXT, .choices = "c|f", .help = "of the temperatures"},
    [TIME_COLUMN] = {"time-column", FL_ARG_TEXT, .help = "by number or name"},
    [TEMP_COLUMN] = {"temp-column", FL_ARG_TEXT, .help = "by number or name"},
    [RH_COLUMN] = {"rh-column", FL_ARG_TEXT, .help = "by number or name, or none"},
    [ZONE] = {"zone", FL_ARG_TEXT, .help = "of the logger's clock: +01:00 (else the room's)"},
    [SHIFT] = {"shift-min", FL_ARG_NUMBER, .min = -5256000, .max = 5256000,
               .help = "minutes to add to every time: -60 when the clock was an hour ahead"},
};
static const fl_arg shift_options[] = {
    FL_OPTIONS_RECORDING,
    [BY] = {"shift-min", FL_ARG_NUMBER, .is_required = true, .min = -5256000, .max = 5256000,
            .help = "minutes to add to every time of the batch"},
};

/* The whole file; the caller frees *bytes. */
static fl_status read_file(const char *path, char **bytes, size_t *len, fl_err *err)
{
    const size_t chunk = (size_t)1 << 20;
    const size_t max = FL_READINGS_FILE_BYTES_MAX;
    bool is_input = strcmp(path, "-") == 0;
    FILE *file = is_input ? stdin : fopen(path, "rb");
    size_t got = 1;
    fl_status status = FL_OK;
    if (file == NULL) {
        return fl_fail(err, errno == ENOENT ? FL_ENOTFOUND : FL_EIO, "%.150s: %s", path,
                       strerror(errno));
    }
    while (got > 0 && *len <= max) {
        *bytes = fl_alloc_resize(*bytes, *len + chunk, 1);
        got = fread(*bytes + *len, 1, chunk, file);
        *len += got;
    }
    if (ferror(file)) {
        status = fl_fail(err, FL_EIO, "%.150s: %s", path, strerror(errno));
    } else if (*len > max) {
        status = fl_fail(err, FL_ETOOBIG, "%.150s: more than %zu bytes; split the file", path, max);
    }
    if (!is_input) {
        (void)fclose(file);
    }
    return status;
}

static fl_status read_told(const fl_call *call, fl_probe_told *told, fl_err *err)
{
    const fl_arg_value *value = call->value;
    *told = (fl_probe_told){.order = value[ORDER].is_given ? value[ORDER].choice : -1,
                            .unit = value[UNIT].is_given ? value[UNIT].choice : -1,
                            .time_column = value[TIME_COLUMN].text,
                            .temp_column = value[TEMP_COLUMN].text,
                            .rh_column = value[RH_COLUMN].text,
                            .tz_offset_min = call->s->room.tz_offset_min,
                            .shift_s = llround(value[SHIFT].number * 60.0)};
    return value[ZONE].is_given ? fl_zone_read(value[ZONE].text, &told->tz_offset_min, err) : FL_OK;
}

/* ---- what is said ---- */

static void print_questions(fl_session *s, const fl_readings_look *look)
{
    static const char *const options[FL_PROBE_QUESTIONS] = {"--time-column", "--temp-column",
                                                            "--rh-column", "--order", "--unit"};
    for (int q = 0; q < FL_PROBE_QUESTIONS; q++) {
        size_t n = 0;
        if ((look->shape.questions & 1U << q) == 0) {
            continue;
        }
        const fl_readings_choice *choices =
            fl_readings_choices(look, (fl_probe_question)q, &s->arena, &n);
        (void)printf("%s\n", fl_words_probe_question[q].text);
        for (size_t i = 0; i < n; i++) {
            (void)printf("  %s %-4.*s  %.*s\n", options[q], FL_SV_ARG(choices[i].value),
                         FL_SV_ARG(choices[i].text));
        }
    }
}

static void print_first(const fl_session *s, const fl_readings_look *look)
{
    for (size_t i = 0; i < look->n_shown; i++) {
        const fl_probe_reading *one = &look->shown[i];
        fl_civil c = fl_civil_from_utc(one->at_s, s->room.tz_offset_min);
        double temp_c = fl_probe_temp_c(one->temp_milli, look->shape.unit);
        (void)printf("  %04d-%02d-%02d %02d:%02d:%02d", c.year, c.month, c.day, c.hour, c.minute,
                     c.second);
        (void)(isnan(temp_c) ? printf("       -")
                             : printf("  %6.2f \xC2\xB0"
                                      "C",
                                      temp_c));
        (void)(one->rh_milli == FL_PROBE_MISSING ? printf("\n")
                                                 : printf("  %5.1f %%\n", one->rh_milli / 1000.0));
    }
}

static void print_look(fl_session *s, const fl_readings_look *look)
{
    size_t n = 0;
    const fl_sv *list = fl_say_readings(&s->room, look, &s->arena, &n);
    for (size_t i = 0; i < n; i++) {
        (void)printf("%.*s\n", FL_SV_ARG(list[i]));
    }
    print_questions(s, look);
    print_first(s, look);
}

static void tell_look(fl_call *call, const fl_readings_look *look)
{
    fl_session *s = call->s;
    if (!s->cli->is_json) {
        print_look(s, look);
        return;
    }
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_view_readings_look(&view, NULL, look);
    fl_print_json(w);
    fl_json_writer_free(w);
}

/* ---- a file ---- */

static fl_status record_batch(fl_call *call, const fl_readings_look *look,
                              const fl_ev_place_set *place, fl_err *err)
{
    fl_session *s = call->s;
    fl_event *event = NULL;
    fl_ev_readings_imported body;
    const char *slash = strrchr(call->words[0].ptr, '/');
    fl_sv name = fl_sv_from_cstr(slash != NULL ? slash + 1 : call->words[0].ptr);
    /* recording loads the room anew: what is said afterwards may not lean on the old one */
    fl_sv place_name = fl_arena_copy_sv(&s->arena, place->name);
    fl_status status = fl_readings_keep(&s->app, look, place->place, &s->arena, &body, err);
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_READINGS_IMPORTED, &event, err);
    }
    if (status == FL_OK) {
        event->body.readings_imported = body;
        if (event->note.len == 0) {
            event->note = fl_readings_note(look, name, &s->arena);
        }
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        print_look(s, look);
        char code[FL_CODE_TEXT_MAX];
        (void)printf("Recorded: %lld readings of %.*s in one batch. Undo: fernlock void %s\n",
                     (long long)body.n_readings, FL_SV_ARG(place_name),
                     fl_id_code(code, event->id));
    }
    return status;
}

static fl_status take_file(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_place_set *place = NULL;
    fl_readings_look look;
    fl_probe_told told;
    char *bytes = NULL;
    size_t len = 0;
    fl_status status = fl_room_find_place(&s->room, call->value[PLACE].text, &place, err);
    if (status == FL_OK) {
        status = read_told(call, &told, err);
    }
    if (status == FL_OK) {
        status = read_file(call->words[0].ptr, &bytes, &len, err);
    }
    if (status == FL_OK) {
        status = fl_readings_look_at(&s->app, &s->room, place->place, (fl_sv){bytes, len}, &told,
                                     &s->arena, &look, err);
    }
    if (status == FL_OK) {
        bool is_open = look.shape.questions != 0;
        if (is_open || call->value[PREVIEW].is_given || look.readings.count == 0) {
            tell_look(call, &look);
            call->code = is_open ? FL_EXIT_NO : FL_EXIT_YES;
            if (is_open && !s->cli->is_json) {
                (void)puts("Nothing was recorded: answer the question first.");
            }
        } else {
            status = record_batch(call, &look, place, err);
        }
    }
    fl_alloc_free(bytes);
    return status;
}

/* ---- moving a batch in time ---- */

static fl_status shift_batch(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_event *old = NULL;
    fl_event *event = NULL;
    int64_t shift_s = llround(call->value[BY].number * 60.0);
    fl_status status = fl_find_recorded(s, call->words[0], &old, err);
    if (status == FL_OK && old->kind != FL_KIND_READINGS_IMPORTED) {
        return fl_fail(err, FL_EINVAL,
                       "%.*s is no batch of readings: fernlock readings show PLACE "
                       "lists them",
                       FL_SV_ARG(call->words[0]));
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_EVENT_VOIDED, &event, err);
    }
    if (status == FL_OK) {
        event->body.event_voided =
            (fl_ev_event_voided){.event = old->id, .why = FL_SV("the logger's clock was wrong")};
        status = fl_compose(s, FL_KIND_READINGS_IMPORTED, &event, err);
    }
    if (status == FL_OK) {
        event->body.readings_imported = old->body.readings_imported;
        event->body.readings_imported.from_s += shift_s;
        event->body.readings_imported.to_s += shift_s;
        if (event->note.len == 0) {
            event->note = fl_arena_printf(&s->arena, "%.*s; every time moved by %+lld minutes",
                                          FL_SV_ARG(old->note), (long long)(shift_s / 60));
        }
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        (void)printf(
            "Recorded: the batch is moved by %+lld minutes; the one before it is voided.\n",
            (long long)(shift_s / 60));
    }
    return status;
}

/* ---- what the room has ---- */

static fl_status show_batches(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_place_set *place = NULL;
    int n = 0;
    fl_status status = fl_room_find_place(&s->room, call->words[0], &place, err);
    fl_json_writer *w = s->cli->is_json && status == FL_OK ? fl_json_writer_new() : NULL;
    if (w != NULL) {
        fl_json_begin_object(w, NULL);
        fl_json_begin_array(w, "batches");
    }
    for (size_t i = 0; i < s->room.n_events && status == FL_OK; i++) {
        const fl_event *event = &s->room.events[i];
        const fl_ev_readings_imported *b = &event->body.readings_imported;
        char text[FL_ID_TEXT_MAX];
        if (event->kind != FL_KIND_READINGS_IMPORTED || !fl_id_eq(b->place, place->place)) {
            continue;
        }
        n++;
        if (w != NULL) {
            char from[FL_CIVIL_TEXT_MAX];
            fl_json_begin_object(w, NULL);
            fl_json_put_cstr(w, "event_id", fl_id_format(text, event->id));
            fl_json_put_cstr(w, "from_at", fl_civil_format_utc(from, b->from_s));
            fl_json_put_cstr(w, "to_at", fl_civil_format_utc(from, b->to_s));
            fl_json_put_int(w, "n_readings", b->n_readings);
            fl_json_put_text(w, "note", event->note);
            fl_json_end(w);
            continue;
        }
        int tz = s->room.tz_offset_min;
        (void)printf("%s  %.*s to %.*s  %lld readings  %.*s\n", fl_id_code(text, event->id),
                     FL_SV_ARG(fl_say_clock(b->from_s, tz, &s->arena)),
                     FL_SV_ARG(fl_say_clock(b->to_s, tz, &s->arena)), (long long)b->n_readings,
                     FL_SV_ARG(event->note));
    }
    if (w != NULL) {
        fl_json_end(w);
        fl_json_end(w);
        fl_print_json(w);
        fl_json_writer_free(w);
    } else if (status == FL_OK && n == 0) {
        (void)printf("No readings of %.*s.\n", FL_SV_ARG(place->name));
    }
    return status;
}

static const fl_verb verbs[] = {
    {.name = "show",
     .usage = "PLACE",
     .summary = "The batches of a place.",
     .args = FL_VERB_WORDS("PLACE", 1),
     .words_min = 1,
     .fn = show_batches},
    {.name = "shift",
     .usage = "EVENT --shift-min N",
     .summary = "Moves a batch in time: its clock was wrong. The batch before is voided.",
     .args = FL_VERB_ARGS_WORDS(shift_options, "EVENT", 1),
     .words_min = 1,
     .fn = shift_batch},
    {.usage = "FILE --place PLACE [--preview] [--order dmy] [--unit c] …",
     .summary = "Takes in a logger's file as one batch. Exit code 1: the file leaves a question "
                "open, and nothing is recorded.",
     .args = FL_VERB_ARGS_WORDS(take_options, "FILE", 1),
     .words_min = 1,
     .fn = take_file},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_readings;
const fl_command fl_command_readings = {
    .name = "readings",
    .rank = 35,
    .summary = "take in a logger's file of temperature and humidity",
    .usage = "FILE --place PLACE [--preview] … | show PLACE | shift EVENT --shift-min N",
    .example = "fernlock readings logger.csv --place \"bin 3\" --preview",
    .fn = run,
    .help = help,
};
