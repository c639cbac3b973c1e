/* `arrive sheet` and `arrive undo`: lots from a spreadsheet, and the way back. */
#ifndef FL_CLI_ARRIVE_SHEET_H
#define FL_CLI_ARRIVE_SHEET_H

#include "cli/verb.h"

/* Two forms for the head of a table of verbs. */
fl_status fl_arrive_sheet(fl_call *call, fl_err *err);
fl_status fl_arrive_undo(fl_call *call, fl_err *err);

#define FL_ARRIVE_SHEET_OPTIONS 10
extern const fl_arg fl_arrive_sheet_options[FL_ARRIVE_SHEET_OPTIONS];

#define FL_ARRIVE_SHEET_VERBS                                                                      \
    {.name = "sheet",                                                                              \
     .usage = "FILE.csv [--preview] [--match COLUMN=FIELD,…] [--dates dmy|mdy] [--source S] "    \
              "[--place P] [--form F] [--use U]",                                                  \
     .summary = "Lots from a spreadsheet, as one batch that can be undone; --preview records "     \
                "nothing.",                                                                        \
     .args = {.option = fl_arrive_sheet_options,                                                   \
              .count = FL_ARRIVE_SHEET_OPTIONS,                                                    \
              .rest_what = "FILE.csv",                                                             \
              .rest_max = 1},                                                                      \
     .words_min = 1,                                                                               \
     .fn = fl_arrive_sheet},                                                                       \
    {                                                                                              \
        .name = "undo", .usage = "BATCH", .summary = "Takes a batch back: all its events.",        \
        .args = FL_VERB_WORDS("BATCH", 1), .words_min = 1, .fn = fl_arrive_undo                    \
    }

#endif
