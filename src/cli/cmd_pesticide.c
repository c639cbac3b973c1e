/* The pesticide record: a treatment written down with what rules ask for; the record of a span of
 * dates, as a list or as CSV. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/files.h"
#include "cli/compose.h"
#include "view/pesticides.h"

/* ---- add ---- */

enum {
    ACTIVE = FL_OPTION_FIRST,
    HOW,
    BRAND,
    REGISTRATION,
    AMOUNT_G,
    AMOUNT_ML,
    RATE_G_L,
    RATE_ML_L,
    RATE_G_M2,
    RATE_ML_M2,
    AREA_M2,
    SPACE_M3,
    UNITS,
    EPPO,
    STAGE,
    SITE,
    OPERATOR,
    CERTIFICATE,
    AGAINST,
    REENTRY_H,
    HARVEST_D
};

#define QUANTITY FL_ARG_NUMBER, .min = 1e-9, .max = 1e6

static const fl_arg add_options[] = {
    FL_OPTIONS_RECORDING,
    [ACTIVE] = {"active", FL_ARG_TEXT, .is_required = true,
                .help = "the active ingredient: spinosad, imidacloprid …; what it leaves behind "
                        "is reckoned from it"},
    [HOW] = {"how", FL_ARG_TEXT, .choices = "soak|dip",
             .help = "soak: sprayed or watered on, the default; dip: plunged into it"},
    [BRAND] = {"brand", FL_ARG_TEXT, .help = "the product's name on the label"},
    [REGISTRATION] = {"registration", FL_ARG_TEXT,
                      .help = "its authorisation or registration number"},
    [AMOUNT_G] = {"amount-g", QUANTITY, .help = "of product used in all, before water, in g"},
    [AMOUNT_ML] = {"amount-ml", QUANTITY, .help = "the same in mL"},
    [RATE_G_L] = {"rate-g-per-l", QUANTITY, .help = "of product in the spray, in g/L"},
    [RATE_ML_L] = {"rate-ml-per-l", QUANTITY, .help = "the same in mL/L"},
    [RATE_G_M2] = {"rate-g-per-m2", QUANTITY, .help = "of product on the area; 1 is 10 kg/ha"},
    [RATE_ML_M2] = {"rate-ml-per-m2", QUANTITY, .help = "the same in mL/m2; 1 is 10 L/ha"},
    [AREA_M2] = {"area-m2", QUANTITY, .help = "the area treated"},
    [SPACE_M3] = {"space-m3", QUANTITY, .help = "the closed room treated"},
    [UNITS] = {"units", FL_ARG_INT, .min = 1, .max = 1000000,
               .help = "plants treated; else all that the lots hold now"},
    [EPPO] = {"eppo-code", FL_ARG_TEXT, .help = "of the crop"},
    [STAGE] = {"growth-stage", FL_ARG_TEXT, .help = "of the crop: \"BBCH 15\""},
    [SITE] = {"site", FL_ARG_TEXT, .help = "where, as an authority would find it"},
    [OPERATOR] = {"operator", FL_ARG_TEXT, .help = "who applied it, or supervised"},
    [CERTIFICATE] = {"operator-number", FL_ARG_TEXT, .help = "the number of the certificate"},
    [AGAINST] = {"against", FL_ARG_TEXT, .help = "what it was for: \"thrips\""},
    [REENTRY_H] = {"reentry-h", QUANTITY, .help = "keep out for so many hours, as the label says"},
    [HARVEST_D] = {"harvest-d", QUANTITY, .help = "days before anything is picked to eat"},
};

static fl_ev_step *empty_step(fl_session *s)
{
    fl_ev_step *step = FL_ARENA_NEW(&s->arena, fl_ev_step);
    const double untold = (double)NAN;
    *step = (fl_ev_step){.agent = FL_AGENT_PESTICIDE,
                         .dose_mg_per_l = untold,
                         .pct = untold,
                         .temp_c = untold,
                         .minutes = untold};
    return step;
}

static void read_step(const fl_arg_value *value, fl_ev_step *step)
{
    step->step = value[HOW].choice == 1 ? FL_STEP_DIP : FL_STEP_SOAK;
    step->product = value[ACTIVE].text;
    step->brand = value[BRAND].text;
    step->registration = value[REGISTRATION].text;
    step->amount_g = value[AMOUNT_G].number;
    step->amount_ml = value[AMOUNT_ML].number;
    step->rate_g_per_l = value[RATE_G_L].number;
    step->rate_ml_per_l = value[RATE_ML_L].number;
    step->rate_g_per_m2 = value[RATE_G_M2].number;
    step->rate_ml_per_m2 = value[RATE_ML_M2].number;
    step->area_m2 = value[AREA_M2].number;
    step->space_m3 = value[SPACE_M3].number;
    step->eppo_code = value[EPPO].text;
    step->growth_stage = value[STAGE].text;
    step->site = value[SITE].text;
    step->operator_name = value[OPERATOR].text;
    step->operator_number = value[CERTIFICATE].text;
    step->reason = value[AGAINST].text;
    step->reentry_h = value[REENTRY_H].number;
    step->harvest_d = value[HARVEST_D].number;
}

static void tell_missing(fl_session *s, const fl_pesticide_entry *entry)
{
    for (size_t r = 0; r < FL_RECORD_RULES; r++) {
        const fl_record_rule *rule = &fl_record_rules[r];
        const fl_sv missing = fl_say_record_missing(entry, rule, &s->arena);
        const fl_sv maybe = fl_say_record_missing_if(entry, rule, &s->arena);
        if (missing.len > 0) {
            (void)printf("  %s asks besides for: %.*s\n", rule->brief, FL_SV_ARG(missing));
        }
        if (maybe.len > 0) {
            (void)printf("  %s asks of some for: %.*s\n", rule->brief, FL_SV_ARG(maybe));
        }
    }
}

static fl_status add(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_lot **lots = NULL;
    size_t n = 0;
    int64_t units = 0;
    fl_event *event = NULL;
    fl_status status = fl_read_lots(call, 0, &lots, &n, err);
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_STEP_DONE, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_step *step = empty_step(s);
    read_step(call->value, step);
    step->lots = fl_lot_ids(s, lots, n);
    for (size_t i = 0; i < n; i++) {
        units += lots[i]->count;
    }
    step->units = call->value[UNITS].is_given ? call->value[UNITS].integer : units;
    event->body.step_done = (fl_ev_step_done){.steps = step, .n_steps = 1};
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        const fl_pesticide_entry entry = {
            .event = event, .step = step, .has = fl_record_has(step, event->precision)};
        (void)printf("Recorded: %.*s on %zu lot%s, %lld plants.\n",
                     FL_SV_ARG(step->brand.len > 0 ? step->brand : step->product), n,
                     n == 1 ? "" : "s", (long long)step->units);
        tell_missing(s, &entry);
        (void)puts("The label comes first: its dose, its clothing, its waiting times.");
    }
    return status;
}

/* ---- the record ---- */

enum { FROM, TO, OUT };

static const fl_arg list_options[] = {
    [FROM] = {"from", FL_ARG_TEXT, .help = "the first day: 2026-01-01"},
    [TO] = {"to", FL_ARG_TEXT, .help = "the last day"},
};
static const fl_arg csv_options[] = {
    [FROM] = {"from", FL_ARG_TEXT, .help = "the first day: 2026-01-01"},
    [TO] = {"to", FL_ARG_TEXT, .help = "the last day"},
    [OUT] = {"out", FL_ARG_TEXT, .is_required = true,
             .help = "the CSV's file; - is standard output. A file that is there is replaced"},
};

static fl_status read_record(fl_call *call, fl_pesticides *record, fl_err *err)
{
    fl_session *s = call->s;
    int64_t from_s = INT64_MIN;
    int64_t to_s = FL_TIME_OPEN;
    fl_status status = fl_pesticides_span(&s->room, call->value[FROM].text, call->value[TO].text,
                                          &from_s, &to_s, err);
    if (status == FL_OK) {
        fl_pesticides_list(&s->room, from_s, to_s, &s->arena, record);
    }
    return status;
}

static void print_told(const char *what, fl_sv text)
{
    if (text.len > 0) {
        (void)printf("  %s: %.*s\n", what, FL_SV_ARG(text));
    }
}

static void print_entry(fl_session *s, const fl_pesticide_entry *e)
{
    const fl_ev_step *step = e->step;
    const fl_sv when = fl_say_record_when(&s->room, e, &s->arena);
    (void)printf("%.*s: %.*s%s%.*s%s\n", FL_SV_ARG(when),
                 FL_SV_ARG(step->brand.len > 0 ? step->brand : FL_SV("a product without a name")),
                 step->product.len > 0 ? " (" : "", FL_SV_ARG(step->product),
                 step->product.len > 0 ? ")" : "");
    print_told("number", step->registration);
    print_told("dose", fl_pesticides_rate(step, &s->arena));
    print_told("in all", fl_pesticides_amount(step, &s->arena));
    print_told("on", fl_pesticides_size(step, &s->arena));
    print_told("crop", e->crop);
    print_told("EPPO code", step->eppo_code);
    print_told("growth stage", step->growth_stage);
    print_told("stood in", e->places);
    print_told("where", step->site);
    print_told("by", step->operator_name);
    print_told("certificate", step->operator_number);
    print_told("against", step->reason);
    tell_missing(s, e);
}

static void print_record(fl_session *s, const fl_pesticides *record)
{
    for (size_t i = 0; i < record->n_entries; i++) {
        print_entry(s, &record->entries[i]);
    }
    if (record->n_entries == 0) {
        (void)puts("No pesticide is on record in these days.");
    }
    for (size_t r = 0; r < FL_RECORD_RULES; r++) {
        const fl_sv keep = fl_say_record_keep(&fl_record_rules[r], &s->arena);
        (void)printf("%.*s\n", FL_SV_ARG(keep));
    }
    (void)puts(FL_PESTICIDES_NOTICE);
}

static fl_status list(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_pesticides record;
    fl_status status = read_record(call, &record, err);
    if (status != FL_OK) {
        return status;
    }
    if (!s->cli->is_json) {
        print_record(s, &record);
        return FL_OK;
    }
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_view_pesticides(&view, NULL, &record);
    fl_print_json(w);
    fl_json_writer_free(w);
    return FL_OK;
}

static void tell_file(const fl_session *s, const char *file, size_t n)
{
    if (!s->cli->is_json) {
        (void)printf("%s: %zu %s.\n%s\n", file, n, n == 1 ? "entry" : "entries",
                     FL_PESTICIDES_NOTICE);
        return;
    }
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "file", file);
    fl_json_put_int(w, "entries", (int64_t)n);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

static fl_status csv(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_pesticides record;
    fl_csv_out out;
    const char *file = fl_arena_copy_sv(&s->arena, call->value[OUT].text).ptr;
    fl_status status = read_record(call, &record, err);
    if (status != FL_OK) {
        return status;
    }
    fl_csv_out_init(&out, FL_PESTICIDES_COLUMNS);
    fl_pesticides_csv(&s->room, &record, &out);
    status = fl_files_write(file, fl_str_sv(&out.text), true, err);
    if (status == FL_OK && strcmp(file, "-") != 0) {
        tell_file(s, file, record.n_entries);
    }
    fl_csv_out_done(&out);
    return status;
}

static const fl_verb verbs[] = {
    {.name = "add",
     .usage = "LOT… --active NAME [--brand NAME] [--registration NO] [--amount-ml N] …",
     .summary = "Writes a treatment down; says what rules would ask besides.",
     .args = FL_VERB_ARGS_WORDS(add_options, "LOT", FL_WORDS_MAX),
     .words_min = 1,
     .fn = add},
    {.name = "csv",
     .usage = "--out FILE.csv [--from DATE] [--to DATE]",
     .summary = "The record as CSV, which machines read.",
     .args = FL_VERB_ARGS(csv_options),
     .fn = csv},
    {.usage = "[--from DATE] [--to DATE]",
     .summary = "The record: what was used when, where, on what, by whom, and what is missing.",
     .args = FL_VERB_ARGS(list_options),
     .fn = list},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_pesticide;
const fl_command fl_command_pesticide = {
    .name = "pesticide",
    .rank = 44,
    .summary = "the record of pesticides a grower must keep",
    .usage = "[--from DATE] [--to DATE] | add LOT… --active NAME … | csv --out FILE",
    .example = "fernlock pesticide add pilea --active spinosad --brand \"Example SC\" "
               "--registration 012345-00 --amount-ml 1.5 --operator \"M. Keeper\"",
    .fn = run,
    .help = help,
};
