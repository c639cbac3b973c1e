/* Checks the room against its own journal. */
#include "cli/compose.h"

static fl_status verify(fl_call *call, fl_err *err)
{
    fl_verified found;
    fl_status status = fl_app_verify(&call->s->app, &found, err);
    if (status != FL_OK) {
        return status;
    }
    if (call->s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        fl_view_verified(w, NULL, &found);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    (void)printf("All is as the journal says: %lld events, %lld facts; %lld lots, %lld stays, "
                 "%lld fills, %lld holds, %lld conflicts.\n",
                 (long long)found.n_events, (long long)found.n_facts, (long long)found.n_lots,
                 (long long)found.n_stays, (long long)found.n_fills, (long long)found.n_holds,
                 (long long)found.n_conflicts);
    if (found.n_orphans > 0) {
        (void)printf("%lld photos or readings are there that no event names: they came, and their "
                     "event did not.\n",
                     (long long)found.n_orphans);
    }
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.usage = "",
     .summary = "Rebuilds all from the journal beside what is stored and compares exactly.",
     .needs = FL_NEEDS_APP,
     .fn = verify},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_verify;
const fl_command fl_command_verify = {
    .name = "verify",
    .rank = 70,
    .summary = "check the room against its journal",
    .usage = "",
    .example = "fernlock --room room verify",
    .fn = run,
    .help = help,
};
