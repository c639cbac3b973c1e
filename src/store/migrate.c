/* Runs numbered schema changes, each with its number in one transaction. */
#include "store/migrate.h"

#include <assert.h>
#include <stdio.h>

#include "base/str.h"
#include "generated/store_migrations.h"
#include "store/file.h"

/* Names of back-ups are not used twice. */
#define BACKUPS_MAX 100

static fl_migration embedded_at(size_t index)
{
    assert(index < fl_embedded_migrations_count);
    const void *text = fl_embedded_migrations[index].bytes;
    return (fl_migration){fl_embedded_migrations[index].name,
                          {text, fl_embedded_migrations[index].len}};
}

fl_migration_list fl_migrations(void)
{
    return (fl_migration_list){fl_embedded_migrations_count, embedded_at};
}

static fl_status refuse_newer(const fl_store *store, int64_t version, size_t count, fl_err *err)
{
    return fl_fail(err, FL_EINVAL,
                   "%s was written by a newer fernlock (version %lld of its layout; this one reads "
                   "up to %zu): install the newer one",
                   store->file, (long long)version, count);
}

/* Keeps the file as it was before its layout changes. */
static fl_status keep_old(fl_store *store, int64_t version, fl_err *err)
{
    fl_status status = FL_ECONFLICT;
    for (int n = 1; n <= BACKUPS_MAX && status == FL_ECONFLICT; n++) {
        fl_str name;
        fl_str_init(&name, FL_FILE_PATH_MAX);
        fl_str_appendf(&name, "%s.before-%03lld", store->file, (long long)version + 1);
        if (n > 1) {
            fl_str_appendf(&name, "-%d", n);
        }
        status = name.is_full ? fl_fail(err, FL_ETOOBIG, "the path %s is too long", store->file)
                              : fl_store_backup(store, name.ptr, err);
        fl_str_done(&name);
    }
    return status;
}

static fl_status run_step(fl_store *store, fl_migration step, int64_t number, fl_err *err)
{
    fl_status status = fl_db_run(store, step.sql, err);
    if (status != FL_OK) {
        return status;
    }
    char set[96];
    int len = snprintf(set, sizeof set, "PRAGMA application_id = %d; PRAGMA user_version = %lld;",
                       FL_DB_APPLICATION_ID, (long long)number);
    return fl_db_run(store, (fl_sv){set, (size_t)len}, err);
}

/* One step, unless another process has done it meanwhile. *version is what the file has after. */
static fl_status step_once(fl_store *store, fl_migration_list list, int64_t *version, fl_err *err)
{
    fl_status status = fl_store_begin(store, err);
    if (status != FL_OK) {
        return status;
    }
    int64_t now = 0;
    status = fl_db_number(store, "PRAGMA user_version", &now, err);
    if (status == FL_OK && now == *version) {
        status = run_step(store, list.at((size_t)now), now + 1, err);
        now++;
    } else if (status == FL_OK && (now < 0 || now > (int64_t)list.count)) {
        status = refuse_newer(store, now, list.count, err);
    }
    if (status == FL_OK) {
        status = fl_store_commit(store, err);
    }
    fl_store_rollback(store);
    if (status == FL_OK) {
        *version = now;
    }
    return status;
}

fl_status fl_migrate(fl_store *store, fl_migration_list list, fl_err *err)
{
    int64_t version = 0;
    fl_status status = fl_db_number(store, "PRAGMA user_version", &version, err);
    if (status != FL_OK) {
        return status;
    }
    if (version < 0 || version > (int64_t)list.count) {
        return refuse_newer(store, version, list.count, err);
    }
    if (version > 0 && version < (int64_t)list.count) {
        status = keep_old(store, version, err);
    }
    while (status == FL_OK && version < (int64_t)list.count) {
        status = step_once(store, list, &version, err);
    }
    return status;
}
