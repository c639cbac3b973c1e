/* A command at work: the open room, a snapshot of it, the clock, and memory for the command's own
 * texts. One a command; everything in it lives until fl_session_close. */
#ifndef FL_CLI_SESSION_H
#define FL_CLI_SESSION_H

#include "app/app.h"
#include "app/chance.h"
#include "app/room.h"
#include "cli/command.h"
#include "cli/watch.h"
#include "json/json.h"
#include "view/view.h"

/* Something a command brought into being, for its answer. */
typedef struct fl_made {
    const char *what; /* "lot", "place" */
    fl_id id;
    fl_sv name;
} fl_made;

typedef struct fl_session {
    const fl_cli *cli;
    fl_arena arena;
    int64_t fixed_now_s; /* of --now */
    fl_watch watch;      /* of its long work: progress, and Ctrl-C */
    bool is_open;
    fl_app app;
    bool has_room; /* the snapshot was read */
    fl_room room;
    fl_chances *chances; /* of the snapshot; NULL until fl_session_chances */
    /* what is about to be recorded: cli/compose.h */
    int64_t at_s; /* when it happened: --at, else now */
    fl_precision precision;
    fl_sv note;
    fl_event *events; /* room for FL_SESSION_EVENTS_MAX; NULL until the first */
    size_t n_events;
    fl_made *made; /* likewise */
    size_t n_made;
    uint64_t n_ids;            /* made so far, for --ids */
    size_t n_conflicts_before; /* when the command began to record */
    bool has_recorded;
} fl_session;

#define FL_SESSION_EVENTS_MAX 1000

/* An empty session with a clock: the machine's, or --now. It stays where it is. FL_EFORMAT when
 * --now is no time. */
fl_status fl_session_init(fl_session *s, const fl_cli *cli, fl_err *err) FL_MUST_USE;
/* Everything is let go; fine after any failure of the functions below. */
void fl_session_close(fl_session *s);

/* The session's clock, for a room that is opened by the command itself. */
fl_clock fl_session_clock(fl_session *s);

/* Opens the room, which must be there. FL_ENOTFOUND names the folder. */
fl_status fl_session_open(fl_session *s, fl_err *err) FL_MUST_USE;
/* The snapshot, new each time; what was made from the old one is let go. */
fl_status fl_session_load(fl_session *s, fl_err *err) FL_MUST_USE;
/* The chances of the snapshot, made on the first call. */
fl_status fl_session_chances(fl_session *s, fl_err *err) FL_MUST_USE;

/* For the functions of view/. */
fl_view fl_session_view(fl_session *s, fl_json_writer *w);
/* Prints a finished value on standard output, on one line. */
void fl_print_json(const fl_json_writer *w);

/* "Pilea cadierei (K7F2QX)": a lot as it is named in answers. */
fl_sv fl_lot_label(fl_session *s, const fl_lot *lot);
/* The short code of an id, in the session's memory. */
fl_sv fl_code_of(fl_session *s, fl_id id);

#endif
