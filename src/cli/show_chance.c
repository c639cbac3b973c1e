/* `show lot NAME --threat CODE`: one number opened, in words, as JSON, or as a picture. */
#include "cli/show_chance.h"

#include <errno.h>
#include <math.h>
#include <string.h>

#include "base/shown.h"
#include "base/str.h"
#include "cli/unknown.h"
#include "view/plot.h"

#define HELPS_SHOWN 2

static void print_line(fl_session *s, int64_t at_s, fl_sv text)
{
    fl_sv date = fl_say_civil(&s->room, at_s, &s->arena);
    (void)printf("  %.*s  %.*s\n", FL_SV_ARG(date), FL_SV_ARG(text));
}

static void print_marks(fl_session *s, const fl_course *course)
{
    (void)puts("What was done and looked at:");
    for (size_t i = 0; i < course->n_marks; i++) {
        const fl_course_mark *m = &course->marks[i];
        bool is_last = i + 1 == course->n_marks || course->marks[i + 1].at_s != m->at_s;
        fl_sv text = fl_say_mark(course, i, &s->arena);
        if (is_last) { /* the chance after all of that evening */
            fl_sv after = fl_say_chance(m->after, &s->arena);
            text = fl_arena_printf(&s->arena, "%.*s; then %.*s", FL_SV_ARG(text), FL_SV_ARG(after));
        }
        print_line(s, m->at_s, text);
    }
    if (course->n_marks == 0) {
        (void)puts("  nothing yet");
    }
}

static void print_helps(fl_session *s, const fl_what_if *helps, int n)
{
    (void)puts(n == 0 ? "Nothing that we can price would bring its date forward."
                      : "What would bring its date forward most:");
    for (int i = 0; i < n; i++) {
        fl_sv text = fl_say_what_if(&s->room, &helps[i], &s->arena);
        (void)printf("  %.*s\n", FL_SV_ARG(text));
    }
}

static void print_course(fl_session *s, const fl_course *course, bool is_mostly_judgement)
{
    fl_say_threat_args args = {course->threat, course->now.chance, course->now.least,
                               course->now.most, is_mostly_judgement};
    fl_sv head = fl_say_threat(&args, &s->arena);
    fl_sv whole = fl_say_course(&s->room, course, &s->arena);
    fl_sv ahead = fl_say_ahead(&s->room, course, &s->arena);
    fl_sv temps = fl_say_temps(&course->temps, &s->arena);
    fl_sv growth = fl_say_development(course, &s->arena);
    fl_sv label = fl_lot_label(s, course->lot);
    (void)printf("%.*s: %.*s.\n%.*s\n", FL_SV_ARG(label), FL_SV_ARG(head), FL_SV_ARG(whole));
    if (ahead.len > 0) {
        (void)printf("Ahead: %.*s\n", FL_SV_ARG(ahead));
    }
    (void)puts("Where it could be from:");
    for (size_t i = 0; i < course->n_origins; i++) {
        fl_sv text = fl_say_origin(&s->room, course, i, &s->arena);
        (void)printf("  %.*s\n", FL_SV_ARG(text));
    }
    print_marks(s, course);
    (void)printf("Temperatures: %.*s\n%.*s\n", FL_SV_ARG(temps), FL_SV_ARG(growth));
    (void)printf("Where to look: %s\n", course->threat->look_where);
}

static void print_sources(const fl_threat *threat)
{
    fl_sv rest = fl_sv_from_cstr(threat->source);
    (void)puts("Figures from:");
    while (rest.len > 0) {
        fl_sv key = fl_sv_split(&rest, '|');
        const fl_know_source *source = fl_know_source_find(key);
        if (source != NULL) {
            (void)printf("  %s\n", source->citation);
        }
    }
}

static fl_status print_text(fl_session *s, const fl_course *course, fl_err *err)
{
    fl_looks *looks = NULL;
    fl_what_if helps[HELPS_SHOWN];
    int n = 0;
    fl_status status = fl_looks_open(s->chances, &s->room, course->lot, 0, &s->arena, &looks, err);
    if (status == FL_OK) {
        const fl_looks_options usual = fl_looks_usual(looks);
        status = fl_looks_helps(looks, &usual, &s->arena, helps, HELPS_SHOWN, &n, err);
    }
    if (status == FL_OK) {
        print_course(s, course, fl_looks_report(looks)->is_mostly_judgement);
        print_sources(course->threat);
        print_helps(s, helps, n);
    }
    return status;
}

static fl_status print_json(fl_session *s, const fl_lot *lot, const fl_threat *threat, fl_err *err)
{
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_status status = fl_view_course(&view, NULL, lot, threat, err);
    if (status == FL_OK) {
        fl_print_json(w);
    }
    fl_json_writer_free(w);
    return status;
}

static fl_status write_svg(fl_session *s, const fl_course *course, fl_sv path, fl_err *err)
{
    fl_str text;
    const char *name = fl_arena_printf(&s->arena, "%.*s", FL_SV_ARG(path)).ptr;
    fl_str_init(&text, FL_PLOT_BYTES_MAX);
    fl_plot_course(&s->room, course, &s->arena, &text);
    FILE *file = fopen(name, "wb");
    bool is_written = file != NULL && fwrite(text.ptr, 1, text.len, file) == text.len;
    is_written = file != NULL && fclose(file) == 0 && is_written;
    fl_str_done(&text);
    if (!is_written) {
        return fl_fail(err, FL_EIO, "--svg \"%.*s\" cannot be written: %s", FL_SHOWN(path),
                       strerror(errno));
    }
    (void)printf("Wrote %s\n", name);
    return FL_OK;
}

static const char *code_at(size_t index)
{
    return fl_know_threat(index)->code;
}

fl_status fl_show_chance(fl_call *call, const fl_lot *lot, fl_sv code, fl_sv svg, fl_err *err)
{
    fl_session *s = call->s;
    fl_course course;
    const fl_threat *threat = fl_know_threat_find(code);
    if (threat == NULL) {
        return fl_cli_unknown(err, "threat", code, code_at, fl_know_threat_count());
    }
    if (s->cli->is_json && svg.len == 0) {
        return print_json(s, lot, threat, err);
    }
    fl_status status = fl_course_make(s->chances, &s->room, lot, threat, &s->arena, &course, err);
    if (status != FL_OK) {
        return status;
    }
    return svg.len > 0 ? write_svg(s, &course, svg, err) : print_text(s, &course, err);
}
