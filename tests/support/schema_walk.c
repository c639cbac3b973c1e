/* Steps through schemas. */
#include "support/schema_walk.h"

#include "json/schema_parts.h"
#include "support/check.h"

const fl_json_value *fl_schema_resolved(const fl_json_value *schema)
{
    const fl_json_value *root = fl_schema_document(FL_SV("common.json"));
    const fl_json_value *ref = fl_json_get(schema, "$ref");
    while (ref != NULL) {
        schema = fl_schema_resolve(fl_json_text(ref), &root);
        check_true(schema != NULL);
        ref = fl_json_get(schema, "$ref");
    }
    return schema;
}

bool fl_schema_requires(const fl_json_value *schema, fl_sv key)
{
    const fl_json_value *list = fl_json_get(schema, "required");
    for (size_t i = 0; i < fl_json_size(list); i++) {
        if (fl_sv_eq(fl_json_text(fl_json_at(list, i)), key)) {
            return true;
        }
    }
    return false;
}
