/* The manual page, and completions for shells: what `cmake --install` puts in place. */
#include "cli/manual.h"
#include "cli/verb.h"

static fl_status page(fl_call *call, fl_err *err)
{
    (void)err;
    fl_manual_page(call->s->cli->version, &call->s->arena, stdout);
    return FL_OK;
}

static fl_status bash(fl_call *call, fl_err *err)
{
    (void)err;
    fl_manual_bash(&call->s->arena, stdout);
    return FL_OK;
}

static fl_status zsh(fl_call *call, fl_err *err)
{
    (void)err;
    fl_manual_zsh(&call->s->arena, stdout);
    return FL_OK;
}

static fl_status fish(fl_call *call, fl_err *err)
{
    (void)err;
    fl_manual_fish(&call->s->arena, stdout);
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.name = "page",
     .usage = "",
     .summary = "The manual page, for man.",
     .needs = FL_NEEDS_NOTHING,
     .fn = page},
    {.name = "bash",
     .usage = "",
     .summary = "Completion for bash: source <(fernlock manual bash)",
     .needs = FL_NEEDS_NOTHING,
     .fn = bash},
    {.name = "zsh",
     .usage = "",
     .summary = "Completion for zsh.",
     .needs = FL_NEEDS_NOTHING,
     .fn = zsh},
    {.name = "fish",
     .usage = "",
     .summary = "Completion for fish.",
     .needs = FL_NEEDS_NOTHING,
     .fn = fish},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_manual;
const fl_command fl_command_manual = {
    .name = "manual",
    .rank = 95,
    .summary = "the manual page, and completion for your shell",
    .usage = "page|bash|zsh|fish",
    .example = "fernlock manual page >fernlock.1",
    .fn = run,
    .help = help,
};
