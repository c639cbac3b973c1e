/* Lots in a list: what a lot is, where it stands, when it could go, its worst threat. */
#include <stdlib.h>

#include "view/put.h"

/* ---- what a lot is ---- */

static void put_plant(const fl_view *v, const fl_lot *lot)
{
    const fl_ev_plant_set *plant = fl_defs_plant(&v->room->defs, lot->plant);
    const fl_know_plant *row = fl_room_plant_row(v->room, lot);
    if (plant == NULL) {
        fl_json_put_null(v->w, "plant");
        return;
    }
    fl_json_begin_object(v->w, "plant");
    fl_put_id(v->w, "id", plant->plant);
    fl_put_text(v->w, "name", plant->name);
    fl_put_text(v->w, "botanical_name",
                row != NULL ? fl_sv_from_cstr(row->botanical_name) : plant->taxon);
    fl_json_put_bool(v->w, "is_delicate", plant->is_delicate);
    fl_json_put_bool(v->w, "rots_when_closed",
                     plant->rots_when_closed || (row != NULL && row->rots_when_closed));
    fl_json_put_bool(v->w, "is_mother", plant->is_mother);
    fl_json_end(v->w);
}

static void put_source(const fl_view *v, const fl_lot *lot)
{
    const fl_ev_source_set *source = fl_defs_source(&v->room->defs, lot->source);
    if (source == NULL) {
        fl_json_put_null(v->w, "source");
        return;
    }
    fl_json_begin_object(v->w, "source");
    fl_put_id(v->w, "id", source->source);
    fl_put_text(v->w, "name", source->name);
    fl_put_word(v->w, "kind", "kind_text", &fl_words_source_kind[source->kind]);
    fl_json_put_bool(v->w, "has_animals_with_plants", source->has_animals_with_plants);
    fl_json_end(v->w);
}

static void put_arrival(const fl_view *v, const fl_lot *lot)
{
    fl_json_writer *w = v->w;
    fl_put_text(w, "origin", fl_sv_from_cstr(fl_kinds[lot->origin].word));
    fl_put_id(w, "arrival_id", lot->arrival);
    fl_put_at(w, "arrived_at", lot->born_s);
    fl_put_on(v, "arrived_on", lot->born_s);
    fl_json_put_text(w, "arrived_text",
                     fl_say_date(v->room, lot->born_s, lot->precision, v->arena));
}

/* ---- its worst threat, for its own use ---- */

static fl_status put_worst(const fl_view *v, const fl_lot *lot, bool is_mostly_judgement,
                           fl_err *err)
{
    size_t n = 0;
    fl_lot_chance *chances = FL_ARENA_ARRAY(v->arena, fl_lot_chance, fl_know_threat_count());
    const fl_lot_chance *worst = NULL;
    fl_status status = FL_OK;
    if (v->chances != NULL && !lot->is_gone) {
        status = fl_chances_of_lot(v->chances, lot, chances, &n, err);
    }
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        double harm = chances[i].chance * chances[i].threat->weight[lot->use];
        if (!chances[i].is_out_of_reach &&
            (worst == NULL || harm > worst->chance * worst->threat->weight[lot->use])) {
            worst = &chances[i];
        }
    }
    if (worst == NULL) {
        fl_json_put_null(v->w, "worst");
        return status;
    }
    fl_say_threat_args args = {worst->threat, worst->chance, worst->least, worst->most,
                               is_mostly_judgement};
    fl_begin_threat(v, "worst", &args);
    fl_json_end(v->w);
    return status;
}

/* ---- when it could go ---- */

fl_status fl_ask_for_lot(const fl_view *v, const fl_lot *lot, fl_gate_report *out, bool *is_asked,
                         fl_err *err)
{
    fl_phase phase = fl_phase_of(v->room, lot);
    *is_asked = v->chances != NULL && phase != FL_PHASE_GONE && phase != FL_PHASE_ESTABLISHED;
    return *is_asked ? fl_gate_ask(v->chances, v->room, lot, 0, v->arena, out, err) : FL_OK;
}

static void put_opens(const fl_view *v, const fl_gate_report *report)
{
    fl_json_writer *w = v->w;
    if (report == NULL) {
        fl_json_put_null(w, "is_open");
        fl_json_put_null(w, "opens_on");
        fl_json_put_null(w, "opens_text");
        fl_json_put_null(w, "answer_text");
        return;
    }
    fl_json_put_bool(w, "is_open", report->answer.is_open);
    fl_put_on(v, "opens_on", report->answer.earliest_s);
    fl_json_put_text(w, "opens_text", fl_say_when(v->room, report->answer.earliest_s, v->arena));
    fl_json_put_text(w, "answer_text", fl_say_answer(v->room, report, v->arena));
}

fl_status fl_put_lot_members(const fl_view *v, const fl_lot *lot, const fl_gate_report *report,
                             fl_err *err)
{
    fl_json_writer *w = v->w;
    char code[FL_CODE_TEXT_MAX];
    fl_put_id(w, "id", lot->id);
    fl_json_put_cstr(w, "code", fl_id_code(code, lot->id));
    fl_json_put_text(w, "name", fl_room_lot_name(v->room, lot));
    put_plant(v, lot);
    fl_put_place_ref(v, "place", lot->place);
    fl_put_word(w, "phase", "phase_text", &fl_words_phase[fl_phase_of(v->room, lot)]);
    fl_json_put_int(w, "count", lot->count);
    fl_put_word(w, "form", "form_text", &fl_words_form[lot->form]);
    fl_json_put_bool(w, "is_material", fl_form_is_material(lot->form));
    fl_put_word(w, "use", "use_text", &fl_words_use[lot->use]);
    put_source(v, lot);
    put_arrival(v, lot);
    put_opens(v, report);
    return put_worst(v, lot, report != NULL && report->is_mostly_judgement, err);
}

fl_status fl_put_lot_brief(const fl_view *v, const fl_lot *lot, int64_t *opens_s, fl_err *err)
{
    fl_gate_report report;
    bool is_asked = false;
    fl_status status = fl_ask_for_lot(v, lot, &report, &is_asked, err);
    if (status != FL_OK) {
        return status;
    }
    *opens_s = is_asked ? report.answer.earliest_s : v->room->now_s;
    fl_json_begin_object(v->w, NULL);
    status = fl_put_lot_members(v, lot, is_asked ? &report : NULL, err);
    fl_json_end(v->w);
    return status;
}

/* ---- the list ---- */

/* Those that came last first; of one moment by id. */
static int compare_lots(const void *a, const void *b)
{
    const fl_lot *x = *(const fl_lot *const *)a;
    const fl_lot *y = *(const fl_lot *const *)b;
    if (x->born_s != y->born_s) {
        return x->born_s > y->born_s ? -1 : 1;
    }
    return fl_id_compare(x->id, y->id);
}

fl_status fl_view_lots(const fl_view *v, const char *key, fl_view_lots_of which, fl_err *err)
{
    const fl_meaning *m = &v->room->meaning;
    const fl_lot **lots = FL_ARENA_ARRAY(v->arena, const fl_lot *, m->n_lots);
    size_t n = 0;
    int64_t opens_s = 0;
    fl_status status = FL_OK;
    for (size_t i = 0; which.only == NULL && i < m->n_lots; i++) {
        bool fits = fl_id_is_none(which.place) || fl_id_eq(m->lots[i].place, which.place);
        if (fits && (which.has_gone || !m->lots[i].is_gone)) {
            lots[n++] = &m->lots[i];
        }
    }
    if (n > 1) {
        qsort(lots, n, sizeof lots[0], compare_lots);
    }
    const fl_lot *const *shown = which.only != NULL ? which.only : lots;
    n = which.only != NULL ? which.n_only : n;
    fl_json_begin_object(v->w, key);
    fl_json_begin_array(v->w, "lots");
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        status = fl_put_lot_brief(v, shown[i], &opens_s, err);
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
    return status;
}
