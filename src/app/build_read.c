/* The plan of a build, from its event: what is wanted, by when, for what use. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/build.h"
#include "json/json.h"

#define SETTLE_DAYS_MAX 365
#define COUNT_MAX 1000
#define VOLUME_L_MAX 100000.0
#define FORGET_DAYS 30 /* a build needed longer ago than this is over */

static double number_of(const fl_json_value *object, const char *key)
{
    double value;
    return fl_json_number(fl_json_get(object, key), &value) ? value : (double)NAN;
}

static fl_status read_uses(const fl_json_value *list, fl_build *b, fl_err *err)
{
    for (size_t i = 0; i < fl_json_size(list); i++) {
        const fl_sv word = fl_json_text(fl_json_at(list, i));
        const int use = fl_word_find(fl_words_use, FL_USE_COUNT, word);
        if (use < 0) {
            return fl_fail(err, FL_EINVAL,
                           "the plan of %.*s: use \"%.*s\": give plants_only, reptile, "
                           "invertebrate, amphibian or stock",
                           FL_SV_ARG(b->body->name), FL_SV_ARG(word));
        }
        b->uses |= 1U << use;
    }
    return FL_OK;
}

static fl_status read_id(const fl_json_value *value, fl_id *out, fl_err *err)
{
    const fl_sv text = fl_json_text(value);
    *out = (fl_id){{0}};
    return text.len == 0 ? FL_OK : fl_id_parse(text, out, err);
}

/* The room's plant by name, when it has exactly that. */
static fl_id plant_named(const fl_room *room, fl_sv name)
{
    for (size_t i = 0; i < room->defs.plants.count; i++) {
        const fl_ev_plant_set *plant = &room->defs.plants.events[i]->body.plant_set;
        if (fl_sv_eq_nocase(plant->name, name) || fl_sv_eq_nocase(plant->taxon, name)) {
            return plant->plant;
        }
    }
    return (fl_id){{0}};
}

static fl_status read_item(const fl_room *room, const fl_json_value *value, const fl_build *b,
                           fl_arena *arena, fl_build_item *out, fl_err *err)
{
    int64_t count = 1;
    fl_build_item item = {.name =
                              fl_arena_copy_sv(arena, fl_json_text(fl_json_get(value, "name")))};
    if (fl_json_get(value, "count") != NULL &&
        (!fl_json_int(fl_json_get(value, "count"), &count) || count < 1 || count > COUNT_MAX)) {
        return fl_fail(err, FL_EDOMAIN, "the plan of %.*s: count of \"%.*s\": give 1 to %d",
                       FL_SV_ARG(b->body->name), FL_SV_ARG(item.name), COUNT_MAX);
    }
    item.count = (int)count;
    fl_status status = read_id(fl_json_get(value, "plant"), &item.plant, err);
    if (status == FL_OK) {
        status = read_id(fl_json_get(value, "source"), &item.source, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (fl_id_is_none(item.plant)) {
        item.plant = plant_named(room, item.name);
    }
    const fl_ev_plant_set *plant = fl_defs_plant(&room->defs, item.plant);
    if (plant != NULL && item.name.len == 0) {
        item.name = plant->name;
    }
    if (item.name.len == 0) {
        return fl_fail(err, FL_EINVAL, "the plan of %.*s: a plant has neither name nor plant",
                       FL_SV_ARG(b->body->name));
    }
    item.row = fl_know_plant_find(plant != NULL && plant->taxon.len > 0 ? plant->taxon : item.name);
    *out = item;
    return FL_OK;
}

static fl_status read_items(const fl_room *room, const fl_json_value *list, fl_arena *arena,
                            fl_build *b, fl_err *err)
{
    fl_status status = FL_OK;
    if (fl_json_size(list) > FL_BUILD_ITEMS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "the plan of %.*s asks for %zu kinds of plants: at most %d",
                       FL_SV_ARG(b->body->name), fl_json_size(list), FL_BUILD_ITEMS_MAX);
    }
    for (size_t i = 0; i < fl_json_size(list) && status == FL_OK; i++) {
        status = read_item(room, fl_json_at(list, i), b, arena, &b->items[b->n_items], err);
        b->n_items += status == FL_OK;
    }
    return status;
}

static fl_status read_materials(const fl_json_value *list, fl_arena *arena, fl_build *b,
                                fl_err *err)
{
    if (fl_json_size(list) > FL_BUILD_MATERIALS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "the plan of %.*s asks for %zu materials: at most %d",
                       FL_SV_ARG(b->body->name), fl_json_size(list), FL_BUILD_MATERIALS_MAX);
    }
    for (size_t i = 0; i < fl_json_size(list); i++) {
        const fl_json_value *value = fl_json_at(list, i);
        const bool is_word = fl_json_type_of(value) == FL_JSON_STRING;
        const fl_sv name = fl_json_text(is_word ? value : fl_json_get(value, "name"));
        const fl_build_material m = {.name = fl_arena_copy_sv(arena, name),
                                     .volume_l =
                                         is_word ? (double)NAN : number_of(value, "volume_l")};
        if (m.name.len == 0 || m.volume_l <= 0.0 || m.volume_l > VOLUME_L_MAX) {
            return fl_fail(err, FL_EDOMAIN,
                           "the plan of %.*s: material %zu: give a name, and a volume_l above 0",
                           FL_SV_ARG(b->body->name), i + 1);
        }
        b->materials[b->n_materials++] = m;
    }
    return FL_OK;
}

static fl_status read_sizes(const fl_json_value *root, fl_build *b, fl_err *err)
{
    const fl_json_value *size = fl_json_get(root, "size_mm");
    int64_t settle = FL_BUILD_SETTLE_DAYS;
    double *const side[3] = {&b->length_mm, &b->width_mm, &b->height_mm};
    for (size_t k = 0; k < 3; k++) {
        *side[k] = (double)NAN;
        if (size != NULL && (!fl_json_number(fl_json_at(size, k), side[k]) ||
                             !(*side[k] > 0.0 && *side[k] <= 20000.0))) {
            return fl_fail(err, FL_EDOMAIN,
                           "the plan of %.*s: size_mm: give length, width and height, 1 to 20000",
                           FL_SV_ARG(b->body->name));
        }
    }
    b->substrate_mm = number_of(root, "substrate_mm");
    b->drainage_mm = number_of(root, "drainage_mm");
    if (fl_json_get(root, "settle_days") != NULL &&
        (!fl_json_int(fl_json_get(root, "settle_days"), &settle) || settle < 0 ||
         settle > SETTLE_DAYS_MAX)) {
        return fl_fail(err, FL_EDOMAIN, "the plan of %.*s: settle_days: give 0 to %d",
                       FL_SV_ARG(b->body->name), SETTLE_DAYS_MAX);
    }
    b->settle_days = (int)settle;
    return FL_OK;
}

static fl_status read_plan(const fl_room *room, const fl_json_value *root, fl_arena *arena,
                           fl_build *b, fl_err *err)
{
    fl_status status = read_uses(fl_json_get(root, "uses"), b, err);
    if (status == FL_OK) {
        status = read_sizes(root, b, err);
    }
    if (status == FL_OK) {
        status = read_items(room, fl_json_get(root, "plants"), arena, b, err);
    }
    return status == FL_OK ? read_materials(fl_json_get(root, "materials"), arena, b, err) : status;
}

fl_status fl_build_read(const fl_room *room, const fl_event *event, fl_arena *arena, fl_build *out,
                        fl_err *err)
{
    fl_build b = {.event = event, .body = &event->body.build_planned};
    fl_json_doc *doc = NULL;
    fl_precision precision;
    const fl_ev_place_set *enclosure = fl_defs_place(&room->defs, b.body->enclosure);
    const fl_sv text = b.body->plan_json.len > 0 ? b.body->plan_json : FL_SV("{}");
    fl_status status =
        fl_civil_parse(b.body->need_by, room->tz_offset_min, &b.need_s, &precision, err);
    if (status == FL_OK) {
        status = fl_json_parse(text, &doc, err);
    }
    if (status == FL_OK) {
        b.uses = enclosure != NULL ? fl_gate_uses_of_place(enclosure) : 0;
        status = read_plan(room, fl_json_root(doc), arena, &b, err);
        b.is_done = fl_json_bool(fl_json_get(fl_json_root(doc), "is_done"), false);
        b.uses = b.uses == 0 ? 1U << FL_USE_PLANTS_ONLY : b.uses;
    }
    fl_json_free(doc);
    if (status == FL_OK) {
        *out = b;
    }
    return status;
}

/* ---- which are open ---- */

/* A later plan of the same build replaces the earlier. */
static bool is_replaced(const fl_room *room, size_t index)
{
    const fl_id build = room->events[index].body.build_planned.build;
    for (size_t i = index + 1; i < room->n_events; i++) {
        if (room->events[i].kind == FL_KIND_BUILD_PLANNED &&
            fl_id_eq(room->events[i].body.build_planned.build, build)) {
            return true;
        }
    }
    return false;
}

static int compare_need(const void *a, const void *b)
{
    const fl_build *x = a;
    const fl_build *y = b;
    if (x->need_s != y->need_s) {
        return x->need_s < y->need_s ? -1 : 1;
    }
    return fl_id_compare(x->body->build, y->body->build);
}

/* A plan that cannot be read stays in the list, with the reason. */
static void read_or_tell(const fl_room *room, const fl_event *event, fl_arena *arena, fl_build *out)
{
    fl_err inner = {0};
    fl_precision precision;
    if (fl_build_read(room, event, arena, out, &inner) == FL_OK) {
        return;
    }
    *out = (fl_build){.event = event,
                      .body = &event->body.build_planned,
                      .uses = 1U << FL_USE_PLANTS_ONLY,
                      .need_s = room->now_s,
                      .trouble = fl_arena_printf(arena, "%s", inner.message)};
    (void)!fl_civil_parse(out->body->need_by, room->tz_offset_min, &out->need_s, &precision, NULL);
}

void fl_builds_open(const fl_room *room, fl_arena *arena, fl_build **out, size_t *count)
{
    fl_build *builds = FL_ARENA_ARRAY(arena, fl_build, FL_BUILDS_MAX);
    size_t n = 0;
    for (size_t i = 0; i < room->n_events && n < FL_BUILDS_MAX; i++) {
        if (room->events[i].kind != FL_KIND_BUILD_PLANNED || is_replaced(room, i)) {
            continue;
        }
        read_or_tell(room, &room->events[i], arena, &builds[n]);
        n +=
            !builds[n].is_done && builds[n].need_s >= room->now_s - (int64_t)FORGET_DAYS * FL_DAY_S;
    }
    if (n > 1) {
        qsort(builds, n, sizeof builds[0], compare_need);
    }
    *out = builds;
    *count = n;
}
