/* What keeps demo data out of other rooms. */
#include "cli/demo.h"

#include "json/json.h"

fl_status fl_demo_refuse(fl_sv json, fl_err *err)
{
    fl_json_doc *doc = NULL;
    if (fl_json_parse(json, &doc, NULL) != FL_OK) {
        return FL_OK;
    }
    const fl_json_value *root = fl_json_root(doc);
    const fl_json_value *mark = fl_json_get(fl_json_get(root, "body"), "is_demo");
    bool is_setting = fl_sv_eq_cstr(fl_json_text(fl_json_get(root, "kind")), "room_set");
    bool is_marking = is_setting && fl_json_bool(mark, false);
    fl_json_free(doc);
    if (is_marking) {
        return fl_fail(err, FL_EFORBIDDEN,
                       "/body/is_demo: a room is marked as a demo only by fernlock demo");
    }
    return FL_OK;
}
