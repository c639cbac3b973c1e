/* The calculator: `fernlock reckon TOPIC`. A topic lives in src/cli/reckon_<topic>.c (a '-' in the
 * topic is a '_' in the file) and defines `const fl_reckon_topic fl_reckon_topic_<file's word>`;
 * the build collects them by file name. Topics need no room and no clock. */
#ifndef FL_CLI_RECKON_H
#define FL_CLI_RECKON_H

#include "base/err.h"
#include "cli/args.h"
#include "json/json.h"

typedef struct fl_reckon_topic {
    const char *name;    /* "bin-water" */
    const char *summary; /* one line */
    const char *example; /* after "fernlock reckon": "pot --top-mm 120 …" */
    const fl_arg *option;
    size_t option_count;
    /* Puts the answer's members into the open top object of `w`. On an error nothing of it is
     * printed; the message becomes the one line on stderr. value[i] belongs to option[i]. */
    fl_status (*fn)(const fl_arg_value *value, fl_json_writer *w, fl_err *err);
} fl_reckon_topic;

#endif
