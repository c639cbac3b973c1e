/* A bath in anything at all: what to measure, what it does and does not do, whom it harms. */
#include <math.h>

#include "base/num.h"
#include "base/shown.h"
#include "http/api.h"
#include "view/dip.h"

static fl_status read_number(fl_exchange *x, const char *name, double *out, fl_err *err)
{
    fl_sv text = FL_SV("");
    *out = (double)NAN;
    return fl_request_query(x->request, name, &text)
               ? fl_num_parse_double_in(text, name, 0.0, 1e6, out, err)
               : FL_OK;
}

static fl_status read_agent(fl_exchange *x, fl_agent *out, fl_err *err)
{
    fl_sv text;
    fl_status status = fl_api_query(x, "agent", &text, err);
    int found = text.len > 0 ? fl_word_find(fl_words_agent, FL_AGENT_COUNT, text) : FL_AGENT_NONE;
    if (status == FL_OK && (found < 0 || found > FL_AGENT_HOT_WATER)) {
        return fl_fail(
            err, FL_EINVAL,
            "agent \"%.*s\": give none, bleach, permanganate, peroxide, soap or hot_water",
            FL_SHOWN(text));
    }
    *out = (fl_agent)found;
    return status;
}

static fl_status read_asked(fl_exchange *x, fl_dip_asked *asked, fl_err *err)
{
    fl_sv animals = FL_SV("");
    const struct {
        const char *name;
        double *to;
    } numbers[] = {{"target", &asked->target},       {"total_ml", &asked->total_ml},
                   {"label_pct", &asked->label_pct}, {"stock_g_per_l", &asked->stock_g_per_l},
                   {"hot_c", &asked->hot_c},         {"cold_c", &asked->cold_c},
                   {"minutes", &asked->minutes},     {"pct_by_volume", &asked->pct_by_volume}};
    const struct {
        const char *name;
        fl_sv *to;
    } texts[] = {{"plant", &asked->plant},
                 {"form", &asked->form},
                 {"with", &asked->with},
                 {"animals_in", &animals}};
    fl_status status = read_agent(x, &asked->agent, err);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0] && status == FL_OK; i++) {
        status = read_number(x, numbers[i].name, numbers[i].to, err);
    }
    for (size_t i = 0; i < sizeof texts / sizeof texts[0] && status == FL_OK; i++) {
        status = fl_api_query(x, texts[i].name, texts[i].to, err);
    }
    asked->has_animals_in = animals.len > 0 && !fl_sv_eq_cstr(animals, "false");
    return status;
}

fl_status fl_api_dip(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    (void)app;
    fl_dip_asked asked = {.agent = FL_AGENT_NONE};
    fl_status status = read_asked(x, &asked, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    status = fl_view_dip(&asked, w, err);
    if (status != FL_OK) {
        fl_json_writer_free(w);
        return status;
    }
    fl_json_end(w);
    x->reply = fl_reply_json(200, w, &x->arena);
    return FL_OK;
}
