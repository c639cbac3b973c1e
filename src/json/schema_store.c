/* The schemas of schema/, embedded at build time and parsed once for all threads. What is kept here
 * never changes after that and lives as long as the program: the only state of this layer, named in
 * tools/check-symbols, because parsing them for every event would cost more than the event. */
#define _POSIX_C_SOURCE 200809L
#include <assert.h>
#include <pthread.h>

#include "event/event.h"
#include "json/schema_parts.h"
#include "json_schemas.h"

#define N_DOCUMENTS (sizeof fl_embedded_schemas / sizeof fl_embedded_schemas[0])

static struct {
    pthread_once_t once;
    fl_json_doc *documents[N_DOCUMENTS];
} fl_schemas_parsed = {.once = PTHREAD_ONCE_INIT};

static void parse_all(void)
{
    for (size_t i = 0; i < fl_embedded_schemas_count; i++) {
        fl_sv text = {(const char *)fl_embedded_schemas[i].bytes, fl_embedded_schemas[i].len};
        fl_status status = fl_json_parse(text, &fl_schemas_parsed.documents[i], NULL);
        assert(status == FL_OK); /* else a file of schema/ is no JSON: a mistake of ours */
        (void)status;
    }
}

const fl_json_value *fl_schema_document(fl_sv name)
{
    int failed = pthread_once(&fl_schemas_parsed.once, parse_all);
    assert(failed == 0);
    (void)failed;
    for (size_t i = 0; i < fl_embedded_schemas_count; i++) {
        if (fl_sv_eq_cstr(name, fl_embedded_schemas[i].name)) {
            return fl_json_root(fl_schemas_parsed.documents[i]);
        }
    }
    return NULL;
}

const fl_json_value *fl_schema_of_kind(fl_sv kind)
{
    int found = fl_kind_find(kind);
    if (found < 0) {
        return NULL;
    }
    fl_str name;
    fl_str_init(&name, 64);
    fl_str_appendf(&name, "%s.json", fl_kinds[found].word);
    const fl_json_value *schema = fl_schema_document(fl_str_sv(&name));
    fl_str_done(&name);
    return schema;
}

const fl_json_value *fl_schema_of_card(void)
{
    return fl_schema_document(FL_SV("history_card.json"));
}

bool fl_schema_file(size_t index, const char **name, fl_sv *text)
{
    if (index >= fl_embedded_schemas_count) {
        return false;
    }
    *name = fl_embedded_schemas[index].name;
    *text = (fl_sv){(const char *)fl_embedded_schemas[index].bytes, fl_embedded_schemas[index].len};
    return true;
}

/* Takes "/$defs/NAME" apart. */
static const fl_json_value *definition_of(const fl_json_value *root, fl_sv pointer)
{
    static const char prefix[] = "/$defs/";
    size_t len = sizeof prefix - 1;
    if (pointer.len == 0) {
        return root;
    }
    if (pointer.len < len || !fl_sv_eq_cstr((fl_sv){pointer.ptr, len}, prefix)) {
        return NULL;
    }
    fl_sv wanted = {pointer.ptr + len, pointer.len - len};
    const fl_json_value *definitions = fl_json_get(root, "$defs");
    for (size_t i = 0; i < fl_json_size(definitions); i++) {
        fl_sv name;
        const fl_json_value *definition = fl_json_member(definitions, i, &name);
        if (fl_sv_eq(name, wanted)) {
            return definition;
        }
    }
    return NULL;
}

const fl_json_value *fl_schema_resolve(fl_sv ref, const fl_json_value **root)
{
    fl_sv pointer = ref;
    fl_sv file = fl_sv_split(&pointer, '#');
    const fl_json_value *document = file.len == 0 ? *root : fl_schema_document(file);
    if (document == NULL) {
        return NULL;
    }
    const fl_json_value *target = definition_of(document, pointer);
    if (target != NULL) {
        *root = document;
    }
    return target;
}
