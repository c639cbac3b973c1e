/* libzip behind a few words of our own. */
#include "app/zip.h"

#include <assert.h>
#include <string.h>
#include <zip.h>

#include "app/files.h"
#include "base/alloc.h"
#include "base/civil.h"
#include "base/shown.h"

/* ---- writing ---- */

struct fl_zip_out {
    zip_t *archive; /* NULL once it is written or given up */
    const char *path;
    zip_uint16_t dos_time;
    zip_uint16_t dos_date;
    const fl_progress *progress;
    bool is_cancelled;
    fl_err load_err;  /* what a source complained of */
    fl_arena sources; /* of struct later */
};

/* A source while libzip reads it. */
typedef struct later {
    fl_zip_out *zip;
    fl_zip_source source;
    fl_arena arena;
    fl_sv bytes;
    size_t at;
    zip_error_t error;
} later;

static fl_status fail_zip(zip_error_t *error, const char *path, fl_err *err)
{
    fl_status status =
        fl_fail(err, FL_EIO, "cannot write %.120s: %.60s", path, zip_error_strerror(error));
    return status;
}

fl_status fl_zip_new(const char *path, int64_t local_s, fl_zip_out **out, fl_err *err)
{
    int code = 0;
    zip_t *archive = zip_open(path, ZIP_CREATE | ZIP_TRUNCATE, &code);
    if (archive == NULL) {
        zip_error_t error;
        zip_error_init_with_code(&error, code);
        fl_status status = fail_zip(&error, path, err);
        zip_error_fini(&error);
        return status;
    }
    const fl_civil at = fl_civil_from_utc(local_s, 0);
    int year = at.year < 1980 ? 1980 : at.year;
    fl_zip_out *zip = fl_alloc(1, sizeof *zip);
    *zip = (fl_zip_out){.archive = archive, .path = path};
    zip->dos_time = (zip_uint16_t)(at.hour << 11 | at.minute << 5 | at.second / 2);
    zip->dos_date = (zip_uint16_t)((year - 1980) << 9 | at.month << 5 | at.day);
    fl_arena_init(&zip->sources);
    *out = zip;
    return FL_OK;
}

/* Takes the source over, also on failure. */
static fl_status add(fl_zip_out *zip, const char *name, zip_source_t *source, bool is_dense,
                     fl_err *err)
{
    zip_int64_t index =
        source == NULL ? -1 : zip_file_add(zip->archive, name, source, ZIP_FL_ENC_UTF_8);
    if (index < 0) {
        zip_source_free(source);
        return fail_zip(zip_get_error(zip->archive), zip->path, err);
    }
    zip_uint64_t at = (zip_uint64_t)index;
    if (zip_set_file_compression(zip->archive, at, is_dense ? ZIP_CM_STORE : ZIP_CM_DEFLATE, 9) !=
            0 ||
        zip_file_set_dostime(zip->archive, at, zip->dos_time, zip->dos_date, 0) != 0 ||
        zip_file_set_external_attributes(zip->archive, at, 0, ZIP_OPSYS_UNIX,
                                         (zip_uint32_t)0100644 << 16) != 0) {
        return fail_zip(zip_get_error(zip->archive), zip->path, err);
    }
    return FL_OK;
}

fl_status fl_zip_add(fl_zip_out *zip, const char *name, fl_sv bytes, fl_err *err)
{
    zip_source_t *source = zip_source_buffer(zip->archive, bytes.ptr, bytes.len, 0);
    return add(zip, name, source, false, err);
}

/* Loads the bytes; what goes wrong is kept for finish. */
static zip_int64_t later_open(later *one)
{
    fl_arena_init(&one->arena);
    one->at = 0;
    fl_err err = {0};
    fl_status status = one->source.load(one->source.context, &one->arena, &one->bytes, &err);
    if (status == FL_OK && one->bytes.len != one->source.size) {
        status = fl_fail(&err, FL_EIO, "what is exported changed while it was written: try again");
    }
    if (status == FL_OK) {
        return 0;
    }
    if (one->zip->load_err.code == FL_OK) {
        one->zip->load_err = err;
    }
    fl_arena_done(&one->arena);
    zip_error_set(&one->error, ZIP_ER_READ, 0);
    return -1;
}

static zip_int64_t later_read(later *one, void *data, zip_uint64_t len)
{
    size_t n = one->bytes.len - one->at;
    n = n > len ? (size_t)len : n;
    if (n > 0) {
        memcpy(data, one->bytes.ptr + one->at, n);
    }
    one->at += n;
    return (zip_int64_t)n;
}

static zip_int64_t later_stat(later *one, void *data, zip_uint64_t len)
{
    zip_stat_t *stat = data;
    if (len < sizeof *stat) {
        return -1;
    }
    zip_stat_init(stat);
    stat->size = one->source.size;
    stat->valid |= ZIP_STAT_SIZE;
    return (zip_int64_t)sizeof *stat;
}

static zip_int64_t later_call(void *context, void *data, zip_uint64_t len, zip_source_cmd_t command)
{
    later *one = context;
    switch ((int)command) {
    case ZIP_SOURCE_OPEN:
        return later_open(one);
    case ZIP_SOURCE_READ:
        return later_read(one, data, len);
    case ZIP_SOURCE_CLOSE:
        fl_arena_done(&one->arena);
        return 0;
    case ZIP_SOURCE_STAT:
        return later_stat(one, data, len);
    case ZIP_SOURCE_ERROR:
        return zip_error_to_data(&one->error, data, len);
    case ZIP_SOURCE_FREE:
        zip_error_fini(&one->error);
        return 0;
    case ZIP_SOURCE_SUPPORTS:
        return zip_source_make_command_bitmap(ZIP_SOURCE_OPEN, ZIP_SOURCE_READ, ZIP_SOURCE_CLOSE,
                                              ZIP_SOURCE_STAT, ZIP_SOURCE_ERROR, ZIP_SOURCE_FREE,
                                              -1);
    default:
        zip_error_set(&one->error, ZIP_ER_OPNOTSUPP, 0);
        return -1;
    }
}

fl_status fl_zip_add_later(fl_zip_out *zip, const char *name, const fl_zip_source *source,
                           fl_err *err)
{
    later *one = FL_ARENA_NEW(&zip->sources, later);
    one->zip = zip;
    one->source = *source;
    zip_error_init(&one->error);
    return add(zip, name, zip_source_function(zip->archive, later_call, one), source->is_dense,
               err);
}

/* libzip asks between two blocks; how far it is it tells more rarely, and not at the end. */
static int on_cancel(zip_t *archive, void *context)
{
    fl_zip_out *zip = context;
    (void)archive;
    return zip->is_cancelled ? 1 : 0;
}

static void on_packed(zip_t *archive, double part, void *context)
{
    fl_zip_out *zip = context;
    (void)archive;
    if (!zip->is_cancelled && fl_progress_step(zip->progress, FL_WORK_PACK, (int64_t)(100.0 * part),
                                               100, NULL) != FL_OK) {
        zip->is_cancelled = true;
    }
}

void fl_zip_watch_out(fl_zip_out *zip, const fl_progress *progress)
{
    zip->progress = progress;
}

static fl_status watch_closing(fl_zip_out *zip, fl_err *err)
{
    if (zip->progress != NULL &&
        (zip_register_progress_callback_with_state(zip->archive, 0.01, on_packed, NULL, zip) != 0 ||
         zip_register_cancel_callback_with_state(zip->archive, on_cancel, NULL, zip) != 0)) {
        return fail_zip(zip_get_error(zip->archive), zip->path, err);
    }
    return FL_OK;
}

fl_status fl_zip_finish(fl_zip_out *zip, fl_err *err)
{
    fl_status status = watch_closing(zip, err);
    if (status != FL_OK) {
        return status;
    }
    if (zip_close(zip->archive) != 0) {
        status = fail_zip(zip_get_error(zip->archive), zip->path, err);
        zip_discard(zip->archive);
    }
    zip->archive = NULL;
    if (zip->is_cancelled) {
        return fl_progress_fail(err);
    }
    if (status != FL_OK && zip->load_err.code != FL_OK) {
        status = fl_fail(err, zip->load_err.code, "%s", zip->load_err.message);
    }
    return status;
}

void fl_zip_free(fl_zip_out *zip)
{
    if (zip == NULL) {
        return;
    }
    if (zip->archive != NULL) {
        zip_discard(zip->archive);
    }
    fl_arena_done(&zip->sources);
    fl_alloc_free(zip);
}

/* ---- reading ---- */

typedef struct entry {
    const char *name;
    size_t size;
    size_t index; /* in the archive */
} entry;

struct fl_zip_in {
    zip_t *archive;
    fl_arena arena;
    const char *path;
    const fl_progress *progress;
    entry *entries; /* in the archive's order */
    size_t n_entries;
};

static fl_status fail_entry(fl_status code, const fl_zip_in *zip, const char *name,
                            const char *what, fl_err *err)
{
    return fl_fail(err, code, "%.80s: the entry \"%.*s\" %s", zip->path,
                   FL_SHOWN(fl_sv_from_cstr(name)), what);
}

/* A path that stays in the folder it is unpacked into, on any system. */
static bool name_stays_inside(const char *name)
{
    fl_sv rest = fl_sv_from_cstr(name);
    if (rest.len == 0 || name[0] == '/' || strchr(name, '\\') != NULL ||
        strchr(name, ':') != NULL) {
        return false;
    }
    while (rest.len > 0) {
        fl_sv part = fl_sv_split(&rest, '/');
        if (fl_sv_eq_cstr(part, "..") || fl_sv_eq_cstr(part, ".")) {
            return false;
        }
    }
    for (const char *c = name; *c != '\0'; c++) {
        if ((unsigned char)*c < 0x20 || *c == 0x7f) {
            return false;
        }
    }
    return true;
}

static fl_status judge_entry(fl_zip_in *zip, size_t index, fl_err *err)
{
    zip_stat_t stat;
    zip_stat_init(&stat);
    const zip_uint64_t wanted = ZIP_STAT_NAME | ZIP_STAT_SIZE | ZIP_STAT_ENCRYPTION_METHOD;
    if (zip_stat_index(zip->archive, index, ZIP_FL_ENC_RAW, &stat) != 0 ||
        (stat.valid & wanted) != wanted) {
        return fl_fail(err, FL_EFORMAT, "%.120s: entry %zu of the zip cannot be read", zip->path,
                       index + 1);
    }
    if (strlen(stat.name) > FL_ZIP_NAME_MAX) {
        return fail_entry(FL_ETOOBIG, zip, stat.name, "has too long a name", err);
    }
    if (!name_stays_inside(stat.name)) {
        return fail_entry(FL_EINVAL, zip, stat.name,
                          "would be unpacked outside its folder: not a zip of fernlock's", err);
    }
    if (stat.encryption_method != ZIP_EM_NONE) {
        return fail_entry(FL_EINVAL, zip, stat.name, "is encrypted: give one that is not", err);
    }
    fl_sv name = fl_arena_copy_sv(&zip->arena, fl_sv_from_cstr(stat.name));
    size_t size = stat.size > (zip_uint64_t)INT64_MAX ? SIZE_MAX : (size_t)stat.size;
    zip->entries[index] = (entry){.name = name.ptr, .size = size, .index = index};
    return FL_OK;
}

static fl_status judge(fl_zip_in *zip, fl_err *err)
{
    zip_int64_t count = zip_get_num_entries(zip->archive, 0);
    int64_t may_have = FL_ZIP_RATIO_MAX * fl_files_bytes(zip->path) + FL_ZIP_ALLOWANCE_BYTES;
    fl_status status = FL_OK;
    if (count > FL_ZIP_ENTRIES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%.120s: a zip of more than %d entries", zip->path,
                       FL_ZIP_ENTRIES_MAX);
    }
    zip->n_entries = count < 0 ? 0 : (size_t)count;
    zip->entries = FL_ARENA_ARRAY(&zip->arena, entry, zip->n_entries);
    for (size_t i = 0; i < zip->n_entries && status == FL_OK; i++) {
        status = judge_entry(zip, i, err);
        if (status == FL_OK && zip->entries[i].size > (uint64_t)may_have) {
            status = fl_fail(err, FL_ETOOBIG,
                             "%.80s would unpack to far more than a zip of its size: not a zip of "
                             "fernlock's",
                             zip->path);
        }
        may_have -= status == FL_OK ? (int64_t)zip->entries[i].size : 0;
    }
    return status;
}

/* The disk or the memory failed: no fault of the file. */
static bool is_of_the_machine(int code)
{
    return code == ZIP_ER_OPEN || code == ZIP_ER_READ || code == ZIP_ER_SEEK ||
           code == ZIP_ER_MEMORY;
}

static fl_status fail_open(int code, const char *path, fl_err *err)
{
    zip_error_t error;
    fl_status status = FL_EFORMAT;
    if (code == ZIP_ER_NOENT) {
        return fl_fail(err, FL_ENOTFOUND,
                       "there is no file %.120s: give a zip made by fernlock export", path);
    }
    zip_error_init_with_code(&error, code);
    const char *why = zip_error_strerror(&error);
    if (is_of_the_machine(code)) {
        status = fl_fail(err, FL_EIO, "%.150s: %.60s", path, why);
    } else if (code == ZIP_ER_EXISTS) {
        status = fl_fail(err, FL_EINVAL, "%.150s has two entries of one name", path);
    } else {
        status = fl_fail(err, FL_EFORMAT,
                         "%.100s is no whole zip file (%.50s): give one made by fernlock export",
                         path, why);
    }
    zip_error_fini(&error);
    return status;
}

fl_status fl_zip_open(const char *path, fl_zip_in **out, fl_err *err)
{
    int code = 0;
    zip_t *archive = zip_open(path, ZIP_RDONLY | ZIP_CHECKCONS, &code);
    if (archive == NULL) {
        return fail_open(code, path, err);
    }
    fl_zip_in *zip = fl_alloc(1, sizeof *zip);
    *zip = (fl_zip_in){.archive = archive};
    fl_arena_init(&zip->arena);
    zip->path = fl_arena_copy_sv(&zip->arena, fl_sv_from_cstr(path)).ptr;
    fl_status status = judge(zip, err);
    if (status != FL_OK) {
        fl_zip_close(zip);
        return status;
    }
    *out = zip;
    return FL_OK;
}

void fl_zip_close(fl_zip_in *zip)
{
    if (zip != NULL) {
        zip_discard(zip->archive);
        fl_arena_done(&zip->arena);
        fl_alloc_free(zip);
    }
}

void fl_zip_watch_in(fl_zip_in *zip, const fl_progress *progress)
{
    zip->progress = progress;
}

size_t fl_zip_count(const fl_zip_in *zip)
{
    return zip->n_entries;
}

const char *fl_zip_name(const fl_zip_in *zip, size_t index)
{
    assert(index < zip->n_entries);
    return zip->entries[index].name;
}

size_t fl_zip_size(const fl_zip_in *zip, size_t index)
{
    assert(index < zip->n_entries);
    return zip->entries[index].size;
}

fl_status fl_zip_need(const fl_zip_in *zip, const char *name, size_t *index, fl_err *err)
{
    for (size_t i = 0; i < zip->n_entries; i++) {
        if (strcmp(zip->entries[i].name, name) == 0) {
            *index = i;
            return FL_OK;
        }
    }
    return fl_fail(err, FL_EINVAL, "%.80s has no entry \"%s\": give a zip made by fernlock export",
                   zip->path, name);
}

static fl_status fail_unpacking(const fl_zip_in *zip, const char *name, zip_error_t *why,
                                const char *what, fl_err *err)
{
    return is_of_the_machine(zip_error_code_zip(why))
               ? fail_entry(FL_EIO, zip, name, "cannot be read now; try again", err)
               : fail_entry(FL_EFORMAT, zip, name, what, err);
}

/* Reads to the very end, where libzip compares the checksum. */
static fl_status read_all(const fl_zip_in *zip, const entry *one, zip_file_t *file, char *bytes,
                          fl_err *err)
{
    char more;
    size_t done = 0;
    while (done < one->size) {
        zip_int64_t n = zip_fread(file, bytes + done, one->size - done);
        if (n <= 0) {
            return fail_unpacking(zip, one->name, zip_file_get_error(file), "is damaged", err);
        }
        done += (size_t)n;
    }
    return zip_fread(file, &more, 1) == 0
               ? FL_OK
               : fail_entry(FL_EFORMAT, zip, one->name, "is damaged", err);
}

fl_status fl_zip_read(fl_zip_in *zip, size_t index, size_t max, fl_arena *arena, fl_sv *bytes,
                      fl_err *err)
{
    assert(index < zip->n_entries);
    const entry *one = &zip->entries[index];
    if (one->size > max) {
        return fail_entry(FL_ETOOBIG, zip, one->name, "is bigger than it may be", err);
    }
    zip_file_t *file = zip_fopen_index(zip->archive, one->index, 0);
    if (file == NULL) {
        return fail_unpacking(zip, one->name, zip_get_error(zip->archive), "cannot be unpacked",
                              err);
    }
    char *text = fl_arena_alloc(arena, one->size + 1, 1);
    fl_status status = read_all(zip, one, file, text, err);
    (void)zip_fclose(file);
    if (status == FL_OK) {
        *bytes = (fl_sv){text, one->size};
    }
    return status;
}

fl_status fl_zip_check(fl_zip_in *zip, fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < zip->n_entries && status == FL_OK; i++) {
        const entry *one = &zip->entries[i];
        char block[16384];
        status = fl_progress_step(zip->progress, FL_WORK_UNPACK, (int64_t)i,
                                  (int64_t)zip->n_entries, err);
        if (status != FL_OK) {
            return status;
        }
        zip_file_t *file = zip_fopen_index(zip->archive, one->index, 0);
        if (file == NULL) {
            return fail_unpacking(zip, one->name, zip_get_error(zip->archive), "cannot be unpacked",
                                  err);
        }
        size_t done = 0;
        zip_int64_t n = 0;
        do {
            n = zip_fread(file, block, sizeof block);
            done += n > 0 ? (size_t)n : 0;
        } while (n > 0 && done <= one->size);
        if (n < 0 || done != one->size) {
            status = fail_unpacking(zip, one->name, zip_file_get_error(file), "is damaged", err);
        }
        (void)zip_fclose(file);
    }
    return status;
}
