/* The room, what is due, and the short answers that need no chances. */
#include <math.h>
#include <string.h>

#include "base/num.h"
#include "view/put.h"

static const char *const weekdays[] = {"Monday", "Tuesday",  "Wednesday", "Thursday",
                                       "Friday", "Saturday", "Sunday"};

typedef struct counts {
    size_t lots, quarantine, held, established, places;
} counts;

static counts count_room(const fl_room *room)
{
    counts n = {0};
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        fl_phase phase = fl_phase_of(room, &room->meaning.lots[i]);
        n.lots += phase != FL_PHASE_GONE;
        n.quarantine += phase == FL_PHASE_QUARANTINE || phase == FL_PHASE_HELD;
        n.held += phase == FL_PHASE_HELD;
        n.established += phase == FL_PHASE_ESTABLISHED;
    }
    for (size_t i = 0; i < room->defs.places.count; i++) {
        n.places += !room->defs.places.events[i]->body.place_set.is_retired;
    }
    return n;
}

static void put_counts(const fl_view *v)
{
    counts n = count_room(v->room);
    fl_json_begin_object(v->w, "counts");
    fl_json_put_int(v->w, "events", (int64_t)(v->room->n_events + v->room->n_voided));
    fl_json_put_int(v->w, "lots", (int64_t)n.lots);
    fl_json_put_int(v->w, "lots_in_quarantine", (int64_t)n.quarantine);
    fl_json_put_int(v->w, "lots_held", (int64_t)n.held);
    fl_json_put_int(v->w, "lots_established", (int64_t)n.established);
    fl_json_put_int(v->w, "places", (int64_t)n.places);
    fl_json_put_int(v->w, "conflicts", (int64_t)v->room->meaning.n_conflicts);
    fl_json_end(v->w);
}

static void put_pace(const fl_view *v)
{
    fl_pace pace;
    fl_gate_pace(v->room, &pace);
    fl_json_begin_object(v->w, "pace");
    fl_json_put_int(v->w, "releases_last_year", pace.n_releases);
    fl_json_put_number(v->w, "bad_releases_expected", pace.expected_bad);
    fl_json_put_number(v->w, "years_per_bad_release", pace.years_per_bad);
    fl_json_put_text(v->w, "text", fl_say_pace(&pace, v->arena));
    fl_json_end(v->w);
}

void fl_view_room(const fl_view *v, const char *key)
{
    fl_json_writer *w = v->w;
    char hash[FL_HASH_TEXT_MAX];
    fl_json_begin_object(w, key);
    fl_json_put_text(w, "name", v->room->name);
    fl_json_put_int(w, "position", v->room->position);
    fl_put_at(w, "now_at", v->room->now_s);
    fl_put_on(v, "today_on", v->room->now_s);
    fl_json_put_int(w, "tz_offset_min", v->room->tz_offset_min);
    fl_json_put_bool(w, "is_demo", v->room->is_demo);
    fl_put_on(v, "away_from_on", v->room->away_from_s);
    fl_put_on(v, "away_until_on", v->room->away_until_s);
    fl_json_begin_object(w, "round");
    fl_json_put_int(w, "weekday", v->room->round_weekday);
    fl_json_put_cstr(w, "weekday_text", weekdays[v->room->round_weekday]);
    fl_put_word(w, "effort", "effort_text", &fl_words_effort[v->room->round_effort]);
    fl_json_end(w);
    put_counts(v);
    put_pace(v);
    fl_json_put_cstr(w, "knowledge_sha256", fl_hash_format(hash, fl_know_hash()));
    fl_json_end(w);
}

/* ---- what is due ---- */

/* Nothing is overdue: a look that was missed is a look for today. */
static int64_t shown_at(const fl_room *room, const fl_due *due)
{
    bool waits = due->kind == FL_DUE_LOOK || due->kind == FL_DUE_UPKEEP || due->kind == FL_DUE_TRIM;
    return waits && due->at_s < room->now_s ? room->now_s : due->at_s;
}

fl_sv fl_say_due(const fl_room *room, const fl_due *due, fl_arena *arena)
{
    if (due->kind != FL_DUE_CLAIM) {
        return due->text;
    }
    fl_sv date = fl_say_date(room, due->at_s, FL_PRECISION_DAY, arena);
    return fl_arena_printf(arena, "%.*s until %.*s", FL_SV_ARG(due->text), FL_SV_ARG(date));
}

static void put_due(const fl_view *v, const fl_due *due)
{
    fl_json_writer *w = v->w;
    int64_t at_s = shown_at(v->room, due);
    fl_json_begin_object(w, NULL);
    fl_put_word(w, "kind", "kind_text", &fl_words_due[due->kind]);
    fl_json_put_text(w, "text", fl_say_due(v->room, due, v->arena));
    fl_put_at(w, "at", at_s);
    fl_put_on(v, "on", at_s);
    fl_json_put_text(w, "when_text", fl_say_when(v->room, at_s, v->arena));
    fl_put_place_ref(v, "place", due->place);
    fl_put_lot_ref(v, "lot", fl_meaning_lot(&v->room->meaning, due->lot));
    fl_put_id(w, "arrival_id", due->arrival);
    fl_json_put_int(w, "places", (int64_t)due->n_places);
    fl_json_put_int(w, "lots", (int64_t)due->n_lots);
    fl_json_end(w);
}

void fl_view_today(const fl_view *v, const char *key, const fl_today *today)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, key);
    fl_put_at(w, "now_at", v->room->now_s);
    fl_put_on(v, "today_on", v->room->now_s);
    fl_json_put_text(w, "room_name", v->room->name);
    fl_json_put_bool(w, "is_demo", v->room->is_demo);
    fl_json_begin_array(w, "lines");
    for (int i = 0; i < today->n; i++) {
        put_due(v, &today->lines[i]);
    }
    fl_json_end(w);
    fl_json_put_int(w, "more", today->n_more);
    fl_put_on(v, "next_on", today->next_s);
    fl_put_text(w, "next_text",
                today->next_s == FL_TIME_OPEN ? FL_SV("")
                                              : fl_say_when(v->room, today->next_s, v->arena));
    fl_json_put_int(w, "lots_in_quarantine", (int64_t)today->n_in_quarantine);
    fl_put_text(w, "backup_text",
                v->backup != NULL ? fl_say_backup(v->room, v->backup, v->arena) : FL_SV(""));
    fl_json_end(w);
}

/* ---- short answers ---- */

void fl_view_recorded(fl_json_writer *w, const char *key, const fl_id *ids,
                      const fl_recorded *results, size_t count, int64_t position)
{
    int64_t n_new = 0;
    for (size_t i = 0; i < count; i++) {
        n_new += results[i] == FL_RECORDED_NEW;
    }
    fl_json_begin_object(w, key);
    fl_json_put_int(w, "recorded", n_new);
    fl_json_put_int(w, "already", (int64_t)count - n_new);
    fl_json_put_int(w, "position", position);
    fl_json_begin_array(w, "results");
    for (size_t i = 0; i < count; i++) {
        bool is_new = results[i] == FL_RECORDED_NEW;
        fl_json_begin_object(w, NULL);
        fl_put_id(w, "id", ids != NULL ? ids[i] : (fl_id){{0}});
        fl_json_put_cstr(w, "result", is_new ? "recorded" : "already");
        fl_json_put_cstr(w, "text", is_new ? "recorded" : "already recorded");
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
}

void fl_view_verified(fl_json_writer *w, const char *key, const fl_verified *verified)
{
    fl_json_begin_object(w, key);
    fl_json_put_bool(w, "is_whole", true);
    fl_json_put_int(w, "events", verified->n_events);
    fl_json_put_int(w, "facts", verified->n_facts);
    fl_json_put_int(w, "lots", verified->n_lots);
    fl_json_put_int(w, "stays", verified->n_stays);
    fl_json_put_int(w, "fills", verified->n_fills);
    fl_json_put_int(w, "holds", verified->n_holds);
    fl_json_put_int(w, "conflicts", verified->n_conflicts);
    fl_json_put_int(w, "orphans", verified->n_orphans);
    fl_json_end(w);
}

void fl_view_changes(fl_json_writer *w, int64_t since, int64_t position, int64_t now_s)
{
    fl_json_begin_object(w, NULL);
    fl_json_put_int(w, "since", since);
    fl_json_put_int(w, "position", position);
    fl_json_put_bool(w, "is_changed", position > since);
    fl_put_at(w, "now_at", now_s);
    fl_json_end(w);
}

/* X-macro of base/status.h: what each status means. */
#define FL_STATUS_MEANING(code, name, http, meaning) [code] = meaning,
static const char *const meanings[FL_STATUS_COUNT] = {FL_STATUS_LIST(FL_STATUS_MEANING)};

void fl_view_problem(fl_json_writer *w, fl_status code, int http_status, fl_sv detail)
{
    char type[64] = "/problems/";
    size_t lead = strlen(type);
    const char *name = fl_status_name(code);
    memcpy(type + lead, name, strlen(name) + 1);
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "type", type);
    fl_json_put_cstr(w, "title", meanings[code]);
    fl_json_put_int(w, "status", http_status != 0 ? http_status : fl_status_http(code));
    if (detail.len > 0) {
        fl_json_put_text(w, "detail", detail);
    }
    fl_json_end(w);
}
