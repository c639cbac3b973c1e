/* `show source`, `show plant`, `show threat`, `show threats`. */
#include <math.h>

#include "base/num.h"
#include "base/shown.h"
#include "cli/answer.h"
#include "cli/show.h"
#include "cli/unknown.h"
#include "core/develop/develop.h"
#include "view/words.h"
#include "view/words_source.h"

/* ---- sources and plants ---- */

/* The lots that fit, and how many there were. */
static void print_lots_where(fl_session *s, fl_id id, bool is_source)
{
    size_t n = 0;
    for (size_t i = 0; i < s->room.meaning.n_lots; i++) {
        const fl_lot *lot = &s->room.meaning.lots[i];
        if (fl_id_eq(is_source ? lot->source : lot->plant, id)) {
            fl_sv date = fl_say_civil(&s->room, lot->born_s, &s->arena);
            (void)printf("  %.*s  ", FL_SV_ARG(date));
            fl_print_lot(s, lot);
            (void)fputc('\n', stdout);
            n++;
        }
    }
    if (n == 0) {
        (void)puts("  no lots");
    }
}

static void put_lots_where(fl_session *s, fl_json_writer *w, fl_id id, bool is_source)
{
    char text[FL_ID_TEXT_MAX];
    fl_json_begin_array(w, "lots");
    for (size_t i = 0; i < s->room.meaning.n_lots; i++) {
        const fl_lot *lot = &s->room.meaning.lots[i];
        if (fl_id_eq(is_source ? lot->source : lot->plant, id)) {
            fl_json_put_cstr(w, NULL, fl_id_format(text, lot->id));
        }
    }
    fl_json_end(w);
}

static fl_status print_source_json(fl_session *s, const fl_ev_source_set *source, fl_err *err)
{
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_status status = fl_view_source(&view, NULL, source, err);
    if (status == FL_OK) {
        fl_print_json(w);
    }
    fl_json_writer_free(w);
    return status;
}

#define RISKS_SHOWN 6

static fl_status print_risks(fl_session *s, const fl_ev_source_set *source, fl_err *err)
{
    fl_source_risk *risks = NULL;
    size_t n = 0;
    const fl_view view = fl_session_view(s, NULL);
    fl_status status = fl_view_source_risks(&view, source, &risks, &n, err);
    if (status != FL_OK) {
        return status;
    }
    (void)puts("What it has taught:");
    for (size_t i = 0; i < n && i < RISKS_SHOWN; i++) {
        fl_sv text = fl_say_source_risk(source, &risks[i], &s->arena);
        (void)printf("  %.*s\n", FL_SV_ARG(text));
    }
    fl_sv judgement = fl_say_own_record(fl_gate_own_purchases(&s->room), &s->arena);
    (void)printf("%.*s%s", FL_SV_ARG(judgement), judgement.len > 0 ? "\n" : "");
    return FL_OK;
}

/* A line a form: what came, what it cost, how it turned out. */
static void print_forms(fl_session *s, fl_id source)
{
    fl_source_form forms[FL_FORM_COUNT];
    const fl_view view = fl_session_view(s, NULL);
    const size_t n = fl_view_source_forms(&view, source, forms);
    if (n > 0) {
        (void)puts("Form by form:");
    }
    for (size_t i = 0; i < n; i++) {
        const fl_source_form *f = &forms[i];
        (void)printf("  %s: %lld plant%s in %d lot%s, %d purchase%s", fl_words_form[f->form].text,
                     (long long)f->plants, f->plants == 1 ? "" : "s", f->lots,
                     f->lots == 1 ? "" : "s", f->purchases, f->purchases == 1 ? "" : "s");
        if (!isnan(f->cost)) {
            (void)printf(", cost %.2f in all", f->cost);
        }
        (void)printf("; something found on %d, released %d, gone %d\n", f->found, f->released,
                     f->gone);
    }
}

fl_status fl_show_source(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_source_set *source = NULL;
    fl_status status = fl_room_find_source(&s->room, call->words[0], &source, err);
    if (status == FL_OK) {
        status = fl_session_chances(s, err);
    }
    if (status != FL_OK || s->cli->is_json) {
        return status == FL_OK ? print_source_json(s, source, err) : status;
    }
    fl_sv code = fl_code_of(s, source->source);
    (void)printf("%.*s (%.*s), %s%s\n", FL_SV_ARG(source->name), FL_SV_ARG(code),
                 fl_words_source_kind[source->kind].text,
                 source->has_animals_with_plants ? ", keeps animals with the plants" : "");
    status = print_risks(s, source, err);
    if (status == FL_OK) {
        print_forms(s, source->source);
    }
    (void)puts("What came from it:");
    print_lots_where(s, source->source, true);
    return status;
}

static void print_plant_row(const fl_know_plant *row)
{
    if (row == NULL) {
        (void)puts("It is not in the plant table: usual care is assumed.");
        return;
    }
    (void)printf("%s (%s), %s; %s\n", row->botanical_name, row->common_name, row->family,
                 row->growth_form);
    (void)printf("Light %s, humidity %s; propagation: %s\n", row->light_class, row->humidity_class,
                 row->propagation);
    if (row->delicate_reason[0] != '\0') {
        (void)printf("Delicate (%s): %s\n", row->delicate_flag, row->delicate_reason);
    }
    if (row->rots_when_closed) {
        (void)puts("It rots in a closed box: an open spot instead.");
    }
    (void)printf("Confidence of these figures: %s\n", row->confidence);
}

static void print_plant_json(fl_session *s, const fl_ev_plant_set *plant, const fl_know_plant *row)
{
    char text[FL_ID_TEXT_MAX];
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "id", fl_id_format(text, plant->plant));
    fl_json_put_text(w, "code", fl_code_of(s, plant->plant));
    fl_json_put_text(w, "name", plant->name);
    fl_json_put_text(w, "taxon", plant->taxon);
    fl_json_put_bool(w, "is_delicate", plant->is_delicate);
    fl_json_put_bool(w, "rots_when_closed", plant->rots_when_closed);
    fl_json_put_bool(w, "is_mother", plant->is_mother);
    fl_json_put_cstr(w, "table_row", row != NULL ? row->code : "");
    put_lots_where(s, w, plant->plant, false);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

fl_status fl_show_plant(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_plant_set *plant = NULL;
    fl_status status = fl_room_find_plant(&s->room, call->words[0], &plant, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_know_plant *row =
        fl_know_plant_find(plant->taxon.len > 0 ? plant->taxon : plant->name);
    if (s->cli->is_json) {
        print_plant_json(s, plant, row);
        return FL_OK;
    }
    fl_sv code = fl_code_of(s, plant->plant);
    (void)printf("%.*s (%.*s)%s%s%s\n", FL_SV_ARG(plant->name), FL_SV_ARG(code),
                 plant->is_mother ? ", kept for cuttings" : "",
                 plant->is_delicate ? ", delicate" : "",
                 plant->rots_when_closed ? ", rots when closed" : "");
    print_plant_row(row);
    print_lots_where(s, plant->plant, false);
    return FL_OK;
}

/* ---- threats ---- */

static const char *code_at(size_t index)
{
    return fl_know_threat(index)->code;
}

static const char *const classes[] = {"pest", "stowaway", "pathogen"};

/* At this temperature the stages of a threat are told. */
#define TOLD_AT_C 21.0

/* Mean days of a stage at that temperature; infinite where it does not develop. */
static double stage_days(const fl_stage_model *model, int stage)
{
    double rate = fl_develop_rate_per_day(&model->stage[stage], TOLD_AT_C);
    return rate > 0.0 ? 1.0 / rate : HUGE_VAL;
}

static const char *days_text(char *buffer, size_t size, const fl_threat *threat, int stage)
{
    char fast[FL_NUM_TEXT_MAX];
    char slow[FL_NUM_TEXT_MAX];
    double days_fast = stage_days(&threat->fast, stage);
    double days_slow = stage_days(&threat->slow, stage);
    if (!isfinite(days_fast) || !isfinite(days_slow)) {
        (void)snprintf(buffer, size, "does not end");
    } else {
        (void)snprintf(buffer, size, "%s to %s days", fl_num_format(fast, days_fast, 2),
                       fl_num_format(slow, days_slow, 2));
    }
    return buffer;
}

static void print_threat(const fl_threat *threat)
{
    static const char *const where[FL_WHERE_COUNT] = {
        "plain to see", "needs a lens", "at the roots or in the mix", "hidden, never seen"};
    char days[80];
    (void)printf("%s: %s, %s (%s)\n", threat->code, threat->name, threat->latin,
                 classes[threat->class]);
    (void)printf("Where to look: %s\nWhat it does: %s\n", threat->look_where, threat->harm);
    for (int i = 0; i < threat->n_stages; i++) {
        (void)printf("  %-10s %-20s %s\n", threat->stage[i].name,
                     i + 1 < threat->n_stages ? days_text(days, sizeof days, threat, i) : "breeds",
                     where[threat->stage[i].where]);
    }
    if (threat->n_stages > 0) {
        (void)printf("Days at %.0f °C, fast to slow.\n", TOLD_AT_C);
    }
    if (threat->is_out_of_reach) {
        (void)puts("Out of reach: no look or treatment here shows or lowers it.");
    }
}

static void put_threat(fl_json_writer *w, const fl_threat *threat)
{
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "code", threat->code);
    fl_json_put_cstr(w, "name", threat->name);
    fl_json_put_cstr(w, "latin", threat->latin);
    fl_json_put_cstr(w, "class", classes[threat->class]);
    fl_json_put_bool(w, "is_mobile", threat->is_mobile);
    fl_json_put_bool(w, "is_out_of_reach", threat->is_out_of_reach);
    fl_json_put_cstr(w, "look_where", threat->look_where);
    fl_json_put_cstr(w, "harm", threat->harm);
    fl_json_begin_array(w, "stages");
    for (int i = 0; i < threat->n_stages; i++) {
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "name", threat->stage[i].name);
        bool is_timed = i + 1 < threat->n_stages;
        fl_json_put_number(w, "days_fast_at_21_c",
                           is_timed ? stage_days(&threat->fast, i) : (double)NAN);
        fl_json_put_number(w, "days_slow_at_21_c",
                           is_timed ? stage_days(&threat->slow, i) : (double)NAN);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
}

static void print_lookalike(const fl_know_lookalike *l)
{
    (void)printf("%s: %s, no threat; looks like %s. %s\n", l->code, l->name, l->looks_like, l->cue);
}

fl_status fl_show_threat(fl_call *call, fl_err *err)
{
    const fl_threat *threat = fl_know_threat_find(call->words[0]);
    for (size_t i = 0; i < fl_know_lookalike_count() && threat == NULL; i++) {
        const fl_know_lookalike *l = fl_know_lookalike_at(i);
        if (fl_sv_eq_cstr(call->words[0], l->code) && !call->s->cli->is_json) {
            print_lookalike(l);
            return FL_OK;
        }
    }
    if (threat == NULL) {
        return fl_cli_unknown(err, "threat", call->words[0], code_at, fl_know_threat_count());
    }
    if (!call->s->cli->is_json) {
        print_threat(threat);
        return FL_OK;
    }
    fl_json_writer *w = fl_json_writer_new();
    put_threat(w, threat);
    fl_print_json(w);
    fl_json_writer_free(w);
    return FL_OK;
}

static void print_threats_json(void)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_begin_array(w, "threats");
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        put_threat(w, fl_know_threat(i));
    }
    fl_json_end(w);
    fl_json_begin_array(w, "look_alikes");
    for (size_t i = 0; i < fl_know_lookalike_count(); i++) {
        const fl_know_lookalike *l = fl_know_lookalike_at(i);
        fl_json_begin_object(w, NULL);
        fl_json_put_cstr(w, "code", l->code);
        fl_json_put_cstr(w, "name", l->name);
        fl_json_put_cstr(w, "looks_like", l->looks_like);
        fl_json_put_cstr(w, "cue", l->cue);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

fl_status fl_show_threats(fl_call *call, fl_err *err)
{
    (void)err;
    if (call->s->cli->is_json) {
        print_threats_json();
        return FL_OK;
    }
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *threat = fl_know_threat(i);
        (void)printf("  %-24s %s (%s)\n", threat->code, threat->name, classes[threat->class]);
    }
    (void)puts("Looks like one, and is none:");
    for (size_t i = 0; i < fl_know_lookalike_count(); i++) {
        const fl_know_lookalike *l = fl_know_lookalike_at(i);
        (void)printf("  %-24s %s\n", l->code, l->name);
    }
    return FL_OK;
}
