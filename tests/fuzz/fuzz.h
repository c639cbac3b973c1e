/* What the fuzz programs share. Each has one function that takes any bytes, and ends the process
 * when something does not hold. It is called by libFuzzer (preset "fuzz", scripts/fuzz) or, in
 * ./test, by driver.c, which goes through the corpus and a fixed number of its mutations. */
#ifndef FL_TESTS_FUZZ_FUZZ_H
#define FL_TESTS_FUZZ_FUZZ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "app/app.h"

/* The entry point of a fuzz program; its name is libFuzzer's. Always returns 0. */
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len);

/* A claim that must hold for every input. */
#define FL_FUZZ_REQUIRE(claim) fl_fuzz_require((claim), #claim, __FILE__, __LINE__)
void fl_fuzz_require(bool claim, const char *what, const char *file, int line);
/* FL_OK, else ends the process with the message. */
void fl_fuzz_ok(fl_status status, const fl_err *err);

/* The input in memory of exactly its size, so that a sanitizer sees one step outside; owned
 * (free()). */
char *fl_fuzz_exact(const uint8_t *bytes, size_t len);

/* The moment of every fuzz room: 2026-03-07T18:00:00Z. */
#define FL_FUZZ_NOW_S 1772906400

/* A room with the events of tests/browser/room.jsonl, made once a process in a folder that is
 * deleted at its end. The app may be opened and closed at will; the file is to be left as it was:
 * fl_fuzz_room_again puts it back. */
const char *fl_fuzz_room_dir(void);
void fl_fuzz_room_again(void);
/* Opens it with the clock at FL_FUZZ_NOW_S. */
void fl_fuzz_room_open(fl_app *app);
/* The bytes of the room's file, and their number. */
const unsigned char *fl_fuzz_room_bytes(size_t *len);
/* Writes the room's file with other bytes and takes away what lies beside it. */
void fl_fuzz_room_write(const unsigned char *bytes, size_t len);

#endif
