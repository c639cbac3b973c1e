/* The history card of a lot, to keep or to hand over. */
#include "print/sheet.h"
#include "view/words.h"

typedef struct card_sheet {
    const fl_print_sheet *sheet;
    const fl_card *card;
    fl_doc *doc;
    fl_arena *arena;
} card_sheet;

#define LEAD_MM 36.0

static void put_fact(const card_sheet *c, const char *name, fl_sv text)
{
    if (text.len > 0) {
        fl_doc_item(c->doc, fl_sv_from_cstr(name), LEAD_MM, text);
    }
}

static void put_provenance(const card_sheet *c)
{
    const fl_card *card = c->card;
    const fl_room *room = c->sheet->room;
    const fl_lot *lot = card->lot;
    fl_doc_heading(c->doc, FL_SV("Where it comes from"));
    put_fact(c, "botanical name", card->taxon);
    put_fact(c, "source",
             card->source.len > 0
                 ? fl_arena_printf(
                       c->arena, "%.*s (%.*s)%s", FL_SV_ARG(card->source),
                       FL_SV_ARG(card->source_kind),
                       card->source_keeps_animals ? "; animals are kept with the plants there" : "")
                 : FL_SV("not recorded"));
    put_fact(c, lot->origin == FL_KIND_LOT_CUT ? "taken" : "here since",
             fl_print_sheet_date(room, lot->born_s, lot->precision, c->arena));
    put_fact(c, "form, count",
             fl_arena_printf(c->arena, "%s, %lld", fl_words_form[lot->form].text,
                             (long long)lot->count));
    put_fact(c, "label",
             lot->label_active.len > 0
                 ? fl_arena_printf(c->arena, "names %.*s", FL_SV_ARG(lot->label_active))
             : lot->is_label_clean ? FL_SV("grown without pesticide, by word or label")
                                   : FL_SV("nothing known of sprays before"));
}

/* Looks that found nothing, one after the other, are one line. */
static void put_past(const card_sheet *c)
{
    const fl_card *card = c->card;
    fl_doc_heading(c->doc, FL_SV("What happened to it"));
    for (size_t i = 0; i < card->n_lines; i++) {
        const fl_card_line *line = &card->lines[i];
        size_t last = i;
        while (line->kind == FL_PAST_LOOK && last + 1 < card->n_lines &&
               card->lines[last + 1].kind == FL_PAST_LOOK &&
               fl_sv_eq(card->lines[last + 1].text, line->text) &&
               fl_sv_eq(card->lines[last + 1].teller, line->teller) &&
               card->lines[last + 1].is_mother == line->is_mother) {
            last++;
        }
        fl_sv date = fl_print_sheet_date(c->sheet->room, line->at_s, line->precision, c->arena);
        fl_sv text = line->text;
        if (last > i) {
            fl_sv until = fl_print_sheet_date(c->sheet->room, card->lines[last].at_s,
                                              FL_PRECISION_DAY, c->arena);
            text = fl_arena_printf(c->arena, "%.*s; %zu times, the last on %.*s", FL_SV_ARG(text),
                                   last - i + 1, FL_SV_ARG(until));
        }
        if (line->is_mother) {
            text = fl_arena_printf(c->arena, "its mother: %.*s", FL_SV_ARG(text));
        }
        if (line->teller.len > 0) {
            text = fl_arena_printf(c->arena, "%.*s [told by %.*s]", FL_SV_ARG(text),
                                   FL_SV_ARG(line->teller));
        }
        fl_doc_item(c->doc, date, LEAD_MM, text);
        i = last;
    }
}

static void put_chances(const card_sheet *c)
{
    const fl_card *card = c->card;
    if (!card->has_gate) {
        return;
    }
    fl_doc_heading(c->doc, FL_SV("How likely something is still there"));
    for (size_t i = 0; i < card->n_chances; i++) {
        const fl_lot_chance *chance = &card->chances[i];
        fl_sv band = fl_say_band(chance->least, chance->most, c->arena);
        fl_sv text = fl_say_chance(chance->chance, c->arena);
        fl_doc_item(c->doc, text, LEAD_MM,
                    fl_arena_printf(c->arena, "%s%s%.*s", chance->threat->name,
                                    band.len > 0 ? "; anything from " : "", FL_SV_ARG(band)));
    }
    fl_doc_item(c->doc, FL_SV("each other"), LEAD_MM, FL_SV("under 1 in 1,000"));
    for (size_t i = 0; i < card->n_unseen; i++) {
        fl_doc_item(c->doc, FL_SV("not to be seen"), LEAD_MM,
                    fl_arena_printf(c->arena, "%s: no look or treatment here tells of it",
                                    card->unseen[i].threat->name));
    }
    fl_doc_para(c->doc, fl_say_answer(c->sheet->room, &card->gate, c->arena));
}

static void put_assumed(const card_sheet *c)
{
    fl_doc_heading(c->doc, FL_SV("What this rests on"));
    for (size_t i = 0; i < c->card->n_assumed; i++) {
        fl_doc_item(c->doc, FL_SV("–"), 5.0, c->card->assumed[i]);
    }
    fl_doc_space(c->doc, 2.0);
    fl_doc_caution(c->doc, FL_SV(FL_CARD_NOTICE));
}

static fl_status print(const card_sheet *c, fl_str *out, fl_err *err)
{
    put_provenance(c);
    put_past(c);
    put_chances(c);
    put_assumed(c);
    fl_doc_lines(c->doc, FL_SV("Given by, on:"), 1);
    return fl_doc_end(c->doc, out, err);
}

fl_status fl_print_sheet_card(const fl_print_sheet *sheet, const fl_lot *lot, fl_str *out,
                              fl_err *err)
{
    fl_arena arena;
    fl_card card;
    fl_doc doc;
    fl_arena_init(&arena);
    fl_status status = fl_card_make(sheet->room, sheet->chances, lot, &arena, &card, err);
    const card_sheet c = {.sheet = sheet, .card = &card, .doc = &doc, .arena = &arena};
    if (status == FL_OK) {
        status = fl_print_sheet_begin(
            sheet,
            (fl_print_sheet_title){
                .title = card.plant, .under = FL_SV("History card of a plant"), .code_of = lot->id},
            &arena, &doc, err);
    }
    if (status == FL_OK) {
        status = print(&c, out, err);
    }
    fl_arena_done(&arena);
    return status;
}
