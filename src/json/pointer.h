/* Inside src/json only: where in a document something is wrong, as a JSON pointer (RFC 6901).
 * A chain of steps on the stack, made into text only when something failed. */
#ifndef FL_JSON_POINTER_H
#define FL_JSON_POINTER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/sv.h"

#define FL_JSON_WHERE_TEXT_MAX 100

/* One step; NULL is the top of the document. */
typedef struct fl_json_where {
    const struct fl_json_where *parent;
    fl_sv key;    /* of a member */
    size_t index; /* of an element, when there is no key */
    bool is_element;
} fl_json_where;

fl_json_where fl_json_where_key(const fl_json_where *parent, fl_sv key);
fl_json_where fl_json_where_index(const fl_json_where *parent, size_t index);

/* "/body/lots/3", cut when too long, or "(top)", into buffer[FL_JSON_WHERE_TEXT_MAX]; returns
 * buffer.
 */
const char *fl_json_where_format(char *buffer, const fl_json_where *at);

#endif
