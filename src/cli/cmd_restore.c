/* A backup in the place of the room. */
#include "app/backup.h"
#include "cli/compose.h"

static void print_json(const char *dir, const fl_restored *restored)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "room", dir);
    if (restored->kept.len > 0) {
        fl_json_put_text(w, "kept", restored->kept);
    } else {
        fl_json_put_null(w, "kept");
    }
    fl_view_verified(w, "holds", &restored->holds);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

static fl_status restore(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_restored restored;
    const char *dir = fl_cli_room(s->cli);
    const fl_room_making how = {
        .dir = dir, .clock = fl_session_clock(s), .progress = &s->watch.progress};
    fl_status status = fl_app_restore_watched(call->words[0].ptr, &how, &s->arena, &restored, err);
    if (status != FL_OK) {
        return status;
    }
    if (s->cli->is_json) {
        print_json(dir, &restored);
        return FL_OK;
    }
    (void)printf("The room in %s is that of the backup, and verified: %lld events, %lld lots.\n",
                 dir, (long long)restored.holds.n_events, (long long)restored.holds.n_lots);
    if (restored.kept.len > 0) {
        (void)printf("The room that was there is kept: %.*s\n", FL_SV_ARG(restored.kept));
    }
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.usage = "FILE",
     .summary =
         "Puts a backup in the place of the room, which nobody may have open (stop `serve`); "
         "the old one is kept.",
     .args = FL_VERB_WORDS("FILE", 1),
     .words_min = 1,
     .needs = FL_NEEDS_NOTHING,
     .fn = restore},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_restore;
const fl_command fl_command_restore = {
    .name = "restore",
    .rank = 73,
    .summary = "put a backup in the place of the room",
    .usage = "FILE",
    .example = "fernlock --room room restore room/backups/room-2026-03-01.sqlite",
    .fn = run,
    .help = help,
};
