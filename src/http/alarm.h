/* The alarm of this computer: a thread that watches the timers of the room and, when one is due,
 * rings the terminal's bell and runs the keeper's command. It keeps both clocks (app/timers.h) in a
 * small file of the room's folder, so that a restart, sleep or a changed clock loses none, and
 * tells
 * what could not sound in time. */
#ifndef FL_HTTP_ALARM_H
#define FL_HTTP_ALARM_H

#include "app/timers.h"

#define FL_ALARM_FILE "alarms"
#define FL_ALARM_WORDS_MAX 16
/* A command that has not ended by then is ended. */
#define FL_ALARM_COMMAND_S 20

typedef struct fl_alarm fl_alarm;

typedef struct fl_alarm_options {
    const char *room_dir;
    struct fl_app *app;  /* a reader of its own; only the alarm's thread uses it while it runs */
    const char *command; /* words with blanks between, run without a shell, then what is due as one
                            word more; NULL: the bell alone */
    bool has_bell;       /* write the bell to standard error */
    void (*log)(void *context, const char *line);
    void *log_context;
    int poll_ms;                         /* 0: 1000 */
    int64_t (*boot_now_ms)(void *clock); /* NULL: the machine's boot time, which counts sleep */
    void *boot_clock;
    const char *boot_id; /* NULL: the machine's */
} fl_alarm_options;

/* Starts the thread. FL_EINVAL for a command of no or too many words; FL_EIO. What the options
 * point
 * to must live until fl_alarm_stop. */
fl_status fl_alarm_start(const fl_alarm_options *options, fl_alarm **out, fl_err *err) FL_MUST_USE;

/* Ends the thread, and a command that still runs. NULL is fine. */
void fl_alarm_stop(fl_alarm *alarm);

/* What it knows now, for any thread. */
typedef struct fl_alarm_view {
    fl_alarm_set set;
    fl_alarm_now now;
    bool has_bell;
    bool has_command;
    bool is_watching; /* the room was read at least once, and could be read the last time */
} fl_alarm_view;
void fl_alarm_look(fl_alarm *alarm, fl_alarm_view *out);

/* The keeper's command as it was given; empty: the bell alone. Lives as long as the alarm. */
fl_sv fl_alarm_command(const fl_alarm *alarm);

/* "dip in tub 1, 2 lots": what an alarm says. */
fl_sv fl_alarm_text(const fl_timer *timer, fl_arena *arena);

#endif
