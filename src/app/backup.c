/* Backups: made, read back, let go; and restoring. The copying itself is the store's. */
#include "app/backup.h"

#include <string.h>

#include "app/files.h"
#include "base/civil.h"
#include "base/num.h"

#define FOLDER "backups"
#define BEGINNING "room-"
#define ENDING ".sqlite"
#define SAME_DAY_MAX 1000 /* backups of one day */

static const fl_sv setting_failed_s = {"backup_failed_s", sizeof("backup_failed_s") - 1};
static const fl_sv setting_failed_why = {"backup_failed_why", sizeof("backup_failed_why") - 1};

/* ---- which ones stay ---- */

/* Weeks since the one of 1970-01-01, a Thursday; they begin on Monday (ISO 8601). */
static int64_t week_of(int64_t day)
{
    int64_t since_monday = day + 3;
    return since_monday >= 0 ? since_monday / 7 : -((6 - since_monday) / 7);
}

static int64_t month_of(int64_t day)
{
    const fl_civil date = fl_civil_from_utc(day * FL_DAY_S, 0);
    return 12 * (int64_t)date.year + date.month;
}

static int64_t day_of(int64_t day)
{
    return day;
}

/* Keeps the newest of each of the last `most` periods that have one. */
static void keep_periods(const int64_t *days, size_t n, int64_t (*period)(int64_t), int most,
                         bool *keep)
{
    int kept = 0;
    for (size_t i = 0; i < n && kept < most; i++) {
        if (i == 0 || period(days[i]) != period(days[i - 1])) {
            keep[i] = true;
            kept++;
        }
    }
}

void fl_backup_keep(const int64_t *days, size_t n, bool *keep)
{
    for (size_t i = 0; i < n; i++) {
        keep[i] = false;
    }
    keep_periods(days, n, day_of, FL_BACKUP_DAILY, keep);
    keep_periods(days, n, week_of, FL_BACKUP_WEEKLY, keep);
    keep_periods(days, n, month_of, FL_BACKUP_MONTHLY, keep);
}

/* ---- the folder ---- */

typedef struct backup {
    const char *name;
    int64_t day;
    int64_t number; /* of that day, from 1 */
} backup;

/* Reads "room-2026-03-01.sqlite" or "room-2026-03-01-2.sqlite"; nothing else is ever touched. */
static bool read_name(const char *name, backup *out)
{
    const size_t head = strlen(BEGINNING);
    const size_t tail = strlen(ENDING);
    fl_sv text = fl_sv_from_cstr(name);
    int64_t at_s = 0;
    fl_precision precision;
    if (text.len < head + 10 + tail || strncmp(name, BEGINNING, head) != 0 ||
        strcmp(name + text.len - tail, ENDING) != 0) {
        return false;
    }
    fl_sv date = {name + head, 10};
    fl_sv rest = {name + head + 10, text.len - head - 10 - tail};
    if (fl_civil_parse(date, 0, &at_s, &precision, NULL) != FL_OK ||
        precision != FL_PRECISION_DAY) {
        return false;
    }
    *out = (backup){.name = name, .day = at_s / FL_DAY_S, .number = 1};
    if (rest.len == 0) {
        return true;
    }
    const fl_sv digits = {rest.ptr + 1, rest.len - 1};
    return rest.ptr[0] == '-' &&
           fl_num_parse_int(digits, "number", 2, SAME_DAY_MAX, &out->number, NULL) == FL_OK;
}

/* Newest first. */
static bool is_newer(const backup *a, const backup *b)
{
    return a->day != b->day ? a->day > b->day : a->number > b->number;
}

static void sort_newest_first(backup *list, size_t n)
{
    for (size_t i = 1; i < n; i++) {
        const backup one = list[i];
        size_t at = i;
        for (; at > 0 && is_newer(&one, &list[at - 1]); at--) {
            list[at] = list[at - 1];
        }
        list[at] = one;
    }
}

/* Today in the room's zone, days since 1970-01-01. */
static int64_t today_of(const fl_app *app)
{
    const fl_civil date = fl_civil_from_utc(fl_app_now(app), app->tz_offset_min);
    return fl_civil_days(date.year, date.month, date.day);
}

static const char *folder_of(const fl_app *app, fl_arena *arena)
{
    return fl_files_join(arena, app->dir, FOLDER);
}

/* The backups of ROOM/backups, newest first. */
static fl_status list_backups(const fl_app *app, fl_arena *arena, backup **out, size_t *count,
                              fl_err *err)
{
    const char **names = NULL;
    size_t n_names = 0;
    size_t n = 0;
    fl_status status = fl_files_list(folder_of(app, arena), arena, &names, &n_names, err);
    if (status != FL_OK) {
        return status;
    }
    backup *list = FL_ARENA_ARRAY(arena, backup, n_names);
    for (size_t i = 0; i < n_names; i++) {
        if (read_name(names[i], &list[n])) {
            n++;
        }
    }
    sort_newest_first(list, n);
    *out = list;
    *count = n;
    return FL_OK;
}

static fl_status rotate(const fl_app *app, fl_arena *arena, fl_backup_made *made, fl_err *err)
{
    backup *list = NULL;
    size_t n = 0;
    fl_status status = list_backups(app, arena, &list, &n, err);
    if (status != FL_OK) {
        return status;
    }
    int64_t *days = FL_ARENA_ARRAY(arena, int64_t, n);
    bool *keep = FL_ARENA_ARRAY(arena, bool, n);
    for (size_t i = 0; i < n; i++) {
        days[i] = list[i].day;
    }
    fl_backup_keep(days, n, keep);
    for (size_t i = 0; i < n; i++) {
        const char *path = fl_files_join(arena, folder_of(app, arena), list[i].name);
        bool is_new = strcmp(path, made->file) == 0;
        if (!keep[i] && !is_new && fl_files_remove(path)) {
            made->n_removed++;
        } else {
            made->n_kept++;
        }
    }
    return FL_OK;
}

/* ---- reading back ---- */

/* Opens the room in `dir` and verifies it. */
static fl_status verify_in(const char *dir, const fl_room_making *how, fl_verified *holds,
                           fl_err *err)
{
    fl_app app = {0};
    fl_status status = fl_app_open(dir, false, 0, how->clock, &app, err);
    if (status == FL_OK) {
        fl_app_watch(&app, how->progress);
        status = fl_app_verify(&app, holds, err);
        fl_app_close(&app);
    }
    return status;
}

/* Reads a backup back, the way it would be restored, in a folder of its own inside how->dir. */
static fl_status read_back(const char *file, const fl_room_making *how, fl_arena *arena,
                           fl_verified *holds, fl_err *err)
{
    const char *scratch = NULL;
    fl_sv kept;
    fl_status status = fl_files_make_scratch(how->dir, "reading-back", arena, &scratch, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_restoring what = {.backup = file, .dir = scratch, .progress = how->progress};
    status = fl_store_restore_watched(&what, arena, &kept, err);
    if (status == FL_OK) {
        status = verify_in(scratch, how, holds, err);
    }
    fl_files_remove_scratch(scratch);
    return status;
}

/* ---- how it went ---- */

static fl_status note_failure(fl_app *app, const fl_err *why)
{
    char digits[FL_NUM_TEXT_MAX];
    (void)fl_num_format(digits, (double)fl_app_now(app), 15);
    fl_status status =
        fl_store_setting_put(app->store, setting_failed_s, fl_sv_from_cstr(digits), NULL);
    if (status == FL_OK) {
        status = fl_store_setting_put(app->store, setting_failed_why, fl_sv_from_cstr(why->message),
                                      NULL);
    }
    return status;
}

static fl_status read_failure(fl_app *app, fl_arena *arena, fl_backup_state *out, fl_err *err)
{
    fl_sv digits = {0};
    fl_status status = fl_store_setting_get(app->store, setting_failed_s, arena, &digits, err);
    if (status == FL_OK) {
        status = fl_num_parse_int(digits, "the time of a failed backup", 0, INT64_MAX,
                                  &out->failed_s, err);
    }
    if (status == FL_OK && out->failed_s > 0) {
        status = fl_store_setting_get(app->store, setting_failed_why, arena, &out->failed_why, err);
    }
    if (status == FL_ENOTFOUND) {
        fl_err_clear(err);
        return FL_OK;
    }
    return status;
}

/* A room that never had a failure gets no setting about one. */
static fl_status note_success(fl_app *app, fl_arena *arena, fl_err *err)
{
    fl_backup_state state = {0};
    fl_status status = read_failure(app, arena, &state, err);
    if (status == FL_OK && state.failed_s > 0) {
        status = fl_store_setting_put(app->store, setting_failed_s, FL_SV("0"), err);
    }
    return status;
}

fl_status fl_app_backup_state(fl_app *app, fl_arena *arena, fl_backup_state *out, fl_err *err)
{
    fl_backup_state state = {0};
    backup *list = NULL;
    size_t n = 0;
    fl_status status = list_backups(app, arena, &list, &n, err);
    if (status == FL_OK && n > 0) {
        state.newest = fl_files_join(arena, folder_of(app, arena), list[0].name);
        state.newest_day = list[0].day;
    }
    if (status == FL_OK) {
        status = read_failure(app, arena, &state, err);
    }
    if (status == FL_OK) {
        *out = state;
    }
    return status;
}

/* ---- making one ---- */

/* The name after the last of today: a number that gave way is not used again that day. */
static fl_status choose_name(const fl_app *app, fl_arena *arena, const char **out, fl_err *err)
{
    char date[FL_CIVIL_TEXT_MAX];
    backup *list = NULL;
    size_t n = 0;
    const char *folder = folder_of(app, arena);
    fl_status status = fl_files_make_folder(folder, err);
    if (status == FL_OK) {
        status = list_backups(app, arena, &list, &n, err);
    }
    if (status != FL_OK) {
        return status;
    }
    int64_t number = 1;
    for (size_t i = n; i > 0; i--) { /* ends with the newest of today */
        number = list[i - 1].day == today_of(app) ? list[i - 1].number + 1 : number;
    }
    if (number > SAME_DAY_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%.150s has a backup number %d of today already", folder,
                       SAME_DAY_MAX);
    }
    (void)fl_civil_format_date(date, fl_app_now(app), app->tz_offset_min);
    fl_sv name = number == 1
                     ? fl_arena_printf(arena, BEGINNING "%s" ENDING, date)
                     : fl_arena_printf(arena, BEGINNING "%s-%lld" ENDING, date, (long long)number);
    *out = fl_files_join(arena, folder, name.ptr);
    return FL_OK;
}

/* A copy that cannot be read must not stand under a backup's name. */
static fl_status set_aside(const char *file, fl_arena *arena, const fl_err *why, fl_err *err)
{
    const char *aside = fl_arena_printf(arena, "%s.unreadable", file).ptr;
    fl_status code = why->code;
    if (fl_files_rename(file, aside, err) != FL_OK) {
        return fl_fail(err, code, "the backup cannot be read back (%.100s), nor renamed: delete it",
                       why->message);
    }
    return fl_fail(err, code,
                   "the backup cannot be read back: %.110s (kept as %.60s.unreadable); "
                   "run fernlock verify",
                   why->message, strrchr(file, '/') != NULL ? strrchr(file, '/') + 1 : file);
}

static fl_status make_and_read(fl_app *app, const char *file, fl_arena *arena, fl_backup_made *made,
                               fl_err *err)
{
    fl_err why = {0};
    fl_status status = fl_store_backup(app->store, file, err);
    if (status != FL_OK) {
        return status;
    }
    made->file = file;
    made->bytes = fl_files_bytes(file);
    const fl_room_making how = {.dir = app->dir, .clock = app->clock, .progress = app->progress};
    status = read_back(file, &how, arena, &made->holds, &why);
    if (status == FL_ECANCELLED) { /* a copy that nobody waited for is no backup */
        (void)fl_files_remove(file);
        return fl_progress_fail(err);
    }
    return status == FL_OK ? FL_OK : set_aside(file, arena, &why, err);
}

fl_status fl_app_backup(fl_app *app, const char *file, fl_arena *arena, fl_backup_made *out,
                        fl_err *err)
{
    fl_backup_made made = {0};
    fl_err why = {0};
    const char *chosen = file;
    fl_status status = FL_OK;
    if (file == NULL) {
        status = choose_name(app, arena, &chosen, &why);
    }
    if (status == FL_OK) {
        status = make_and_read(app, chosen, arena, &made, &why);
    }
    if (status == FL_OK && file == NULL) {
        status = rotate(app, arena, &made, &why);
    }
    if (status == FL_OK) {
        status = note_success(app, arena, &why);
    } else if (status == FL_ECORRUPT || (file == NULL && status != FL_ECANCELLED)) {
        (void)note_failure(app, &why); /* what failed may keep this from being written, too */
    }
    if (status != FL_OK) {
        return fl_fail(err, status, "%s", why.message);
    }
    *out = made;
    return FL_OK;
}

fl_status fl_app_backup_due(fl_app *app, fl_arena *arena, bool *is_made, fl_backup_made *out,
                            fl_err *err)
{
    backup *list = NULL;
    size_t n = 0;
    fl_status status = list_backups(app, arena, &list, &n, err);
    if (status != FL_OK) {
        return status;
    }
    if (n > 0 && list[0].day >= today_of(app)) {
        *is_made = false;
        return FL_OK;
    }
    status = fl_app_backup(app, NULL, arena, out, err);
    if (status == FL_OK) {
        *is_made = true;
    }
    return status;
}

/* ---- restoring ---- */

fl_status fl_app_restore_watched(const char *file, const fl_room_making *how, fl_arena *arena,
                                 fl_restored *out, fl_err *err)
{
    fl_restored restored = {0};
    const fl_restoring what = {.backup = file, .dir = how->dir, .progress = how->progress};
    const fl_room_making placed = {.dir = how->dir, .clock = how->clock};
    if (!fl_files_exist(file)) { /* before anything is made */
        return fl_fail(err, FL_ENOTFOUND, "there is no file %.150s: give a backup made by fernlock",
                       file);
    }
    fl_status status = fl_files_make_folder(how->dir, err);
    if (status == FL_OK) {
        status = read_back(file, how, arena, &restored.holds, err);
    }
    if (status == FL_OK) {
        status = fl_store_restore_watched(&what, arena, &restored.kept, err);
    }
    if (status == FL_OK) { /* it stands in its place: too late to cancel */
        status = verify_in(how->dir, &placed, &restored.holds, err);
    }
    if (status == FL_OK) {
        *out = restored;
    }
    return status;
}

fl_status fl_app_restore(const char *file, const char *dir, fl_clock clock, fl_arena *arena,
                         fl_restored *out, fl_err *err)
{
    const fl_room_making how = {.dir = dir, .clock = clock};
    return fl_app_restore_watched(file, &how, arena, out, err);
}
