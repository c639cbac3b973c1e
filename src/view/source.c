/* The JSON of sources: what came from each, form by form, what it carried, how it turned out. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "view/put.h"
#include "view/words_source.h"

static bool is_bought(const fl_lot *lot, fl_id source)
{
    return lot->origin == FL_KIND_LOT_ARRIVED && fl_id_eq(lot->source, source);
}

/* The first lot of its purchase, in the order of the meaning. */
static bool is_first_of_purchase(const fl_view *v, size_t index)
{
    const fl_lot *lots = v->room->meaning.lots;
    for (size_t k = 0; k < index; k++) {
        if (is_bought(&lots[k], lots[index].source) &&
            fl_id_eq(lots[k].arrival, lots[index].arrival)) {
            return false;
        }
    }
    return true;
}

/* What was paid for a lot, as its arrival says; NAN. */
static double cost_of(const fl_view *v, const fl_lot *lot)
{
    for (size_t i = 0; i < v->room->n_events; i++) {
        const fl_event *event = &v->room->events[i];
        if (fl_id_eq(event->id, lot->born_by) && event->kind == FL_KIND_LOT_ARRIVED) {
            return event->body.lot_arrived.cost;
        }
    }
    return (double)NAN;
}

/* ---- how it turned out ---- */

static bool was_found_on(const fl_view *v, const fl_lot *lot)
{
    for (size_t i = 0; i < v->room->meaning.n_findings; i++) {
        const fl_finding_now *f = &v->room->meaning.findings[i];
        if (fl_id_eq(f->lot, lot->id) && !f->is_retracted) {
            return true;
        }
    }
    return false;
}

static void put_lot(const fl_view *v, const fl_lot *lot)
{
    fl_json_writer *w = v->w;
    fl_phase phase = fl_phase_of(v->room, lot);
    fl_json_begin_object(w, NULL);
    fl_put_lot_ref(v, "lot", lot);
    fl_put_word(w, "form", "form_text", &fl_words_form[lot->form]);
    fl_json_put_int(w, "count_born", lot->count_born);
    fl_json_put_int(w, "count", lot->count);
    fl_json_put_number(w, "cost", cost_of(v, lot));
    fl_put_word(w, "phase", "phase_text", &fl_words_phase[phase]);
    fl_json_put_bool(w, "was_released", !fl_id_is_none(lot->released_by));
    fl_json_begin_array(w, "findings");
    for (size_t i = 0; i < v->room->meaning.n_findings; i++) {
        const fl_finding_now *f = &v->room->meaning.findings[i];
        if (fl_id_eq(f->lot, lot->id) && !f->is_retracted) {
            fl_put_finding(v, f);
        }
    }
    fl_json_end(w);
    fl_json_end(w);
}

static void put_purchases(const fl_view *v, fl_id source)
{
    const fl_meaning *m = &v->room->meaning;
    fl_json_begin_array(v->w, "purchases");
    for (size_t i = 0; i < m->n_lots; i++) {
        if (!is_bought(&m->lots[i], source) || !is_first_of_purchase(v, i)) {
            continue;
        }
        fl_json_begin_object(v->w, NULL);
        fl_put_id(v->w, "arrival_id", m->lots[i].arrival);
        fl_put_at(v->w, "at", m->lots[i].born_s);
        fl_put_on(v, "on", m->lots[i].born_s);
        fl_json_put_text(v->w, "when_text",
                         fl_say_date(v->room, m->lots[i].born_s, m->lots[i].precision, v->arena));
        fl_json_begin_array(v->w, "lots");
        for (size_t k = i; k < m->n_lots; k++) {
            if (is_bought(&m->lots[k], source) &&
                fl_id_eq(m->lots[k].arrival, m->lots[i].arrival)) {
                put_lot(v, &m->lots[k]);
            }
        }
        fl_json_end(v->w);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

/* ---- form by form ---- */

static fl_source_form tally_of(const fl_view *v, fl_id source, fl_form form)
{
    const fl_meaning *m = &v->room->meaning;
    fl_source_form t = {.form = form, .cost = (double)NAN};
    for (size_t i = 0; i < m->n_lots; i++) {
        const fl_lot *lot = &m->lots[i];
        bool is_again = false;
        if (!is_bought(lot, source) || lot->form != form) {
            continue;
        }
        for (size_t k = 0; k < i; k++) {
            is_again = is_again || (is_bought(&m->lots[k], source) && m->lots[k].form == form &&
                                    fl_id_eq(m->lots[k].arrival, lot->arrival));
        }
        double cost = cost_of(v, lot);
        t.lots++;
        t.purchases += is_again ? 0 : 1;
        t.plants += lot->count_born;
        t.found += was_found_on(v, lot) ? 1 : 0;
        t.released += fl_id_is_none(lot->released_by) ? 0 : 1;
        t.gone += lot->is_gone ? 1 : 0;
        if (!isnan(cost)) {
            t.cost = isnan(t.cost) ? cost : t.cost + cost;
        }
    }
    return t;
}

size_t fl_view_source_forms(const fl_view *v, fl_id source, fl_source_form out[FL_FORM_COUNT])
{
    size_t n = 0;
    for (int form = 0; form < FL_FORM_COUNT; form++) {
        out[n] = tally_of(v, source, (fl_form)form);
        n += out[n].lots > 0 ? 1 : 0;
    }
    return n;
}

static void put_forms(const fl_view *v, fl_id source)
{
    fl_json_writer *w = v->w;
    fl_source_form forms[FL_FORM_COUNT];
    const size_t n = fl_view_source_forms(v, source, forms);
    fl_json_begin_array(w, "forms");
    for (size_t i = 0; i < n; i++) {
        fl_json_begin_object(w, NULL);
        fl_put_word(w, "form", "form_text", &fl_words_form[forms[i].form]);
        fl_json_put_int(w, "purchases", forms[i].purchases);
        fl_json_put_int(w, "lots", forms[i].lots);
        fl_json_put_int(w, "plants", forms[i].plants);
        fl_json_put_int(w, "lots_found_on", forms[i].found);
        fl_json_put_int(w, "lots_released", forms[i].released);
        fl_json_put_int(w, "lots_gone", forms[i].gone);
        fl_json_put_number(w, "cost", forms[i].cost);
        fl_json_end(w);
    }
    fl_json_end(w);
}

/* The form that is bought there most often; potted when nothing was. */
static fl_form usual_form(const fl_view *v, fl_id source)
{
    fl_form best = FL_FORM_POTTED;
    int most = 0;
    for (int form = 0; form < FL_FORM_COUNT && !fl_form_is_material((fl_form)form); form++) {
        const fl_source_form t = tally_of(v, source, (fl_form)form);
        best = t.purchases > most ? (fl_form)form : best;
        most = t.purchases > most ? t.purchases : most;
    }
    return best;
}

/* ---- what it carried ---- */

static void put_risk(const fl_view *v, const fl_ev_source_set *source, const fl_source_risk *r)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "threat", r->threat->code);
    fl_json_put_cstr(w, "name", r->threat->name);
    fl_json_put_text(w, "plural", fl_say_plural(r->threat, v->arena));
    fl_json_put_text(w, "text", fl_say_source_risk(source, r, v->arena));
    fl_json_put_int(w, "purchases", r->n_purchases);
    fl_json_put_int(w, "purchases_found", r->n_found);
    fl_json_put_number(w, "purchases_judged", r->judged);
    fl_json_put_number(w, "prob_table", r->table.prob);
    fl_json_put_text(w, "table_text", fl_say_chance(r->table.prob, v->arena));
    fl_json_put_int(w, "purchases_of_kind", r->n_purchases + r->n_of_kind);
    fl_json_put_number(w, "prob_kind", r->kind_mean);
    fl_json_put_text(w, "kind_text", fl_say_chance(r->kind_mean, v->arena));
    fl_json_put_number(w, "prob_next", r->mean);
    fl_json_put_number(w, "prob_next_low", r->low);
    fl_json_put_number(w, "prob_next_high", r->high);
    fl_json_put_text(w, "next_text", fl_say_chance(r->mean, v->arena));
    fl_json_end(w);
}

/* What was found comes first, then what is likeliest. */
static int compare_risks(const void *a, const void *b)
{
    const fl_source_risk *x = a;
    const fl_source_risk *y = b;
    if (x->n_found != y->n_found) {
        return x->n_found > y->n_found ? -1 : 1;
    }
    return x->mean > y->mean ? -1 : x->mean < y->mean ? 1 : 0;
}

fl_status fl_view_source_risks(const fl_view *v, const fl_ev_source_set *source,
                               fl_source_risk **out, size_t *count, fl_err *err)
{
    fl_form form = usual_form(v, source->source);
    size_t n = 0;
    fl_source_risk *risks = FL_ARENA_ARRAY(v->arena, fl_source_risk, fl_know_threat_count());
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *threat = fl_know_threat(i);
        if (threat->class != FL_CLASS_PEST || threat->n_stages == 0) {
            continue;
        }
        fl_status status =
            fl_chances_source_risk(v->chances, source->source, form, threat, &risks[n], err);
        if (status != FL_OK) {
            return status;
        }
        n++;
    }
    if (n > 1) {
        qsort(risks, n, sizeof risks[0], compare_risks);
    }
    *out = risks;
    *count = n;
    return FL_OK;
}

/* ---- the whole ---- */

static void put_members(const fl_view *v, const fl_ev_source_set *source,
                        const fl_source_risk *risks, size_t n)
{
    fl_json_writer *w = v->w;
    const fl_meaning *m = &v->room->meaning;
    int own = fl_gate_own_purchases(v->room);
    int lots = 0;
    char code[FL_CODE_TEXT_MAX];
    for (size_t i = 0; i < m->n_lots; i++) {
        lots += is_bought(&m->lots[i], source->source) ? 1 : 0;
    }
    fl_put_id(w, "id", source->source);
    fl_json_put_cstr(w, "code", fl_id_code(code, source->source));
    fl_json_put_text(w, "name", source->name);
    fl_put_word(w, "kind", "kind_text", &fl_words_source_kind[source->kind]);
    fl_json_put_bool(w, "has_animals_with_plants", source->has_animals_with_plants);
    fl_json_put_int(w, "take_back_days", source->take_back_days);
    fl_json_put_int(w, "lots_bought", lots);
    fl_json_put_int(w, "purchases_counted", n > 0 ? risks[0].n_purchases : 0);
    fl_json_put_int(w, "own_purchases", own);
    fl_json_put_bool(w, "is_mostly_judgement", own < FL_OWN_PURCHASES);
    fl_put_text(w, "judgement_text", fl_say_own_record(own, v->arena));
    fl_json_put_text(w, "text",
                     n > 0 ? fl_say_source_risk(source, &risks[0], v->arena) : FL_SV("-"));
}

fl_status fl_view_source(const fl_view *v, const char *key, const fl_ev_source_set *source,
                         fl_err *err)
{
    fl_source_risk *risks = NULL;
    size_t n = 0;
    fl_status status = fl_view_source_risks(v, source, &risks, &n, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_begin_object(v->w, key);
    put_members(v, source, risks, n);
    fl_put_word(v->w, "usual_form", "usual_form_text",
                &fl_words_form[usual_form(v, source->source)]);
    put_forms(v, source->source);
    fl_json_begin_array(v->w, "threats");
    for (size_t i = 0; i < n; i++) {
        put_risk(v, source, &risks[i]);
    }
    fl_json_end(v->w);
    put_purchases(v, source->source);
    fl_json_end(v->w);
    return FL_OK;
}

fl_status fl_view_sources(const fl_view *v, const char *key, fl_err *err)
{
    fl_status status = FL_OK;
    const fl_def_set *set = &v->room->defs.sources;
    fl_json_begin_object(v->w, key);
    fl_json_begin_array(v->w, "sources");
    for (size_t i = 0; i < set->count && status == FL_OK; i++) {
        const fl_ev_source_set *source = &set->events[i]->body.source_set;
        fl_source_risk *risks = NULL;
        size_t n = 0;
        status = fl_view_source_risks(v, source, &risks, &n, err);
        if (status == FL_OK) {
            fl_json_begin_object(v->w, NULL);
            put_members(v, source, risks, n);
            fl_json_end(v->w);
        }
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
    return status;
}
