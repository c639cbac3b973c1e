/* Entries to iCalendar. */
#include "print/calendar.h"

#include <string.h>

#include <libical/ical.h>

#include "base/arena.h"
#include "base/shown.h"

#define ROUND_MIN 30
#define SOAK_MIN 5

/* ---- zones ---- */

static icaltimezone *zone_of(fl_sv name, fl_arena *arena)
{
    fl_sv copy = fl_arena_copy_sv(arena, name);
    return name.len > 0 ? icaltimezone_get_builtin_timezone(copy.ptr) : NULL;
}

fl_status fl_calendar_check_zone(fl_sv zone, fl_err *err)
{
    fl_arena arena;
    fl_arena_init(&arena);
    bool is_known = zone.len == 0 || zone_of(zone, &arena) != NULL;
    fl_arena_done(&arena);
    return is_known ? FL_OK
                    : fl_fail(err, FL_EINVAL, "zone \"%.*s\": give a name as Europe/Vienna",
                              FL_SHOWN(zone));
}

/* What one part of a zone's rules says of time from a year on. */
typedef struct rule_span {
    bool lasts;      /* it has onsets in that year or later */
    int last_before; /* the year of its last onset before it; 0 */
} rule_span;

static void take_onset(rule_span *span, int year, int from_year)
{
    if (year >= from_year) {
        span->lasts = true;
    } else if (year > span->last_before) {
        span->last_before = year;
    }
}

static rule_span span_of(icalcomponent *part, int from_year)
{
    rule_span span = {false, 0};
    icalproperty *p = icalcomponent_get_first_property(part, ICAL_DTSTART_PROPERTY);
    if (p != NULL) {
        take_onset(&span, icalproperty_get_dtstart(p).year, from_year);
    }
    p = icalcomponent_get_first_property(part, ICAL_RDATE_PROPERTY);
    while (p != NULL) {
        take_onset(&span, icalproperty_get_rdate(p).time.year, from_year);
        p = icalcomponent_get_next_property(part, ICAL_RDATE_PROPERTY);
    }
    p = icalcomponent_get_first_property(part, ICAL_RRULE_PROPERTY);
    if (p != NULL) {
        struct icaltimetype until = icalproperty_get_rrule(p).until;
        take_onset(&span, icaltime_is_null_time(until) ? from_year : until.year, from_year);
    }
    return span;
}

/* Leaves out the rules of times gone by: only what lasts, or else the last that came into force.
 * Readers have their troubles with the clocks of 1916. */
static void drop_old_rules(icalcomponent *rules, int from_year)
{
    icalcomponent *latest = NULL;
    int latest_year = 0;
    icalcomponent *next = NULL;
    for (icalcomponent *part = icalcomponent_get_first_component(rules, ICAL_ANY_COMPONENT);
         part != NULL; part = icalcomponent_get_next_component(rules, ICAL_ANY_COMPONENT)) {
        rule_span span = span_of(part, from_year);
        if (span.last_before > latest_year) {
            latest_year = span.last_before;
            latest = part;
        }
    }
    for (icalcomponent *part = icalcomponent_get_first_component(rules, ICAL_ANY_COMPONENT);
         part != NULL; part = next) {
        next = icalcomponent_get_next_component(rules, ICAL_ANY_COMPONENT);
        if (part != latest && !span_of(part, from_year).lasts) {
            icalcomponent_remove_component(rules, part);
            icalcomponent_free(part);
        }
    }
}

/* The system's tables are written out until 2037 and then begin anew as the same rules; one that
 * goes on says it more plainly, and some readers stumble over an end in UTC. */
#define TABLES_END_YEAR 2037

static void join_rules(icalcomponent *rules)
{
    icalcomponent *next = NULL;
    for (icalcomponent *part = icalcomponent_get_first_component(rules, ICAL_ANY_COMPONENT);
         part != NULL; part = next) {
        icalproperty *start = icalcomponent_get_first_property(part, ICAL_DTSTART_PROPERTY);
        icalproperty *rule = icalcomponent_get_first_property(part, ICAL_RRULE_PROPERTY);
        next = icalcomponent_get_next_component(rules, ICAL_ANY_COMPONENT);
        if (rule == NULL || start == NULL) {
            continue;
        }
        struct icalrecurrencetype recurrence = icalproperty_get_rrule(rule);
        if (icalproperty_get_dtstart(start).year >= TABLES_END_YEAR) {
            icalcomponent_remove_component(rules, part);
            icalcomponent_free(part);
        } else if (recurrence.until.year >= TABLES_END_YEAR - 1) {
            recurrence.until = icaltime_null_time();
            icalproperty_set_rrule(rule, recurrence);
        }
    }
}

/* The zone's rules under its plain name, as far as the calendar needs them. */
static void add_zone(icalcomponent *calendar, icaltimezone *zone, const char *name, int from_year)
{
    char *text = icalcomponent_as_ical_string_r(icaltimezone_get_component(zone));
    icalcomponent *rules = text != NULL ? icalparser_parse_string(text) : NULL; /* a copy */
    icalmemory_free_buffer(text);
    if (rules == NULL) {
        return;
    }
    icalproperty *id = icalcomponent_get_first_property(rules, ICAL_TZID_PROPERTY);
    if (id != NULL) {
        icalproperty_set_tzid(id, name);
    }
    drop_old_rules(rules, from_year);
    join_rules(rules);
    icalcomponent_add_component(calendar, rules);
}

/* ---- times ---- */

static struct icaltimetype date_of(int64_t day)
{
    struct icaltimetype time = icaltime_null_time();
    fl_civil c = fl_civil_from_utc(day * FL_DAY_S, 0);
    time.year = c.year;
    time.month = c.month;
    time.day = c.day;
    time.is_date = 1;
    return time;
}

static struct icaltimetype utc_of(int64_t at_s)
{
    struct icaltimetype time = icaltime_null_time();
    fl_civil c = fl_civil_from_utc(at_s, 0);
    time.year = c.year;
    time.month = c.month;
    time.day = c.day;
    time.hour = c.hour;
    time.minute = c.minute;
    time.second = c.second;
    time.zone = icaltimezone_get_utc_timezone();
    return time;
}

static void add_when(icalcomponent *event, const fl_calendar_entry *e, const char *zone)
{
    if (e->at_s != INT64_MIN) {
        icalcomponent_add_property(event, icalproperty_new_dtstart(utc_of(e->at_s)));
        icalcomponent_add_property(
            event, icalproperty_new_duration(icaldurationtype_from_int(SOAK_MIN * 60)));
        return;
    }
    struct icaltimetype start = date_of(e->day);
    if (e->minute < 0) {
        icalcomponent_add_property(event, icalproperty_new_dtstart(start));
        icalcomponent_add_property(event, icalproperty_new_dtend(date_of(e->day + 1)));
        icalcomponent_add_property(event, icalproperty_new_transp(ICAL_TRANSP_TRANSPARENT));
        return;
    }
    start.is_date = 0;
    start.hour = e->minute / 60;
    start.minute = e->minute % 60;
    icalproperty *property = icalproperty_new_dtstart(start);
    if (zone != NULL) {
        icalproperty_add_parameter(property, icalparameter_new_tzid(zone));
    }
    icalcomponent_add_property(event, property);
    icalcomponent_add_property(
        event, icalproperty_new_duration(icaldurationtype_from_int(ROUND_MIN * 60)));
}

/* ---- entries ---- */

static void add_alarm(icalcomponent *event, const char *text, int before_min)
{
    icalcomponent *alarm = icalcomponent_new(ICAL_VALARM_COMPONENT);
    struct icaltriggertype trigger = {.time = icaltime_null_time(),
                                      .duration = icaldurationtype_from_int(-before_min * 60)};
    icalcomponent_add_property(alarm, icalproperty_new_action(ICAL_ACTION_DISPLAY));
    icalcomponent_add_property(alarm, icalproperty_new_description(text));
    icalcomponent_add_property(alarm, icalproperty_new_trigger(trigger));
    icalcomponent_add_component(event, alarm);
}

/* One alarm a day away from the sink: rounds, and what must not be forgotten. */
static void add_alarms(icalcomponent *event, const fl_calendar_entry *e, const char *summary)
{
    if (e->is_cancelled) {
        return;
    }
    if (e->kind == FL_CALENDAR_ROUND) {
        add_alarm(event, summary, 0);
    } else if (e->kind == FL_CALENDAR_SOAK) {
        add_alarm(event, summary, 5);
        add_alarm(event, summary, 0);
    } else if (e->kind == FL_CALENDAR_BUILD) {
        add_alarm(event, summary, 7 * 24 * 60);
    }
}

static icalproperty_status status_of(const fl_calendar_entry *e)
{
    if (e->is_cancelled) {
        return ICAL_STATUS_CANCELLED;
    }
    return e->kind == FL_CALENDAR_RELEASE ? ICAL_STATUS_TENTATIVE : ICAL_STATUS_CONFIRMED;
}

static void add_entry(icalcomponent *calendar, const fl_calendar_entry *e, const char *zone,
                      fl_arena *arena)
{
    char id[FL_ID_TEXT_MAX];
    icalcomponent *event = icalcomponent_new_vevent();
    const char *summary = fl_arena_copy_sv(arena, e->summary).ptr;
    icalcomponent_add_property(event, icalproperty_new_uid(fl_id_format(id, e->uid)));
    icalcomponent_add_property(event, icalproperty_new_dtstamp(utc_of(e->stamp_s)));
    icalcomponent_add_property(event, icalproperty_new_lastmodified(utc_of(e->stamp_s)));
    icalcomponent_add_property(event, icalproperty_new_sequence((int)e->sequence));
    icalcomponent_add_property(event, icalproperty_new_status(status_of(e)));
    icalcomponent_add_property(event, icalproperty_new_summary(summary));
    if (e->text.len > 0) {
        icalcomponent_add_property(
            event, icalproperty_new_description(fl_arena_copy_sv(arena, e->text).ptr));
    }
    icalcomponent_add_property(event, icalproperty_new_categories(fl_words_calendar[e->kind].word));
    add_when(event, e, zone);
    add_alarms(event, e, summary);
    icalcomponent_add_component(calendar, event);
}

static void add_x(icalcomponent *calendar, const char *name, const char *value)
{
    icalproperty *property = icalproperty_new_x(value);
    icalproperty_set_x_name(property, name);
    icalcomponent_add_property(calendar, property);
}

static icalcomponent *begin(fl_sv name, fl_arena *arena)
{
    icalcomponent *calendar = icalcomponent_new(ICAL_VCALENDAR_COMPONENT);
    icalcomponent_add_property(calendar, icalproperty_new_version("2.0"));
    icalcomponent_add_property(calendar, icalproperty_new_prodid("-//fernlock//fernlock//EN"));
    icalcomponent_add_property(calendar, icalproperty_new_calscale("GREGORIAN"));
    icalcomponent_add_property(calendar, icalproperty_new_method(ICAL_METHOD_PUBLISH));
    add_x(calendar, "X-WR-CALNAME", fl_arena_copy_sv(arena, name).ptr);
    add_x(calendar, "X-PUBLISHED-TTL", "PT1H");
    return calendar;
}

fl_status fl_calendar_write(const fl_calendar_entry *entries, size_t count, fl_sv name, fl_sv zone,
                            fl_str *out, fl_err *err)
{
    fl_arena arena;
    fl_status status = fl_calendar_check_zone(zone, err);
    if (status != FL_OK) {
        return status;
    }
    fl_arena_init(&arena);
    icalcomponent *calendar = begin(name, &arena);
    icaltimezone *rules = zone_of(zone, &arena);
    const char *zone_name = rules != NULL ? fl_arena_copy_sv(&arena, zone).ptr : NULL;
    if (rules != NULL) {
        int64_t first = count > 0 ? entries[0].day : 0; /* they are by day */
        add_zone(calendar, rules, zone_name, fl_civil_from_utc(first * FL_DAY_S, 0).year - 1);
    }
    for (size_t i = 0; i < count; i++) {
        add_entry(calendar, &entries[i], zone_name, &arena);
    }
    char *text = icalcomponent_as_ical_string_r(calendar);
    if (text != NULL) {
        fl_str_append_cstr(out, text);
    }
    status = text == NULL || out->is_full
                 ? fl_fail(err, FL_ETOOBIG, "the calendar is larger than its reader takes")
                 : FL_OK;
    icalmemory_free_buffer(text);
    icalcomponent_free(calendar);
    fl_arena_done(&arena);
    return status;
}
