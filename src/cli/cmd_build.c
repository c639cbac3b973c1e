/* Builds: planned, listed with what to start when, and finished. */
#include <math.h>
#include <stdio.h>

#include "app/build.h"
#include "base/limits.h"
#include "base/num.h"
#include "cli/compose.h"
#include "cli/find.h"
#include "cli/lot_spec.h"
#include "view/builds.h"
#include "view/suits.h"

enum {
    NEED_BY = FL_OPTION_FIRST,
    ENCLOSURE,
    USES,
    PLANT,
    MATERIAL,
    SIZE,
    SUBSTRATE,
    DRAINAGE,
    SETTLE
};

static const fl_arg plan_options[] = {
    FL_OPTIONS_RECORDING,
    [NEED_BY] = {"need-by", FL_ARG_TEXT, .is_required = true, .help = "the day: 2027-03-01"},
    [ENCLOSURE] = {"in", FL_ARG_TEXT, .help = "the enclosure it is built in"},
    [USES] = {"uses", FL_ARG_TEXT, .help = "what will live there, beside the enclosure's: a,b"},
    [PLANT] = {"plant", FL_ARG_TEXT, .is_repeatable = true,
               .help = "\"3x Ficus pumila\", or \"3x Ficus pumila from SOURCE\""},
    [MATERIAL] = {"material", FL_ARG_TEXT, .is_repeatable = true,
                  .help = "\"12 l epiphyte\": litres and a recipe or a name"},
    [SIZE] = {"size-mm", FL_ARG_TEXT, .help = "inside: 600x450x450"},
    [SUBSTRATE] = {"substrate-mm", FL_ARG_NUMBER, .min = 1, .max = 2000, .help = "its depth"},
    [DRAINAGE] = {"drainage-mm", FL_ARG_NUMBER, .min = 1, .max = 2000, .help = "its depth"},
    [SETTLE] = {"settle-days", FL_ARG_INT, .min = 0, .max = 365, .fallback = FL_BUILD_SETTLE_DAYS,
                .help = "planted so long before that day"},
};
static const fl_arg done_options[] = {FL_OPTIONS_RECORDING};

/* ---- writing the plan ---- */

/* "3x NAME from SOURCE": the source is looked up, the name becomes the room's plant. */
static fl_status put_plant(fl_call *call, fl_json_writer *w, fl_sv text, fl_err *err)
{
    fl_session *s = call->s;
    fl_lot_spec spec;
    const fl_ev_source_set *source = NULL;
    fl_id plant;
    char id[FL_ID_TEXT_MAX];
    fl_sv what = text;
    for (size_t i = 0; i + 6 < text.len; i++) {
        const fl_sv at = {text.ptr + i, 6};
        if (fl_sv_eq_cstr(at, " from ")) {
            const fl_sv from = {text.ptr + i + 6, text.len - i - 6};
            const fl_status status = fl_room_find_source(&s->room, fl_sv_trim(from), &source, err);
            if (status != FL_OK) {
                return status;
            }
            what.len = i;
            break;
        }
    }
    fl_status status = fl_lot_spec_read(what, &spec, err);
    if (status == FL_OK) {
        status = fl_lot_spec_plant(s, &spec, &plant, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_json_begin_object(w, NULL);
    fl_json_put_int(w, "count", spec.count);
    fl_json_put_text(w, "name", spec.name);
    fl_json_put_cstr(w, "plant", fl_id_format(id, plant));
    if (source != NULL) {
        fl_json_put_cstr(w, "source", fl_id_format(id, source->source));
    }
    fl_json_end(w);
    return FL_OK;
}

/* "12 l NAME". */
static fl_status put_material(fl_json_writer *w, fl_sv text, fl_err *err)
{
    fl_sv rest = fl_sv_trim(text);
    const fl_sv number = fl_sv_split(&rest, ' ');
    const fl_sv unit = fl_sv_split(&rest, ' ');
    const fl_sv name = fl_sv_trim(rest);
    double volume_l = 0.0;
    fl_err inner;
    const bool is_number =
        fl_num_parse_double(number, "litres", &volume_l, &inner) == FL_OK && volume_l > 0.0;
    if (!is_number || !fl_sv_eq_nocase(unit, FL_SV("l")) || name.len == 0) {
        return fl_fail(err, FL_EFORMAT,
                       "--material \"%.*s\": give litres and a name: \"12 l epiphyte\"",
                       FL_SV_ARG(text));
    }
    fl_json_begin_object(w, NULL);
    fl_json_put_text(w, "name", name);
    fl_json_put_number(w, "volume_l", volume_l);
    fl_json_end(w);
    return FL_OK;
}

/* "600x450x450". */
static fl_status put_size(fl_json_writer *w, fl_sv text, fl_err *err)
{
    fl_sv rest = text;
    fl_json_begin_array(w, "size_mm");
    for (int k = 0; k < 3; k++) {
        double side_mm = 0.0;
        fl_err inner;
        const fl_sv part = fl_sv_split(&rest, 'x');
        if (fl_num_parse_double(part, "side", &side_mm, &inner) != FL_OK || !(side_mm > 0.0)) {
            return fl_fail(err, FL_EFORMAT,
                           "--size-mm \"%.*s\": give length, width and height: "
                           "600x450x450",
                           FL_SV_ARG(text));
        }
        fl_json_put_number(w, NULL, side_mm);
    }
    fl_json_end(w);
    return FL_OK;
}

static void put_uses(fl_json_writer *w, unsigned uses)
{
    fl_json_begin_array(w, "uses");
    for (int use = 0; use < FL_USE_COUNT; use++) {
        if ((uses & (1U << use)) != 0) {
            fl_json_put_cstr(w, NULL, fl_words_use[use].word);
        }
    }
    fl_json_end(w);
}

static fl_status put_lists(fl_call *call, fl_json_writer *w, fl_err *err)
{
    const fl_arg_value *value = call->value;
    fl_status status = FL_OK;
    fl_json_begin_array(w, "plants");
    for (size_t i = 0; i < value[PLANT].n_repeats && status == FL_OK; i++) {
        status = put_plant(call, w, value[PLANT].repeats[i], err);
    }
    fl_json_end(w);
    fl_json_begin_array(w, "materials");
    for (size_t i = 0; i < value[MATERIAL].n_repeats && status == FL_OK; i++) {
        status = put_material(w, value[MATERIAL].repeats[i], err);
    }
    fl_json_end(w);
    return status;
}

/* The plan as JSON text in the session's memory. */
static fl_status write_plan(fl_call *call, fl_sv *out, fl_err *err)
{
    const fl_arg_value *value = call->value;
    fl_json_writer *w = fl_json_writer_new();
    fl_str text;
    unsigned uses = 0;
    fl_status status = FL_OK;
    fl_str_init(&text, FL_EVENT_BYTES_MAX);
    fl_json_begin_object(w, NULL);
    if (value[USES].is_given) {
        status = fl_read_mask(value[USES].text, "--uses", fl_words_use, FL_USE_COUNT, &uses, err);
        put_uses(w, uses);
    }
    if (status == FL_OK && value[SIZE].is_given) {
        status = put_size(w, value[SIZE].text, err);
    }
    if (value[SUBSTRATE].is_given) {
        fl_json_put_number(w, "substrate_mm", value[SUBSTRATE].number);
    }
    if (value[DRAINAGE].is_given) {
        fl_json_put_number(w, "drainage_mm", value[DRAINAGE].number);
    }
    fl_json_put_int(w, "settle_days", value[SETTLE].integer);
    if (status == FL_OK) {
        status = put_lists(call, w, err);
    }
    if (status == FL_OK) {
        fl_json_end(w);
        fl_json_write(w, false, &text);
        *out = fl_arena_copy_sv(&call->s->arena, fl_str_sv(&text));
    }
    fl_str_done(&text);
    fl_json_writer_free(w);
    return status;
}

/* ---- the forms ---- */

static const fl_build *build_named(const fl_build *builds, size_t n, fl_sv name)
{
    for (size_t i = 0; i < n; i++) {
        if (fl_sv_eq_nocase(builds[i].body->name, name) ||
            fl_id_is_named(builds[i].body->build, name)) {
            return &builds[i];
        }
    }
    return NULL;
}

static fl_status study(fl_session *s, fl_build_study *out, fl_err *err)
{
    fl_build *builds = NULL;
    size_t n = 0;
    fl_builds_open(&s->room, &s->arena, &builds, &n);
    return fl_build_study_make(&s->room, &s->app, builds, n, &s->arena, out, err);
}

static void print_suits(fl_session *s, const fl_build *build)
{
    fl_suits suits;
    fl_err none;
    if (fl_suits_of_build(&s->room, build, &s->arena, &suits, &none) != FL_OK) {
        return;
    }
    for (size_t i = 0; i < suits.n_kinds; i++) {
        const fl_sv text = fl_say_suits(&suits, &suits.kinds[i], &s->arena);
        (void)printf("  %.*s: %.*s\n", FL_SV_ARG(suits.kinds[i].name), FL_SV_ARG(text));
    }
    if (suits.site.has_animals && suits.n_kinds > 0) {
        (void)printf("  %s\n", fl_suits_note);
    }
}

static void print_build(fl_session *s, const fl_build_outlook *o)
{
    const fl_sv answer = fl_say_build(&s->room, o, &s->arena);
    const fl_sv sum = fl_say_build_sum(o, &s->arena);
    (void)printf("%.*s. %.*s\n", FL_SV_ARG(o->build->body->name), FL_SV_ARG(answer));
    for (size_t i = 0; i < o->n_lines; i++) {
        const fl_sv line = fl_say_build_line(&s->room, &o->lines[i], &s->arena);
        (void)printf("  %.*s\n", FL_SV_ARG(line));
        for (size_t k = 0; o->lines[i].prospect == NULL && k < o->lines[i].n_prospects; k++) {
            const fl_sv way = fl_say_build_way(&o->lines[i].prospects[k], &s->arena);
            (void)printf("    %.*s\n", FL_SV_ARG(way));
        }
    }
    (void)printf("  %.*s\n", FL_SV_ARG(sum));
    print_suits(s, o->build);
}

static fl_status print_study(fl_session *s, fl_err *err)
{
    fl_build_study study_made;
    const fl_status status = study(s, &study_made, err);
    if (status != FL_OK) {
        return status;
    }
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_view_builds(&view, NULL, &study_made);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    for (size_t b = 0; b < study_made.n_builds; b++) {
        print_build(s, &study_made.builds[b]);
    }
    const fl_sv text = fl_say_build_study(&study_made, &s->arena);
    (void)printf("%.*s\n", FL_SV_ARG(text));
    for (int h = 0; h < FL_BUILD_HELP_COUNT; h++) {
        if (study_made.help_late_days[h] >= 0) {
            const fl_sv help = fl_say_build_help(&study_made, (fl_build_help)h, &s->arena);
            (void)printf("  %.*s\n", FL_SV_ARG(help));
        }
    }
    return FL_OK;
}

static fl_status compose_build(fl_call *call, fl_sv plan, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_place_set *enclosure = NULL;
    fl_build *builds = NULL;
    size_t n = 0;
    fl_event *event = NULL;
    fl_status status = FL_OK;
    fl_builds_open(&s->room, &s->arena, &builds, &n);
    if (call->value[ENCLOSURE].is_given) {
        status = fl_room_find_place(&s->room, call->value[ENCLOSURE].text, &enclosure, err);
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_BUILD_PLANNED, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const fl_build *before = build_named(builds, n, call->words[0]);
    fl_ev_build_planned *body = &event->body.build_planned;
    body->build = before != NULL ? before->body->build : fl_compose_id(s);
    body->name = before != NULL ? before->body->name : call->words[0];
    body->enclosure = enclosure != NULL ? enclosure->place
                      : before != NULL  ? before->body->enclosure
                                        : (fl_id){{0}};
    body->need_by = call->value[NEED_BY].text;
    body->plan_json = plan;
    fl_compose_made(s, "build", body->build, body->name);
    return FL_OK;
}

static fl_status plan_build(fl_call *call, fl_err *err)
{
    fl_sv plan;
    fl_status status = write_plan(call, &plan, err);
    if (status == FL_OK) {
        status = compose_build(call, plan, err);
    }
    if (status == FL_OK) {
        status = fl_compose_record(call->s, err);
    }
    if (status == FL_OK && !fl_compose_told(call->s)) {
        status = print_study(call->s, err);
    }
    return status;
}

static fl_status finish_build(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_build *builds = NULL;
    size_t n = 0;
    fl_event *event = NULL;
    fl_builds_open(&s->room, &s->arena, &builds, &n);
    const fl_build *b = build_named(builds, n, call->words[0]);
    if (b == NULL) {
        return fl_fail(err, FL_ENOTFOUND,
                       "no open build is called \"%.*s\": see fernlock build list",
                       FL_SV_ARG(call->words[0]));
    }
    fl_status status = fl_compose(s, FL_KIND_BUILD_PLANNED, &event, err);
    if (status == FL_OK) {
        event->body.build_planned = *b->body;
        event->body.build_planned.plan_json = FL_SV("{\"is_done\":true}");
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        (void)printf("Recorded: %.*s is finished.\n", FL_SV_ARG(call->words[0]));
    }
    return status;
}

static fl_status list_builds(fl_call *call, fl_err *err)
{
    return print_study(call->s, err);
}

static const fl_verb verbs[] = {
    {.name = "plan",
     .usage = "NAME --need-by DATE [--in ENCLOSURE] --plant \"3x NAME\"… [--OPTION VALUE]…",
     .summary = "A new build, or the plan of one anew; then what to start when.",
     .args = FL_VERB_ARGS_WORDS(plan_options, "NAME", 1),
     .words_min = 1,
     .fn = plan_build},
    {.name = "done",
     .usage = "NAME",
     .summary = "It is built, or not wanted any more.",
     .args = FL_VERB_ARGS_WORDS(done_options, "NAME", 1),
     .words_min = 1,
     .fn = finish_build},
    {.name = "list",
     .usage = "",
     .summary = "All open builds, worked backwards from their days.",
     .fn = list_builds},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_build;
const fl_command fl_command_build = {
    .name = "build",
    .rank = 34,
    .summary = "plan enclosures: what to use, cut or buy by when",
    .usage = "plan|done|list [NAME] …",
    .example = "fernlock build plan \"hall tank\" --need-by 2027-05-01 --in \"hall tank\" "
               "--plant \"3x Ficus pumila\"",
    .fn = run,
    .help = help,
};
