/* The words of a number that is opened. */
#include "view/words_course.h"

#include <math.h>
#include <string.h>

#include "base/num.h"
#include "base/str.h"
#include "core/develop/develop.h"

#define TEXT_BYTES_MAX 700

const char *fl_grade_word(fl_grade grade)
{
    static const char *const words[] = {[FL_GRADE_MEASURED] = "measured",
                                        [FL_GRADE_PRACTICE] = "practice",
                                        [FL_GRADE_ASSUMED] = "assumed"};
    return words[grade];
}

const char *fl_say_grade(fl_grade grade)
{
    static const char *const texts[] = {[FL_GRADE_MEASURED] = "from published figures",
                                        [FL_GRADE_PRACTICE] = "common practice",
                                        [FL_GRADE_ASSUMED] = "our judgement"};
    return texts[grade];
}

/* Takes what was built; lets the builder go. */
static fl_sv taken(fl_str *text, fl_arena *arena)
{
    fl_sv copy = fl_arena_copy_sv(arena, fl_sv_trim(fl_str_sv(text)));
    fl_str_done(text);
    return copy;
}

/* ---- the curve ---- */

static double highest(const fl_course *course)
{
    double most = 0.0;
    for (size_t i = 0; i < course->n_points; i++) {
        most = fmax(most, course->points[i].chance);
    }
    return most;
}

fl_sv fl_say_course(const fl_room *room, const fl_course *course, fl_arena *arena)
{
    const fl_lot_chance *now = &course->now;
    fl_sv names = fl_say_plural(course->threat, arena);
    fl_sv since = fl_say_date(room, course->from_s, FL_PRECISION_DAY, arena);
    fl_sv first = fl_say_chance(course->points[0].chance, arena);
    fl_sv most = fl_say_chance(highest(course), arena);
    fl_sv last = fl_say_chance(now->chance, arena);
    fl_sv band = fl_say_band(now->least, now->most, arena);
    fl_str text;
    fl_str_init(&text, TEXT_BYTES_MAX);
    fl_str_appendf(&text, "That %.*s %s on it: %.*s on %.*s, ", FL_SV_ARG(names),
                   course->threat->class == FL_CLASS_PATHOGEN ? "is" : "are", FL_SV_ARG(first),
                   FL_SV_ARG(since));
    if (!fl_sv_eq(most, first) && !fl_sv_eq(most, last)) {
        fl_str_appendf(&text, "at most %.*s in between, ", FL_SV_ARG(most));
    }
    fl_str_appendf(&text, "%.*s now.", FL_SV_ARG(last));
    if (band.len > 0) {
        fl_str_appendf(&text,
                       " From %.*s when slow and fast growth, and sharp and poor eyes, are all "
                       "allowed for.",
                       FL_SV_ARG(band));
    }
    return taken(&text, arena);
}

fl_sv fl_say_ahead(const fl_room *room, const fl_course *course, fl_arena *arena)
{
    if (course->n_ahead < 2) {
        return FL_SV("");
    }
    int k = course->n_ahead - 1 < 4 ? course->n_ahead - 1 : 4;
    const fl_course_point *then = &course->ahead[k];
    fl_sv chance = fl_say_chance(then->chance, arena);
    fl_sv date = fl_say_date(room, then->at_s, FL_PRECISION_DAY, arena);
    return fl_arena_printf(arena,
                           "%.*s after the look on %.*s, if every look until then finds none.",
                           FL_SV_ARG(chance), FL_SV_ARG(date));
}

/* ---- where it is from ---- */

static fl_sv say_factor(double factor, const char *what, fl_arena *arena)
{
    char text[FL_NUM_TEXT_MAX];
    return fl_arena_printf(arena, ", times %s for %s", fl_num_format(text, factor, 2), what);
}

static bool is_one(double factor)
{
    return factor > 0.995 && factor < 1.005;
}

fl_sv fl_say_origin(const fl_room *room, const fl_course *course, size_t index, fl_arena *arena)
{
    const fl_course_origin *o = &course->origins[index];
    fl_sv date = fl_say_date(room, o->reason.at_s, FL_PRECISION_DAY, arena);
    fl_str text;
    if (o->reason.kind == FL_ROOT_ROOM) {
        return FL_SV("The room itself: a little keeps coming in, by openings and by a lid without "
                     "a gasket (our judgement).");
    }
    fl_sv prior = fl_say_chance(o->reason.prior, arena);
    fl_str_init(&text, TEXT_BYTES_MAX);
    fl_str_appendf(&text, "%.*s, %.*s: %.*s", FL_SV_ARG(o->reason.what), FL_SV_ARG(date),
                   FL_SV_ARG(prior));
    if (o->has_table) {
        fl_sv base = fl_say_chance(o->table.base, arena);
        const char *kind = fl_words_source_kind[o->source_kind].text;
        const char *form = fl_words_form[o->form].text;
        fl_str_appendf(&text, ". The tables: %.*s for a pot from a chain store", FL_SV_ARG(base));
        fl_sv by_kind = is_one(o->table.kind_factor)
                            ? FL_SV("")
                            : say_factor(o->table.kind_factor, kind, arena);
        fl_sv by_form = is_one(o->table.form_factor)
                            ? FL_SV("")
                            : say_factor(o->table.form_factor, form, arena);
        fl_sv by_age =
            is_one(o->already_here_factor)
                ? FL_SV("")
                : say_factor(o->already_here_factor, "a collection that has been quiet", arena);
        fl_str_appendf(&text, "%.*s%.*s%.*s (%s)", FL_SV_ARG(by_kind), FL_SV_ARG(by_form),
                       FL_SV_ARG(by_age), fl_say_grade(o->table.grade));
        fl_str_append_cstr(&text, o->reason.is_learned
                                      ? ". What your own purchases showed is in it"
                                      : ". None of your own purchases says more yet");
    }
    if (o->reason.link != FL_LINK_COUNT && o->reason.link != FL_LINK_MOVE) {
        fl_str_appendf(&text, ". It came to this lot so: %s", fl_words_link[o->reason.link].text);
    }
    fl_str_append_cstr(&text, ".");
    return taken(&text, arena);
}

/* ---- what was done ---- */

/* "nothing", "about 4 in 10 of them". */
static fl_sv say_share(double share, fl_arena *arena)
{
    if (share < 0.005) {
        return FL_SV("hardly any");
    }
    if (share > 0.995) {
        return FL_SV("all");
    }
    int tenths = (int)lround(10.0 * share);
    if (tenths == 0 || tenths == 10) {
        return tenths == 0 ? FL_SV("fewer than 1 in 20") : FL_SV("nearly all");
    }
    if (tenths == 5) {
        return FL_SV("about half");
    }
    return fl_arena_printf(arena, "about %d in 10", tenths);
}

static fl_sv say_step(const fl_course *course, const fl_course_mark *mark, fl_arena *arena)
{
    fl_sv names = fl_say_plural(course->threat, arena);
    fl_sv least = say_share(mark->left_least, arena);
    fl_sv most = say_share(mark->left_most, arena);
    const fl_ev_step *step = mark->step;
    bool is_plain = step->agent == FL_AGENT_NONE;
    fl_str text;
    fl_str_init(&text, TEXT_BYTES_MAX);
    fl_str_appendf(&text, "%s%s%s: ", fl_words_step[step->step].text, is_plain ? "" : ", ",
                   is_plain ? "" : fl_words_agent[step->agent].text);
    if (mark->left_least > 0.995) {
        fl_str_appendf(&text, "no credit against %.*s", FL_SV_ARG(names));
    } else if (fl_sv_eq(least, most)) {
        fl_str_appendf(&text, "leaves %.*s of %.*s alive", FL_SV_ARG(least), FL_SV_ARG(names));
    } else {
        fl_str_appendf(&text, "leaves %.*s to %.*s of %.*s alive, by stage", FL_SV_ARG(least),
                       FL_SV_ARG(most), FL_SV_ARG(names));
    }
    fl_str_appendf(&text, " (%s)", fl_say_grade(mark->grade));
    return taken(&text, arena);
}

static fl_sv say_look(const fl_course *course, const fl_course_mark *mark, fl_arena *arena)
{
    const fl_ev_look_done *look = &mark->event->body.look_done;
    fl_sv names = fl_say_plural(course->threat, arena);
    const char *effort = fl_words_effort[look->effort].word;
    const char *cards = look->devices != 0 ? ", cards read" : "";
    const char *dark = look->is_after_dark ? ", after dark" : "";
    if (mark->kind == FL_COURSE_FIND) {
        return fl_arena_printf(arena, "look (%s%s%s): %.*s seen", effort, cards, dark,
                               FL_SV_ARG(names));
    }
    if (!mark->is_credited) {
        return fl_arena_printf(arena,
                               "look (%s%s%s): something without a name was seen, so it counts for "
                               "nothing here yet",
                               effort, cards, dark);
    }
    if (isnan(mark->frac_shown) || mark->frac_shown <= 0.0) {
        return fl_arena_printf(arena, "look (%s%s%s): none seen; it could not have shown them",
                               effort, cards, dark);
    }
    fl_sv share = say_share(mark->frac_shown, arena);
    return fl_arena_printf(arena,
                           "look (%s%s%s): none seen; it would have shown %.*s of what was there",
                           effort, cards, dark, FL_SV_ARG(share));
}

fl_sv fl_say_mark(const fl_course *course, size_t index, fl_arena *arena)
{
    const fl_course_mark *mark = &course->marks[index];
    return mark->kind == FL_COURSE_STEP ? say_step(course, mark, arena)
                                        : say_look(course, mark, arena);
}

/* ---- warmth ---- */

fl_sv fl_say_temps(const fl_course_temps *t, fl_arena *arena)
{
    const struct {
        int64_t hours;
        const char *what;
    } kinds[] = {{t->hours_measured, "measured"},
                 {t->hours_interpolated, "filled in between two readings"},
                 {t->hours_told, "as the place was set"},
                 {t->hours_assumed, "assumed: nobody told the temperature there"}};
    fl_str text;
    bool is_first = true;
    if (isnan(t->mean_c)) {
        return FL_SV("No hour has passed yet.");
    }
    fl_str_init(&text, TEXT_BYTES_MAX);
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (kinds[i].hours > 0) {
            fl_str_appendf(&text, "%s%lld hours %s", is_first ? "" : ", ",
                           (long long)kinds[i].hours, kinds[i].what);
            is_first = false;
        }
    }
    if (t->most_c - t->least_c < 0.05) {
        fl_str_appendf(&text, "; %.1f °C throughout.", t->mean_c);
    } else {
        fl_str_appendf(&text, "; %.1f to %.1f °C, on average %.1f.", t->least_c, t->most_c,
                       t->mean_c);
    }
    return taken(&text, arena);
}

fl_sv fl_say_development(const fl_course *course, fl_arena *arena)
{
    const fl_threat *threat = course->threat;
    fl_develop_time fast = {0};
    fl_develop_time slow = {0};
    double temp_c = isnan(course->temps.mean_c) ? 21.0 : course->temps.mean_c;
    int last = threat->n_stages - 2;
    if (fl_develop_days(&threat->fast, 0, last, temp_c, &fast, NULL) != FL_OK ||
        fl_develop_days(&threat->slow, 0, last, temp_c, &slow, NULL) != FL_OK) {
        return FL_SV("");
    }
    if (!fast.does_develop || !slow.does_develop) {
        return fl_arena_printf(arena,
                               "At %.0f °C some of it does not develop at all: it stays hidden, "
                               "and waiting shows nothing. Warmth would.",
                               temp_c);
    }
    fl_sv least = fl_say_days(fast.days, arena);
    fl_sv most = fl_say_days(slow.days, arena);
    const char *near =
        fast.is_near || slow.is_near ? "; so near its threshold that is unreliable" : "";
    return fl_arena_printf(arena, "At %.0f °C it takes %.*s to %.*s from %s to %s (%s)%s.", temp_c,
                           FL_SV_ARG(least), FL_SV_ARG(most), threat->stage[0].name,
                           threat->stage[threat->n_stages - 1].name, fl_say_grade(threat->grade),
                           near);
}
