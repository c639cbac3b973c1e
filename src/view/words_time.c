/* How moments and lengths are said. Days are the room's local days. */
#include <math.h>

#include "view/words.h"

static const char *const months[] = {"January",   "February", "March",    "April",
                                     "May",       "June",     "July",     "August",
                                     "September", "October",  "November", "December"};

/* FL_TIME_OPEN and FL_GATE_NEVER are the same number. */
static bool is_no_date(int64_t at_s)
{
    return at_s == FL_TIME_OPEN || at_s == INT64_MIN;
}

static int64_t local_day(const fl_room *room, int64_t at_s)
{
    fl_civil c = fl_civil_from_utc(at_s, room->tz_offset_min);
    return fl_civil_days(c.year, c.month, c.day);
}

fl_sv fl_say_date(const fl_room *room, int64_t at_s, fl_precision precision, fl_arena *arena)
{
    if (is_no_date(at_s)) {
        return FL_SV("no date");
    }
    fl_civil at = fl_civil_from_utc(at_s, room->tz_offset_min);
    fl_civil now = fl_civil_from_utc(room->now_s, room->tz_offset_min);
    if (precision == FL_PRECISION_YEAR) {
        return fl_arena_printf(arena, "in %d", at.year);
    }
    if (precision == FL_PRECISION_MONTH) {
        return fl_arena_printf(arena, "in %s %d", months[at.month - 1], at.year);
    }
    if (at.year != now.year) {
        return fl_arena_printf(arena, "%d %s %d", at.day, months[at.month - 1], at.year);
    }
    return fl_arena_printf(arena, "%d %s", at.day, months[at.month - 1]);
}

/* Days up to two weeks, then weeks up to twelve, then months. */
fl_sv fl_say_days(double days, fl_arena *arena)
{
    double n = isfinite(days) ? round(fabs(days)) : 0.0;
    if (!isfinite(days)) {
        return FL_SV("no end");
    }
    if (n < 1.5) {
        return n < 0.5 ? FL_SV("no time") : FL_SV("1 day");
    }
    if (n < 14.0) {
        return fl_arena_printf(arena, "%.0f days", n);
    }
    if (n < 80.0) {
        return fl_arena_printf(arena, "about %.0f weeks", n / 7.0);
    }
    if (n < 700.0) {
        return fl_arena_printf(arena, "about %.0f months", n / 30.44);
    }
    return fl_arena_printf(arena, "about %.0f years", n / 365.25);
}

fl_sv fl_say_when(const fl_room *room, int64_t at_s, fl_arena *arena)
{
    if (is_no_date(at_s)) {
        return FL_SV("not by waiting");
    }
    int64_t days = local_day(room, at_s) - local_day(room, room->now_s);
    if (days == 0) {
        return FL_SV("today");
    }
    if (days == 1 || days == -1) {
        return days == 1 ? FL_SV("tomorrow") : FL_SV("yesterday");
    }
    fl_sv length = fl_say_days((double)days, arena);
    return days > 0 ? fl_arena_printf(arena, "in %.*s", FL_SV_ARG(length))
                    : fl_arena_printf(arena, "%.*s ago", FL_SV_ARG(length));
}

fl_sv fl_say_backup(const fl_room *room, const fl_backup_state *state, fl_arena *arena)
{
    if (state->failed_s == 0) {
        return FL_SV("");
    }
    fl_sv when = fl_say_when(room, state->failed_s, arena);
    fl_sv text = fl_arena_printf(arena, "A backup failed %.*s: %.*s.", FL_SV_ARG(when),
                                 FL_SV_ARG(state->failed_why));
    if (state->newest == NULL) {
        return fl_arena_printf(arena, "%.*s There is no good one.", FL_SV_ARG(text));
    }
    int64_t noon_s =
        state->newest_day * FL_DAY_S + FL_DAY_S / 2 - (int64_t)room->tz_offset_min * 60;
    fl_sv last = fl_say_date(room, noon_s, FL_PRECISION_DAY, arena);
    return fl_arena_printf(arena, "%.*s The last good one is of %.*s.", FL_SV_ARG(text),
                           FL_SV_ARG(last));
}

fl_sv fl_say_civil(const fl_room *room, int64_t at_s, fl_arena *arena)
{
    char text[FL_CIVIL_TEXT_MAX];
    if (is_no_date(at_s)) {
        return FL_SV("");
    }
    return fl_arena_copy_sv(arena,
                            fl_sv_from_cstr(fl_civil_format_date(text, at_s, room->tz_offset_min)));
}
