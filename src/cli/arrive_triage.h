/* `arrive triage`: what came home, weighed at the door, and what was done about it. */
#ifndef FL_CLI_ARRIVE_TRIAGE_H
#define FL_CLI_ARRIVE_TRIAGE_H

#include "cli/verb.h"

fl_status fl_arrive_triage(fl_call *call, fl_err *err);

/* One line a lot of those given (n >= 1): which way it leans and why. */
fl_status fl_print_triage(fl_session *s, const fl_lot *const *lots, size_t n,
                          fl_err *err) FL_MUST_USE;

#define FL_ARRIVE_TRIAGE_OPTIONS 9
extern const fl_arg fl_arrive_triage_options[FL_ARRIVE_TRIAGE_OPTIONS];

#define FL_ARRIVE_TRIAGE_VERB                                                                      \
    {                                                                                              \
        .name = "triage",                                                                          \
        .usage = "[LOT…] [--bin-week N] [--times-price N] [--tip-share N] | LOT… "             \
                 "--return | --refuse | --tip",                                                    \
        .summary = "Keep, clean tip, send back or refuse: weighed by price, bin-weeks and "        \
                   "chance; or records what was done. Leans, and blocks nothing.",                 \
        .args = {.option = fl_arrive_triage_options,                                               \
                 .count = FL_ARRIVE_TRIAGE_OPTIONS,                                                \
                 .rest_what = "LOT",                                                               \
                 .rest_max = FL_WORDS_MAX},                                                        \
        .fn = fl_arrive_triage                                                                     \
    }

#endif
