/* The record of pesticides on paper: entry by entry, in the order in which it was done. */
#include "print/sheet.h"
#include "view/pesticides.h"
#include "view/words.h"

#define LEAD_MM 34.0

static void put_told(fl_doc *doc, const char *what, fl_sv text)
{
    if (text.len > 0) {
        fl_doc_item(doc, fl_sv_from_cstr(what), LEAD_MM, text);
    }
}

static fl_sv hours(double value, const char *unit, fl_arena *arena)
{
    return value > 0.0 ? fl_arena_printf(arena, "%.6g %s", value, unit) : FL_SV("");
}

static void put_missing(fl_doc *doc, const fl_pesticide_entry *e, fl_arena *arena)
{
    for (size_t r = 0; r < FL_RECORD_RULES; r++) {
        const fl_record_rule *rule = &fl_record_rules[r];
        const fl_sv missing = fl_say_record_missing(e, rule, arena);
        const fl_sv maybe = fl_say_record_missing_if(e, rule, arena);
        if (missing.len > 0) {
            fl_doc_small(doc, fl_arena_printf(arena, "Not told, and asked by %s: %.*s.",
                                              rule->brief, FL_SV_ARG(missing)));
        }
        if (maybe.len > 0) {
            fl_doc_small(doc, fl_arena_printf(arena, "Not told, and asked of some by %s: %.*s.",
                                              rule->brief, FL_SV_ARG(maybe)));
        }
    }
}

static void put_entry(const fl_print_sheet *sheet, fl_doc *doc, const fl_pesticide_entry *e,
                      fl_arena *arena)
{
    const fl_ev_step *step = e->step;
    const fl_sv when = fl_say_record_when(sheet->room, e, arena);
    const fl_sv brand = step->brand.len > 0 ? step->brand : FL_SV("a product without a name");
    fl_doc_need(doc, 40.0);
    fl_doc_subheading(doc, fl_arena_printf(arena, "%.*s: %.*s", FL_SV_ARG(when), FL_SV_ARG(brand)));
    put_told(doc, "number", step->registration);
    put_told(doc, "active", step->product);
    put_told(doc, "dose", fl_pesticides_rate(step, arena));
    put_told(doc, "in all", fl_pesticides_amount(step, arena));
    put_told(doc, "treated", fl_pesticides_size(step, arena));
    put_told(doc, "crop", e->crop);
    put_told(doc, "EPPO code", step->eppo_code);
    put_told(doc, "growth stage", step->growth_stage);
    put_told(doc, "stood in", e->places);
    put_told(doc, "where", step->site);
    put_told(doc, "applied by", step->operator_name);
    put_told(doc, "certificate", step->operator_number);
    put_told(doc, "against", step->reason);
    put_told(doc, "keep out", hours(step->reentry_h, "hours, as the label says", arena));
    put_told(doc, "to harvest", hours(step->harvest_d, "days, as the label says", arena));
    put_told(doc, "note", e->event->note);
    put_missing(doc, e, arena);
    fl_doc_space(doc, 3.0);
}

static fl_sv span_text(const fl_print_sheet *sheet, const fl_pesticides *record, fl_arena *arena)
{
    fl_sv from = FL_SV("the beginning");
    fl_sv to = FL_SV("today");
    if (record->from_s != INT64_MIN) {
        from = fl_print_sheet_date(sheet->room, record->from_s, FL_PRECISION_DAY, arena);
    }
    if (record->to_s != FL_TIME_OPEN) {
        to = fl_print_sheet_date(sheet->room, record->to_s - 1, FL_PRECISION_DAY, arena);
    }
    return fl_arena_printf(arena, "From %.*s to %.*s; %zu %s", FL_SV_ARG(from), FL_SV_ARG(to),
                           record->n_entries, record->n_entries == 1 ? "entry" : "entries");
}

static void put_rules(fl_doc *doc, fl_arena *arena)
{
    fl_doc_need(doc, 45.0);
    fl_doc_heading(doc, FL_SV("How long it is kept"));
    for (size_t r = 0; r < FL_RECORD_RULES; r++) {
        const fl_record_rule *rule = &fl_record_rules[r];
        const fl_sv keep = fl_say_record_keep(rule, arena);
        fl_doc_para(doc, fl_arena_printf(arena, "%.*s For %s. Written down: %s.", FL_SV_ARG(keep),
                                         rule->whom, rule->when));
    }
}

fl_status fl_print_sheet_pesticides(const fl_print_sheet *sheet, const fl_pesticides *record,
                                    fl_str *out, fl_err *err)
{
    fl_arena arena;
    fl_doc doc;
    fl_arena_init(&arena);
    fl_status status =
        fl_print_sheet_begin(sheet,
                             (fl_print_sheet_title){.title = FL_SV("Record of pesticides"),
                                                    .under = span_text(sheet, record, &arena)},
                             &arena, &doc, err);
    if (status == FL_OK) {
        fl_doc_caution(&doc, FL_SV(FL_PESTICIDES_NOTICE));
        for (size_t i = 0; i < record->n_entries; i++) {
            put_entry(sheet, &doc, &record->entries[i], &arena);
        }
        put_rules(&doc, &arena);
        status = fl_doc_end(&doc, out, err);
    }
    fl_arena_done(&arena);
    return status;
}
