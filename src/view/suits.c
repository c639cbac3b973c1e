/* Suitability in words and as JSON. */
#include "view/suits.h"

#include <math.h>
#include <string.h>

#include "base/str.h"
#include "view/put.h"

#define TEXT_BYTES_MAX 1200

const char fl_suits_note[] =
    "Lists of poisonous plants are made for people and pets. None that we read is about small "
    "frogs, other amphibians or invertebrates: for them nothing here is a promise. Ask a vet who "
    "treats them; after a plant was eaten, a vet or a poison centre.";

static fl_sv take(fl_str *text, fl_arena *arena)
{
    const fl_sv copy = fl_arena_copy_sv(arena, fl_sv_trim(fl_str_sv(text)));
    fl_str_done(text);
    return copy;
}

/* "published", "mostly from memory": of a row of data/plants.csv. */
static const char *say_confidence(const fl_know_plant *row)
{
    if (strcmp(row->confidence, "published") == 0) {
        return "published";
    }
    if (strcmp(row->confidence, "mixed") == 0) {
        return "partly published, partly from memory";
    }
    return strcmp(row->confidence, "weak") == 0 ? "from hobby pages" : "from memory";
}

/* ---- the place ---- */

static fl_sv say_side(double side_mm, fl_arena *arena)
{
    return isnan(side_mm) ? FL_SV("?") : fl_arena_printf(arena, "%.0f", side_mm);
}

fl_sv fl_say_suits_site(const fl_suits *suits, fl_arena *arena)
{
    const fl_suits_site *s = &suits->site;
    const fl_sv sides[] = {say_side(s->length_mm, arena), say_side(s->width_mm, arena),
                           say_side(s->height_mm, arena)};
    fl_str text;
    fl_str_init(&text, TEXT_BYTES_MAX);
    if (isnan(s->dli_mol_m2_d)) {
        fl_str_append_cstr(&text, "Light: not told. ");
    } else {
        fl_str_appendf(&text, "Light: %.1f mol a day, class %s, %s. ", s->dli_mol_m2_d,
                       fl_words_suits_light[fl_suits_light_class(s->dli_mol_m2_d)].text,
                       fl_words_suits_basis[s->light_basis].text);
    }
    if (isnan(s->rh_pct)) {
        fl_str_append_cstr(&text, "Humidity: not told. ");
    } else {
        fl_str_appendf(&text, "Humidity: %.0f %%, %s. ", s->rh_pct,
                       fl_words_suits_basis[s->rh_basis].text);
    }
    if (isnan(s->temp_mean_c)) {
        fl_str_append_cstr(&text, "Temperature: not told. ");
    } else if (s->temp_max_c - s->temp_min_c < 0.1) {
        fl_str_appendf(&text, "Temperature: %.0f degrees, %s. ", s->temp_mean_c,
                       fl_words_suits_basis[s->temp_basis].text);
    } else {
        fl_str_appendf(&text, "Temperature: %.1f degrees (%.1f to %.1f), %s. ", s->temp_mean_c,
                       s->temp_min_c, s->temp_max_c, fl_words_suits_basis[s->temp_basis].text);
    }
    if (isnan(s->length_mm) && isnan(s->width_mm) && isnan(s->height_mm)) {
        fl_str_append_cstr(&text, "Size: not told.");
    } else {
        fl_str_appendf(&text, "Free inside: %.*s x %.*s x %.*s mm.", FL_SV_ARG(sides[0]),
                       FL_SV_ARG(sides[1]), FL_SV_ARG(sides[2]));
    }
    return take(&text, arena);
}

/* ---- aspects ---- */

static fl_sv say_light(const fl_suits *suits, const fl_suits_kind *k, fl_arena *arena)
{
    const fl_light_band band = fl_climate_band_of(k->row);
    const double dli = suits->site.dli_mol_m2_d;
    if (isnan(dli)) {
        return fl_arena_printf(arena, "wants %.1f to %.1f mol a day (class %s, %s)", band.low,
                               band.high, k->row->light_class, say_confidence(k->row));
    }
    return fl_arena_printf(arena, "%s: wants %.1f to %.1f mol a day (class %s, %s), gets %.1f",
                           dli < band.low    ? "dark"
                           : dli > band.high ? "bright"
                                             : "enough",
                           band.low, band.high, k->row->light_class, say_confidence(k->row), dli);
}

static fl_sv say_humidity(const fl_suits *suits, const fl_suits_kind *k, fl_arena *arena)
{
    const char *rots = k->row->rots_when_closed ? "; rots in a closed box" : "";
    double low;
    double high;
    if (!fl_suits_humidity_class(k->row->humidity_class, &low, &high)) {
        return fl_arena_printf(arena, "its class is not known%s", rots);
    }
    if (isnan(suits->site.rh_pct)) {
        return fl_arena_printf(arena, "wants %.0f %% at least (class %s: %.0f to %.0f %%, %s)%s",
                               k->row->rh_min_pct, k->row->humidity_class, low, high,
                               say_confidence(k->row), rots);
    }
    return fl_arena_printf(arena,
                           "wants %.0f %% at least (class %s: %.0f to %.0f %%, %s), gets %.0f %%%s",
                           k->row->rh_min_pct, k->row->humidity_class, low, high,
                           say_confidence(k->row), suits->site.rh_pct, rots);
}

static fl_sv say_warmth(const fl_suits_kind *k, fl_arena *arena)
{
    return fl_arena_printf(arena, "stands %.0f degrees at least, does best at %.0f to %.0f (%s)",
                           k->row->temp_min_c, k->row->temp_opt_lo_c, k->row->temp_opt_hi_c,
                           say_confidence(k->row));
}

static fl_sv say_size(const fl_suits_kind *k, fl_arena *arena)
{
    const fl_suits_plant *p = &k->more;
    const char *grade = strcmp(p->size_grade, "published") == 0 ? p->size_source : "from memory";
    if (isnan(p->height_low_mm)) {
        return FL_SV("how big it gets is not known");
    }
    if (fl_suits_is_trimmed(p)) {
        return fl_arena_printf(arena,
                               "%s as far as it is let and is cut back; %.0f to %.0f mm deep (%s)",
                               p->habit, p->height_low_mm, p->height_high_mm, grade);
    }
    return fl_arena_printf(arena, "gets %.0f to %.0f mm high, %.0f mm wide (%s)", p->height_low_mm,
                           p->height_high_mm, p->spread_mm, grade);
}

static fl_sv say_animals(const fl_suits *suits, const fl_suits_kind *k, fl_arena *arena)
{
    const char *harm = fl_words_suits_harm[k->more.harm].text;
    if (!suits->site.has_animals) {
        return FL_SV("no animals are told of");
    }
    if (k->row == NULL || k->row->toxicity[0] == '\0' || k->more.harm == FL_HARM_UNKNOWN) {
        return fl_sv_from_cstr(harm);
    }
    return fl_arena_printf(arena, "%s: %s (%s)", harm, k->row->toxicity,
                           strcmp(k->more.harm_grade, "published") == 0 ? "published"
                                                                        : "from memory");
}

static fl_sv say_facts(const fl_suits *suits, const fl_suits_kind *k, fl_suits_aspect aspect,
                       fl_arena *arena)
{
    switch (aspect) {
    case FL_SUITS_LIGHT:
        return say_light(suits, k, arena);
    case FL_SUITS_HUMIDITY:
        return say_humidity(suits, k, arena);
    case FL_SUITS_WARMTH:
        return say_warmth(k, arena);
    case FL_SUITS_SIZE:
        return say_size(k, arena);
    case FL_SUITS_ANIMALS:
    case FL_SUITS_ASPECTS:
    default:
        return say_animals(suits, k, arena);
    }
}

fl_sv fl_say_suits_aspect(const fl_suits *suits, const fl_suits_kind *kind, fl_suits_aspect aspect,
                          fl_arena *arena)
{
    if (kind->row == NULL && aspect != FL_SUITS_ANIMALS) {
        return FL_SV("not in our table: not known");
    }
    return say_facts(suits, kind, aspect, arena);
}

/* ---- the whole ---- */

static void say_those(const fl_suits *suits, const fl_suits_kind *k, fl_suits_state state,
                      fl_arena *arena, fl_str *text)
{
    for (int a = 0; a < FL_SUITS_ASPECTS; a++) {
        if (k->state[a] == state) {
            const fl_sv said = fl_say_suits_aspect(suits, k, (fl_suits_aspect)a, arena);
            fl_str_appendf(text, "%s %s: %.*s. ",
                           state == FL_SUITS_AGAINST ? "Against it," : "At the edge,",
                           fl_words_suits_aspect[a].text, FL_SV_ARG(said));
        }
    }
}

/* "Not known: light, humidity." */
static void say_unknown(const fl_suits_kind *k, fl_str *text)
{
    bool is_first = true;
    for (int a = 0; a < FL_SUITS_ASPECTS; a++) {
        if (k->state[a] == FL_SUITS_UNKNOWN) {
            fl_str_appendf(text, "%s%s", is_first ? "Not known: " : ", ",
                           fl_words_suits_aspect[a].text);
            is_first = false;
        }
    }
    fl_str_append_cstr(text, is_first ? "" : ".");
}

static void begin_upper(fl_str *text)
{
    if (text->len > 0 && text->ptr[0] >= 'a' && text->ptr[0] <= 'z') {
        text->ptr[0] = (char)(text->ptr[0] - 'a' + 'A');
    }
}

fl_sv fl_say_suits(const fl_suits *suits, const fl_suits_kind *kind, fl_arena *arena)
{
    fl_str text;
    if (kind->row == NULL && !kind->is_thriving) {
        return FL_SV("Not in our table: what it needs and whether it harms animals is not known.");
    }
    fl_str_init(&text, TEXT_BYTES_MAX);
    if (kind->is_thriving) {
        fl_str_append_cstr(&text, "Does well here, as you told: leave it. ");
    }
    say_those(suits, kind, FL_SUITS_AGAINST, arena, &text);
    say_those(suits, kind, FL_SUITS_EDGE, arena, &text);
    if (text.len == 0) {
        fl_str_append_cstr(&text, "Nothing that is known speaks against it. ");
    }
    say_unknown(kind, &text);
    begin_upper(&text);
    return take(&text, arena);
}

/* ---- JSON ---- */

static void put_aspects(const fl_view *v, const fl_suits *suits, const fl_suits_kind *k)
{
    fl_json_begin_array(v->w, "aspects");
    for (int a = 0; a < FL_SUITS_ASPECTS; a++) {
        fl_json_begin_object(v->w, NULL);
        fl_put_word(v->w, "aspect", "aspect_text", &fl_words_suits_aspect[a]);
        fl_put_word(v->w, "state", "state_text", &fl_words_suits_state[k->state[a]]);
        fl_json_put_text(v->w, "text", fl_say_suits_aspect(suits, k, (fl_suits_aspect)a, v->arena));
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

static void put_kind(const fl_view *v, const fl_suits *suits, const fl_suits_kind *k)
{
    fl_json_writer *w = v->w;
    const fl_know_plant *row = k->row;
    fl_json_begin_object(w, NULL);
    fl_json_put_text(w, "plant", k->name);
    fl_put_text(w, "botanical", fl_sv_from_cstr(row != NULL ? row->botanical_name : ""));
    fl_json_put_bool(w, "is_known", row != NULL);
    fl_json_put_bool(w, "is_here", k->lot != NULL);
    fl_json_put_bool(w, "is_thriving", k->is_thriving);
    fl_json_put_cstr(w, "light_class", row != NULL ? row->light_class : "");
    fl_json_put_cstr(w, "humidity_class", row != NULL ? row->humidity_class : "");
    fl_json_put_cstr(w, "toxicity", row != NULL ? row->toxicity : "");
    fl_json_put_cstr(w, "confidence", row != NULL ? row->confidence : "");
    fl_put_word(w, "harm", "harm_text", &fl_words_suits_harm[k->more.harm]);
    fl_put_word(w, "whole", "whole_text", &fl_words_suits_state[k->whole]);
    fl_json_put_text(w, "text", fl_say_suits(suits, k, v->arena));
    put_aspects(v, suits, k);
    fl_json_end(w);
}

void fl_view_suits_kinds(const fl_view *v, const char *key, const fl_suits *suits)
{
    fl_json_begin_array(v->w, key);
    for (size_t i = 0; i < suits->n_kinds; i++) {
        put_kind(v, suits, &suits->kinds[i]);
    }
    fl_json_end(v->w);
}

static void put_site(const fl_view *v, const fl_suits *suits)
{
    fl_json_writer *w = v->w;
    const fl_suits_site *s = &suits->site;
    fl_json_begin_object(w, "site");
    fl_json_put_number(w, "dli_mol_m2_d", s->dli_mol_m2_d);
    fl_put_word(w, "light_basis", "light_basis_text", &fl_words_suits_basis[s->light_basis]);
    fl_json_put_number(w, "rh_pct", s->rh_pct);
    fl_put_word(w, "rh_basis", "rh_basis_text", &fl_words_suits_basis[s->rh_basis]);
    fl_json_put_number(w, "temp_min_c", s->temp_min_c);
    fl_json_put_number(w, "temp_mean_c", s->temp_mean_c);
    fl_json_put_number(w, "temp_max_c", s->temp_max_c);
    fl_put_word(w, "temp_basis", "temp_basis_text", &fl_words_suits_basis[s->temp_basis]);
    fl_json_put_number(w, "length_mm", s->length_mm);
    fl_json_put_number(w, "width_mm", s->width_mm);
    fl_json_put_number(w, "height_mm", s->height_mm);
    fl_json_put_bool(w, "has_animals", s->has_animals);
    fl_json_put_text(w, "text", fl_say_suits_site(suits, v->arena));
    fl_json_end(w);
}

void fl_view_suits(const fl_view *v, const char *key, const fl_suits *suits)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, key);
    fl_put_place_ref(v, "place", suits->place != NULL ? suits->place->place : (fl_id){{0}});
    fl_put_mask(w, "uses", suits->uses, fl_words_use, FL_USE_COUNT);
    fl_put_text(w, "animals", suits->place != NULL ? suits->place->animals : FL_SV(""));
    put_site(v, suits);
    fl_view_suits_kinds(v, "plants", suits);
    if (suits->site.has_animals) {
        fl_json_put_cstr(w, "note", fl_suits_note);
    } else {
        fl_json_put_null(w, "note");
    }
    fl_json_end(w);
}
