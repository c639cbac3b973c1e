/* Shifting the demo's history, and keeping it out of other rooms. */
#include "cli/demo.h"

#include "json/json.h"

fl_status fl_demo_refuse(fl_sv json, fl_err *err)
{
    fl_json_doc *doc = NULL;
    if (fl_json_parse(json, &doc, NULL) != FL_OK) {
        return FL_OK;
    }
    const fl_json_value *root = fl_json_root(doc);
    const fl_json_value *mark = fl_json_get(fl_json_get(root, "body"), "is_demo");
    bool is_setting = fl_sv_eq_cstr(fl_json_text(fl_json_get(root, "kind")), "room_set");
    bool is_marking = is_setting && fl_json_bool(mark, false);
    fl_json_free(doc);
    if (is_marking) {
        return fl_fail(err, FL_EFORBIDDEN,
                       "/body/is_demo: a room is marked as a demo only by fernlock demo");
    }
    return FL_OK;
}

/* ---- shifting ---- */

/* A vague moment stands for the middle of its month or year: of the one it is in now. */
static fl_status settle_vague(fl_event *event, int tz_offset_min, fl_err *err)
{
    char text[FL_CIVIL_TEXT_MAX];
    fl_precision precision;
    size_t len = event->precision == FL_PRECISION_YEAR ? 4 : 7;
    if (event->precision != FL_PRECISION_MONTH && event->precision != FL_PRECISION_YEAR) {
        return FL_OK;
    }
    (void)fl_civil_format_date(text, event->at_s, tz_offset_min);
    return fl_civil_parse((fl_sv){text, len}, tz_offset_min, &event->at_s, &precision, err);
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* True when a civil date begins at text[at]: "2026-03-19", with no digit on either side. */
static bool is_date_at(fl_sv text, size_t at)
{
    static const char form[] = "dddd-dd-dd";
    const size_t len = sizeof form - 1;
    if (at + len > text.len || (at > 0 && is_digit(text.ptr[at - 1])) ||
        (at + len < text.len && is_digit(text.ptr[at + len]))) {
        return false;
    }
    for (size_t i = 0; i < len; i++) {
        bool fits = form[i] == 'd' ? is_digit(text.ptr[at + i]) : text.ptr[at + i] == '-';
        if (!fits) {
            return false;
        }
    }
    return true;
}

/* Moves every date in a text, whether a moment follows it or not. */
static fl_status shift_text(fl_sv *text, int64_t days, fl_arena *arena, fl_err *err)
{
    fl_sv copy = fl_arena_copy_sv(arena, *text);
    fl_str out;
    fl_status status = FL_OK;
    fl_str_init(&out, copy.len + 1);
    for (size_t i = 0; i < copy.len && status == FL_OK; i++) {
        char date[FL_CIVIL_TEXT_MAX];
        int64_t at_s = 0;
        fl_precision precision;
        if (!is_date_at(copy, i)) {
            fl_str_append_char(&out, copy.ptr[i]);
            continue;
        }
        status = fl_civil_parse((fl_sv){copy.ptr + i, 10}, 0, &at_s, &precision, err);
        if (status == FL_OK) {
            fl_str_append_cstr(&out, fl_civil_format_date(date, at_s + days * FL_DAY_S, 0));
            i += 9;
        }
    }
    if (status == FL_OK) {
        *text = fl_arena_copy_sv(arena, fl_str_sv(&out));
    }
    fl_str_done(&out);
    return status;
}

/* Moments move by `seconds`, civil dates by whole days. */
static fl_status shift_body(fl_event *event, int64_t days, int64_t seconds, fl_arena *arena,
                            fl_err *err)
{
    switch ((int)event->kind) {
    case FL_KIND_ROOM_SET:
        event->body.room_set.is_demo = true;
        if (event->body.room_set.round_weekday >= 0) {
            int64_t day = (event->body.room_set.round_weekday + days) % 7;
            event->body.room_set.round_weekday = day < 0 ? day + 7 : day;
        }
        return FL_OK;
    case FL_KIND_ANIMAL_NOTED:
        if (event->body.animal_noted.sampled_s != INT64_MIN) {
            event->body.animal_noted.sampled_s += seconds;
        }
        return FL_OK;
    case FL_KIND_READINGS_IMPORTED:
        event->body.readings_imported.from_s += seconds;
        event->body.readings_imported.to_s += seconds;
        return FL_OK;
    case FL_KIND_BUILD_PLANNED:
        return shift_text(&event->body.build_planned.need_by, days, arena, err);
    case FL_KIND_LOT_RELEASED:
        return shift_text(&event->body.lot_released.answer_json, days, arena, err);
    default:
        return FL_OK;
    }
}

fl_status fl_demo_shift(fl_event *event, int64_t days, int tz_offset_min, fl_arena *arena,
                        fl_err *err)
{
    int64_t seconds = days * FL_DAY_S + (FL_DEMO_TZ_MIN - tz_offset_min) * (int64_t)60;
    event->at_s += seconds;
    fl_status status = settle_vague(event, tz_offset_min, err);
    return status == FL_OK ? shift_body(event, days, seconds, arena, err) : status;
}
