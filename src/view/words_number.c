/* How chances are said: a ladder of round odds, and the rung that is nearest. */
#include <math.h>
#include <string.h>

#include "base/num.h"
#include "view/words.h"

/* One rung: "n in m". */
typedef struct rung {
    int n, m;
} rung;

/* Round odds from 1 in 1,000 to 99 in 100. Neighbours are at most a factor 1.34 apart in the odds
 * up to 2 in 5 and from 3 in 5 on, so the nearest is at most 16 % off. */
static const rung ladder[] = {{1, 1000}, {1, 800}, {1, 600}, {1, 500}, {1, 400}, {1, 300}, {1, 250},
                              {1, 200},  {1, 150}, {1, 120}, {1, 100}, {1, 80},  {1, 60},  {1, 50},
                              {1, 40},   {1, 30},  {1, 25},  {1, 20},  {1, 15},  {1, 12},  {1, 10},
                              {1, 8},    {1, 7},   {1, 6},   {1, 5},   {1, 4},   {1, 3},   {2, 5},
                              {1, 2},    {3, 5},   {2, 3},   {3, 4},   {4, 5},   {5, 6},   {6, 7},
                              {7, 8},    {9, 10},  {11, 12}, {14, 15}, {19, 20}, {24, 25}, {29, 30},
                              {39, 40},  {49, 50}, {59, 60}, {79, 80}, {99, 100}};
#define RUNGS ((int)(sizeof ladder / sizeof ladder[0]))

/* Steps beside the ladder. */
#define BELOW (-1)
#define ABOVE RUNGS

static double rung_prob(int index)
{
    return (double)ladder[index].n / (double)ladder[index].m;
}

static double log_odds(double prob)
{
    return log(prob / (1.0 - prob));
}

static double held(double prob)
{
    return isnan(prob) ? 0.0 : fmin(fmax(prob, 0.0), 1.0);
}

/* The last rung at or below; BELOW when there is none. */
static int rung_down(double prob)
{
    int index = BELOW;
    while (index + 1 < RUNGS && rung_prob(index + 1) <= prob) {
        index++;
    }
    return index;
}

/* The first rung at or above; ABOVE when there is none. Under the lowest: BELOW. */
static int rung_up(double prob)
{
    if (prob < rung_prob(0)) {
        return BELOW;
    }
    int index = rung_down(prob);
    return index >= 0 && rung_prob(index) >= prob ? index : index + 1;
}

static int rung_nearest(double prob)
{
    int down = rung_down(prob);
    if (down == BELOW) {
        return BELOW;
    }
    if (down == RUNGS - 1) {
        return prob >= 0.995 ? ABOVE : down;
    }
    bool up =
        log_odds(rung_prob(down + 1)) - log_odds(prob) < log_odds(prob) - log_odds(rung_prob(down));
    return up ? down + 1 : down;
}

static fl_sv rung_text(int index, const char *about, fl_arena *arena)
{
    if (index == BELOW) {
        return FL_SV("under 1 in 1,000");
    }
    if (index == ABOVE) {
        return FL_SV("over 99 in 100");
    }
    if (ladder[index].m == 1000) {
        return fl_arena_printf(arena, "%s1 in 1,000", about);
    }
    return fl_arena_printf(arena, "%s%d in %d", about, ladder[index].n, ladder[index].m);
}

fl_sv fl_say_chance(double prob, fl_arena *arena)
{
    if (isnan(prob)) {
        return FL_SV("not known");
    }
    return rung_text(rung_nearest(held(prob)), "about ", arena);
}

fl_sv fl_say_band(double least, double most, fl_arena *arena)
{
    int low = rung_down(held(least));
    int high = rung_up(held(most));
    if (low >= high) {
        return FL_SV("");
    }
    fl_sv from = rung_text(low, "", arena);
    fl_sv to = rung_text(high, "", arena);
    return fl_arena_printf(arena, "%.*s to %.*s", FL_SV_ARG(from), FL_SV_ARG(to));
}

fl_sv fl_say_in_100(double prob, fl_arena *arena)
{
    double n = 100.0 * held(prob);
    if (isnan(prob)) {
        return FL_SV("not known");
    }
    if (n < 0.1) {
        return FL_SV("under 0.1 in 100");
    }
    if (n > 99.0) {
        return FL_SV("over 99 in 100");
    }
    char text[FL_NUM_TEXT_MAX];
    double shown = n < 2.95 ? round(n * 10.0) / 10.0 : round(n);
    return fl_arena_printf(arena, "about %s in 100", fl_num_format(text, shown, 2));
}

fl_sv fl_say_percent(double share, fl_arena *arena)
{
    double pct = 100.0 * share;
    if (!isfinite(pct)) {
        return FL_SV("not known");
    }
    if (pct < 0.1) {
        return FL_SV("under 0.1 %");
    }
    if (pct > 99.0 && pct < 100.0) {
        return FL_SV("over 99 %");
    }
    if (pct >= 9.95) {
        return fl_arena_printf(arena, "%.0f %%", pct);
    }
    char text[FL_NUM_TEXT_MAX];
    return fl_arena_printf(arena, "%s %%", fl_num_format(text, round(pct * 10.0) / 10.0, 2));
}

/* A sum of chances is a number expected, so above 1 it is said as one; percents of it would not be
 * of anything. */
fl_sv fl_say_sum(double sum, fl_arena *arena)
{
    char text[FL_NUM_TEXT_MAX];
    if (!(sum >= 0.995)) {
        return fl_say_percent(sum, arena);
    }
    if (sum < 1.5) {
        return FL_SV("more than one pest to be expected");
    }
    return fl_arena_printf(arena, "about %s pests to be expected",
                           fl_num_format(text, round(sum * 2.0) / 2.0, 2));
}

/* Names that do not take a plain "s" for more than one of them. */
static const char *const odd_plurals[][2] = {
    {"stowaway_frog", "stowaway frogs and their eggs"},
    {"shore_fly", "shore flies"},
    {"greenhouse_whitefly", "greenhouse whiteflies"},
};

fl_sv fl_say_plural(const fl_threat *threat, fl_arena *arena)
{
    for (size_t i = 0; i < sizeof odd_plurals / sizeof odd_plurals[0]; i++) {
        if (strcmp(threat->code, odd_plurals[i][0]) == 0) {
            return fl_sv_from_cstr(odd_plurals[i][1]);
        }
    }
    size_t len = strlen(threat->name);
    bool is_plural =
        threat->class == FL_CLASS_PATHOGEN || (len > 0 && threat->name[len - 1] == 's');
    return is_plural ? fl_sv_from_cstr(threat->name) : fl_arena_printf(arena, "%ss", threat->name);
}

fl_sv fl_say_threat(const fl_say_threat_args *args, fl_arena *arena)
{
    fl_sv chance = fl_say_chance(args->chance, arena);
    fl_sv band = fl_say_band(args->least, args->most, arena);
    fl_sv name = fl_say_plural(args->threat, arena);
    return fl_arena_printf(arena, "%.*s%s%.*s%s that %.*s %s still there%s", FL_SV_ARG(chance),
                           band.len > 0 ? ", " : "", FL_SV_ARG(band), band.len > 0 ? "," : "",
                           FL_SV_ARG(name), args->threat->class == FL_CLASS_PATHOGEN ? "is" : "are",
                           args->is_mostly_judgement ? "; mostly our judgement" : "");
}
