/* A copy of the room that was read back. */
#include "app/backup.h"
#include "cli/compose.h"

enum { DUE };

static const fl_arg options[] = {
    [DUE] = {"due", FL_ARG_FLAG, .help = "only when there is none of today in ROOM/backups"},
};

static void print_made(const fl_backup_made *made)
{
    (void)printf("%s: %lld KiB, read back and verified: %lld events, %lld lots.\n", made->file,
                 (long long)((made->bytes + 1023) / 1024), (long long)made->holds.n_events,
                 (long long)made->holds.n_lots);
    if (made->n_kept > 0) {
        (void)printf("%zu backup%s kept here%s", made->n_kept, made->n_kept == 1 ? " is" : "s are",
                     made->n_removed > 0 ? "; " : ".\n");
    }
    if (made->n_removed > 0) {
        (void)printf("%zu old one%s gave way (%d days, %d weeks, %d months stay).\n",
                     made->n_removed, made->n_removed == 1 ? "" : "s", FL_BACKUP_DAILY,
                     FL_BACKUP_WEEKLY, FL_BACKUP_MONTHLY);
    }
}

static void print_json(bool is_made, const fl_backup_made *made)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_bool(w, "is_made", is_made);
    if (is_made) {
        fl_json_put_cstr(w, "file", made->file);
        fl_json_put_int(w, "size_bytes", made->bytes);
        fl_json_put_int(w, "kept", (int64_t)made->n_kept);
        fl_json_put_int(w, "removed", (int64_t)made->n_removed);
        fl_view_verified(w, "holds", &made->holds);
    }
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

static fl_status backup(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_backup_made made = {0};
    bool is_made = true;
    fl_status status = FL_OK;
    if (call->value[DUE].is_given && call->n_words > 0) {
        return fl_fail(err, FL_EINVAL, "--due looks into ROOM/backups: leave FILE out");
    }
    if (call->value[DUE].is_given) {
        status = fl_app_backup_due(&s->app, &s->arena, &is_made, &made, err);
    } else {
        const char *file = call->n_words > 0 ? call->words[0].ptr : NULL;
        status = fl_app_backup(&s->app, file, &s->arena, &made, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (s->cli->is_json) {
        print_json(is_made, &made);
    } else if (is_made) {
        print_made(&made);
    } else {
        (void)puts("There is a backup of today already.");
    }
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.usage = "[FILE] [--due]",
     .summary = "Copies the room, also while it is served, and reads the copy back. Without FILE: "
                "into ROOM/backups.",
     .args = FL_VERB_ARGS_WORDS(options, "FILE", 1),
     .needs = FL_NEEDS_APP,
     .fn = backup},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_backup;
const fl_command fl_command_backup = {
    .name = "backup",
    .rank = 72,
    .summary = "copy the room and read the copy back",
    .usage = "[FILE] [--due]",
    .example = "fernlock --room room backup /media/stick/room.sqlite",
    .fn = run,
    .help = help,
};
