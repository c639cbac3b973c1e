/* Builds: what each asks for, by what means and between which days, and what is short. */
#include "view/builds.h"

#include <limits.h>
#include <math.h>

#include "core/mix/mix.h"
#include "view/put.h"
#include "view/suits.h"

static void put_source_ref(const fl_view *v, const char *key, const fl_ev_source_set *source)
{
    if (source == NULL) {
        fl_json_put_null(v->w, key);
        return;
    }
    fl_json_begin_object(v->w, key);
    fl_put_id(v->w, "id", source->source);
    fl_json_put_text(v->w, "name", source->name);
    fl_json_end(v->w);
}

/* One way that was asked of the gate, taken or not. */
static void put_way(const fl_view *v, const fl_build_prospect *p, bool is_taken)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_word(w, "means", "means_text", &fl_words_build_means[p->means]);
    put_source_ref(v, "source", p->source);
    fl_put_lot_ref(v, "mother", p->mother);
    fl_put_word(w, "form", "form_text", &fl_words_form[p->form]);
    if (p->spare < INT_MAX) {
        fl_json_put_int(w, "spare", p->spare);
    } else {
        fl_json_put_null(w, "spare");
    }
    if (p->gate_days > 0) {
        fl_json_put_int(w, "days", p->gate_days);
    } else {
        fl_json_put_null(w, "days");
    }
    fl_json_put_bool(w, "is_taken", is_taken);
    fl_json_put_text(w, "text", fl_say_build_way(p, v->arena));
    fl_json_end(w);
}

static void put_line(const fl_view *v, const fl_build_line *line)
{
    fl_json_writer *w = v->w;
    const fl_build_prospect *p = line->prospect;
    fl_json_begin_object(w, NULL);
    fl_json_put_text(w, "plant", line->item->name);
    fl_json_put_int(w, "count", line->count);
    fl_put_word(w, "means", "means_text", &fl_words_build_means[line->means]);
    fl_put_lot_ref(v, "lot", line->lot);
    fl_put_lot_ref(v, "mother", p != NULL ? p->mother : NULL);
    put_source_ref(v, "source", p != NULL ? p->source : NULL);
    fl_put_place_ref(v, "bin", line->bin != NULL ? line->bin->place : (fl_id){{0}});
    fl_put_on(v, "from_on", line->from_s);
    fl_put_on(v, "by_on", line->by_s);
    fl_put_on(v, "ready_on", line->ready_s);
    fl_json_put_number(w, "sum", line->sum);
    fl_json_put_text(w, "text", fl_say_build_line(v->room, line, v->arena));
    fl_json_begin_array(w, "ways");
    for (size_t k = 0; k < line->n_prospects; k++) {
        put_way(v, &line->prospects[k], &line->prospects[k] == p);
    }
    fl_json_end(w);
    fl_json_end(w);
}

/* A material with what its recipe takes; else the volume alone. */
static void put_material(const fl_view *v, const fl_build_material *m)
{
    fl_json_writer *w = v->w;
    const size_t index = fl_mix_recipe_find(m->name);
    fl_json_begin_object(w, NULL);
    fl_json_put_text(w, "name", m->name);
    fl_json_put_number(w, "volume_l", m->volume_l);
    fl_json_begin_array(w, "parts");
    if (index < fl_mix_recipe_count()) {
        const fl_mix_recipe recipe = fl_mix_recipe_at(index);
        fl_mix_plan plan;
        fl_err none;
        if (fl_mix_plan_of(&recipe, m->volume_l, FL_MIX_YIELD_DEFAULT, &plan, &none) == FL_OK) {
            for (size_t i = 0; i < recipe.n_parts; i++) {
                fl_json_begin_object(w, NULL);
                fl_json_put_cstr(w, "component", recipe.component[i]);
                fl_json_put_number(w, "volume_l", plan.volume_l[i]);
                fl_json_end(w);
            }
        }
    }
    fl_json_end(w);
    fl_json_end(w);
}

/* Litres of a layer of the enclosure's floor; null when a side or the depth is not told. */
static void put_layer(fl_json_writer *w, const char *key, const fl_build *b, double depth_mm)
{
    fl_json_put_number(w, key, b->length_mm * b->width_mm * depth_mm / 1e6);
}

static void put_materials(const fl_view *v, const fl_build *b)
{
    put_layer(v->w, "substrate_l", b, b->substrate_mm);
    put_layer(v->w, "drainage_l", b, b->drainage_mm);
    fl_json_begin_array(v->w, "materials");
    for (size_t i = 0; i < b->n_materials; i++) {
        put_material(v, &b->materials[i]);
    }
    fl_json_end(v->w);
}

/* Which of its plants suit it; a place that cannot be reckoned leaves the list empty. */
static void put_fits(const fl_view *v, const fl_build *b)
{
    fl_suits suits;
    fl_err none;
    if (fl_suits_of_build(v->room, b, v->arena, &suits, &none) == FL_OK) {
        fl_view_suits_kinds(v, "suitability", &suits);
    } else {
        fl_json_begin_array(v->w, "suitability");
        fl_json_end(v->w);
    }
}

static void put_build(const fl_view *v, const fl_build_outlook *o)
{
    fl_json_writer *w = v->w;
    const fl_build *b = o->build;
    char code[FL_CODE_TEXT_MAX];
    fl_json_begin_object(w, NULL);
    fl_put_id(w, "id", b->body->build);
    fl_json_put_cstr(w, "code", fl_id_code(code, b->body->build));
    fl_json_put_text(w, "name", b->body->name);
    fl_put_place_ref(v, "enclosure", b->body->enclosure);
    fl_put_mask(w, "uses", b->uses, fl_words_use, FL_USE_COUNT);
    fl_json_put_text(w, "uses_text", fl_say_uses(b->uses, v->arena));
    fl_put_on(v, "need_by_on", b->need_s);
    fl_json_put_int(w, "settle_days", b->settle_days);
    fl_put_on(v, "plant_by_on", o->plant_s);
    fl_put_on(v, "ready_on", o->ready_s);
    fl_put_on(v, "first_need_on", o->first_need_s);
    fl_json_put_bool(w, "is_met", o->first_need_s <= o->build->need_s);
    fl_json_put_text(w, "text", fl_say_build(v->room, o, v->arena));
    fl_json_put_number(w, "sum", o->sum);
    fl_json_put_text(w, "sum_text", fl_say_build_sum(o, v->arena));
    fl_json_begin_array(w, "lines");
    for (size_t i = 0; i < o->n_lines; i++) {
        put_line(v, &o->lines[i]);
    }
    fl_json_end(w);
    put_materials(v, b);
    put_fits(v, b);
    fl_json_end(w);
}

static void put_bins(const fl_view *v, const fl_build_study *study)
{
    fl_json_begin_array(v->w, "bins");
    for (size_t i = 0; i < study->n_bins; i++) {
        const int64_t free_s = v->room->now_s + (int64_t)study->bin_free_day[i] * FL_DAY_S;
        fl_json_begin_object(v->w, NULL);
        fl_put_place_ref(v, "place", study->bins[i]->place);
        fl_put_on(v, "free_on", free_s);
        fl_json_begin_array(v->w, "fills");
        for (size_t k = 0; k < study->plan.n_cohorts; k++) {
            const fl_build_cohort *c = &study->plan.cohorts[k];
            if (c->bin == (int)i) {
                fl_json_begin_object(v->w, NULL);
                fl_put_on(v, "from_on", v->room->now_s + (int64_t)c->first_day * FL_DAY_S);
                fl_put_on(v, "by_on", v->room->now_s + (int64_t)c->last_day * FL_DAY_S);
                fl_json_put_int(v->w, "days", c->bin_days);
                fl_json_end(v->w);
            }
        }
        fl_json_end(v->w);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

void fl_view_builds(const fl_view *v, const char *key, const fl_build_study *study)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, key);
    fl_json_begin_array(w, "builds");
    for (size_t b = 0; b < study->n_builds; b++) {
        put_build(v, &study->builds[b]);
    }
    fl_json_end(w);
    fl_json_put_int(w, "late_days", study->plan.late_days);
    fl_json_put_int(w, "bound_late_days", study->plan.bound);
    fl_json_put_text(w, "text", fl_say_build_study(study, v->arena));
    put_bins(v, study);
    fl_json_put_int(w, "bins_not_free", (int64_t)study->n_bins_shut);
    fl_json_begin_array(w, "helps");
    for (int h = 0; h < FL_BUILD_HELP_COUNT; h++) {
        if (study->help_late_days[h] >= 0) {
            fl_json_begin_object(w, NULL);
            fl_put_word(w, "help", "help_text", &fl_words_build_help[h]);
            fl_json_put_int(w, "late_days", study->help_late_days[h]);
            fl_json_put_text(w, "text", fl_say_build_help(study, (fl_build_help)h, v->arena));
            fl_json_end(w);
        }
    }
    fl_json_end(w);
    fl_json_end(w);
}
