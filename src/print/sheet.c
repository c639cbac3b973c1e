/* What the sheets share. */
#include "print/sheet.h"

#include "print/label.h"
#include "view/words.h"

fl_status fl_print_sheet_begin(const fl_print_sheet *sheet, fl_print_sheet_title title,
                               fl_arena *arena, fl_doc *out, fl_err *err)
{
    char code[FL_CODE_TEXT_MAX];
    const fl_room *room = sheet->room;
    fl_civil now = fl_civil_from_utc(room->now_s, room->tz_offset_min);
    fl_sv day = fl_say_civil(room, room->now_s, arena);
    fl_sv running = fl_arena_printf(arena, "%.*s%s, as of %.*s %02d:%02d", FL_SV_ARG(room->name),
                                    room->is_demo ? " (demo room: invented)" : "", FL_SV_ARG(day),
                                    now.hour, now.minute);
    fl_doc_options options = {.paper = sheet->paper,
                              .title = title.title,
                              .under = title.under,
                              .running = running,
                              .made_s = room->now_s};
    if (!fl_id_is_none(title.code_of)) {
        options.code = fl_arena_copy_sv(arena, fl_sv_from_cstr(fl_id_code(code, title.code_of)));
        fl_status status =
            fl_label_url(sheet->base_url, options.code, arena, &options.code_url, err);
        if (status != FL_OK) {
            return status;
        }
    }
    return fl_doc_begin(&options, arena, out, err);
}

fl_sv fl_print_sheet_lot_name(const fl_room *room, const fl_lot *lot, fl_arena *arena)
{
    char code[FL_CODE_TEXT_MAX];
    fl_sv name = fl_room_lot_name(room, lot);
    return fl_arena_printf(arena, "%.*s (%s)", FL_SV_ARG(name), fl_id_code(code, lot->id));
}

fl_sv fl_print_sheet_date(const fl_room *room, int64_t at_s, fl_precision precision,
                          fl_arena *arena)
{
    fl_sv date = fl_say_date(room, at_s, precision, arena);
    bool has_year = precision >= FL_PRECISION_MONTH || at_s == FL_TIME_OPEN || at_s == INT64_MIN;
    fl_civil at = {0};
    if (!has_year) {
        at = fl_civil_from_utc(at_s, room->tz_offset_min);
        has_year = at.year != fl_civil_from_utc(room->now_s, room->tz_offset_min).year;
    }
    return has_year ? date : fl_arena_printf(arena, "%.*s %d", FL_SV_ARG(date), at.year);
}

fl_sv fl_print_sheet_day(const fl_room *room, int64_t at_s, fl_arena *arena)
{
    static const char *const days[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
    if (at_s == FL_TIME_OPEN || at_s == INT64_MIN) {
        return FL_SV("no date");
    }
    fl_sv date = fl_say_date(room, at_s, FL_PRECISION_DAY, arena);
    return fl_arena_printf(arena, "%s %.*s", days[fl_civil_weekday(at_s, room->tz_offset_min)],
                           FL_SV_ARG(date));
}
