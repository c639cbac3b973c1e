/* All of a keeper's data in open formats. */
#include "app/export.h"
#include "cli/compose.h"

enum { BOM };

static const fl_arg options[] = {
    [BOM] = {"bom", FL_ARG_FLAG,
             .help = "begin the CSV files with a byte order mark, for spreadsheets that need one"},
};

static void print_json(const char *file, const fl_exported *done)
{
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "file", file);
    fl_json_put_int(w, "size_bytes", done->bytes);
    fl_json_put_int(w, "events", done->n_events);
    fl_json_put_int(w, "blobs", done->n_blobs);
    fl_json_put_int(w, "files", done->n_files);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

static fl_status export(fl_call *call, fl_err *err)
{
    const fl_export_options options_given = {.has_bom = call->value[BOM].is_given};
    const char *file = call->words[0].ptr;
    fl_exported done;
    fl_status status = fl_app_export(&call->s->app, file, &options_given, &done, err);
    if (status != FL_OK) {
        return status;
    }
    if (call->s->cli->is_json) {
        print_json(file, &done);
        return FL_OK;
    }
    (void)printf("%s: %lld events, %lld photos and readings, %lld files, %lld KiB.\n", file,
                 (long long)done.n_events, (long long)done.n_blobs, (long long)done.n_files,
                 (long long)((done.bytes + 1023) / 1024));
    (void)printf("Back again: fernlock --room NEW import %s\n", file);
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.usage = "FILE.zip [--bom]",
     .summary =
         "Writes the whole room as open formats: journal, photos, schemas, tables as CSV, and "
         "a README.txt that explains them.",
     .args = FL_VERB_ARGS_WORDS(options, "FILE.zip", 1),
     .words_min = 1,
     .needs = FL_NEEDS_APP,
     .fn = export},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_export;
const fl_command fl_command_export = {
    .name = "export",
    .rank = 74,
    .summary = "write the whole room in open formats",
    .usage = "FILE.zip [--bom]",
    .example = "fernlock --room room export room.zip",
    .fn = run,
    .help = help,
};
