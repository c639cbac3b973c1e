/* A made-up history that can be checked from its number alone, for tests that break things: after a
 * kill or a power cut, all that was acknowledged must be there byte for byte, and nothing in half.
 *
 * Transaction t = 1, 2, 3 … holds 1 to 4 events, rewrites the live rows of lot t mod 5, sets the
 * setting "last" to t, and with every fourth one puts a blob. Nothing here fails a test by itself,
 * so it can run in a child process. */
#ifndef FL_TESTS_SUPPORT_HISTORY_H
#define FL_TESTS_SUPPORT_HISTORY_H

#include "store/store.h"

/* Records transaction t; after an error it is rolled back. */
fl_status fl_history_record(fl_store *store, uint64_t t, fl_err *err) FL_MUST_USE;

/* Puts memo t, outside a transaction. */
fl_status fl_history_memo(fl_store *store, uint64_t t, fl_err *err) FL_MUST_USE;

/* How many events transaction t has. */
uint64_t fl_history_events(uint64_t t);

/* Compares all of the room with transactions 1 to n, where n is `acked` or `acked` + 1 (the one
 * that was under way), and runs fl_store_check. *present is n. FL_ECONFLICT with the difference;
 * else what the store itself says. */
fl_status fl_history_check(fl_store *store, uint64_t acked, uint64_t *present,
                           fl_err *err) FL_MUST_USE;

/* Reads the whole journal: each row that comes out must be one of transactions 1 to n, unchanged
 * and in its place; with must_be_all, none may be missing. FL_ECONFLICT with the difference; else
 * what the store itself says. */
fl_status fl_history_check_rows(fl_store *store, uint64_t n, bool must_be_all,
                                fl_err *err) FL_MUST_USE;

/* The last transaction of the room by its own account. */
fl_status fl_history_last(fl_store *store, uint64_t *last, fl_err *err) FL_MUST_USE;

#endif
