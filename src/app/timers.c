/* Timers from the journal, and alarms by two clocks. */
#include "app/timers.h"

#include <stdlib.h>
#include <string.h>

#include "base/num.h"

/* ---- timers ---- */

static int compare_timers(const void *a, const void *b)
{
    const fl_timer *x = a;
    const fl_timer *y = b;
    if (x->due_s != y->due_s) {
        return x->due_s < y->due_s ? -1 : 1;
    }
    return fl_id_compare(x->run, y->run);
}

size_t fl_timers_running(const fl_room *room, fl_arena *arena, fl_timer **out)
{
    size_t n = 0;
    size_t capacity = 0;
    for (size_t i = 0; i < room->n_events; i++) {
        capacity += room->events[i].kind == FL_KIND_STEP_STARTED ? 1U : 0U;
    }
    fl_timer *timers = FL_ARENA_ARRAY(arena, fl_timer, capacity + 1);
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        const fl_ev_step_started *body = &event->body.step_started;
        if (event->kind != FL_KIND_STEP_STARTED || fl_room_end_of_run(room, body->run) != NULL) {
            continue;
        }
        timers[n++] = (fl_timer){.run = body->run,
                                 .step = &body->step,
                                 .started_s = event->at_s,
                                 .planned_s = body->planned_s,
                                 .due_s = event->at_s + body->planned_s};
    }
    if (n > 1) {
        qsort(timers, n, sizeof timers[0], compare_timers);
    }
    *out = timers;
    return n;
}

/* ---- what is kept ---- */

static const char head[] = "fernlock alarms 1";

void fl_alarm_set_init(fl_alarm_set *set, const char *boot_id)
{
    size_t len = strlen(boot_id);
    memset(set, 0, sizeof *set);
    len = len < sizeof set->boot_id - 1 ? len : sizeof set->boot_id - 1;
    memcpy(set->boot_id, boot_id, len);
}

/* "RUN DUE BOOT_DUE TIMES LATE" */
static bool read_entry(fl_sv line, fl_alarm_entry *out)
{
    int64_t number[4] = {0};
    fl_alarm_entry entry = {0};
    if (fl_id_parse(fl_sv_split(&line, ' '), &entry.run, NULL) != FL_OK) {
        return false;
    }
    for (size_t i = 0; i < 4; i++) {
        if (fl_num_parse_int(fl_sv_split(&line, ' '), "alarm", INT64_MIN / 2, INT64_MAX / 2,
                             &number[i], NULL) != FL_OK) {
            return false;
        }
    }
    entry.due_s = number[0];
    entry.boot_due_ms = number[1];
    entry.n_sounded = (int)number[2];
    entry.late_s = number[3];
    *out = entry;
    return true;
}

void fl_alarm_set_read(fl_alarm_set *set, fl_sv text)
{
    if (!fl_sv_eq_cstr(fl_sv_split(&text, '\n'), head)) {
        return;
    }
    bool is_this_boot = fl_sv_eq_cstr(fl_sv_split(&text, '\n'), set->boot_id);
    while (text.len > 0 && set->n < FL_ALARMS_MAX) {
        fl_alarm_entry *entry = &set->entries[set->n];
        if (read_entry(fl_sv_split(&text, '\n'), entry)) {
            /* boot time of another boot says nothing: update sets it by the clock */
            entry->boot_due_ms = is_this_boot ? entry->boot_due_ms : INT64_MIN;
            set->n++;
        }
    }
}

void fl_alarm_set_write(fl_alarm_set *set, fl_str *out)
{
    fl_str_appendf(out, "%s\n%s\n", head, set->boot_id);
    for (size_t i = 0; i < set->n; i++) {
        const fl_alarm_entry *e = &set->entries[i];
        char run[FL_ID_TEXT_MAX];
        fl_str_appendf(out, "%s %lld %lld %d %lld\n", fl_id_format(run, e->run),
                       (long long)e->due_s, (long long)e->boot_due_ms, e->n_sounded,
                       (long long)e->late_s);
    }
    set->is_changed = false;
}

/* ---- bringing up to date ---- */

const fl_alarm_entry *fl_alarm_set_find(const fl_alarm_set *set, fl_id run)
{
    for (size_t i = 0; i < set->n; i++) {
        if (fl_id_eq(set->entries[i].run, run)) {
            return &set->entries[i];
        }
    }
    return NULL;
}

static fl_alarm_entry *find(fl_alarm_set *set, fl_id run)
{
    for (size_t i = 0; i < set->n; i++) {
        if (fl_id_eq(set->entries[i].run, run)) {
            return &set->entries[i];
        }
    }
    return NULL;
}

/* Drops those that ended. */
static void drop_ended(fl_alarm_set *set, const fl_timer *timers, size_t n)
{
    size_t kept = 0;
    for (size_t i = 0; i < set->n; i++) {
        bool is_running = false;
        for (size_t k = 0; k < n; k++) {
            is_running = is_running || fl_id_eq(timers[k].run, set->entries[i].run);
        }
        if (is_running) {
            set->entries[kept++] = set->entries[i];
        }
    }
    set->is_changed = set->is_changed || kept != set->n;
    set->n = kept;
}

static fl_alarm_entry *take_up(fl_alarm_set *set, const fl_timer *timer, fl_alarm_now now)
{
    fl_alarm_entry *entry = find(set, timer->run);
    if (entry == NULL) {
        if (set->n == FL_ALARMS_MAX) {
            return NULL;
        }
        entry = &set->entries[set->n++];
        *entry =
            (fl_alarm_entry){.run = timer->run, .due_s = timer->due_s, .boot_due_ms = INT64_MIN};
        set->is_changed = true;
    }
    if (entry->boot_due_ms == INT64_MIN) {
        entry->boot_due_ms = now.boot_ms + (entry->due_s - now.wall_s) * 1000;
        set->is_changed = true;
    }
    return entry;
}

int64_t fl_alarm_left_s(const fl_alarm_entry *entry, fl_alarm_now now)
{
    int64_t left_ms = entry->boot_due_ms - now.boot_ms;
    return left_ms >= 0 ? (left_ms + 999) / 1000 : -(-left_ms / 1000);
}

static void note_offset(fl_alarm_set *set, fl_alarm_now now)
{
    int64_t offset_ms = now.wall_s * 1000 - now.boot_ms;
    if (!set->has_offset) {
        set->has_offset = true;
        set->offset_ms = offset_ms;
    }
    set->moved_s = (offset_ms - set->offset_ms) / 1000;
    if (set->moved_s >= -1 && set->moved_s <= 1) {
        set->moved_s = 0; /* whole seconds of the clock against milliseconds */
    }
}

size_t fl_alarm_set_update(fl_alarm_set *set, const fl_timer *timers, size_t n, fl_alarm_now now,
                           size_t *due)
{
    size_t n_due = 0;
    note_offset(set, now);
    drop_ended(set, timers, n);
    for (size_t i = 0; i < n && n_due < FL_ALARMS_MAX; i++) {
        fl_alarm_entry *entry = take_up(set, &timers[i], now);
        if (entry == NULL || entry->boot_due_ms > now.boot_ms ||
            entry->n_sounded >= FL_ALARM_TIMES ||
            (entry->n_sounded > 0 && entry->sounded_ms > 0 &&
             now.boot_ms - entry->sounded_ms < FL_ALARM_AGAIN_MS)) {
            continue;
        }
        if (entry->n_sounded == 0) {
            int64_t late_s = (now.boot_ms - entry->boot_due_ms) / 1000;
            entry->late_s = late_s > FL_ALARM_LATE_S ? late_s : 0;
        }
        entry->n_sounded++;
        entry->sounded_ms = now.boot_ms;
        set->is_changed = true;
        due[n_due++] = i;
    }
    return n_due;
}
