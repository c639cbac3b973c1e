/* A keeper's diary by chance: any number of events that are all valid (every id is made before it
 * is named, every time has been) but as wild as the seed has it: late entries, moves of what is
 * gone, holds, findings that get names, voidings. For tests of what the program does with long
 * histories. The same seed gives the same diary. */
#ifndef FL_TESTS_SUPPORT_DIARY_H
#define FL_TESTS_SUPPORT_DIARY_H

#include "base/arena.h"
#include "event/event.h"

/* All events happened before this moment, 2026-06-01T00:00:00Z. */
#define FL_DIARY_END_S 1780272000

/* The first `n` (at least 30, at most 2500) events of the diary, each as its canonical JSON, in
 * the arena. Fails the test when one cannot be written. */
fl_sv *fl_diary(uint64_t seed, size_t n, fl_arena *arena);

#endif
