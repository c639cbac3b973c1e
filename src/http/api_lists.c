/* Lists: lots, places, the collection. A room of thousands is shown by asking for the names first
 * (?plain=true, where neither the gate nor the chances are asked), then for the answers of what
 * stands on the screen (?only=CODE,…). Without either they are whole, for scripts. */
#include "app/collection.h"
#include "base/shown.h"
#include "http/api.h"
#include "view/collection.h"

#define ONLY_MAX 60 /* named in one address */

/* What a list is asked for. */
typedef struct wanted {
    bool is_plain;
    bool has_only;
    fl_sv rest; /* of the names, decoded */
} wanted;

static fl_status read_wanted(fl_exchange *x, wanted *out, fl_err *err)
{
    fl_sv text = FL_SV("");
    fl_status status = FL_OK;
    *out = (wanted){.rest = FL_SV("")};
    if (fl_request_query(x->request, "plain", &text)) {
        out->is_plain = fl_sv_eq(text, FL_SV("true"));
        if (!out->is_plain && !fl_sv_eq(text, FL_SV("false"))) {
            return fl_fail(err, FL_EINVAL, "plain \"%.*s\": give true or false", FL_SHOWN(text));
        }
    }
    if (fl_request_query(x->request, "only", &text)) {
        out->has_only = true;
        status = fl_percent_decode(text, &x->arena, &out->rest, err);
    }
    return status;
}

static fl_status begin(fl_exchange *x, struct fl_app *app, wanted *want, fl_view *view, fl_err *err)
{
    const fl_status status = read_wanted(x, want, err);
    if (status != FL_OK) {
        return status;
    }
    return want->is_plain ? fl_api_begin_plain(x, app, view, err) : fl_api_begin(x, app, view, err);
}

/* The next name, when there is one; too many are refused. */
static bool next_name(wanted *want, size_t n, fl_sv *name, fl_status *status, fl_err *err)
{
    if (*status != FL_OK || want->rest.len == 0) {
        return false;
    }
    if (n == ONLY_MAX) {
        *status = fl_fail(err, FL_ETOOBIG, "more than %d in only: give fewer", ONLY_MAX);
        return false;
    }
    *name = fl_sv_split(&want->rest, ',');
    return true;
}

static fl_status read_lots(fl_exchange *x, const fl_room *room, wanted *want, fl_view_lots_of *out,
                           fl_err *err)
{
    const fl_lot **lots = FL_ARENA_ARRAY(&x->arena, const fl_lot *, ONLY_MAX);
    fl_status status = FL_OK;
    fl_sv name = FL_SV("");
    while (next_name(want, out->n_only, &name, &status, err)) {
        status = fl_room_find_lot(room, name, &lots[out->n_only], err);
        out->n_only += status == FL_OK ? 1 : 0;
    }
    out->only = lots;
    return status;
}

fl_status fl_api_lots(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    wanted want;
    fl_view_lots_of which = {.only = NULL};
    fl_status status = begin(x, app, &want, &view, err);
    if (status != FL_OK) {
        return status;
    }
    if (want.has_only) {
        status = read_lots(x, view.room, &want, &which, err);
    }
    if (status == FL_OK) {
        status = fl_view_lots(&view, NULL, which, err);
    }
    return fl_api_end(x, &view, status);
}

fl_status fl_api_places(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    wanted want;
    size_t n = 0;
    fl_sv name = FL_SV("");
    fl_status status = begin(x, app, &want, &view, err);
    if (status != FL_OK) {
        return status;
    }
    if (!want.has_only) {
        return fl_api_end(x, &view, fl_view_places(&view, NULL, err));
    }
    const fl_ev_place_set **places = FL_ARENA_ARRAY(&x->arena, const fl_ev_place_set *, ONLY_MAX);
    while (next_name(&want, n, &name, &status, err)) {
        status = fl_room_find_place(view.room, name, &places[n], err);
        n += status == FL_OK ? 1 : 0;
    }
    if (status == FL_OK) {
        status = fl_view_places_only(&view, NULL, places, n, err);
    }
    return fl_api_end(x, &view, status);
}

/* ---- the collection: only=CODE names a plant by a lot of it ---- */

static bool has_lot(const fl_collection_plant *plant, const fl_lot *lot)
{
    bool has = false;
    for (size_t i = 0; i < plant->n_lots; i++) {
        has = has || plant->lots[i].lot == lot;
    }
    return has;
}

/* Keeps the plants of the named lots, in their order in the collection. */
static fl_status keep_only(fl_exchange *x, const fl_room *room, wanted *want, fl_collection *c,
                           fl_err *err)
{
    fl_view_lots_of which = {.only = NULL};
    size_t n = 0;
    const fl_status status = read_lots(x, room, want, &which, err);
    for (size_t i = 0; i < c->n_plants && status == FL_OK; i++) {
        bool is_named = false;
        for (size_t k = 0; k < which.n_only; k++) {
            is_named = is_named || has_lot(&c->plants[i], which.only[k]);
        }
        if (is_named) {
            c->plants[n++] = c->plants[i];
        }
    }
    c->n_plants = status == FL_OK ? n : c->n_plants;
    return status;
}

fl_status fl_api_collection(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    wanted want;
    fl_collection collection;
    fl_status status = begin(x, app, &want, &view, err);
    if (status != FL_OK) {
        return status;
    }
    fl_collection_list(view.room, &x->arena, &collection);
    if (want.has_only) {
        status = keep_only(x, view.room, &want, &collection, err);
    }
    for (size_t i = 0; i < collection.n_plants && status == FL_OK && !want.is_plain; i++) {
        status = fl_collection_ask(view.room, view.chances, &x->arena, &collection.plants[i], err);
    }
    if (status == FL_OK) {
        fl_view_collection(&view, NULL, &collection);
    }
    return fl_api_end(x, &view, status);
}
