/* A bleach dip as JSON, and cautions. */
#include "view/recipe.h"

#include <string.h>

#include "core/dip/safety.h"
#include "core/dip/volume.h"

static void put_mix(fl_json_writer *w, const fl_bleach_mix *mix)
{
    fl_json_put_number(w, "product_ml", mix->product_ml);
    fl_json_put_number(w, "water_ml", mix->water_ml);
    fl_json_put_number(w, "product_us_fl_oz", fl_volume_ml_to_us_fl_oz(mix->product_ml));
    fl_json_put_number(w, "water_us_gal", fl_volume_ml_to_us_gal(mix->water_ml));
    fl_json_put_number(w, "chlorine_mg_per_l", mix->chlorine_mg_per_l);
    fl_json_put_number(w, "chlorine_low_mg_per_l", mix->chlorine_low_mg_per_l);
    fl_json_put_number(w, "chlorine_high_mg_per_l", mix->chlorine_high_mg_per_l);
    fl_json_put_number(w, "chlorine_simple_mg_per_l", mix->chlorine_simple_mg_per_l);
    fl_json_put_number(w, "naocl_mg_per_l", mix->naocl_mg_per_l);
    fl_json_put_number(w, "product_pct_by_volume", mix->product_pct_by_volume);
    fl_json_put_number(w, "specific_gravity", mix->specific_gravity);
    fl_json_put_number(w, "strength_now_pct", mix->strength.now_pct);
    fl_json_put_number(w, "strength_now_low_pct", mix->strength.low_pct);
    fl_json_put_number(w, "strength_now_high_pct", mix->strength.high_pct);
    fl_json_put_bool(w, "is_measured", mix->strength.is_measured);
    fl_json_put_bool(w, "should_replace", mix->strength.should_replace);
}

void fl_view_recipe(fl_json_writer *w, const char *key, const fl_bleach_mix *mix)
{
    fl_caution caution[FL_CAUTIONS_MAX];
    size_t n = fl_dip_cautions(FL_AGENT_BLEACH, fl_bleach_occasions(mix), caution);
    fl_json_begin_object(w, key);
    put_mix(w, mix);
    fl_json_begin_array(w, "cautions");
    for (size_t i = 0; i < n; i++) {
        fl_json_put_cstr(w, NULL, caution[i].text);
    }
    fl_json_end(w);
    fl_json_end(w);
}

static bool was_said(const char *const *said, size_t n, const char *text)
{
    for (size_t i = 0; i < n; i++) {
        if (strcmp(said[i], text) == 0) {
            return true;
        }
    }
    return false;
}

void fl_view_cautions(fl_json_writer *w, const char *key, unsigned agents)
{
    fl_view_cautions_after(w, key, NULL, 0, agents);
}

void fl_view_cautions_after(fl_json_writer *w, const char *key, const char *const *first,
                            size_t n_first, unsigned agents)
{
    const char *said[FL_AGENT_COUNT * FL_CAUTIONS_MAX];
    size_t n_said = 0;
    fl_json_begin_array(w, key);
    for (size_t i = 0; i < n_first; i++) {
        fl_json_put_cstr(w, NULL, first[i]);
    }
    for (int agent = 0; agent < FL_AGENT_COUNT; agent++) {
        fl_caution caution[FL_CAUTIONS_MAX];
        size_t n = (agents & (1U << agent)) != 0 ? fl_dip_cautions((fl_agent)agent, 0, caution) : 0;
        for (size_t i = 0; i < n; i++) {
            if (!was_said(said, n_said, caution[i].text)) {
                said[n_said++] = caution[i].text;
                fl_json_put_cstr(w, NULL, caution[i].text);
            }
        }
    }
    fl_json_end(w);
}
