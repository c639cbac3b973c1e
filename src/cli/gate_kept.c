/* Freezes what the gate said, with the knowledge it said it from. */
#include "cli/gate_kept.h"

#include "base/limits.h"

fl_status fl_gate_keep(fl_session *s, const fl_gate_report *report, fl_ev_lot_released *body,
                       fl_err *err)
{
    char hash[FL_HASH_TEXT_MAX];
    fl_str text;
    fl_str canonical;
    fl_json_doc *doc = NULL;
    fl_str_init(&text, FL_EVENT_BYTES_MAX);
    fl_str_init(&canonical, FL_EVENT_BYTES_MAX);
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_view_gate(&view, NULL, report);
    fl_json_write(w, false, &text);
    fl_json_writer_free(w);
    fl_status status = fl_json_parse(fl_str_sv(&text), &doc, err);
    if (status == FL_OK) {
        status = fl_json_canonical(fl_json_root(doc), &canonical, err);
        fl_json_free(doc);
    }
    if (status == FL_OK) {
        const char *knowledge = fl_hash_format(hash, fl_know_hash());
        body->is_against_gate = !report->answer.is_open;
        body->answer_json = fl_arena_copy_sv(&s->arena, fl_str_sv(&canonical));
        body->knowledge = fl_arena_copy_sv(&s->arena, fl_sv_from_cstr(knowledge));
    }
    fl_str_done(&canonical);
    fl_str_done(&text);
    return status;
}
