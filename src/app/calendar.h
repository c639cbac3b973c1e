/* What goes into the keeper's calendar, and what became of it: rounds of looks, releases, long
 * soaks, upkeep, builds.
 *
 * An entry has an id that stays with what it is about (a round day, a fill, a lot, a timed step, a
 * place, a build). What was published once is remembered in the room's settings, so that a changed
 * entry goes out with a higher sequence number and one that fell away goes out as cancelled
 * (RFC 5545 sections 3.8.7.4 and 3.8.1.11). How it is written: print/calendar.h. */
#ifndef FL_APP_CALENDAR_H
#define FL_APP_CALENDAR_H

#include "app/chance.h"

/* X(enum, word, what it is) */
#define FL_CALENDAR_LIST(X)                                                                        \
    X(FL_CALENDAR_ROUND, "round", "a round of looks")                                              \
    X(FL_CALENDAR_RELEASE, "release", "a place or lot is expected to be quiet enough")             \
    X(FL_CALENDAR_SOAK, "soak", "a long timed step ends")                                          \
    X(FL_CALENDAR_UPKEEP, "upkeep", "an established place is to be looked over")                   \
    X(FL_CALENDAR_BUILD, "build", "a build must be ready")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_calendar_kind { FL_CALENDAR_LIST(FL_WORD_ENUM) FL_CALENDAR_COUNT } fl_calendar_kind;
#undef FL_WORD_ENUM
extern const fl_word fl_words_calendar[FL_CALENDAR_COUNT];

#define FL_CALENDAR_ENTRIES_MAX 2000
#define FL_CALENDAR_AHEAD_DAYS 182 /* rounds are planned so far */
#define FL_CALENDAR_SOAK_LEAST_S 1800
#define FL_CALENDAR_KEPT_DAYS 30 /* a cancelled entry is told so long after its day */

/* When it is. A round has a time of the clock on the wall, whatever the zone does; a soak is a
 * moment; the rest are whole days. */
typedef struct fl_calendar_entry {
    fl_calendar_kind kind;
    fl_id uid;
    int64_t day;  /* local, days since 1970-01-01 */
    int minute;   /* of the local day; -1: the whole day */
    int64_t at_s; /* of a soak: UTC; else INT64_MIN */
    fl_sv summary;
    fl_sv text; /* more; may be empty */
    int64_t sequence;
    int64_t stamp_s; /* when this form of it was first published */
    bool is_cancelled;
} fl_calendar_entry;

/* The keeper's settings. */
typedef struct fl_calendar_settings {
    fl_sv zone; /* a name of the IANA zone data base; empty: times float with whoever reads them */
    int minute; /* of the day at which a round is; 18:00 when nothing was set */
} fl_calendar_settings;
fl_status fl_calendar_settings_get(fl_app *app, fl_arena *arena, fl_calendar_settings *out,
                                   fl_err *err) FL_MUST_USE;
/* FL_EDOMAIN: the minute; the zone is the caller's to check. */
fl_status fl_calendar_settings_put(fl_app *app, const fl_calendar_settings *settings,
                                   fl_err *err) FL_MUST_USE;

/* The entries of this moment: planned ones with the numbers they were or will be published with,
 * and those cancelled since; by day, then id. Nothing is written: two askings at the same moment
 * give the same. Array in the arena. */
fl_status fl_calendar_make(fl_app *app, const fl_room *room, fl_chances *chances, fl_arena *arena,
                           fl_calendar_entry **out, size_t *count, fl_err *err) FL_MUST_USE;

/* Remembers that these entries were given out. To be called by what can write: the command that
 * writes a file, and `serve` now and then for its feed. */
fl_status fl_calendar_publish(fl_app *app, const fl_calendar_entry *entries, size_t count,
                              fl_err *err) FL_MUST_USE;

#endif
