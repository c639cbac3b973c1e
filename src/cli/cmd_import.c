/* A room from an export. */
#include "app/import.h"
#include "cli/compose.h"

static void print_json(const char *dir, const fl_imported *done)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "room", dir);
    fl_json_put_int(w, "blobs", done->n_blobs);
    fl_view_verified(w, "holds", &done->holds);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

static fl_status import(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_imported done;
    const char *dir = fl_cli_room(s->cli);
    const fl_room_making how = {
        .dir = dir, .clock = fl_session_clock(s), .progress = &s->watch.progress};
    fl_status status = fl_app_import_watched(call->words[0].ptr, &how, &done, err);
    if (status != FL_OK) {
        return status;
    }
    if (s->cli->is_json) {
        print_json(dir, &done);
        return FL_OK;
    }
    (void)printf("The room in %s is that of the export, and verified: %lld events, %lld lots, "
                 "%lld photos and readings.\n",
                 dir, (long long)done.holds.n_events, (long long)done.holds.n_lots,
                 (long long)done.n_blobs);
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.usage = "FILE.zip",
     .summary = "Makes the room of an export in the folder of --room, where there is none yet.",
     .args = FL_VERB_WORDS("FILE.zip", 1),
     .words_min = 1,
     .needs = FL_NEEDS_NOTHING,
     .fn = import},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_import;
const fl_command fl_command_import = {
    .name = "import",
    .rank = 75,
    .summary = "make a room from an export",
    .usage = "FILE.zip",
    .example = "fernlock --room new import room.zip",
    .fn = run,
    .help = help,
};
