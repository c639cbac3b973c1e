/* A room file that somebody else wrote: damaged at some places, cut short, replaced, or well-formed
 * with hostile rows under right seals. It is refused in one line, or opened, checked, verified and
 * loaded without a fault; a message never names success.
 *
 * The first byte chooses: R patches {offset: 3 bytes, length: 1, bytes}…; T cut at {offset: 3};
 * W the whole file; J an event's bytes {row: 1, bytes}, sealed; M every state of the memo, sealed;
 * S a setting {which: 1, value}; L words of the live tables {which: 1, word}. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sqlite3.h>

#include "app/chance.h"
#include "app/room.h"
#include "base/alloc.h"
#include "base/hash.h"
#include "event/event.h"
#include "fuzz/fuzz.h"

/* What an error of a room's file may be; FL_ECONFLICT would be "already there". */
static bool is_refusal(fl_status status)
{
    return status == FL_ECORRUPT || status == FL_EFORMAT || status == FL_EINVAL ||
           status == FL_EIO || status == FL_EDOMAIN || status == FL_ENOTFOUND ||
           status == FL_ETOOBIG || status == FL_EBUSY;
}

static void check_refusal(fl_status status, const fl_err *err)
{
    if (status != FL_OK) {
        FL_FUZZ_REQUIRE(is_refusal(status));
        FL_FUZZ_REQUIRE(err->message[0] != '\0' && strchr(err->message, '\n') == NULL);
    }
}

static fl_status ask(fl_app *app, fl_err *err)
{
    fl_room room;
    fl_chances *chances = NULL;
    fl_status status = fl_room_load(app, &room, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_chances_new(&room, app, &chances, err);
    if (status == FL_OK && room.meaning.n_lots > 0) {
        size_t count = 0;
        fl_lot_chance *list = fl_alloc(fl_know_threat_count(), sizeof *list);
        status = fl_chances_of_lot(chances, &room.meaning.lots[0], list, &count, err);
        for (size_t i = 0; status == FL_OK && i < count; i++) {
            FL_FUZZ_REQUIRE(list[i].chance >= 0.0 && list[i].chance <= 1.0);
        }
        fl_alloc_free(list);
    }
    fl_chances_free(chances);
    fl_room_done(&room);
    return status;
}

/* All that a start of the program, `verify` and `today` would do. */
static void try_room(void)
{
    static int64_t now_s = FL_FUZZ_NOW_S;
    fl_app app;
    fl_err err = {0};
    fl_verified found;
    fl_status status =
        fl_app_open(fl_fuzz_room_dir(), false, 0, fl_clock_fixed(&now_s), &app, &err);
    check_refusal(status, &err);
    if (status != FL_OK) {
        return;
    }
    fl_status verified = fl_app_verify(&app, &found, &err);
    check_refusal(verified, &err);
    status = ask(&app, &err);
    check_refusal(status, &err);
    fl_app_close(&app);
}

/* ---- the file as bytes ---- */

static size_t offset_of(const uint8_t *at)
{
    return ((size_t)at[0] << 16) | ((size_t)at[1] << 8) | at[2];
}

static void try_patches(const uint8_t *bytes, size_t len)
{
    size_t size = 0;
    const unsigned char *whole = fl_fuzz_room_bytes(&size);
    unsigned char *copy = fl_alloc(size, 1);
    memcpy(copy, whole, size);
    while (len >= 4) {
        size_t at = offset_of(bytes) % size;
        size_t n = bytes[3];
        bytes += 4;
        len -= 4;
        n = n < len ? n : len;
        n = n < size - at ? n : size - at;
        memcpy(copy + at, bytes, n);
        bytes += n;
        len -= n;
    }
    fl_fuzz_room_write(copy, size);
    fl_alloc_free(copy);
    try_room();
}

static void try_cut(const uint8_t *bytes, size_t len)
{
    size_t size = 0;
    const unsigned char *whole = fl_fuzz_room_bytes(&size);
    fl_fuzz_room_write(whole, len >= 3 ? offset_of(bytes) % size : 0);
    try_room();
}

/* ---- hostile rows ---- */

static sqlite3 *open_file(void)
{
    sqlite3 *db = NULL;
    char path[600];
    fl_fuzz_room_again();
    (void)snprintf(path, sizeof path, "%s/room.sqlite", fl_fuzz_room_dir());
    FL_FUZZ_REQUIRE(sqlite3_open(path, &db) == SQLITE_OK);
    FL_FUZZ_REQUIRE(sqlite3_exec(db,
                                 "DROP TRIGGER journal_keeps_values; PRAGMA synchronous = OFF;"
                                 "PRAGMA ignore_check_constraints = ON",
                                 NULL, NULL, NULL) == SQLITE_OK);
    return db;
}

static void run(sqlite3_stmt *query)
{
    (void)sqlite3_step(query); /* what the file itself refuses is not tried */
    (void)sqlite3_finalize(query);
}

/* The seal of a row of the journal: docs/models/room-file.md. */
static fl_hash seal_of(sqlite3_stmt *row, const char *canonical, size_t len)
{
    fl_id id;
    char text[FL_ID_TEXT_MAX];
    char line[200];
    memcpy(id.b, sqlite3_column_blob(row, 1), sizeof id.b);
    int n = snprintf(line, sizeof line, "%lld %s %s %lld %lld %lld", sqlite3_column_int64(row, 0),
                     fl_id_format(text, id), (const char *)sqlite3_column_text(row, 2),
                     sqlite3_column_int64(row, 3), sqlite3_column_int64(row, 4),
                     sqlite3_column_int64(row, 5));
    return fl_hash_link(fl_hash_of(canonical, len), line, (size_t)n);
}

static void try_event(const char *bytes, size_t len)
{
    sqlite3 *db = open_file();
    sqlite3_stmt *row = NULL;
    sqlite3_stmt *change = NULL;
    const int number = (unsigned char)bytes[0] % 60 + 1;
    FL_FUZZ_REQUIRE(sqlite3_prepare_v2(db,
                                       "SELECT position, id, kind, at_s, rank, recorded_s "
                                       "FROM journal WHERE position = ?",
                                       -1, &row, NULL) == SQLITE_OK);
    (void)sqlite3_bind_int(row, 1, number);
    FL_FUZZ_REQUIRE(sqlite3_step(row) == SQLITE_ROW);
    fl_hash seal = seal_of(row, bytes + 1, len - 1);
    (void)sqlite3_finalize(row);
    FL_FUZZ_REQUIRE(
        sqlite3_prepare_v2(db, "UPDATE journal SET canonical = ?, seal = ? WHERE position = ?", -1,
                           &change, NULL) == SQLITE_OK);
    (void)sqlite3_bind_text(change, 1, bytes + 1, (int)(len - 1), SQLITE_STATIC);
    (void)sqlite3_bind_blob(change, 2, seal.b, sizeof seal.b, SQLITE_STATIC);
    (void)sqlite3_bind_int(change, 3, number);
    run(change);
    FL_FUZZ_REQUIRE(sqlite3_close(db) == SQLITE_OK);
    try_room();
}

/* The memo is filled by asking once; then each state is these bytes, rightly sealed. */
static void try_memo(const char *bytes, size_t len)
{
    fl_app app;
    fl_err err = {0};
    sqlite3 *db = open_file();
    sqlite3_stmt *row = NULL;
    FL_FUZZ_REQUIRE(sqlite3_close(db) == SQLITE_OK);
    fl_fuzz_room_open(&app);
    fl_fuzz_ok(ask(&app, &err), &err);
    fl_app_close(&app);
    char path[600];
    (void)snprintf(path, sizeof path, "%s/room.sqlite", fl_fuzz_room_dir());
    FL_FUZZ_REQUIRE(sqlite3_open(path, &db) == SQLITE_OK);
    (void)sqlite3_exec(db, "PRAGMA synchronous = OFF; BEGIN", NULL, NULL, NULL);
    FL_FUZZ_REQUIRE(sqlite3_prepare_v2(db, "SELECT number, link FROM memo", -1, &row, NULL) ==
                    SQLITE_OK);
    while (sqlite3_step(row) == SQLITE_ROW) {
        fl_hash link;
        sqlite3_stmt *change = NULL;
        memcpy(link.b, sqlite3_column_blob(row, 1), sizeof link.b);
        fl_hash seal = fl_hash_link(link, bytes, len);
        FL_FUZZ_REQUIRE(sqlite3_prepare_v2(db,
                                           "UPDATE memo SET state = ?, seal = ? WHERE number = ?",
                                           -1, &change, NULL) == SQLITE_OK);
        (void)sqlite3_bind_blob(change, 1, bytes, (int)len, SQLITE_STATIC);
        (void)sqlite3_bind_blob(change, 2, seal.b, sizeof seal.b, SQLITE_STATIC);
        (void)sqlite3_bind_int64(change, 3, sqlite3_column_int64(row, 0));
        run(change);
    }
    (void)sqlite3_finalize(row);
    (void)sqlite3_exec(db, "COMMIT", NULL, NULL, NULL);
    FL_FUZZ_REQUIRE(sqlite3_close(db) == SQLITE_OK);
    try_room();
}

static void try_text(const char *const *statements, size_t count, const char *bytes, size_t len)
{
    sqlite3 *db = open_file();
    sqlite3_stmt *change = NULL;
    const char *sql = statements[(unsigned char)bytes[0] % count];
    FL_FUZZ_REQUIRE(sqlite3_prepare_v2(db, sql, -1, &change, NULL) == SQLITE_OK);
    (void)sqlite3_bind_text(change, 1, bytes + 1, (int)(len - 1), SQLITE_STATIC);
    run(change);
    FL_FUZZ_REQUIRE(sqlite3_close(db) == SQLITE_OK);
    try_room();
}

static void try_rows(char kind, const char *bytes, size_t len)
{
    static const char *const settings[] = {
        "UPDATE setting SET value = ?1", "UPDATE setting SET name = ?1 WHERE name = 'demo'",
        "DELETE FROM setting WHERE ?1 IS NOT NULL", "INSERT INTO setting VALUES (?1, ?1)"};
    static const char *const words[] = {
        "UPDATE lot_now SET form = ?1",     "UPDATE lot_now SET origin = ?1",
        "UPDATE lot_now SET use = ?1",      "UPDATE lot_now SET name = ?1",
        "UPDATE lot_now SET count = ?1",    "UPDATE stay SET from_s = ?1",
        "UPDATE stay SET to_s = ?1",        "UPDATE fill SET from_s = ?1",
        "UPDATE place_hold SET cause = ?1", "UPDATE finding_now SET threat = ?1",
        "UPDATE conflict SET kind = ?1",    "UPDATE journal SET kind = ?1 WHERE position = 3",
        "UPDATE journal SET at_s = ?1",     "UPDATE lot_now SET precision = ?1",
        "PRAGMA user_version = 0",          "DELETE FROM stay WHERE ?1 IS NOT NULL"};
    switch (kind) {
    case 'J':
        try_event(bytes, len);
        break;
    case 'M':
        try_memo(bytes, len);
        break;
    case 'S':
        try_text(settings, sizeof settings / sizeof settings[0], bytes, len);
        break;
    case 'L':
        try_text(words, sizeof words / sizeof words[0], bytes, len);
        break;
    default:
        break;
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
    if (len < 2) {
        return 0;
    }
    switch (bytes[0]) {
    case 'R':
        try_patches(bytes + 1, len - 1);
        break;
    case 'T':
        try_cut(bytes + 1, len - 1);
        break;
    case 'W':
        fl_fuzz_room_write(bytes + 1, len - 1);
        try_room();
        break;
    default: {
        char *exact = fl_fuzz_exact(bytes + 1, len - 1);
        try_rows((char)bytes[0], exact, len - 1);
        free(exact);
    }
    }
    return 0;
}
