/* Opening the room for a command and letting it go. */
#include "cli/session.h"

#include <stdio.h>

#include "base/clock.h"

#define ANSWER_BYTES_MAX ((size_t)256 << 20)

fl_status fl_session_init(fl_session *s, const fl_cli *cli, fl_err *err)
{
    *s = (fl_session){.cli = cli};
    fl_arena_init(&s->arena);
    fl_watch_begin(&s->watch);
    if (cli->now == NULL) {
        return FL_OK;
    }
    fl_precision precision;
    return fl_civil_parse(fl_sv_from_cstr(cli->now), 0, &s->fixed_now_s, &precision, err);
}

static void drop_room(fl_session *s)
{
    fl_chances_free(s->chances);
    s->chances = NULL;
    if (s->has_room) {
        fl_room_done(&s->room);
        s->has_room = false;
    }
}

void fl_session_close(fl_session *s)
{
    fl_watch_end(&s->watch);
    drop_room(s);
    if (s->is_open) {
        fl_app_close(&s->app);
        s->is_open = false;
    }
    fl_arena_done(&s->arena);
}

fl_clock fl_session_clock(fl_session *s)
{
    return s->cli->now != NULL ? fl_clock_fixed(&s->fixed_now_s) : fl_clock_system();
}

fl_status fl_session_open(fl_session *s, fl_err *err)
{
    fl_status status =
        fl_app_open(fl_cli_room(s->cli), false, 0, fl_session_clock(s), &s->app, err);
    s->is_open = status == FL_OK;
    if (s->is_open) {
        fl_app_watch(&s->app, &s->watch.progress);
    }
    return status;
}

fl_status fl_session_load(fl_session *s, fl_err *err)
{
    drop_room(s);
    fl_status status = fl_room_load(&s->app, &s->room, err);
    s->has_room = status == FL_OK;
    return status;
}

fl_status fl_session_chances(fl_session *s, fl_err *err)
{
    if (s->chances != NULL) {
        return FL_OK;
    }
    return fl_chances_new(&s->room, &s->app, &s->chances, err);
}

fl_view fl_session_view(fl_session *s, fl_json_writer *w)
{
    fl_backup_state *backup = FL_ARENA_NEW(&s->arena, fl_backup_state);
    bool has_backup = s->is_open && fl_app_backup_state(&s->app, &s->arena, backup, NULL) == FL_OK;
    return (fl_view){.room = &s->room,
                     .chances = s->chances,
                     .arena = &s->arena,
                     .w = w,
                     .backup = has_backup ? backup : NULL};
}

void fl_print_json(const fl_json_writer *w)
{
    fl_str text;
    fl_str_init(&text, ANSWER_BYTES_MAX);
    fl_json_write(w, false, &text);
    fl_str_append_char(&text, '\n');
    (void)fwrite(text.ptr, 1, text.len, stdout);
    fl_str_done(&text);
}

fl_sv fl_code_of(fl_session *s, fl_id id)
{
    char code[FL_CODE_TEXT_MAX];
    return fl_arena_copy_sv(&s->arena, fl_sv_from_cstr(fl_id_code(code, id)));
}

fl_sv fl_lot_label(fl_session *s, const fl_lot *lot)
{
    char code[FL_CODE_TEXT_MAX];
    fl_sv name = fl_room_lot_name(&s->room, lot);
    return fl_arena_printf(&s->arena, "%.*s (%s)", FL_SV_ARG(name), fl_id_code(code, lot->id));
}
