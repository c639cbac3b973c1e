/* Finds: reading them, and what is said after one. */
#include "cli/found.h"

#include <stdio.h>

#include "app/outbreak.h"
#include "base/num.h"
#include "base/shown.h"
#include "base/str.h"
#include "cli/compose.h"
#include "cli/unknown.h"

#define FOUND_MAX 1000000

static const char *code_at(size_t index)
{
    return fl_know_threat(index)->code;
}

static bool is_lookalike(fl_sv code)
{
    for (size_t i = 0; i < fl_know_lookalike_count(); i++) {
        if (fl_sv_eq_cstr(code, fl_know_lookalike_at(i)->code)) {
            return true;
        }
    }
    return false;
}

fl_status fl_found_check_code(fl_sv code, fl_err *err)
{
    if (fl_know_threat_find(code) != NULL || is_lookalike(code)) {
        return FL_OK;
    }
    return fl_cli_unknown(err, "threat", code, code_at, fl_know_threat_count());
}

/* Cuts "@LOT" off the end and finds the lot. */
static fl_status take_lot(fl_session *s, fl_sv *text, fl_id *lot_id, fl_err *err)
{
    const fl_lot *lot = NULL;
    size_t end = text->len; /* after the last '@' */
    *lot_id = (fl_id){{0}};
    while (end > 0 && text->ptr[end - 1] != '@') {
        end--;
    }
    if (end == 0) {
        return FL_OK;
    }
    size_t head = end - 1;
    fl_sv name = {text->ptr + end, text->len - end};
    text->len = head;
    fl_status status = fl_room_find_lot(&s->room, fl_sv_trim(name), &lot, err);
    if (status == FL_OK) {
        *lot_id = lot->id;
    }
    return status;
}

static fl_status check_stage(fl_sv code, fl_sv stage, fl_err *err)
{
    const fl_threat *threat = fl_know_threat_find(code);
    if (threat == NULL || stage.len == 0) {
        return FL_OK;
    }
    fl_str names;
    fl_str_init(&names, 120);
    for (int i = 0; i < threat->n_stages; i++) {
        if (fl_sv_eq_cstr(stage, threat->stage[i].name)) {
            fl_str_done(&names);
            return FL_OK;
        }
        fl_str_appendf(&names, "%s%s", i == 0 ? "" : ", ", threat->stage[i].name);
    }
    fl_status status = fl_fail(err, FL_EINVAL, "stage \"%.*s\": for %s give %s", FL_SHOWN(stage),
                               threat->code, names.len > 0 ? names.ptr : "none");
    fl_str_done(&names);
    return status;
}

fl_status fl_found_read(fl_session *s, fl_sv text, fl_ev_finding *out, fl_err *err)
{
    fl_ev_finding found = {.count = 1};
    fl_status status = take_lot(s, &text, &found.lot, err);
    fl_sv rest = text;
    found.threat = fl_sv_trim(fl_sv_split(&rest, ':'));
    found.stage = fl_sv_trim(fl_sv_split(&rest, ':'));
    if (status == FL_OK) {
        status = fl_found_check_code(found.threat, err);
    }
    if (status == FL_OK) {
        status = check_stage(found.threat, found.stage, err);
    }
    if (status == FL_OK && rest.len > 0) {
        status = fl_num_parse_int(fl_sv_trim(rest), "how many were seen", 1, FOUND_MAX,
                                  &found.count, err);
    }
    if (status == FL_OK) {
        found.finding = fl_compose_id(s);
        *out = found;
    }
    return status;
}

fl_status fl_found_read_unknown(fl_session *s, fl_sv text, fl_ev_finding *out, fl_err *err)
{
    fl_ev_finding found = {.count = 1};
    fl_status status = take_lot(s, &text, &found.lot, err);
    if (status == FL_OK && text.len == 0) {
        return fl_fail(err, FL_EINVAL, "--found-unknown: say what it looked like");
    }
    if (status == FL_OK) {
        found.what = text;
        found.finding = fl_compose_id(s);
        *out = found;
    }
    return status;
}

/* ---- after a find ---- */

static void print_first_things(const fl_session *s, fl_id place)
{
    const fl_ev_place_set *set = fl_defs_place(&s->room.defs, place);
    (void)puts("First:");
    for (int i = 0; i < FL_OUTBREAK_FIRST; i++) {
        (void)printf("  %d. %s\n", i + 1, fl_outbreak_first_plants[i]);
    }
    if (set != NULL && set->has_animals) {
        (void)puts("There are animals in it: no cards, soap, oil, alcohol, bleach, heat or gas in "
                   "there. An ill animal is a vet's.");
    }
}

fl_status fl_print_after_find(fl_session *s, fl_id place, const fl_lot_date *before,
                              size_t n_before, fl_err *err)
{
    fl_sv name = fl_room_place_name(&s->room, place);
    if (!fl_meaning_is_held(&s->room.meaning, place, s->room.now_s)) {
        (void)printf("It holds nothing up: %.*s is not on hold.\n", FL_SV_ARG(name));
        return FL_OK;
    }
    print_first_things(s, place);
    const fl_ev_place_set *set = fl_defs_place(&s->room.defs, place);
    bool is_planted = set != NULL && set->kind == FL_PLACE_ENCLOSURE;
    (void)printf("%.*s is on hold: nothing should leave it until it is lifted.%s\n",
                 FL_SV_ARG(name),
                 is_planted ? "" : " Plants in it are cleaned again, and wait again.");
    (void)printf("Where from, who else, what now: fernlock trace %.*s\n",
                 FL_SV_ARG(fl_code_of(s, place)));
    return fl_print_moved_dates(s, place, before, n_before, err);
}
