/* The outcomes as text and as HTTP codes, from the one list in status.h. */
#include "base/status.h"

#include <assert.h>

typedef struct status_entry {
    const char *name;
    int http;
} status_entry;

#define STATUS_ENTRY(code, name, http, meaning) {name, http},
static const status_entry statuses[FL_STATUS_COUNT] = {FL_STATUS_LIST(STATUS_ENTRY)};
#undef STATUS_ENTRY

const char *fl_status_name(fl_status status)
{
    assert((unsigned)status < FL_STATUS_COUNT);
    return statuses[status].name;
}

int fl_status_http(fl_status status)
{
    assert((unsigned)status < FL_STATUS_COUNT);
    return statuses[status].http;
}
