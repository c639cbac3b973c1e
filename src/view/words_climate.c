/* What is said of light, air and water: what is off, and what would help. */
#include <math.h>
#include <string.h>

#include "base/str.h"
#include "view/view_climate.h"
#include "view/words.h"

#define ADVICE_MAX 12
#define LINE_MAX 400

/* ---- what is off ---- */

static void say_part(fl_str *out, fl_sv text)
{
    fl_str_append_cstr(out, out->len > 0 ? "; " : "");
    fl_str_append(out, text);
}

static void say_hours(fl_str *out, const char *what, int n, int of, fl_arena *arena)
{
    say_part(out, fl_arena_printf(arena, "%s in %d of the last %d hours", what, n, of));
}

static void say_air(fl_str *out, const fl_climate_place *p, fl_arena *arena)
{
    const fl_air_days *d = &p->days;
    const unsigned s = p->air_states;
    if ((s & 1U << FL_AIR_HOT) != 0) {
        say_hours(out, "too hot", d->n_hot, d->n_temp, arena);
    }
    if ((s & 1U << FL_AIR_COLD) != 0) {
        say_hours(out, "too cold", d->n_harm, d->n_temp, arena);
    }
    if ((s & 1U << FL_AIR_WARM) != 0) {
        say_hours(out, "warm", d->n_warm, d->n_temp, arena);
    }
    if ((s & 1U << FL_AIR_COOL) != 0) {
        say_hours(out, "cool", d->n_cool, d->n_temp, arena);
    }
    if ((s & 1U << FL_AIR_DRY) != 0) {
        say_hours(out, "dry", d->n_dry, d->n_rh, arena);
    }
    if ((s & 1U << FL_AIR_DAMP) != 0) {
        say_part(out, FL_SV("very damp"));
    }
}

static void say_light(fl_str *out, const fl_climate_place *p)
{
    const unsigned s = p->light_states;
    bool is_dark = (s & 1U << FL_LIGHT_DARK) != 0;
    bool is_bright = (s & 1U << FL_LIGHT_BRIGHT) != 0;
    if (p->light.basis == FL_BASIS_DEFAULT) {
        say_part(out, FL_SV("nothing is told of its light"));
    } else if (is_dark && is_bright) {
        say_part(out, FL_SV("dark for some of its plants, bright for others"));
    } else if (is_dark) {
        say_part(out, FL_SV("dark"));
    } else if (is_bright) {
        say_part(out, FL_SV("bright"));
    }
}

fl_sv fl_say_climate(const fl_climate_place *p, fl_arena *arena)
{
    fl_str out;
    fl_str_init(&out, LINE_MAX);
    say_air(&out, p, arena);
    say_light(&out, p);
    if ((p->air_states & 1U << FL_AIR_NO_READINGS) != 0) {
        say_part(&out, FL_SV("no readings of these days"));
    }
    if (out.len == 0) {
        say_part(&out, FL_SV("fits its plants"));
    }
    fl_sv text = fl_arena_copy_sv(arena, fl_str_sv(&out));
    fl_str_done(&out);
    return text;
}

/* ---- what would help ---- */

typedef struct advice {
    const fl_view *v;
    const fl_climate_place *p;
    fl_sv *list;
    size_t count;
} advice;

static void add(advice *a, fl_sv text)
{
    if (a->count < ADVICE_MAX) {
        a->list[a->count++] = text;
    }
}

static void advise_heat(advice *a)
{
    const fl_climate_place *p = a->p;
    fl_arena *arena = a->v->arena;
    if ((p->air_states & (1U << FL_AIR_HOT | 1U << FL_AIR_WARM)) != 0) {
        add(a,
            fl_arena_printf(arena,
                            "Bring it below %.0f \xC2\xB0"
                            "C: out of the sun, the mat off, the lamp higher or shorter, a lower "
                            "shelf. Keep the lid closed: it is in quarantine.",
                            p->air_want.temp_opt_hi_c));
        if (p->facts.mat_watts > 0.0 && !isnan(p->warmer_k)) {
            add(a,
                fl_arena_printf(arena,
                                "By the model its lamp and mat make it about %.0f degrees warmer "
                                "than the room.",
                                p->warmer_k));
        }
    }
    if ((p->air_states & (1U << FL_AIR_COLD | 1U << FL_AIR_COOL)) != 0) {
        add(a,
            fl_arena_printf(arena,
                            "Bring it to %.0f \xC2\xB0"
                            "C or more: off the floor and the window, a higher shelf, a mat with "
                            "a thermostat. In the cold pests hatch later, and the looks need "
                            "longer.",
                            p->air_want.temp_opt_lo_c));
    }
}

static void advise_damp(advice *a)
{
    const fl_climate_place *p = a->p;
    if ((p->air_states & 1U << FL_AIR_DRY) != 0) {
        add(a,
            p->place->has_gasket
                ? FL_SV("A tight bin that is dry has little water in its mix, or a lid that does "
                        "not sit: feel the mix, press the lid, look at the gasket.")
                : FL_SV("It dries through its lid: a bin with a gasket keeps its water for "
                        "months. Feel the mix at the next look."));
    }
    if ((p->air_states & 1U << FL_AIR_DAMP) != 0) {
        add(a, FL_SV("Water that stands on leaves for hours lets grey mould in (from memory): wipe "
                     "the lid at each look and leave it open for a minute."));
    }
}

static void advise_reading(advice *a)
{
    if (a->p->light.basis == FL_BASIS_DEFAULT) {
        bool is_dark = (a->p->light_states & 1U << FL_LIGHT_DARK) != 0;
        add(a, fl_arena_printf(a->v->arena,
                               "Tell its lamp, or what a meter shows at leaf height under the lid. "
                               "Under the strip to start from it would have %.1f mol a day%s.",
                               a->p->light.dli_mol_m2_d, is_dark ? ": dark for its plants" : ""));
    } else if (a->p->light.basis == FL_BASIS_FIXTURE) {
        add(a, FL_SV("A meter at leaf height under the lid beats the lamp's label, which is of its "
                     "best day."));
    }
}

/* Which lots want another place, when no light suits all. */
static void advise_apart(advice *a)
{
    const fl_climate_place *p = a->p;
    for (size_t i = 0; i < p->n_plants; i++) {
        const fl_climate_plant *plant = &p->plants[i];
        if (plant->state == FL_LIGHT_DARK || plant->state == FL_LIGHT_BRIGHT) {
            fl_sv name = fl_room_lot_name(a->v->room, plant->lot);
            add(a, fl_arena_printf(
                       a->v->arena,
                       "No one light suits all that stand here: %.*s wants a %s place, once it is "
                       "out of quarantine.",
                       FL_SV_ARG(name), plant->state == FL_LIGHT_DARK ? "brighter" : "dimmer"));
            return;
        }
    }
}

static void advise_change(advice *a)
{
    const fl_climate_place *p = a->p;
    fl_arena *arena = a->v->arena;
    if (!isnan(p->change.hours)) {
        double halves = p->change.hours * 2.0; /* to the half hour, to the side that helps */
        double hours = (p->change.hours > p->light.hours ? ceil(halves) : floor(halves)) / 2.0;
        add(a, fl_arena_printf(arena, "Light it %g hours a day instead of %g.", hours,
                               p->light.hours));
    }
    if (!isnan(p->change.height_mm)) {
        add(a,
            fl_arena_printf(arena,
                            "Or hang the lamp %.0f cm above the leaves instead of %.0f; it lights "
                            "its neighbours too.",
                            p->change.height_mm / 10.0, p->facts.lamp.height_mm / 10.0));
    }
    if (p->swap != NULL) {
        add(a, fl_arena_printf(arena, "Or let it and %.*s change places, closed: then both fit.",
                               FL_SV_ARG(p->swap->name)));
    }
}

static void advise_light(advice *a)
{
    const fl_climate_place *p = a->p;
    bool is_dark = (p->light_states & 1U << FL_LIGHT_DARK) != 0;
    bool is_bright = (p->light_states & 1U << FL_LIGHT_BRIGHT) != 0;
    if ((is_dark || is_bright) && p->light.basis != FL_BASIS_DEFAULT) {
        if (p->want.low > p->want.high) {
            advise_apart(a);
        } else {
            advise_change(a);
        }
    }
    if (is_dark || is_bright || p->light.basis == FL_BASIS_DEFAULT) {
        advise_reading(a);
    }
}

fl_sv *fl_say_climate_advice(const fl_view *v, const fl_climate_place *p, size_t *count)
{
    advice a = {.v = v, .p = p, .list = FL_ARENA_ARRAY(v->arena, fl_sv, ADVICE_MAX)};
    advise_heat(&a);
    advise_damp(&a);
    advise_light(&a);
    *count = a.count;
    return a.list;
}

fl_sv fl_say_recheck(const fl_view *v, const fl_recheck *r)
{
    fl_arena *arena = v->arena;
    fl_sv lot = fl_room_lot_name(v->room, r->lot);
    fl_sv then = isnan(r->sum_then)
                     ? FL_SV("its release carries no answer")
                     : fl_arena_printf(arena, "it was judged at %.*s then, and that stays so",
                                       FL_SV_ARG(fl_say_percent(r->sum_then, arena)));
    fl_sv looks =
        r->n_looks > 0
            ? fl_arena_printf(arena, "%d careful look%s bring%s it under again, %.*s", r->n_looks,
                              r->n_looks == 1 ? "" : "s", r->n_looks == 1 ? "s" : "",
                              FL_SV_ARG(fl_say_when(v->room, r->under_s, arena)))
            : FL_SV("half a year of careful looks does not bring it under again");
    return fl_arena_printf(
        arena,
        "%.*s in %.*s: %.*s stood %.1f degrees colder than was told, as a logger shows. %.*s "
        "today, above %.*s for %.*s; %.*s. Mostly %s. %.*s.",
        FL_SV_ARG(lot), FL_SV_ARG(r->place->name), FL_SV_ARG(fl_room_place_name(v->room, r->bin)),
        r->colder_c, FL_SV_ARG(fl_say_percent(r->sum_now, arena)),
        FL_SV_ARG(fl_say_percent(r->ceiling, arena)), FL_SV_ARG(fl_say_uses(1U << r->use, arena)),
        FL_SV_ARG(then), r->worst->name, FL_SV_ARG(looks));
}
