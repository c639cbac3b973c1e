/* Brings a room file to the newest schema: numbered SQL texts, each run in one transaction together
 * with its number, so a step is done once and whole. Only files of src/store include this. */
#ifndef FL_STORE_MIGRATE_H
#define FL_STORE_MIGRATE_H

#include <stddef.h>

#include "base/sv.h"
#include "store/db.h"

typedef struct fl_migration {
    const char *name; /* "001_room.sql" */
    fl_sv sql;
} fl_migration;

/* Migrations in order: number i + 1 brings a file from user_version i to i + 1. */
typedef struct fl_migration_list {
    size_t count;
    fl_migration (*at)(size_t index); /* index < count */
} fl_migration_list;

/* Those of this program: src/store/schema. */
fl_migration_list fl_migrations(void);

/* Runs what is missing. Two processes may try at the same time. Sets application_id with the first.
 * A file that has data is first copied to "FILE.before-NNN" (NNN is the first migration that
 * runs). FL_EINVAL: the file is newer than the list; else what the SQL gave, and the file is as the
 * last whole step left it. */
fl_status fl_migrate(fl_store *store, fl_migration_list list, fl_err *err) FL_MUST_USE;

#endif
