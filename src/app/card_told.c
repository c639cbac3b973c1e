/* Lines out of told cards. */
#include "app/card_told.h"

#include "json/json.h"

#define LINES_MAX 4000
static const char *const precisions[FL_PRECISION_COUNT] = {"exact", "hour", "day", "month", "year"};

static fl_precision precision_of(fl_sv word)
{
    for (int i = 0; i < FL_PRECISION_COUNT; i++) {
        if (fl_sv_eq_cstr(word, precisions[i])) {
            return (fl_precision)i;
        }
    }
    return FL_PRECISION_EXACT;
}

static bool read_line(const fl_json_value *value, fl_sv teller, fl_arena *arena, fl_card_line *out)
{
    fl_precision parsed = FL_PRECISION_EXACT;
    int64_t at_s = 0;
    int kind = fl_word_find(fl_words_past, FL_PAST_COUNT, fl_json_text(fl_json_get(value, "kind")));
    if (fl_civil_parse(fl_json_text(fl_json_get(value, "at")), 0, &at_s, &parsed, NULL) != FL_OK) {
        return false; /* the event was checked when it was recorded: nothing of ours */
    }
    fl_sv older = fl_json_text(fl_json_get(value, "teller"));
    *out = (fl_card_line){.at_s = at_s,
                          .precision = precision_of(fl_json_text(fl_json_get(value, "precision"))),
                          .kind = kind >= 0 ? (fl_past_kind)kind : FL_PAST_OTHER,
                          .text = fl_arena_copy_sv(arena, fl_json_text(fl_json_get(value, "text"))),
                          .is_mother = fl_json_bool(fl_json_get(value, "is_mother"), false),
                          .teller = older.len > 0 ? fl_arena_copy_sv(arena, older) : teller};
    return true;
}

static fl_status read_card(const fl_ev_history_told *told, fl_arena *arena, fl_card_line *lines,
                           size_t *count, fl_err *err)
{
    fl_json_doc *doc = NULL;
    fl_status status = fl_json_parse(told->card_json, &doc, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_json_value *past = fl_json_get(fl_json_root(doc), "past");
    for (size_t i = 0; i < fl_json_size(past) && *count < LINES_MAX; i++) {
        if (read_line(fl_json_at(past, i), told->teller, arena, &lines[*count])) {
            (*count)++;
        }
    }
    fl_json_free(doc);
    return FL_OK;
}

fl_status fl_card_told(const fl_room *room, const fl_lot *lot, fl_arena *arena, fl_card_line **out,
                       size_t *count, fl_err *err)
{
    fl_card_line *lines = NULL;
    fl_status status = FL_OK;
    *count = 0;
    for (size_t i = 0; i < room->n_events && status == FL_OK; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_HISTORY_TOLD &&
            fl_id_eq(event->body.history_told.lot, lot->id)) {
            lines = lines != NULL ? lines : FL_ARENA_ARRAY(arena, fl_card_line, LINES_MAX);
            status = read_card(&event->body.history_told, arena, lines, count, err);
        }
    }
    *out = lines;
    return status;
}
