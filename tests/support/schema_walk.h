/* Steps through the schemas of schema/, for tests that hold tables, pages or events to them. */
#ifndef FL_TESTS_SUPPORT_SCHEMA_WALK_H
#define FL_TESTS_SUPPORT_SCHEMA_WALK_H

#include "json/json.h"

/* The schema that a chain of $ref ends at (common.json is the root); NULL stays NULL. Fails the
 * test when a $ref leads nowhere. */
const fl_json_value *fl_schema_resolved(const fl_json_value *schema);

/* True when the schema's "required" names the key. */
bool fl_schema_requires(const fl_json_value *schema, fl_sv key);

#endif
