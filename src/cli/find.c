/* Finding bottles, findings, plants and events by what a person typed. */
#include "cli/find.h"

#include "base/shown.h"

bool fl_id_is_named(fl_id id, fl_sv text)
{
    char uuid[FL_ID_TEXT_MAX];
    char code[FL_CODE_TEXT_MAX];
    return fl_sv_eq_nocase(text, fl_sv_from_cstr(fl_id_format(uuid, id))) ||
           fl_sv_eq_nocase(text, fl_sv_from_cstr(fl_id_code(code, id)));
}

/* One of `count` fits, or why none does. */
static fl_status conclude(size_t count, const char *what, fl_sv text, const char *hint, fl_err *err)
{
    if (count == 0) {
        return fl_fail(err, FL_ENOTFOUND, "there is no %s \"%.*s\": %s", what, FL_SHOWN(text),
                       hint);
    }
    if (count > 1) {
        return fl_fail(err, FL_EINVAL, "%zu of them are called \"%.*s\": give the code", count,
                       FL_SHOWN(text));
    }
    return FL_OK;
}

fl_status fl_find_bottle(const fl_session *s, fl_sv text, const fl_ev_bottle_opened **out,
                         fl_err *err)
{
    const fl_ev_bottle_opened *found = NULL;
    size_t count = 0;
    for (size_t i = 0; i < s->room.defs.bottles.count; i++) {
        const fl_ev_bottle_opened *b = &s->room.defs.bottles.events[i]->body.bottle_opened;
        if (fl_id_is_named(b->bottle, text) || fl_sv_eq_nocase(b->name, text)) {
            found = b;
            count++;
        }
    }
    fl_status status = conclude(count, "bottle", text, "fernlock bottle list shows them", err);
    if (status == FL_OK) {
        *out = found;
    }
    return status;
}

fl_status fl_find_finding(const fl_session *s, fl_sv text, const fl_finding_now **out, fl_err *err)
{
    const fl_finding_now *found = NULL;
    size_t count = 0;
    for (size_t i = 0; i < s->room.meaning.n_findings; i++) {
        if (fl_id_is_named(s->room.meaning.findings[i].finding, text)) {
            found = &s->room.meaning.findings[i];
            count++;
        }
    }
    fl_status status = conclude(count, "finding", text, "fernlock finding list shows them", err);
    if (status == FL_OK) {
        *out = found;
    }
    return status;
}

static void find_named(const fl_event *events, size_t n, fl_sv text, const fl_event **found,
                       size_t *count)
{
    for (size_t i = 0; i < n; i++) {
        if (fl_id_is_named(events[i].id, text)) {
            *found = &events[i];
            (*count)++;
        }
    }
}

fl_status fl_find_recorded(const fl_session *s, fl_sv text, const fl_event **out, fl_err *err)
{
    const fl_event *found = NULL;
    size_t count = 0;
    find_named(s->room.events, s->room.n_events, text, &found, &count);
    find_named(s->room.voided, s->room.n_voided, text, &found, &count);
    fl_status status = conclude(count, "event", text, "fernlock show history LOT lists them", err);
    if (status == FL_OK) {
        *out = found;
    }
    return status;
}

const fl_ev_plant_set *fl_find_plant_exactly(const fl_session *s, fl_sv text)
{
    for (size_t i = 0; i < s->room.defs.plants.count; i++) {
        const fl_ev_plant_set *plant = &s->room.defs.plants.events[i]->body.plant_set;
        if (fl_id_is_named(plant->plant, text) || fl_sv_eq_nocase(plant->name, text) ||
            (plant->taxon.len > 0 && fl_sv_eq_nocase(plant->taxon, text))) {
            return plant;
        }
    }
    return NULL;
}

static const fl_event *find_among(const fl_event *events, size_t n, fl_id id)
{
    for (size_t i = 0; i < n; i++) {
        if (fl_id_eq(events[i].id, id)) {
            return &events[i];
        }
    }
    return NULL;
}

const fl_event *fl_find_event(const fl_session *s, fl_id id)
{
    const fl_event *live = find_among(s->room.events, s->room.n_events, id);
    return live != NULL ? live : find_among(s->room.voided, s->room.n_voided, id);
}
