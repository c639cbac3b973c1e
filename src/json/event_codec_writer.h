/* Inside src/json only: structs as JSON values, by the tables of event_codec_fields.c. */
#ifndef FL_JSON_EVENT_CODEC_WRITER_H
#define FL_JSON_EVENT_CODEC_WRITER_H

#include <jansson.h>

#include "json/event_codec_fields.h"

/* Puts the members of the struct at `in` into `object`; those that are absent are left out.
 * FL_EFORMAT when a text is not UTF-8 or no JSON, FL_EINVAL for a word or a number that is none. */
fl_status fl_shape_write(const fl_shape *shape, const void *in, json_t *object,
                         fl_err *err) FL_MUST_USE;

#endif
