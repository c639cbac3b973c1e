/* Tonight at the sink, on paper that may get wet. */
#include <math.h>

#include "app/evening.h"
#include "app/plans.h"
#include "app/today.h"
#include "print/cautions.h"
#include "print/sheet.h"
#include "view/evening.h"
#include "view/words.h"

typedef struct evening {
    const fl_print_sheet *sheet;
    const fl_lot **lots;
    fl_prep_plan *plans;
    size_t n_lots;
    unsigned agents;
    bool has_mix;
    fl_bleach_mix mix;
    fl_doc *doc;
    fl_arena *arena;
} evening;

static void gather(evening *e)
{
    const fl_room *room = e->sheet->room;
    e->lots = FL_ARENA_ARRAY(e->arena, const fl_lot *, room->meaning.n_lots);
    e->plans = FL_ARENA_ARRAY(e->arena, fl_prep_plan, room->meaning.n_lots);
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        if (fl_phase_of(room, lot) != FL_PHASE_ARRIVED) {
            continue;
        }
        fl_plan_for_lot(room, lot, &e->plans[e->n_lots]);
        for (int k = 0; k < e->plans[e->n_lots].n_steps; k++) {
            e->agents |= 1U << e->plans[e->n_lots].steps[k].agent;
        }
        e->lots[e->n_lots++] = lot;
    }
    e->agents &= ~(1U << FL_AGENT_NONE);
}

static void put_cautions(evening *e)
{
    const char *texts[FL_PRINT_CAUTIONS_MAX];
    unsigned occasions = e->has_mix ? fl_print_bleach_occasions(&e->mix) : 0;
    size_t n = fl_print_cautions(e->agents, occasions, texts);
    if (n == 0) {
        return;
    }
    fl_doc_heading(e->doc, FL_SV("Before you begin"));
    for (size_t i = 0; i < n; i++) {
        fl_doc_caution(e->doc, fl_sv_from_cstr(texts[i]));
    }
    fl_doc_small(e->doc,
                 FL_SV("The products' own labels and your local rules come first. If something "
                       "goes wrong: the product's label and your local poison centre."));
}

static void put_mix(evening *e, double tub_ml)
{
    if ((e->agents & (1U << FL_AGENT_BLEACH)) == 0) {
        return;
    }
    fl_doc_heading(e->doc, FL_SV("What to mix"));
    if (!e->has_mix) {
        fl_doc_para(e->doc, FL_SV("A bleach dip is planned and no bottle is recorded: record one, "
                                  "or print again with the strength on its label."));
        return;
    }
    fl_doc_tick(e->doc,
                fl_arena_printf(e->arena,
                                "Dip, %.0f ml: %.0f ml of bleach, then %.0f ml of water. About "
                                "%.0f mg/L of chlorine (%.0f to %.0f). Mix it fresh; use it within "
                                "the hour.",
                                tub_ml, e->mix.product_ml, e->mix.water_ml,
                                e->mix.chlorine_mg_per_l, e->mix.chlorine_low_mg_per_l,
                                e->mix.chlorine_high_mg_per_l),
                FL_SV(""));
    if (e->mix.strength.should_replace) {
        fl_doc_caution(e->doc, FL_SV("This bottle is old: what is left of it is uncertain. A fresh "
                                     "bottle or a test strip is better."));
    }
}

static fl_sv say_step(const evening *e, const fl_prep_plan *plan, const fl_prep_step *step)
{
    const char *why = step->reason == FL_PREP_DIP ? fl_words_dip_reason[plan->dip.reason].text
                                                  : fl_words_prep_reason[step->reason].text;
    fl_sv times = step->times > 1
                      ? fl_arena_printf(e->arena, ", %d times in fresh water", step->times)
                      : FL_SV("");
    bool has_agent = step->agent != FL_AGENT_NONE;
    return fl_arena_printf(
        e->arena, "%s%s%s%.*s. %s", fl_words_step[step->step].text, has_agent ? " in " : "",
        has_agent ? fl_words_agent[step->agent].text : "", FL_SV_ARG(times), why);
}

static void put_lot(evening *e, const fl_lot *lot, const fl_prep_plan *plan)
{
    fl_sv name = fl_print_sheet_lot_name(e->sheet->room, lot, e->arena);
    fl_sv use = fl_say_uses(1U << lot->use, e->arena);
    fl_doc_subheading(e->doc, fl_arena_printf(e->arena, "%.*s, %lld %s, for %.*s", FL_SV_ARG(name),
                                              (long long)lot->count, fl_words_form[lot->form].text,
                                              FL_SV_ARG(use)));
    if (plan->verdict != FL_PREP_GO) {
        fl_doc_caution(e->doc, fl_arena_printf(e->arena, "%s. %s",
                                               fl_words_prep_verdict[plan->verdict].text,
                                               plan->verdict_why));
    }
    const char *hands[FL_PREP_HANDS_MAX];
    size_t n_hands =
        fl_prep_hand_cautions(lot->form, fl_room_plant_row(e->sheet->room, lot), hands);
    for (size_t i = 0; i < n_hands && plan->n_steps > 0; i++) {
        fl_doc_caution(e->doc, fl_sv_from_cstr(hands[i]));
    }
    for (int i = 0; i < plan->n_steps; i++) {
        const fl_prep_step *step = &plan->steps[i];
        fl_doc_tick(
            e->doc, say_step(e, plan, step),
            fl_arena_printf(e->arena, "%.0f to %.0f min", step->minutes_low, step->minutes_high));
    }
    if (plan->n_steps == 0) {
        fl_doc_para(e->doc, fl_sv_from_cstr(fl_words_prep_reason[plan->nothing].text));
    }
    if (plan->dip.agent == FL_AGENT_NONE) {
        fl_doc_small(e->doc, fl_arena_printf(e->arena, "No dip. %s",
                                             fl_words_dip_reason[plan->dip.reason].text));
    }
}

static bool is_same_purchase(const fl_lot *a, const fl_lot *b)
{
    return fl_id_eq(a->arrival, b->arrival) && fl_id_eq(a->source, b->source);
}

/* The worst that it could carry: purchases go in the order of that, the cleaner first. */
static double risk_of(const evening *e, const fl_lot *lot)
{
    size_t n = 0;
    double worst = 0.0;
    fl_lot_chance *all = FL_ARENA_ARRAY(e->arena, fl_lot_chance, fl_know_threat_count());
    if (fl_chances_of_lot(e->sheet->chances, lot, all, &n, NULL) != FL_OK) {
        return 1.0;
    }
    for (size_t i = 0; i < n; i++) {
        worst = all[i].chance > worst ? all[i].chance : worst;
    }
    return worst;
}

static double purchase_risk(const evening *e, const fl_lot *lot)
{
    double worst = 0.0;
    for (size_t i = 0; i < e->n_lots; i++) {
        if (is_same_purchase(e->lots[i], lot)) {
            worst = fmax(worst, risk_of(e, e->lots[i]));
        }
    }
    return worst;
}

static void put_purchase(evening *e, const fl_lot *first, int number)
{
    fl_sv source = fl_room_source_name(e->sheet->room, first->source);
    fl_sv day = fl_print_sheet_day(e->sheet->room, first->born_s, e->arena);
    fl_doc_heading(e->doc, fl_arena_printf(e->arena, "%d. From %.*s, %.*s", number,
                                           FL_SV_ARG(source), FL_SV_ARG(day)));
    fl_doc_small(e->doc, FL_SV("Its own tub and water. Wash hands and tools before the next one."));
    for (size_t i = 0; i < e->n_lots; i++) {
        if (is_same_purchase(e->lots[i], first)) {
            put_lot(e, e->lots[i], &e->plans[i]);
        }
    }
}

static void put_purchases(evening *e)
{
    bool *is_done = FL_ARENA_ARRAY(e->arena, bool, e->n_lots);
    for (int number = 1;; number++) {
        const fl_lot *best = NULL;
        double least = 2.0;
        for (size_t i = 0; i < e->n_lots; i++) {
            double risk = is_done[i] ? 3.0 : purchase_risk(e, e->lots[i]);
            if (risk < least) {
                least = risk;
                best = e->lots[i];
            }
        }
        if (best == NULL) {
            return;
        }
        put_purchase(e, best, number);
        for (size_t i = 0; i < e->n_lots; i++) {
            is_done[i] = is_done[i] || is_same_purchase(e->lots[i], best);
        }
    }
}

/* ---- the order of work ---- */

static fl_sv clock_of(const evening *e, int64_t at_s)
{
    fl_civil c = fl_civil_from_utc(at_s, e->sheet->room->tz_offset_min);
    return fl_arena_printf(e->arena, "%02d:%02d", c.hour, c.minute);
}

static void put_item(evening *e, const fl_doc_table *table, const fl_evening *plan,
                     const fl_evening_item *item)
{
    fl_sv what = fl_say_item(plan, item, e->arena);
    fl_sv lot = item->lot >= 0
                    ? fl_print_sheet_lot_name(e->sheet->room, plan->lots[item->lot].lot, e->arena)
                    : FL_SV("");
    fl_sv tub = item->tub > 0 ? fl_evening_tub_name(item->tub, e->arena) : FL_SV("");
    const fl_sv cells[] = {FL_SV("[]"), clock_of(e, item->start_s), what, lot,
                           tub,         clock_of(e, item->end_s)};
    fl_doc_table_row(e->doc, table, cells);
}

/* Hygiene first, then the shortest evening: app/evening.h. Times are as if it began now. */
static fl_status put_order(evening *e, const fl_print_sheet_evening_args *args, fl_err *err)
{
    const fl_doc_table table = {.n_columns = 6,
                                .share = {0.06, 0.10, 0.34, 0.28, 0.11, 0.11},
                                .name = {FL_SV(""), FL_SV("from"), FL_SV("what"), FL_SV("lot"),
                                         FL_SV("tub"), FL_SV("until")}};
    fl_evening plan;
    fl_evening_options options = fl_evening_options_usual();
    options.tub_ml = args->tub_ml;
    options.label_pct = args->label_pct;
    fl_status status =
        fl_evening_make(e->sheet->room, e->sheet->chances, &options, e->arena, &plan, err);
    if (status != FL_OK || plan.n_items == 0) {
        return status;
    }
    fl_sv span =
        fl_say_span(plan.finish_low_s - plan.start_s, plan.finish_high_s - plan.start_s, e->arena);
    fl_doc_heading(e->doc, FL_SV("In this order"));
    fl_doc_small(e->doc, fl_arena_printf(e->arena,
                                         "%d tubs, %.*s in all, times as if it began when this was "
                                         "printed. A dip is taken out on the minute.",
                                         plan.n_tubs, FL_SV_ARG(span)));
    fl_doc_table_begin(e->doc, &table);
    for (size_t i = 0; i < plan.n_items; i++) {
        put_item(e, &table, &plan, &plan.items[i]);
    }
    return FL_OK;
}

static void put_closing(evening *e)
{
    static const char *const ends[] = {
        "Old mix, pots and rinsings' dregs into a bag, closed, out of the room.",
        "Baths poured away as their labels say; never two different ones together.",
        "Tubs, tools and the sink disinfected, and left wet for 10 minutes.",
        "Hands washed, clothes changed before the established plants.",
    };
    fl_doc_heading(e->doc, FL_SV("At the end"));
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        fl_doc_tick(e->doc, fl_sv_from_cstr(ends[i]), FL_SV(""));
    }
    fl_doc_lines(e->doc, FL_SV("What went otherwise:"), 3);
}

fl_status fl_print_sheet_evening(const fl_print_sheet *sheet,
                                 const fl_print_sheet_evening_args *args, fl_str *out, fl_err *err)
{
    fl_arena arena;
    fl_doc doc;
    fl_arena_init(&arena);
    evening e = {.sheet = sheet, .doc = &doc, .arena = &arena};
    gather(&e);
    fl_status status =
        e.n_lots > 0 ? FL_OK
                     : fl_fail(err, FL_ENOTFOUND, "nothing came home that is not cleaned yet");
    if (status == FL_OK) {
        fl_sv day = fl_print_sheet_day(sheet->room, sheet->room->now_s, &arena);
        status = fl_print_sheet_begin(
            sheet,
            (fl_print_sheet_title){
                .title = FL_SV("Tonight at the sink"),
                .under = fl_arena_printf(&arena, "%.*s: %zu lot%s, the cleaner first",
                                         FL_SV_ARG(day), e.n_lots, e.n_lots == 1 ? "" : "s")},
            &arena, &doc, err);
    }
    if (status == FL_OK) {
        e.has_mix =
            fl_plan_bleach(sheet->room, args->label_pct, args->tub_ml, &e.mix, NULL) == FL_OK;
        put_cautions(&e);
        put_mix(&e, args->tub_ml);
        status = put_order(&e, args, err);
        if (status == FL_OK) {
            put_purchases(&e);
            put_closing(&e);
            status = fl_doc_end(&doc, out, err);
        }
        fl_doc_drop(&doc);
    }
    fl_arena_done(&arena);
    return status;
}
