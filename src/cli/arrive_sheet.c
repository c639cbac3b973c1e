/* Lots from a spreadsheet. */
#include "cli/arrive_sheet.h"

#include "base/shown.h"
#include "cli/compose.h"
#include "view/sheet_in.h"

enum { PREVIEW = FL_OPTION_FIRST, MATCH, DATES, SOURCE, PLACE, FORM, USE, RECORD };

const fl_arg fl_arrive_sheet_options[FL_ARRIVE_SHEET_OPTIONS] = {
    FL_OPTIONS_RECORDING,
    [PREVIEW] = {"preview", FL_ARG_FLAG, .help = "show what would be recorded, and record nothing"},
    [MATCH] = {"match", FL_ARG_TEXT,
               .help = "columns by name: Menge=count,Farbe=none; fields are plant, taxon, count, "
                       "form, use, source, date, place, label, cost, note"},
    [DATES] = {"dates", FL_ARG_TEXT, .choices = "ask|dmy|mdy",
               .help = "which comes first in 03/04/2026, when the file does not show it"},
    [SOURCE] = {"source", FL_ARG_TEXT, .help = "for rows without one"},
    [PLACE] = {"place", FL_ARG_TEXT, .help = "for rows without one, usually the bench"},
    [FORM] = {"form", FL_ARG_TEXT, .help = "for rows without one"},
    [USE] = {"use", FL_ARG_TEXT, .help = "for rows without one"},
    [RECORD] = {"part", FL_ARG_FLAG,
                .help = "record the rows that were understood although others were not"},
};

static void print_sheet(fl_session *s, const fl_sheet_in *sheet)
{
    (void)printf("%s, fields between %s\n", sheet->encoding,
                 sheet->delimiter == '\t'  ? "tabs"
                 : sheet->delimiter == ';' ? "semicolons"
                                           : "commas");
    for (size_t i = 0; i < sheet->n_columns; i++) {
        (void)printf("  column \"%.*s\": %s\n", FL_SV_ARG(sheet->columns[i].name),
                     fl_words_sheet_field[sheet->columns[i].field].text);
    }
    for (size_t i = 0; i < sheet->n_rows; i++) {
        const fl_newcomer *lot = &sheet->rows[i].lot;
        fl_sv date = fl_arena_copy_sv(&s->arena, FL_SV(""));
        char text[FL_CIVIL_TEXT_MAX];
        date = fl_sv_from_cstr(fl_civil_format_date(text, lot->at_s, s->room.tz_offset_min));
        fl_sv source = fl_room_source_name(&s->room, lot->source);
        (void)printf("  line %lld: %lld %.*s, %s, for %s, from %.*s, %.*s\n",
                     (long long)sheet->rows[i].line, (long long)lot->count, FL_SV_ARG(lot->plant),
                     fl_words_form[lot->form].text, fl_words_use[lot->use].text, FL_SV_ARG(source),
                     FL_SV_ARG(date));
    }
    for (size_t i = 0; i < sheet->n_troubles; i++) {
        if (sheet->troubles[i].line > 0) {
            (void)printf("! line %lld: %.*s\n", (long long)sheet->troubles[i].line,
                         FL_SV_ARG(sheet->troubles[i].text));
        } else {
            (void)printf("! %.*s\n", FL_SV_ARG(sheet->troubles[i].text));
        }
    }
}

static fl_status read_defaults(fl_call *call, fl_sheet_options *out, fl_err *err)
{
    const fl_arg_value *value = call->value;
    fl_status status = FL_OK;
    out->form = out->use = -1;
    if (value[FORM].is_given) {
        status =
            fl_read_word(value[FORM].text, "form", fl_words_form, FL_FORM_COUNT, &out->form, err);
    }
    if (status == FL_OK && value[USE].is_given) {
        status = fl_read_word(value[USE].text, "use", fl_words_use, FL_USE_COUNT, &out->use, err);
    }
    return status;
}

static fl_status tell(fl_call *call, const fl_sheet_in *sheet, bool is_recorded, fl_sv batch)
{
    fl_session *s = call->s;
    call->code = is_recorded || (call->value[PREVIEW].is_given && sheet->n_troubles == 0)
                     ? FL_EXIT_YES
                     : FL_EXIT_NO;
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_view_sheet_in(&view, NULL, sheet, is_recorded, batch);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    print_sheet(s, sheet);
    if (is_recorded) {
        (void)printf("Recorded: %zu lots. Take it back: fernlock arrive undo %.*s\n", sheet->n_rows,
                     FL_SV_ARG(batch));
    } else {
        (void)printf("Nothing is recorded%s.\n",
                     sheet->n_troubles > 0 ? ": put right what is marked, or add --part" : "");
    }
    return FL_OK;
}

fl_status fl_arrive_sheet(fl_call *call, fl_err *err)
{
    fl_str text;
    fl_sheet_in sheet;
    fl_event *events = NULL;
    size_t n = 0;
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    fl_sheet_options options = {.match = value[MATCH].text,
                                .source = value[SOURCE].text,
                                .place = value[PLACE].text,
                                .at_s = s->at_s,
                                .precision = s->precision,
                                .key = fl_compose_id(s)};
    options.dates =
        value[DATES].choice > 0 ? (fl_sheet_dates)value[DATES].choice : FL_SHEET_DATES_ASK;
    fl_str_init(&text, FL_SHEET_BYTES_MAX + 1);
    fl_status status = read_defaults(call, &options, err);
    if (status == FL_OK) {
        status = fl_cli_read_file(call->words[0].ptr, FL_SHEET_BYTES_MAX, &text, err);
    }
    if (status == FL_OK) {
        fl_sv bytes = fl_arena_copy_sv(&s->arena, fl_str_sv(&text));
        status = fl_sheet_in_read(&s->room, bytes, &options, &s->arena, &sheet, err);
    }
    fl_str_done(&text);
    if (status != FL_OK) {
        return status;
    }
    bool is_recorded = !value[PREVIEW].is_given && sheet.n_rows > 0 &&
                       (sheet.n_troubles == 0 || value[RECORD].is_given);
    if (is_recorded) {
        fl_sheet_in_events(&sheet, &s->room, options.key, &s->arena, &events, &n);
        status = fl_app_record_events(&s->app, events, n, err);
    }
    return status == FL_OK
               ? tell(call, &sheet, is_recorded,
                      is_recorded ? fl_newcomer_device(options.key, &s->arena) : FL_SV(""))
               : status;
}

fl_status fl_arrive_undo(fl_call *call, fl_err *err)
{
    size_t n = 0;
    fl_session *s = call->s;
    fl_status status = fl_newcomer_undo(&s->app, &s->room, call->words[0],
                                        FL_SV("the batch was taken back"), &n, err);
    if (status == FL_OK && !s->cli->is_json) {
        (void)printf("Taken back: %zu events.\n", n);
    }
    return status;
}
