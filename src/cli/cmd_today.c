/* What is due. */
#include "app/today.h"
#include "cli/answer.h"
#include "cli/compose.h"
#include "view/view.h"
#include "view/words.h"

/* Since when, where that says something. */
static void print_line(fl_session *s, const fl_due *due)
{
    bool is_lasting =
        due->kind == FL_DUE_HOLD || due->kind == FL_DUE_PREP || due->kind == FL_DUE_PLACE;
    fl_sv when = fl_say_when(&s->room, due->at_s, &s->arena);
    fl_sv text = fl_say_due(&s->room, due, &s->arena);
    bool is_today = fl_sv_eq_cstr(when, "today");
    if (is_lasting && !is_today) {
        when = fl_say_date(&s->room, due->at_s, FL_PRECISION_DAY, &s->arena);
        (void)printf("  %.*s (since %.*s)\n", FL_SV_ARG(text), FL_SV_ARG(when));
    } else {
        (void)printf("  %.*s\n", FL_SV_ARG(text));
    }
}

static void print_today(fl_session *s, const fl_today *today)
{
    fl_sv date = fl_say_date(&s->room, s->room.now_s, FL_PRECISION_DAY, &s->arena);
    (void)printf("%.*s, %.*s", FL_SV_ARG(s->room.name), FL_SV_ARG(date));
    (void)printf("%s\n", s->room.is_demo ? " (demo room)" : "");
    for (int i = 0; i < today->n; i++) {
        print_line(s, &today->lines[i]);
    }
    fl_backup_state backup;
    if (fl_app_backup_state(&s->app, &s->arena, &backup, NULL) == FL_OK) {
        fl_sv text = fl_say_backup(&s->room, &backup, &s->arena);
        if (text.len > 0) {
            (void)printf("  %.*s\n", FL_SV_ARG(text));
        }
    }
    if (today->n == 0) {
        (void)puts("  Nothing is due today.");
    }
    if (today->n_more > 0) {
        (void)printf("  and %d more\n", today->n_more);
    }
    if (today->next_s != FL_TIME_OPEN) {
        fl_sv next = fl_say_date(&s->room, today->next_s, FL_PRECISION_DAY, &s->arena);
        (void)printf("Next: %.*s. ", FL_SV_ARG(next));
    }
    (void)printf("%zu lot%s in quarantine.\n", today->n_in_quarantine,
                 today->n_in_quarantine == 1 ? "" : "s");
}

static fl_status today(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_today list;
    fl_status status = fl_session_chances(s, err);
    if (status == FL_OK) {
        status = fl_today_list(s->chances, &s->room, &s->arena, &list, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (!s->cli->is_json) {
        print_today(s, &list);
        return FL_OK;
    }
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_view_today(&view, NULL, &list);
    fl_print_json(w);
    fl_json_writer_free(w);
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.usage = "", .summary = "What is due today: five lines or fewer.", .fn = today},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_today;
const fl_command fl_command_today = {
    .name = "today",
    .rank = 5,
    .summary = "what is due today",
    .usage = "",
    .example = "fernlock --room room today",
    .fn = run,
    .help = help,
};
