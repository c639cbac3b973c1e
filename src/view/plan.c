/* The evening's plan for a lot, and what each place would cost. */
#include <math.h>

#include "view/put.h"
#include "view/recipe.h"

static void put_step(const fl_view *v, const fl_prep_plan *plan, const fl_prep_step *step)
{
    fl_json_writer *w = v->w;
    bool has_dip_reason = step->reason == FL_PREP_DIP;
    fl_json_begin_object(w, NULL);
    fl_put_word(w, "step", "step_text", &fl_words_step[step->step]);
    fl_put_word(w, "agent", "agent_text", &fl_words_agent[step->agent]);
    fl_json_put_number(w, "minutes_low", step->minutes_low);
    fl_json_put_number(w, "minutes_high", step->minutes_high);
    fl_json_put_int(w, "times", step->times);
    fl_json_put_cstr(w, "reason",
                     has_dip_reason ? fl_words_dip_reason[plan->dip.reason].word
                                    : fl_words_prep_reason[step->reason].word);
    fl_json_put_cstr(w, "reason_text",
                     has_dip_reason ? fl_words_dip_reason[plan->dip.reason].text
                                    : fl_words_prep_reason[step->reason].text);
    fl_json_put_bool(w, "is_called_for", step->is_called_for);
    fl_json_end(w);
}

static const fl_word risks[] = {
    [FL_PLANT_RISK_LOW] = {"low", "little risk to the plant"},
    [FL_PLANT_RISK_MODERATE] = {"moderate", "some risk to the plant"},
    [FL_PLANT_RISK_HIGH] = {"high", "much risk to the plant"},
    [FL_PLANT_RISK_NEVER] = {"never", "not to be done to this plant"},
};

static void put_dip(const fl_view *v, const fl_dip_advice *dip)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, "dip");
    fl_put_word(w, "agent", "agent_text", &fl_words_agent[dip->agent]);
    fl_put_word(w, "reason", "reason_text", &fl_words_dip_reason[dip->reason]);
    fl_put_word(w, "risk", "risk_text", &risks[dip->risk]);
    fl_put_text(w, "risk_why", fl_sv_from_cstr(dip->risk_why));
    fl_json_put_bool(w, "is_better_refused", dip->is_better_refused);
    fl_json_put_number(w, "product_pct_by_volume", dip->product_pct_by_volume);
    fl_json_put_number(w, "minutes_low", dip->minutes_low);
    fl_json_put_number(w, "minutes_high", dip->minutes_high);
    fl_json_end(w);
}

void fl_view_plan(const fl_view *v, const char *key, const fl_lot *lot, const fl_prep_plan *plan)
{
    fl_json_writer *w = v->w;
    const char *hands[FL_PREP_HANDS_MAX];
    size_t n_hands = fl_prep_hand_cautions(lot->form, fl_room_plant_row(v->room, lot), hands);
    unsigned agents = plan->dip.agent != FL_AGENT_NONE ? 1U << plan->dip.agent : 0;
    fl_json_begin_object(w, key);
    fl_put_lot_ref(v, "lot", lot);
    fl_put_word(w, "verdict", "verdict_text", &fl_words_prep_verdict[plan->verdict]);
    fl_put_text(w, "verdict_why", fl_sv_from_cstr(plan->verdict_why));
    fl_json_begin_array(w, "steps");
    for (int i = 0; i < plan->n_steps; i++) {
        put_step(v, plan, &plan->steps[i]);
        agents |= 1U << plan->steps[i].agent;
    }
    fl_json_end(w);
    fl_put_text(w, "nothing_text",
                plan->n_steps > 0 ? FL_SV("")
                                  : fl_sv_from_cstr(fl_words_prep_reason[plan->nothing].text));
    put_dip(v, &plan->dip);
    fl_view_cautions_after(w, "cautions", hands, plan->n_steps > 0 ? n_hands : 0, agents);
    fl_json_end(w);
}

/* ---- places ---- */

static void put_price(const fl_view *v, const fl_place_price *p)
{
    fl_json_writer *w = v->w;
    bool is_delayed = p->n_there > 0 && p->their_after_s > p->their_before_s;
    fl_json_begin_object(w, NULL);
    fl_put_place_ref(v, "place", p->place->place);
    fl_json_put_text(w, "text", fl_say_choice(v->room, p, v->arena));
    fl_json_put_bool(w, "is_best", p->is_best);
    fl_json_put_bool(w, "is_free", fl_plan_price_is_free(p));
    fl_json_put_int(w, "lots_there", (int64_t)p->n_there);
    fl_json_put_text(w, "there_text", fl_say_there(p, v->arena));
    fl_put_on(v, "their_before_on", p->their_before_s);
    fl_put_on(v, "their_after_on", p->their_after_s);
    /* null: it costs them all the time that is looked ahead */
    fl_json_put_number(w, "their_delay_days",
                       p->their_after_s == FL_GATE_NEVER && is_delayed ? (double)NAN
                       : is_delayed
                           ? ceil((double)(p->their_after_s - p->their_before_s) / FL_DAY_S)
                           : 0.0);
    fl_put_on(v, "own_on", p->own_s);
    fl_json_put_text(w, "own_text", fl_say_when(v->room, p->own_s, v->arena));
    fl_json_put_text(w, "own_date_text", fl_say_own_date(v->room, p, v->arena));
    fl_put_on(v, "own_sealed_on", p->own_sealed_s);
    fl_put_text(w, "no_date_text", fl_say_no_date(v->room, p, v->arena));
    fl_json_put_bool(w, "is_mixed", p->is_mixed);
    fl_json_put_bool(w, "is_joined", p->joining.is_one);
    if (p->joining.is_one) {
        fl_json_put_cstr(w, "joined_for", fl_words_use[p->joining.use].word);
    } else {
        fl_json_put_null(w, "joined_for");
    }
    fl_json_put_bool(w, "is_fit_to_join", !fl_joining_is_unfit(&p->joining));
    fl_json_put_bool(w, "is_held", p->is_held);
    fl_json_put_bool(w, "is_unclean", p->is_unclean);
    fl_json_put_bool(w, "rots", p->rots);
    fl_put_text(w, "price_text", fl_say_price(v->room, p, v->arena));
    fl_json_end(w);
}

void fl_view_prices(const fl_view *v, const char *key, const fl_place_price *prices, size_t count)
{
    fl_json_begin_object(v->w, key);
    fl_json_begin_array(v->w, "prices");
    for (size_t i = 0; i < count; i++) {
        put_price(v, &prices[i]);
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
}
