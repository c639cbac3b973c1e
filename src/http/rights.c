/* The table of kinds, and whose event may be taken back. */
#include "http/rights.h"

#include "app/teller.h"
#include "http/device.h"
#include "json/json.h"

/* What is not listed is recording: any device may. */
static const fl_tier tiers[FL_KIND_COUNT] = {
    [FL_KIND_ROOM_SET] = FL_TIER_OWNER,          /* settings */
    [FL_KIND_KNOWLEDGE_SET] = FL_TIER_OWNER,     /* what the science counts with */
    [FL_KIND_READINGS_IMPORTED] = FL_TIER_OWNER, /* imports */
    [FL_KIND_HISTORY_TOLD] = FL_TIER_OWNER,
};

fl_tier fl_rights_of_kind(fl_kind kind)
{
    return tiers[kind] == FL_TIER_NONE ? FL_TIER_DEVICE : tiers[kind];
}

/* A voiding by a device: of what it told itself. */
static fl_status check_voiding(const fl_exchange *x, struct fl_app *app, const fl_json_value *root,
                               fl_err *err)
{
    fl_id target;
    fl_arena arena;
    fl_sv teller = FL_SV("");
    fl_paired_device device = {.label = ""};
    const fl_json_value *body = fl_json_get(root, "body");
    if (fl_id_parse(fl_json_text(fl_json_get(body, "event")), &target, NULL) != FL_OK) {
        return FL_OK;
    }
    fl_arena_init(&arena);
    fl_status status = fl_app_teller(app, target, &arena, &teller, err);
    if (status == FL_ENOTFOUND) {
        status = FL_OK; /* recording says so */
    } else if (status == FL_OK && (!fl_devices_of(x->sessions, x->who.session, &device) ||
                                   !fl_sv_eq_cstr(teller, device.label))) {
        status = fl_fail(err, FL_EFORBIDDEN,
                         "A phone takes back what it recorded itself. This was recorded %s%.*s: "
                         "undo it there, or at the computer.",
                         teller.len > 0 ? "by " : "elsewhere", FL_SV_ARG(teller));
    }
    fl_arena_done(&arena);
    return status;
}

fl_status fl_rights_check(const fl_exchange *x, struct fl_app *app, fl_sv json, fl_err *err)
{
    fl_json_doc *doc = NULL;
    fl_status status = FL_OK;
    if (x->who.tier >= FL_TIER_OWNER || fl_json_parse(json, &doc, NULL) != FL_OK) {
        return FL_OK;
    }
    const fl_json_value *root = fl_json_root(doc);
    const int kind = fl_kind_find(fl_json_text(fl_json_get(root, "kind")));
    if (kind >= 0 && fl_rights_of_kind((fl_kind)kind) > x->who.tier) {
        status = fl_fail(err, FL_EFORBIDDEN,
                         "A phone records what happened. Settings and imports are changed at the "
                         "computer.");
    } else if (kind == FL_KIND_EVENT_VOIDED) {
        status = check_voiding(x, app, root, err);
    }
    fl_json_free(doc);
    return status;
}
