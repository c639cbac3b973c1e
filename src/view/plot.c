/* SVG of a course. Coordinates have one decimal; nothing in it depends on the machine. */
#include "view/plot.h"

#include <math.h>

#define WIDTH 720.0
#define HEIGHT 360.0
#define LEFT 92.0
#define RIGHT 16.0
#define TOP 40.0
#define BOTTOM 92.0
#define MARK_Y (HEIGHT - BOTTOM + 16.0)
#define LEAST 1e-3 /* the bottom of the scale: what is under it is drawn there */
#define AHEAD_MOST 8
#define DATE_WIDTH 112.0 /* of one date on the axis */

typedef struct plot {
    const fl_room *room;
    const fl_course *course;
    fl_arena *arena;
    fl_str *text;
    int64_t from_s, to_s;
    int n_ahead;
} plot;

static double x_of(const plot *p, int64_t at_s)
{
    double span = (double)(p->to_s - p->from_s);
    double share = span > 0.0 ? (double)(at_s - p->from_s) / span : 0.0;
    return LEFT + share * (WIDTH - LEFT - RIGHT);
}

static double y_of(double prob)
{
    double share = log10(fmax(prob, LEAST) / LEAST) / log10(1.0 / LEAST);
    return HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM);
}

static void put_text(plot *p, fl_sv text)
{
    for (size_t i = 0; i < text.len; i++) {
        switch (text.ptr[i]) {
        case '&':
            fl_str_append_cstr(p->text, "&amp;");
            break;
        case '<':
            fl_str_append_cstr(p->text, "&lt;");
            break;
        case '>':
            fl_str_append_cstr(p->text, "&gt;");
            break;
        case '"':
            fl_str_append_cstr(p->text, "&quot;");
            break;
        default:
            fl_str_append(p->text, (fl_sv){text.ptr + i, 1});
        }
    }
}

/* ---- the frame ---- */

static const char style[] =
    "<style>\n"
    "svg{font:13px system-ui,sans-serif;color:#1d2a2b;background:#fbfaf6}\n"
    "text{fill:currentColor}.soft{opacity:.72}\n"
    ".grid{stroke:currentColor;stroke-width:1;opacity:.18}\n"
    ".line{fill:none;stroke:#0f5f63;stroke-width:2.5;stroke-linejoin:round}\n"
    ".ahead{fill:none;stroke:#0f5f63;stroke-width:2;stroke-dasharray:2 5;stroke-linecap:round}\n"
    ".band{fill:url(#hatch);stroke:#0f5f63;stroke-width:1;stroke-dasharray:5 3;stroke-opacity:.7}\n"
    ".hatch{stroke:#0f5f63;stroke-width:1;opacity:.35}\n"
    ".look{fill:none;stroke:#8a4b08;stroke-width:2}\n"
    ".step{fill:#8a4b08;stroke:#8a4b08}\n"
    ".find{fill:#9b1c31;stroke:#9b1c31}\n"
    ".drop{stroke:#8a4b08;stroke-width:1;opacity:.35}\n"
    "@media(prefers-color-scheme:dark){svg{color:#e7ecea;background:#15201f}"
    ".line,.ahead,.band,.hatch{stroke:#7fd0c8}.look{stroke:#f0b36a}"
    ".step{fill:#f0b36a;stroke:#f0b36a}.find{fill:#ff9aa8;stroke:#ff9aa8}"
    ".drop{stroke:#f0b36a}}\n"
    "</style>\n"
    "<defs><pattern id=\"hatch\" width=\"7\" height=\"7\" patternUnits=\"userSpaceOnUse\" "
    "patternTransform=\"rotate(45)\"><path class=\"hatch\" d=\"M0 0V7\"/></pattern></defs>\n";

static void put_head(plot *p)
{
    fl_sv name = fl_room_lot_name(p->room, p->course->lot);
    fl_sv threat = fl_say_plural(p->course->threat, p->arena);
    fl_sv title = fl_arena_printf(p->arena, "%.*s on %.*s", FL_SV_ARG(threat), FL_SV_ARG(name));
    fl_str_appendf(p->text,
                   "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %.0f %.0f\" "
                   "role=\"img\" aria-labelledby=\"t d\">\n<title id=\"t\">",
                   WIDTH, HEIGHT);
    put_text(p, title);
    fl_str_append_cstr(p->text, "</title>\n<desc id=\"d\">");
    put_text(p, fl_say_course(p->room, p->course, p->arena));
    fl_str_append_cstr(p->text, "</desc>\n");
    fl_str_append_cstr(p->text, style);
    fl_str_appendf(p->text, "<text x=\"%.1f\" y=\"22\" font-weight=\"600\">", LEFT);
    put_text(p, title);
    fl_str_append_cstr(p->text, "</text>\n");
}

static void put_scale(plot *p)
{
    static const struct {
        double prob;
        const char *text;
    } rungs[] = {{1.0, "1 in 1"},    {0.3, "1 in 3"},     {0.1, "1 in 10"},     {0.03, "1 in 30"},
                 {0.01, "1 in 100"}, {0.003, "1 in 300"}, {0.001, "1 in 1,000"}};
    for (size_t i = 0; i < sizeof rungs / sizeof rungs[0]; i++) {
        double y = y_of(rungs[i].prob);
        fl_str_appendf(p->text,
                       "<path class=\"grid\" d=\"M%.1f %.1fH%.1f\"/>"
                       "<text class=\"soft\" x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">%s</text>\n",
                       LEFT, y, WIDTH - RIGHT, LEFT - 8.0, y + 4.0, rungs[i].text);
    }
}

/* Dates under the axis: every so many days that they do not meet. */
static void put_dates(plot *p)
{
    double days = (double)(p->to_s - p->from_s) / FL_DAY_S;
    double per_day = (WIDTH - LEFT - RIGHT) / fmax(days, 1.0);
    int step = 7;
    while (step * per_day < DATE_WIDTH) {
        step *= 2;
    }
    for (int64_t at = p->from_s; at <= p->to_s; at += step * (int64_t)FL_DAY_S) {
        double x = x_of(p, at);
        fl_str_appendf(p->text, "<path class=\"grid\" d=\"M%.1f %.1fV%.1f\"/>", x, TOP,
                       HEIGHT - BOTTOM);
        if (x + DATE_WIDTH < WIDTH) {
            fl_sv date = fl_say_date(p->room, at, FL_PRECISION_DAY, p->arena);
            fl_str_appendf(p->text, "<text class=\"soft\" x=\"%.1f\" y=\"%.1f\">%.*s</text>", x,
                           HEIGHT - BOTTOM + 42.0, FL_SV_ARG(date));
        }
        fl_str_append_cstr(p->text, "\n");
    }
}

/* ---- the chance ---- */

static void put_band(plot *p)
{
    const fl_course *c = p->course;
    fl_str_append_cstr(p->text, "<path class=\"band\" d=\"");
    for (size_t i = 0; i < c->n_points; i++) {
        fl_str_appendf(p->text, "%s%.1f %.1f", i == 0 ? "M" : "L", x_of(p, c->points[i].at_s),
                       y_of(c->points[i].most));
    }
    for (size_t i = c->n_points; i > 0; i--) {
        fl_str_appendf(p->text, "L%.1f %.1f", x_of(p, c->points[i - 1].at_s),
                       y_of(c->points[i - 1].least));
    }
    fl_str_append_cstr(p->text, "Z\"/>\n");
}

static void put_line(plot *p)
{
    const fl_course *c = p->course;
    fl_str_append_cstr(p->text, "<path class=\"line\" d=\"");
    for (size_t i = 0; i < c->n_points; i++) {
        fl_str_appendf(p->text, "%s%.1f %.1f", i == 0 ? "M" : "L", x_of(p, c->points[i].at_s),
                       y_of(c->points[i].chance));
    }
    fl_str_append_cstr(p->text, "\"/>\n");
    if (p->n_ahead < 2) {
        return;
    }
    fl_str_append_cstr(p->text, "<path class=\"ahead\" d=\"");
    fl_str_appendf(p->text, "M%.1f %.1f", x_of(p, c->ahead[0].at_s), y_of(c->ahead[0].chance));
    for (int i = 1; i < p->n_ahead; i++) { /* it stays as it is until the look */
        fl_str_appendf(p->text, "H%.1fV%.1f", x_of(p, c->ahead[i].at_s), y_of(c->ahead[i].chance));
    }
    fl_str_append_cstr(p->text, "\"/>\n");
}

/* ---- marks ---- */

static void put_shape(plot *p, fl_course_mark_kind kind, double x, double y)
{
    switch (kind) {
    case FL_COURSE_LOOK:
        fl_str_appendf(p->text, "<circle class=\"look\" cx=\"%.1f\" cy=\"%.1f\" r=\"5\"/>", x, y);
        break;
    case FL_COURSE_STEP:
        fl_str_appendf(p->text,
                       "<rect class=\"step\" x=\"%.1f\" y=\"%.1f\" width=\"9\" height=\"9\"/>",
                       x - 4.5, y - 4.5);
        break;
    case FL_COURSE_FIND:
        fl_str_appendf(p->text, "<path class=\"find\" d=\"M%.1f %.1fl6.5 11h-13z\"/>", x, y - 6.5);
        break;
    case FL_COURSE_MARK_COUNT:
        break;
    }
}

static void put_marks(plot *p)
{
    const fl_course *c = p->course;
    for (size_t i = 0; i < c->n_marks; i++) {
        const fl_course_mark *m = &c->marks[i];
        double x = x_of(p, m->at_s);
        bool is_again = i > 0 && c->marks[i - 1].at_s == m->at_s && c->marks[i - 1].kind == m->kind;
        if (is_again) {
            continue; /* the steps of one evening are one mark */
        }
        fl_str_appendf(p->text, "<path class=\"drop\" d=\"M%.1f %.1fV%.1f\"/>", x, y_of(m->after),
                       MARK_Y - 7.0);
        put_shape(p, m->kind, x, MARK_Y);
        fl_str_append_cstr(p->text, "\n");
    }
}

/* What the shapes mean, in words. */
static void put_legend(plot *p)
{
    static const struct {
        fl_course_mark_kind kind;
        const char *text;
        double x;
    } shapes[] = {{FL_COURSE_STEP, "something was done", 16.0},
                  {FL_COURSE_LOOK, "a look, none seen", 172.0},
                  {FL_COURSE_FIND, "seen", 314.0}};
    double y = HEIGHT - 18.0;
    for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++) {
        put_shape(p, shapes[i].kind, shapes[i].x + 5.0, y - 4.0);
        fl_str_appendf(p->text, "<text x=\"%.1f\" y=\"%.1f\">%s</text>\n", shapes[i].x + 16.0, y,
                       shapes[i].text);
    }
    fl_str_appendf(p->text,
                   "<path class=\"ahead\" d=\"M%.1f %.1fh30\"/><text x=\"%.1f\" y=\"%.1f\">if "
                   "looks find nothing</text>\n",
                   376.0, y - 4.0, 412.0, y);
    fl_str_appendf(p->text,
                   "<rect class=\"band\" x=\"%.1f\" y=\"%.1f\" width=\"30\" height=\"12\"/>"
                   "<text x=\"%.1f\" y=\"%.1f\">range</text>\n",
                   578.0, y - 11.0, 614.0, y);
}

void fl_plot_course(const fl_room *room, const fl_course *course, fl_arena *arena, fl_str *text)
{
    plot p = {.room = room,
              .course = course,
              .arena = arena,
              .text = text,
              .from_s = course->from_s,
              .to_s = room->now_s};
    p.n_ahead = course->n_ahead < AHEAD_MOST ? course->n_ahead : AHEAD_MOST;
    if (p.n_ahead > 1) {
        p.to_s = course->ahead[p.n_ahead - 1].at_s;
    }
    put_head(&p);
    put_scale(&p);
    put_dates(&p);
    put_band(&p);
    put_line(&p);
    put_marks(&p);
    put_legend(&p);
    fl_str_append_cstr(text, "</svg>\n");
}
