/* The JSON and the words of what follows a find: what it is, where from, who else, what now. Keys
 * as view/view.h says: prob_* 0 to 1, *_at RFC 3339, *_on a civil date in the room's zone, *_text
 * for people. Words for one line are here too, so that the command line says the same. */
#ifndef FL_VIEW_VIEW_TRACE_H
#define FL_VIEW_VIEW_TRACE_H

#include "app/outbreak.h"
#include "app/outbreak_residue.h"
#include "core/ident/ident.h"
#include "view/view.h"

/* Where from and who else: subject, threat, window, sources with their chains, reached lots with
 * theirs, places. */
void fl_view_trace(const fl_view *v, const char *key, const fl_trace *trace);

/* What now: state, the first five lines, proposals (each with its events as they would be
 * recorded), the story, and the trace (null when there is none). FL_EINVAL when an event of a
 * proposal cannot be written: a mistake of ours. */
fl_status fl_view_outbreak(const fl_view *v, const char *key, const fl_outbreak *outbreak,
                           fl_err *err) FL_MUST_USE;

/* An array of proposals, numbered from 1; each with its events. Errors as above. */
fl_status fl_view_proposals(const fl_view *v, const char *key, const fl_proposal *proposals,
                            size_t n, fl_err *err) FL_MUST_USE;

/* All that was found, the last first, with the five lines that come first of all:
 * {"first","first_animals","found":[…]}. No chances are asked. */
void fl_view_found(const fl_view *v, const char *key);

/* What a find can be named: {"threats":[…],"look_alikes":[…]}. Only v->w is used. */
void fl_view_threats(const fl_view *v, const char *key);

/* The dates it moved: [{"lot","was_on","now_on","text"}]. */
void fl_view_dates(const fl_view *v, const char *key, const fl_outbreak_dates *dates);

/* One of them whole: {"of": its line of the list, "outbreak","dates"}. Errors as
 * fl_view_outbreak. */
typedef struct fl_view_found_args {
    const fl_trace_question *question;
    const fl_outbreak *outbreak;
    const fl_outbreak_dates *dates;
} fl_view_found_args;
fl_status fl_view_found_one(const fl_view *v, const char *key, const fl_view_found_args *args,
                            fl_err *err) FL_MUST_USE;

/* Who carries a pesticide: active, treated, lots (each judged for where it stands), proposals. */
fl_status fl_view_residue(const fl_view *v, const char *key, const fl_residue_trace *trace,
                          fl_err *err) FL_MUST_USE;

/* What it could be: {"answers","ranking","is_sure","fits_badly","next"}; next is null when there
 * is nothing left to ask. Only v->w and v->arena are used. */
typedef struct fl_view_ident_args {
    const fl_sign_answer *answers;
    size_t n_answers;
    const fl_ident_rank *ranks;
    size_t n_ranks;
    const fl_ident_next *next;
} fl_view_ident_args;
void fl_view_ident(const fl_view *v, const char *key, const fl_view_ident_args *args);

/* The questions with their answers: {"signs":[{"sign","question","values":[{"value","text"}]}]}. */
void fl_view_signs(const fl_view *v, const char *key);

/* Ranks below this are left out of the answer; the first three never. */
#define FL_VIEW_RANK_LEAST 0.005
/* "Nothing here fits well": this many answers speak against the first. */
#define FL_VIEW_AGAINST 2
/* "Sure enough to name it": the first has this much, and nothing speaks against it. */
#define FL_VIEW_SURE 0.9

/* "the purchase from Corner Nursery, 2 March" */
fl_sv fl_say_source(const fl_room *room, const fl_trace_source *source, fl_arena *arena);
/* "from the bench to bin 1: the plant itself was moved"; the first of a chain: "came to the
 * bench". */
fl_sv fl_say_contact(const fl_room *room, const fl_trace_contact *contact, fl_arena *arena);
/* "It came in between 3 and 14 March.", "It came in at least about 2 weeks ago, on 3 March or
 * before." Empty without a window. */
fl_sv fl_say_window(const fl_room *room, const fl_trace *trace, fl_arena *arena);
/* "Open: all clear about 14 April at the earliest", "All clear since 3 May." … */
fl_sv fl_say_outbreak_state(const fl_room *room, const fl_outbreak *outbreak, fl_arena *arena);
/* "was 14 June, now 19 July"; "12 April, as before". */
fl_sv fl_say_moved_date(const fl_room *room, const fl_outbreak_date *date, fl_arena *arena);
/* "a frog tested positive for chytrid", "an animal died". */
fl_sv fl_say_animal_event(const fl_event *event, fl_arena *arena);
/* "thrips, larva", "something without a name", "a frog tested positive for …". */
fl_sv fl_say_subject(const fl_room *room, const fl_trace *trace, fl_arena *arena);
/* "Pilea was treated with imidacloprid on 2 March, which goes into every part of a plant." */
fl_sv fl_say_residue_trace(const fl_room *room, const fl_residue_trace *trace, fl_arena *arena);
/* "treated 2 March; in the frog room, with animals: a systemic pesticide is inside it …" */
fl_sv fl_say_residue_lot(const fl_room *room, const fl_residue_lot *lot, fl_arena *arena);
/* The name of a threat or look-alike by its code. */
const char *fl_say_kind_of_find(const fl_ident_rank *rank);

#endif
