/* Reading a lot as it is typed. */
#include "cli/lot_spec.h"

#include <math.h>
#include <string.h>

#include "base/num.h"
#include "base/shown.h"
#include "cli/compose.h"
#include "cli/find.h"

#define COUNT_MAX 1000000
#define TAKE_BACK_DAYS_MAX 3650

/* "3x Pilea" or "3 x Pilea": the count, and the rest; without one it is 1. */
static fl_status read_count(fl_sv *text, int64_t *count, fl_err *err)
{
    size_t digits = 0;
    *count = 1;
    while (digits < text->len && text->ptr[digits] >= '0' && text->ptr[digits] <= '9') {
        digits++;
    }
    fl_sv rest = fl_sv_trim((fl_sv){text->ptr + digits, text->len - digits});
    bool is_count = digits > 0 && rest.len > 0 && (rest.ptr[0] == 'x' || rest.ptr[0] == 'X') &&
                    (rest.len == 1 || rest.ptr[1] == ' ');
    if (!is_count) {
        return FL_OK;
    }
    fl_sv number = {text->ptr, digits};
    *text = fl_sv_trim((fl_sv){rest.ptr + 1, rest.len - 1});
    return fl_num_parse_int(number, "how many plants", 1, COUNT_MAX, count, err);
}

/* What stands after "key="; false when the field has another key. */
static bool has_key(fl_sv field, const char *key, fl_sv *value)
{
    size_t len = strlen(key);
    if (field.len < len || memcmp(field.ptr, key, len) != 0) {
        return false;
    }
    *value = fl_sv_trim((fl_sv){field.ptr + len, field.len - len});
    return true;
}

static fl_status read_field(fl_sv field, fl_lot_spec *spec, fl_err *err)
{
    fl_sv value = FL_SV("");
    int form = fl_word_find(fl_words_form, FL_FORM_COUNT, field);
    int use = fl_word_find(fl_words_use, FL_USE_COUNT, field);
    if (form >= 0 && !spec->has_form) {
        spec->form = (fl_form)form;
        spec->has_form = true;
    } else if (use >= 0 && !spec->has_use) {
        spec->use = (fl_use)use;
        spec->has_use = true;
    } else if (form >= 0 || use >= 0) {
        return fl_fail(err, FL_EINVAL, "\"%.*s\": a lot has one form and one use", FL_SHOWN(field));
    } else if (fl_sv_eq_cstr(field, "clean")) {
        spec->is_label_clean = true;
    } else if (has_key(field, "label=", &value) && value.len > 0) {
        spec->label_active = value;
    } else if (has_key(field, "cost=", &value)) {
        return fl_num_parse_double_in(value, "cost", 0.0, 1e6, &spec->cost, err);
    } else if (has_key(field, "back=", &value)) {
        return fl_num_parse_int(value, "back", 1, TAKE_BACK_DAYS_MAX, &spec->take_back_days, err);
    } else {
        return fl_fail(err, FL_EINVAL,
                       "\"%.*s\" is no form (potted, plug, bare_root …), no use (stock, "
                       "amphibian …), and none of clean, label=…, cost=…, back=…",
                       FL_SHOWN(field));
    }
    return FL_OK;
}

fl_status fl_lot_spec_read(fl_sv text, fl_lot_spec *out, fl_err *err)
{
    fl_lot_spec spec = {.cost = (double)NAN};
    fl_sv rest = text;
    fl_sv head = fl_sv_trim(fl_sv_split(&rest, ':'));
    fl_status status = read_count(&head, &spec.count, err);
    spec.name = head;
    if (status == FL_OK && head.len == 0) {
        return fl_fail(err, FL_EINVAL, "\"%.*s\": name the plant, as in 3x Pilea:potted:amphibian",
                       FL_SHOWN(text));
    }
    while (status == FL_OK && rest.len > 0) {
        status = read_field(fl_sv_trim(fl_sv_split(&rest, ':')), &spec, err);
    }
    if (status == FL_OK) {
        *out = spec;
    }
    return status;
}

/* A plant that this command has made already. */
static const fl_ev_plant_set *made_before(const fl_session *s, fl_sv name)
{
    for (size_t i = 0; i < s->n_events; i++) {
        if (s->events[i].kind == FL_KIND_PLANT_SET &&
            fl_sv_eq_nocase(s->events[i].body.plant_set.name, name)) {
            return &s->events[i].body.plant_set;
        }
    }
    return NULL;
}

fl_status fl_lot_spec_plant(fl_session *s, const fl_lot_spec *spec, fl_id *out, fl_err *err)
{
    fl_event *event = NULL;
    if (fl_form_is_material(spec->form)) {
        *out = (fl_id){{0}};
        return FL_OK;
    }
    const fl_ev_plant_set *plant = fl_find_plant_exactly(s, spec->name);
    plant = plant != NULL ? plant : made_before(s, spec->name);
    if (plant != NULL) {
        *out = plant->plant;
        return FL_OK;
    }
    fl_status status = fl_compose(s, FL_KIND_PLANT_SET, &event, err);
    if (status == FL_OK) {
        const fl_know_plant *row = fl_know_plant_find(spec->name);
        event->note = FL_SV("");
        event->body.plant_set.plant = fl_compose_id(s);
        event->body.plant_set.name = spec->name;
        event->body.plant_set.taxon = fl_sv_from_cstr(row != NULL ? row->botanical_name : "");
        fl_compose_made(s, "plant", event->body.plant_set.plant, spec->name);
        *out = event->body.plant_set.plant;
    }
    return status;
}
