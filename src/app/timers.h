/* The timers: steps that were started and have not ended. A timer is nothing but its event: due is
 * started plus planned (web-ui.md section 5); nothing counts down anywhere.
 *
 * Beside it the alarms: which of them has sounded, and when it is due by the machine's boot time,
 * which a changed clock does not move and sleep does not stop. Pure: moments come in as arguments,
 * and what is to be kept over a restart goes out and in as text. */
#ifndef FL_APP_TIMERS_H
#define FL_APP_TIMERS_H

#include "app/room.h"
#include "base/str.h"

typedef struct fl_timer {
    fl_id run;
    const fl_ev_step *step;
    int64_t started_s;
    int64_t planned_s;
    int64_t due_s; /* started_s + planned_s, by the clock that the start was told by */
} fl_timer;

/* Every step that runs, the first due first. Array in the arena, views into the room. */
size_t fl_timers_running(const fl_room *room, fl_arena *arena, fl_timer **out);

/* ---- alarms ---- */

#define FL_ALARMS_MAX 64
#define FL_ALARM_BOOT_MAX 64
#define FL_ALARM_TEXT_MAX 8192
/* Sounded again this often while nobody ends the step, this many times in all (assumed). */
#define FL_ALARM_AGAIN_MS 60000
#define FL_ALARM_TIMES 10
/* More than this after due, it could not sound when it should have. */
#define FL_ALARM_LATE_S 5

typedef struct fl_alarm_entry {
    fl_id run;
    int64_t due_s;       /* by the clock */
    int64_t boot_due_ms; /* by boot time */
    int n_sounded;
    int64_t sounded_ms; /* boot time of the last; of this boot */
    int64_t late_s;     /* how late it sounded first; 0: in time, or not yet */
} fl_alarm_entry;

typedef struct fl_alarm_set {
    char boot_id[FL_ALARM_BOOT_MAX]; /* of this boot */
    fl_alarm_entry entries[FL_ALARMS_MAX];
    size_t n;
    bool has_offset;
    int64_t offset_ms; /* wall minus boot time when it was first asked */
    int64_t moved_s;   /* by how much the clock was moved since, as last seen */
    bool is_changed;   /* what is kept over a restart differs from what was written last */
} fl_alarm_set;

/* Both clocks at one moment. */
typedef struct fl_alarm_now {
    int64_t wall_s;
    int64_t boot_ms;
} fl_alarm_now;

void fl_alarm_set_init(fl_alarm_set *set, const char *boot_id);

/* What was kept: of this boot with its boot times, of an earlier one by the clock. A text that is
 * none of ours gives an empty set: the journal alone then says what runs. */
void fl_alarm_set_read(fl_alarm_set *set, fl_sv text);
void fl_alarm_set_write(fl_alarm_set *set, fl_str *out);

/* Brings the set up to date with the timers that run, and gives those that are to sound now, as
 * indexes of timers[n] into due[FL_ALARMS_MAX]; returns how many. A timer seen for the first time
 * gets its boot time from the clock; from then on only boot time counts. */
size_t fl_alarm_set_update(fl_alarm_set *set, const fl_timer *timers, size_t n, fl_alarm_now now,
                           size_t *due);

/* The entry of a run; NULL when it has none. */
const fl_alarm_entry *fl_alarm_set_find(const fl_alarm_set *set, fl_id run);

/* Whole seconds until it is due, below 0 when it is over. */
int64_t fl_alarm_left_s(const fl_alarm_entry *entry, fl_alarm_now now);

#endif
