/* The sheets: tonight, a round of looks, a bin's card, the sitter's sheet, an outbreak's story, the
 * history card of a lot. Each is a PDF of its own from one snapshot of the room, appended to *out.
 * Plain black on white; made twice from the same moment they are the same bytes. */
#ifndef FL_PRINT_SHEET_H
#define FL_PRINT_SHEET_H

#include "app/card.h"
#include "app/complaint.h"
#include "app/outbreak.h"
#include "app/pesticides.h"
#include "app/room.h"
#include "print/doc.h"

typedef struct fl_print_sheet {
    const fl_room *room;
    fl_chances *chances;
    fl_paper paper;
    fl_sv base_url; /* of the QR codes (print/label.h) */
} fl_print_sheet;

/* Tonight's run sheet: what came home, what to mix, the steps of each purchase with reasons, and
 * the end of the evening; cautions first. tub_ml: how much each dip is mixed for; label_pct: of the
 * bleach, when no bottle is recorded (0: none). FL_ENOTFOUND: nothing came home. */
typedef struct fl_print_sheet_evening_args {
    double tub_ml;
    double label_pct;
} fl_print_sheet_evening_args;
fl_status fl_print_sheet_evening(const fl_print_sheet *sheet,
                                 const fl_print_sheet_evening_args *args, fl_str *out,
                                 fl_err *err) FL_MUST_USE;

/* A round of looks: every place with something in quarantine or held, cleanest first, with where
 * to look and room to write. */
fl_status fl_print_sheet_round(const fl_print_sheet *sheet, fl_str *out, fl_err *err) FL_MUST_USE;

/* The card that hangs on a place: what stands in it, since when, its log. */
fl_status fl_print_sheet_place(const fl_print_sheet *sheet, const fl_ev_place_set *place,
                               fl_str *out, fl_err *err) FL_MUST_USE;

/* For whoever looks after the room: what is where, what stays shut, what to do when something is
 * seen, room for the keeper's own words. */
fl_status fl_print_sheet_sitter(const fl_print_sheet *sheet, fl_str *out, fl_err *err) FL_MUST_USE;

/* What was found, from where, who else, what was done and what is still to do. */
fl_status fl_print_sheet_outbreak(const fl_print_sheet *sheet, const fl_trace_question *question,
                                  fl_str *out, fl_err *err) FL_MUST_USE;

/* The history card of a lot. */
fl_status fl_print_sheet_card(const fl_print_sheet *sheet, const fl_lot *lot, fl_str *out,
                              fl_err *err) FL_MUST_USE;

/* The record of pesticides: each entry with what it tells and what each rule asks besides. */
fl_status fl_print_sheet_pesticides(const fl_print_sheet *sheet, const fl_pesticides *record,
                                    fl_str *out, fl_err *err) FL_MUST_USE;

/* The answer to a customer's complaint: for the grower's own file, with what it rests on. */
fl_status fl_print_sheet_complaint(const fl_print_sheet *sheet, const fl_complaint *complaint,
                                   fl_str *out, fl_err *err) FL_MUST_USE;

/* ---- shared by the sheets ---- */

typedef struct fl_print_sheet_title {
    fl_sv title, under;
    fl_id code_of; /* a lot or place whose QR code stands beside the title; none */
} fl_print_sheet_title;
/* Begins a sheet with the room's name and the day at the foot. */
fl_status fl_print_sheet_begin(const fl_print_sheet *sheet, fl_print_sheet_title title,
                               fl_arena *arena, fl_doc *out, fl_err *err) FL_MUST_USE;
/* "creeping fig (TGGM2D)" */
fl_sv fl_print_sheet_lot_name(const fl_room *room, const fl_lot *lot, fl_arena *arena);
/* "19 March 2026": with its year, for paper that lasts; "in March 2026" for a vague one. */
fl_sv fl_print_sheet_date(const fl_room *room, int64_t at_s, fl_precision precision,
                          fl_arena *arena);
/* "Thu 19 March" */
fl_sv fl_print_sheet_day(const fl_room *room, int64_t at_s, fl_arena *arena);

#endif
