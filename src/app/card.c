/* Gathers a lot's past: its own, that of the lot it was split from, and its mother's before the
 * cut. */
#include "app/card.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/card_told.h"
#include "base/num.h"
#include "base/str.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_past[FL_PAST_COUNT] = {FL_PAST_LIST(FL_WORD_ENTRY)};

#define LEAST_CHANCE 0.001
#define TEXT_MAX 1000
#define GENERATIONS_MAX 32

typedef struct gathering {
    const fl_room *room;
    fl_arena *arena;
    fl_card_line *lines;
    size_t n, capacity;
} gathering;

/* One lot of the line of descent, and the time until which its past is this lot's. */
typedef struct part {
    const fl_lot *lot;
    int64_t until_s;
    bool is_mother;
} part;

static void add(gathering *g, fl_card_line line)
{
    if (g->n == g->capacity) {
        size_t capacity = g->capacity == 0 ? 64 : 2 * g->capacity;
        fl_card_line *lines = FL_ARENA_ARRAY(g->arena, fl_card_line, capacity);
        if (g->n > 0) {
            memcpy(lines, g->lines, g->n * sizeof lines[0]);
        }
        g->lines = lines;
        g->capacity = capacity;
    }
    line.order = g->n;
    g->lines[g->n++] = line;
}

static bool lists(const fl_id_list *list, fl_id id)
{
    for (size_t i = 0; i < list->count; i++) {
        if (fl_id_eq(list->ids[i], id)) {
            return true;
        }
    }
    return false;
}

/* ---- what is said of an event ---- */

static fl_sv keep(gathering *g, fl_str *text)
{
    fl_sv kept = fl_arena_copy_sv(g->arena, fl_str_sv(text));
    fl_str_done(text);
    return kept;
}

static void put_number(fl_str *text, const char *before, double value, const char *unit)
{
    char digits[FL_NUM_TEXT_MAX];
    if (!isnan(value)) {
        fl_str_appendf(text, "%s%s %s", before, fl_num_format(digits, value, 3), unit);
    }
}

static fl_sv say_step(gathering *g, const fl_ev_step *step)
{
    fl_str text;
    fl_str_init(&text, TEXT_MAX);
    fl_str_append_cstr(&text, fl_words_step[step->step].text);
    if (step->agent != FL_AGENT_NONE) {
        fl_str_appendf(&text, " in %s", fl_words_agent[step->agent].text);
    }
    if (step->product.len > 0) {
        fl_str_appendf(&text, " (%.*s)", FL_SV_ARG(step->product));
    }
    put_number(&text, ", ", step->dose_mg_per_l, "mg/L");
    put_number(&text, ", ", step->temp_c, "°C");
    put_number(&text, ", ", step->minutes, "min");
    return keep(g, &text);
}

static fl_sv name_of_threat(fl_sv code)
{
    const fl_threat *threat = fl_know_threat_find(code);
    if (threat != NULL) {
        return fl_sv_from_cstr(threat->name);
    }
    for (size_t i = 0; i < fl_know_lookalike_count(); i++) {
        if (fl_sv_eq_cstr(code, fl_know_lookalike_at(i)->code)) {
            return fl_sv_from_cstr(fl_know_lookalike_at(i)->name);
        }
    }
    return code;
}

static fl_sv say_look(gathering *g, const fl_ev_look_done *look)
{
    static const char *const efforts[FL_EFFORT_COUNT] = {"a glance", "a careful look",
                                                         "a look at the roots"};
    fl_str text;
    fl_str_init(&text, TEXT_MAX);
    fl_str_append_cstr(&text, efforts[look->effort]);
    fl_str_append_cstr(&text, look->is_after_dark ? ", after dark" : "");
    for (int device = 0; device < FL_DEVICE_COUNT; device++) {
        if ((look->devices & (1U << device)) != 0) {
            fl_str_appendf(&text, ", %s", fl_words_device[device].text);
        }
    }
    if (look->frac_examined < 0.999) {
        fl_str_appendf(&text, ", %.0f %% of the plants", 100.0 * look->frac_examined);
    }
    fl_str_append_cstr(&text, look->n_findings == 0 ? ": nothing found" : ": something found");
    return keep(g, &text);
}

static fl_sv say_finding(gathering *g, const fl_finding_now *f, bool is_own)
{
    fl_str text;
    fl_sv name = f->threat.len > 0 ? name_of_threat(f->threat) : FL_SV("something without a name");
    fl_str_init(&text, TEXT_MAX);
    fl_str_append(&text, name);
    if (f->stage.len > 0) {
        fl_str_appendf(&text, ", %.*s", FL_SV_ARG(f->stage));
    }
    if (f->what.len > 0) {
        fl_str_appendf(&text, " (%.*s)", FL_SV_ARG(f->what));
    }
    fl_str_append_cstr(&text, is_own ? ", on this plant" : ", in its place");
    fl_str_append_cstr(&text, f->is_retracted ? "; taken back later" : "");
    return keep(g, &text);
}

static fl_sv say_birth(gathering *g, const fl_lot *lot)
{
    const fl_ev_source_set *source = fl_defs_source(&g->room->defs, lot->source);
    long long n = (long long)lot->count_born;
    switch ((int)lot->origin) {
    case FL_KIND_LOT_ARRIVED:
        return fl_arena_printf(g->arena, "came, %lld %s%s%.*s%s%s%s", n,
                               fl_words_form[lot->form].text, source != NULL ? ", from " : "",
                               source != NULL ? (int)source->name.len : 0,
                               source != NULL ? source->name.ptr : "", source != NULL ? " (" : "",
                               source != NULL ? fl_words_source_kind[source->kind].text : "",
                               source != NULL ? ")" : "");
    case FL_KIND_LOT_CUT:
        return fl_arena_printf(g->arena, "%lld taken as %s", n, fl_words_form[lot->form].text);
    case FL_KIND_LOT_SPLIT:
        return fl_arena_printf(g->arena, "%lld set apart from the others", n);
    default:
        return fl_arena_printf(g->arena, "was here already, %lld %s", n,
                               fl_words_form[lot->form].text);
    }
}

/* ---- gathering ---- */

static bool is_his(const part *p, int64_t at_s)
{
    return at_s <= p->until_s;
}

static void add_birth(gathering *g, const part *p)
{
    add(g, (fl_card_line){.at_s = p->lot->born_s,
                          .precision = p->lot->precision,
                          .kind = FL_PAST_CAME,
                          .text = say_birth(g, p->lot),
                          .is_mother = p->is_mother});
}

static void add_stays(gathering *g, const part *p)
{
    for (size_t i = 0; i < g->room->meaning.n_stays; i++) {
        const fl_stay *stay = &g->room->meaning.stays[i];
        const fl_ev_place_set *place = fl_defs_place(&g->room->defs, stay->place);
        if (!fl_id_eq(stay->lot, p->lot->id) || !is_his(p, stay->from_s) || place == NULL) {
            continue;
        }
        fl_sv animals = place->animals.len > 0 ? place->animals
                        : place->has_animals   ? FL_SV("animals")
                                               : FL_SV("");
        fl_sv text = fl_arena_printf(g->arena, "to \"%.*s\" (%s)%s%.*s", FL_SV_ARG(place->name),
                                     fl_words_place_kind[place->kind].text,
                                     animals.len > 0 ? ", with " : "", FL_SV_ARG(animals));
        add(g, (fl_card_line){.at_s = stay->from_s,
                              .kind = FL_PAST_STOOD,
                              .text = text,
                              .is_mother = p->is_mother});
    }
}

static void add_steps(gathering *g, const part *p, const fl_event *event)
{
    for (size_t k = 0; k < event->body.step_done.n_steps; k++) {
        const fl_ev_step *step = &event->body.step_done.steps[k];
        if (lists(&step->lots, p->lot->id)) {
            add(g, (fl_card_line){.at_s = event->at_s,
                                  .precision = event->precision,
                                  .kind = FL_PAST_STEP,
                                  .text = say_step(g, step),
                                  .is_mother = p->is_mother});
        }
    }
}

static void add_look(gathering *g, const part *p, const fl_event *event)
{
    const fl_ev_look_done *look = &event->body.look_done;
    const fl_stay *stay = fl_meaning_stay_at(&g->room->meaning, p->lot->id, event->at_s);
    if (stay != NULL && fl_id_eq(stay->place, look->place) &&
        (look->lots.count == 0 || lists(&look->lots, p->lot->id))) {
        add(g, (fl_card_line){.at_s = event->at_s,
                              .precision = event->precision,
                              .kind = FL_PAST_LOOK,
                              .text = say_look(g, look),
                              .is_mother = p->is_mother});
    }
}

static void add_event(gathering *g, const part *p, const fl_event *event)
{
    fl_card_line line = {
        .at_s = event->at_s, .precision = event->precision, .is_mother = p->is_mother};
    switch ((int)event->kind) {
    case FL_KIND_STEP_DONE:
        add_steps(g, p, event);
        return;
    case FL_KIND_LOOK_DONE:
        add_look(g, p, event);
        return;
    case FL_KIND_LOT_RELEASED:
        if (fl_id_eq(event->body.lot_released.lot, p->lot->id)) {
            line.kind = FL_PAST_RELEASED;
            fl_sv place = fl_room_place_name(g->room, event->body.lot_released.to);
            line.text = fl_arena_printf(g->arena, "released to \"%.*s\"%s", FL_SV_ARG(place),
                                        event->body.lot_released.is_against_gate
                                            ? ", before the program called it quiet enough"
                                            : "");
            add(g, line);
        }
        return;
    case FL_KIND_LOT_LOST:
        if (fl_id_eq(event->body.lot_lost.lot, p->lot->id)) {
            line.kind = FL_PAST_LOST;
            line.text = fl_arena_printf(
                g->arena, "%lld lost%s%.*s", (long long)event->body.lot_lost.count,
                event->body.lot_lost.why.len > 0 ? ": " : "", FL_SV_ARG(event->body.lot_lost.why));
            add(g, line);
        }
        return;
    default:
        return;
    }
}

static void add_findings(gathering *g, const part *p)
{
    for (size_t i = 0; i < g->room->meaning.n_findings; i++) {
        const fl_finding_now *f = &g->room->meaning.findings[i];
        const fl_stay *stay = fl_meaning_stay_at(&g->room->meaning, p->lot->id, f->at_s);
        bool is_own = fl_id_eq(f->lot, p->lot->id);
        bool is_there = stay != NULL && fl_id_eq(stay->place, f->place);
        if (is_his(p, f->at_s) && (is_own || is_there)) {
            add(g, (fl_card_line){.at_s = f->at_s,
                                  .kind = FL_PAST_FOUND,
                                  .text = say_finding(g, f, is_own),
                                  .is_mother = p->is_mother});
        }
    }
}

static void gather_part(gathering *g, const part *p)
{
    add_birth(g, p);
    add_stays(g, p);
    for (size_t i = 0; i < g->room->n_events; i++) {
        if (is_his(p, g->room->events[i].at_s)) {
            add_event(g, p, &g->room->events[i]);
        }
    }
    add_findings(g, p);
}

/* By time; of one moment in the order gathered: what came, stood, was done. */
static int compare_lines(const void *left, const void *right)
{
    const fl_card_line *a = left;
    const fl_card_line *b = right;
    if (a->at_s != b->at_s) {
        return a->at_s < b->at_s ? -1 : 1;
    }
    if (a->kind != b->kind) {
        return a->kind < b->kind ? -1 : 1;
    }
    return a->order < b->order ? -1 : a->order > b->order;
}

static fl_status gather_told(gathering *g, const part *p, fl_err *err)
{
    fl_card_line *told = NULL;
    size_t count = 0;
    fl_status status = fl_card_told(g->room, p->lot, g->arena, &told, &count, err);
    for (size_t i = 0; i < count && status == FL_OK; i++) {
        told[i].is_mother = told[i].is_mother || p->is_mother;
        add(g, told[i]);
    }
    return status;
}

static fl_status gather(gathering *g, const fl_lot *lot, fl_err *err)
{
    part p = {.lot = lot, .until_s = INT64_MAX};
    fl_status status = FL_OK;
    for (int depth = 0; p.lot != NULL && depth < GENERATIONS_MAX && status == FL_OK; depth++) {
        gather_part(g, &p);
        status = gather_told(g, &p, err);
        p.until_s = p.lot->born_s < p.until_s ? p.lot->born_s : p.until_s;
        p.is_mother = p.is_mother || p.lot->origin == FL_KIND_LOT_CUT;
        bool has_older = p.lot->origin == FL_KIND_LOT_CUT || p.lot->origin == FL_KIND_LOT_SPLIT;
        p.lot = has_older ? fl_meaning_lot(&g->room->meaning, p.lot->mother) : NULL;
    }
    if (g->n > 1) {
        qsort(g->lines, g->n, sizeof g->lines[0], compare_lines);
    }
    return status;
}

/* ---- chances and what they rest on ---- */

static int compare_chances(const void *left, const void *right)
{
    const fl_lot_chance *a = left;
    const fl_lot_chance *b = right;
    if (a->chance != b->chance) {
        return a->chance > b->chance ? -1 : 1;
    }
    return strcmp(a->threat->code, b->threat->code);
}

static fl_status take_chances(fl_chances *chances, const fl_lot *lot, fl_arena *arena,
                              fl_card *card, fl_err *err)
{
    size_t n = 0;
    fl_lot_chance *all = FL_ARENA_ARRAY(arena, fl_lot_chance, fl_know_threat_count());
    fl_status status = fl_chances_of_lot(chances, lot, all, &n, err);
    card->chances = FL_ARENA_ARRAY(arena, fl_lot_chance, n);
    card->unseen = FL_ARENA_ARRAY(arena, fl_lot_chance, n);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        if (all[i].chance >= LEAST_CHANCE && all[i].is_out_of_reach) {
            card->unseen[card->n_unseen++] = all[i];
        } else if (all[i].chance >= LEAST_CHANCE) {
            card->chances[card->n_chances++] = all[i];
        }
    }
    if (card->n_chances > 1) {
        qsort(card->chances, card->n_chances, sizeof all[0], compare_chances);
    }
    if (card->n_unseen > 1) {
        qsort(card->unseen, card->n_unseen, sizeof all[0], compare_chances);
    }
    return status;
}

#define ASSUMED_MAX 6

static void assume(fl_card *card, fl_sv text)
{
    if (card->n_assumed < ASSUMED_MAX) {
        card->assumed[card->n_assumed++] = text;
    }
}

static void take_assumed(const fl_room *room, const fl_lot *lot, fl_arena *arena, fl_card *card)
{
    card->assumed = FL_ARENA_ARRAY(arena, fl_sv, ASSUMED_MAX);
    assume(card, FL_SV("How likely each pest was at the start is an assumption by kind of source "
                       "and form, not a count."));
    assume(card, FL_SV("How fast pests develop is measured for some and assumed for others, at the "
                       "temperature the keeper gave for each place."));
    assume(card, FL_SV("How much a look sees is an assumption by pest, stage and effort."));
    if (card->has_gate && card->gate.is_mostly_judgement) {
        assume(card, FL_SV("The keeper's own record is still short: the numbers are mostly the "
                           "program's judgement."));
    }
    if (lot->label_active.len > 0) {
        assume(card, fl_arena_printf(arena, "Its label named %.*s; nothing was measured.",
                                     FL_SV_ARG(lot->label_active)));
    } else {
        assume(card, lot->is_label_clean
                         ? FL_SV("It was sold as grown without pesticide; nothing was measured.")
                         : FL_SV("What it was sprayed with before is not known; nothing was "
                                 "measured."));
    }
    (void)room;
}

fl_status fl_card_make(const fl_room *room, fl_chances *chances, const fl_lot *lot, fl_arena *arena,
                       fl_card *out, fl_err *err)
{
    char code[FL_CODE_TEXT_MAX];
    gathering g = {.room = room, .arena = arena};
    const fl_ev_plant_set *plant = fl_defs_plant(&room->defs, lot->plant);
    const fl_ev_source_set *source = fl_defs_source(&room->defs, lot->source);
    fl_card card = {.lot = lot,
                    .code = fl_arena_copy_sv(arena, fl_sv_from_cstr(fl_id_code(code, lot->id))),
                    .plant = fl_room_lot_name(room, lot),
                    .taxon = plant != NULL ? plant->taxon : FL_SV(""),
                    .from = room->name,
                    .made_s = room->now_s};
    if (source != NULL) {
        card.source = source->name;
        card.source_kind = fl_sv_from_cstr(fl_words_source_kind[source->kind].text);
        card.source_keeps_animals = source->has_animals_with_plants;
    }
    fl_status status = gather(&g, lot, err);
    card.lines = g.lines;
    card.n_lines = g.n;
    if (status == FL_OK && !lot->is_gone) {
        status = take_chances(chances, lot, arena, &card, err);
        if (status == FL_OK) {
            status = fl_gate_ask(chances, room, lot, 0, arena, &card.gate, err);
            card.has_gate = status == FL_OK;
        }
    }
    take_assumed(room, lot, arena, &card);
    if (status == FL_OK) {
        *out = card;
    }
    return status;
}
