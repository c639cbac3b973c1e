/* Problem details and the pages that explain them. The pages are whole without style sheet or
 * script, because they also stand where the interface may not be served. */
#include "http/problem.h"

#include <assert.h>
#include <string.h>

const fl_problem_info fl_problems[FL_PROBLEM_COUNT] = {
#define ENTRY(code, status, name, title, advice) [code] = {status, name, title, advice},
    FL_PROBLEM_LIST(ENTRY)
#undef ENTRY
};

/* The same for the outcomes of base/status.h; their titles are the meanings of that list. */
static const fl_problem_info outcomes[FL_STATUS_COUNT] = {
#define ENTRY(code, name, http, meaning) [code] = {http, name, meaning, ""},
    FL_STATUS_LIST(ENTRY)
#undef ENTRY
};

static fl_json_writer *begin(const fl_problem_info *info, const char *detail, fl_arena *arena)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_text(w, "type", fl_arena_printf(arena, "/problems/%s", info->name));
    fl_json_put_cstr(w, "title", info->title);
    fl_json_put_int(w, "status", info->status);
    fl_json_put_cstr(w, "detail", detail);
    return w;
}

static fl_reply finish(fl_json_writer *w, int status, fl_arena *arena)
{
    fl_json_end(w);
    fl_reply reply = fl_reply_json(status, w, arena);
    reply.content_type = "application/problem+json";
    if (status ==
        401) { /* RFC 9110 section 15.5.2 wants a challenge; no browser asks for this one */
        fl_reply_add(&reply, "WWW-Authenticate", FL_SV("Bearer realm=\"fernlock\""));
    }
    return reply;
}

fl_reply fl_problem_reply(fl_problem problem, const char *detail, fl_arena *arena)
{
    assert(problem > FL_PROBLEM_NONE && problem < FL_PROBLEM_COUNT);
    const fl_problem_info *info = &fl_problems[problem];
    return finish(begin(info, detail != NULL ? detail : info->advice, arena), info->status, arena);
}

fl_reply fl_problem_reply_err(const fl_err *err, fl_arena *arena)
{
    assert(err->code != FL_OK && err->code < FL_STATUS_COUNT);
    const fl_problem_info *info = &outcomes[err->code];
    fl_json_writer *w = begin(info, err->message, arena);
    const char *colon = err->message[0] == '/' ? strstr(err->message, ": ") : NULL;
    if (colon != NULL) {
        fl_json_begin_array(w, "errors");
        fl_json_begin_object(w, NULL);
        fl_json_put_text(w, "pointer", (fl_sv){err->message, (size_t)(colon - err->message)});
        fl_json_put_cstr(w, "detail", colon + 2);
        fl_json_end(w);
        fl_json_end(w);
    }
    return finish(w, info->status, arena);
}

static fl_reply page(int status, const char *title, const char *advice, fl_arena *arena)
{
    /* the texts are ours, plain words without <, > and & */
    fl_sv html = fl_arena_printf(arena,
                                 "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n"
                                 "<meta name=\"viewport\" content=\"width=device-width\">\n"
                                 "<title>fernlock: %s</title>\n<main>\n<h1>%s</h1>\n<p>%s</p>\n"
                                 "</main>\n</html>\n",
                                 title, title, advice);
    return (fl_reply){.status = status, .content_type = "text/html; charset=utf-8", .body = html};
}

fl_reply fl_problem_page(fl_problem problem, fl_arena *arena)
{
    const fl_problem_info *info = &fl_problems[problem];
    return page(info->status, info->title, info->advice, arena);
}

bool fl_problem_explain(fl_sv name, fl_arena *arena, fl_reply *out)
{
    for (size_t i = FL_PROBLEM_NONE + 1; i < FL_PROBLEM_COUNT; i++) {
        if (fl_sv_eq_cstr(name, fl_problems[i].name)) {
            *out = page(200, fl_problems[i].title, fl_problems[i].advice, arena);
            return true;
        }
    }
    for (size_t i = FL_OK + 1; i < FL_STATUS_COUNT; i++) {
        if (fl_sv_eq_cstr(name, outcomes[i].name)) {
            *out =
                page(200, outcomes[i].title, "The answer's detail says which value it was.", arena);
            return true;
        }
    }
    return false;
}
