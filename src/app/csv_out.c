/* Fields and rows, appended to one text. */
#include "app/csv_out.h"

#include <math.h>
#include <string.h>

#include "base/num.h"

void fl_csv_out_init(fl_csv_out *csv, const char *names)
{
    *csv = (fl_csv_out){.is_row_begun = false};
    fl_str_init(&csv->text, SIZE_MAX / 8);
    fl_str_append_cstr(&csv->text, names);
    fl_str_append_cstr(&csv->text, "\r\n");
}

void fl_csv_out_done(fl_csv_out *csv)
{
    fl_str_done(&csv->text);
}

static void begin_field(fl_csv_out *csv)
{
    if (csv->is_row_begun) {
        fl_str_append_char(&csv->text, ',');
    }
    csv->is_row_begun = true;
}

static bool has_any(fl_sv text, const char *characters)
{
    for (size_t i = 0; i < text.len; i++) {
        if (text.ptr[i] != '\0' && strchr(characters, text.ptr[i]) != NULL) {
            return true;
        }
    }
    return false;
}

void fl_csv_put_text(fl_csv_out *csv, fl_sv text)
{
    bool is_formula = text.len > 0 && has_any((fl_sv){text.ptr, 1}, "=+-@\t\r");
    begin_field(csv);
    if (!has_any(text, ",\"\r\n") && !is_formula) {
        fl_str_append(&csv->text, text);
        return;
    }
    fl_str_append_char(&csv->text, '"');
    if (is_formula) {
        fl_str_append_char(&csv->text, '\'');
    }
    for (size_t i = 0; i < text.len; i++) {
        if (text.ptr[i] == '"') {
            fl_str_append_char(&csv->text, '"');
        }
        fl_str_append_char(&csv->text, text.ptr[i]);
    }
    fl_str_append_char(&csv->text, '"');
}

void fl_csv_put_cstr(fl_csv_out *csv, const char *text)
{
    fl_csv_put_text(csv, fl_sv_from_cstr(text));
}

void fl_csv_put_int(fl_csv_out *csv, int64_t value)
{
    begin_field(csv);
    fl_str_appendf(&csv->text, "%lld", (long long)value);
}

void fl_csv_put_number(fl_csv_out *csv, double value)
{
    char digits[FL_NUM_TEXT_MAX];
    begin_field(csv);
    if (isfinite(value)) {
        fl_str_append_cstr(&csv->text, fl_num_format(digits, value, 15));
    }
}

void fl_csv_put_bool(fl_csv_out *csv, bool value)
{
    begin_field(csv);
    fl_str_append_cstr(&csv->text, value ? "true" : "false");
}

void fl_csv_put_id(fl_csv_out *csv, fl_id id)
{
    char text[FL_ID_TEXT_MAX];
    begin_field(csv);
    if (!fl_id_is_none(id)) {
        fl_str_append_cstr(&csv->text, fl_id_format(text, id));
    }
}

void fl_csv_put_moment(fl_csv_out *csv, int64_t at_s)
{
    char text[FL_CIVIL_TEXT_MAX];
    begin_field(csv);
    if (at_s != INT64_MAX && at_s != INT64_MIN) {
        fl_str_append_cstr(&csv->text, fl_civil_format_utc(text, at_s));
    }
}

void fl_csv_end_row(fl_csv_out *csv)
{
    fl_str_append_cstr(&csv->text, "\r\n");
    csv->is_row_begun = false;
}
