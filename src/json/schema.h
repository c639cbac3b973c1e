/* Checks a JSON value against a JSON Schema (2020-12) of a fixed keyword list: type, const, enum,
 * properties, required, additionalProperties (false or a schema), items, minItems, maxItems,
 * uniqueItems, minLength, maxLength, pattern (a fixed set by name: uuid, date forms), minimum,
 * maximum, exclusiveMinimum, $ref to "#/$defs/…" or a sibling file, oneOf. Any other validation
 * keyword in a schema is an error of the schema. */
#ifndef FL_JSON_SCHEMA_H
#define FL_JSON_SCHEMA_H

#include "json/json.h"

/* FL_OK when value fits; FL_EINVAL with "JSON pointer: what is wrong, what would do". */
fl_status fl_schema_check(const fl_json_value *schema, const fl_json_value *value,
                          fl_err *err) FL_MUST_USE;

/* The schema of an event kind ("lot_moved"), embedded from schema/; NULL when there is none. */
const fl_json_value *fl_schema_of_kind(fl_sv kind);

/* The schema of a history card, schema/history_card.json. */
const fl_json_value *fl_schema_of_card(void);

/* The files of schema/ as they stand there, for export: name ("common.json") and text of the
 * index-th, by name; false past the last. */
bool fl_schema_file(size_t index, const char **name, fl_sv *text);

#endif
