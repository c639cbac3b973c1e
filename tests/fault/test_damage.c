/* A room file that is cut short, has wiped sectors or flipped bits: it is refused, or what comes
 * out is right. No event may come out changed, whatever happened to the file. */
#define _GNU_SOURCE
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/alloc.h"
#include "base/rng.h"
#include "support/check.h"
#include "support/history.h"

#define TRANSACTIONS 24
#define FLIPS 700
#define SECTOR 512

typedef struct bytes {
    unsigned char *at; /* owned */
    size_t len;
} bytes;

typedef struct bench {
    char dir[FL_TEMP_PATH_MAX];
    char file[FL_TEMP_PATH_MAX + 32];
    char log[FL_TEMP_PATH_MAX + 32];
    char shm[FL_TEMP_PATH_MAX + 32];
    bytes whole;
    int refused; /* by opening, checking or reading */
    int right;   /* the damage hit nothing that counts */
} bench;

static bytes load(const char *path)
{
    bytes got = {NULL, 0};
    FILE *file = fopen(path, "rb");
    check_true(file != NULL);
    check_int(fseek(file, 0, SEEK_END), 0);
    long len = ftell(file);
    check_true(len >= 0);
    got.len = (size_t)len;
    got.at = fl_alloc(got.len + 1, 1);
    rewind(file);
    check_int(fread(got.at, 1, got.len, file), got.len);
    check_int(fclose(file), 0);
    return got;
}

static void save(const char *path, const unsigned char *at, size_t len)
{
    FILE *file = fopen(path, "wb");
    check_true(file != NULL);
    check_int(fwrite(at, 1, len, file), len);
    check_int(fclose(file), 0);
}

static int setup(void **state)
{
    static bench b;
    b = (bench){.refused = 0};
    fl_err err;
    fl_store *store = NULL;
    fl_temp_folder(b.dir);
    (void)snprintf(b.file, sizeof b.file, "%s/room.sqlite", b.dir);
    (void)snprintf(b.log, sizeof b.log, "%s/room.sqlite-wal", b.dir);
    (void)snprintf(b.shm, sizeof b.shm, "%s/room.sqlite-shm", b.dir);
    check_ok(fl_store_open(b.dir, true, &store, &err), &err);
    for (uint64_t t = 1; t <= TRANSACTIONS; t++) {
        check_ok(fl_history_record(store, t, &err), &err);
    }
    fl_store_close(store); /* writes the log back */
    check_int(access(b.log, F_OK), -1);
    b.whole = load(b.file);
    *state = &b;
    return 0;
}

static int teardown(void **state)
{
    bench *b = *state;
    fl_alloc_free(b->whole.at);
    fl_remove_folder(b->dir);
    return 0;
}

/* Ways of saying no that name the damage: never "busy", never success. */
static bool is_refusal(fl_status status)
{
    return status == FL_ECORRUPT || status == FL_EFORMAT || status == FL_EINVAL || status == FL_EIO;
}

/* Looks at the file as it is now on the disk. */
static void try_room(bench *b, const char *what, size_t where)
{
    fl_err err;
    fl_store *store = NULL;
    (void)unlink(b->log);
    (void)unlink(b->shm);
    fl_status status = fl_store_open(b->dir, false, &store, &err);
    if (status == FL_OK) {
        status = fl_store_check(store, &err);
        fl_status rows = fl_history_check_rows(store, TRANSACTIONS, status == FL_OK, &err);
        status = rows == FL_OK ? status : rows;
    }
    if (status != FL_OK && !is_refusal(status)) {
        print_error("%s at %zu: %s\n", what, where, err.message);
        check_true(is_refusal(status));
    }
    b->right += status == FL_OK;
    b->refused += status != FL_OK;
    fl_store_close(store);
}

static void test_unharmed(void **state)
{
    bench *b = *state;
    save(b->file, b->whole.at, b->whole.len);
    try_room(b, "nothing", 0);
    check_int(b->right, 1);
}

static void test_cut_short(void **state)
{
    bench *b = *state;
    for (size_t len = 0; len < b->whole.len; len += 2 * SECTOR) {
        save(b->file, b->whole.at, len);
        try_room(b, "cut short", len);
    }
    save(b->file, b->whole.at, b->whole.len - 1);
    try_room(b, "cut short", b->whole.len - 1);
    check_int(b->right, 0); /* each one is noticed */
}

static void test_wiped_sectors(void **state)
{
    bench *b = *state;
    unsigned char *copy = fl_alloc(b->whole.len, 1);
    for (size_t at = 0; at < b->whole.len; at += SECTOR) {
        memcpy(copy, b->whole.at, b->whole.len);
        memset(copy + at, 0, SECTOR);
        save(b->file, copy, b->whole.len);
        try_room(b, "sector wiped", at);
    }
    fl_alloc_free(copy);
    print_message("%d refused, %d right\n", b->refused, b->right);
    check_true(b->refused > 100);
}

static void test_flipped_bits(void **state)
{
    bench *b = *state;
    fl_rng rng = {20260301};
    unsigned char *copy = fl_alloc(b->whole.len, 1);
    for (int i = 0; i < FLIPS; i++) {
        memcpy(copy, b->whole.at, b->whole.len);
        /* half of them where a byte matters most: the header and the first page */
        size_t at = (size_t)fl_rng_below(&rng, i % 2 == 0 ? 4096 : b->whole.len);
        copy[at] ^= (unsigned char)(1u << fl_rng_below(&rng, 8));
        save(b->file, copy, b->whole.len);
        try_room(b, "bit flipped", at);
    }
    fl_alloc_free(copy);
    print_message("%d refused, %d right\n", b->refused, b->right);
    check_true(b->refused > 50);
}

/* A damaged log gives an earlier state, and that one whole. */
static void try_log(bench *b, size_t where)
{
    fl_err err;
    fl_store *store = NULL;
    uint64_t last = 0;
    uint64_t present = 0;
    (void)unlink(b->shm);
    check_ok(fl_store_open(b->dir, false, &store, &err), &err);
    check_ok(fl_history_last(store, &last, &err), &err);
    fl_status status = fl_history_check(store, last, &present, &err);
    if (status != FL_OK) {
        print_error("log damaged at %zu: ", where);
    }
    check_ok(status, &err);
    check_true(last >= TRANSACTIONS / 2 - 1 && last <= TRANSACTIONS);
    b->right += last == TRANSACTIONS;
    fl_store_close(store);
}

static void test_damaged_log(void **state)
{
    bench *b = *state;
    fl_rng rng = {20260302};
    /* the data base as it was when the log began: the state of the first half */
    (void)unlink(b->file);
    fl_err err;
    fl_store *store = NULL;
    check_ok(fl_store_open(b->dir, true, &store, &err), &err);
    for (uint64_t t = 1; t < TRANSACTIONS / 2; t++) {
        check_ok(fl_history_record(store, t, &err), &err);
    }
    fl_store_close(store);
    bytes half = load(b->file);
    check_ok(fl_store_open(b->dir, false, &store, &err), &err);
    for (uint64_t t = TRANSACTIONS / 2; t <= TRANSACTIONS; t++) {
        check_ok(fl_history_record(store, t, &err), &err);
    }
    bytes log = load(b->log);
    fl_store_close(store);
    for (int i = 0; i < FLIPS / 4; i++) {
        size_t at = (size_t)fl_rng_below(&rng, log.len);
        unsigned char bit = (unsigned char)(1u << fl_rng_below(&rng, 8));
        save(b->file, half.at, half.len);
        log.at[at] ^= bit;
        save(b->log, log.at, i % 3 == 0 ? at : log.len); /* cut short, or a bit flipped */
        log.at[at] ^= bit;
        try_log(b, at);
    }
    save(b->file, half.at, half.len);
    save(b->log, log.at, log.len);
    int before = b->right;
    try_log(b, 0); /* unharmed: all of it */
    check_int(b->right, before + 1);
    fl_alloc_free(half.at);
    fl_alloc_free(log.at);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_unharmed, setup, teardown),
    cmocka_unit_test_setup_teardown(test_cut_short, setup, teardown),
    cmocka_unit_test_setup_teardown(test_wiped_sectors, setup, teardown),
    cmocka_unit_test_setup_teardown(test_flipped_bits, setup, teardown),
    cmocka_unit_test_setup_teardown(test_damaged_log, setup, teardown),
};
FL_TEST_MAIN(tests)
