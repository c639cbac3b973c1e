/* Serving the interface: which file, in which packing, for how long. zlib is included only here. */
#define _GNU_SOURCE
#define ZLIB_CONST
#include "http/assets.h"

#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zlib.h>

#include "base/num.h"
#include "http/problem.h"

#define HASH_LEN 8
#define SEGMENT_MAX 128

fl_assets fl_assets_embedded(void)
{
    return (fl_assets){.list = fl_web_assets, .count = fl_web_asset_count};
}

/* ---- what the client takes ---- */

/* "gzip;q=0.5": true unless q is 0. */
static bool is_wanted(fl_sv parameters)
{
    while (parameters.len > 0) {
        fl_sv value = fl_sv_trim(fl_sv_split(&parameters, ';'));
        double q = 1.0;
        if (fl_sv_eq_nocase(fl_sv_trim(fl_sv_split(&value, '=')), FL_SV("q")) &&
            fl_num_parse_double(fl_sv_trim(value), "q", &q, NULL) == FL_OK && q <= 0.0) {
            return false;
        }
    }
    return true;
}

bool fl_assets_takes_gzip(fl_sv accept_encoding)
{
    bool any = false;
    while (accept_encoding.len > 0) {
        fl_sv parameters = fl_sv_split(&accept_encoding, ',');
        fl_sv name = fl_sv_trim(fl_sv_split(&parameters, ';'));
        if (fl_sv_eq_nocase(name, FL_SV("gzip"))) {
            return is_wanted(parameters);
        }
        any = any || (fl_sv_eq_cstr(name, "*") && is_wanted(parameters));
    }
    return any;
}

bool fl_assets_is_hashed(fl_sv path)
{
    size_t dot = path.len;
    while (dot > 0 && path.ptr[dot - 1] != '.' && path.ptr[dot - 1] != '/') {
        dot--;
    }
    if (dot < HASH_LEN + 2 || path.ptr[dot - 1] != '.' || path.ptr[dot - 2 - HASH_LEN] != '-') {
        return false;
    }
    for (size_t i = dot - 1 - HASH_LEN; i < dot - 1; i++) {
        char c = path.ptr[i];
        if (!((c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9'))) {
            return false;
        }
    }
    return true;
}

/* ---- built-in files ---- */

static int compare_path(const void *key, const void *entry)
{
    const fl_web_asset *asset = entry;
    return fl_sv_compare(*(const fl_sv *)key, fl_sv_from_cstr(asset->path));
}

static const fl_web_asset *find(const fl_assets *assets, fl_sv path)
{
    return bsearch(&path, assets->list, assets->count, sizeof assets->list[0], compare_path);
}

/* The size before packing stands in the last four bytes, the lowest first (RFC 1952). */
static size_t unpacked_size(const fl_web_asset *asset)
{
    const unsigned char *size = asset->end - 4;
    return (size_t)size[0] | (size_t)size[1] << 8 | (size_t)size[2] << 16 | (size_t)size[3] << 24;
}

static bool unpack(const fl_web_asset *asset, fl_arena *arena, fl_sv *out)
{
    const size_t size = unpacked_size(asset);
    if (size > FL_ASSET_BYTES_MAX) {
        return false;
    }
    unsigned char *bytes = fl_arena_alloc(arena, size + 1, 1);
    z_stream stream = {.next_in = asset->begin,
                       .avail_in = (uInt)(asset->end - asset->begin),
                       .next_out = bytes,
                       .avail_out = (uInt)(size + 1)};
    if (inflateInit2(&stream, 16 + MAX_WBITS) != Z_OK) { /* 16: a gzip head, no other */
        return false;
    }
    const int result = inflate(&stream, Z_FINISH);
    (void)inflateEnd(&stream);
    *out = (fl_sv){(const char *)bytes, size};
    return result == Z_STREAM_END && stream.total_out == size;
}

static fl_reply built_in(const fl_web_asset *asset, const fl_request *request, fl_arena *arena)
{
    const bool is_packed = fl_assets_takes_gzip(fl_request_value(request, "Accept-Encoding"));
    fl_reply reply = {.status = 200, .content_type = asset->content_type};
    reply.cache = fl_assets_is_hashed(fl_sv_from_cstr(asset->path))
                      ? "public, max-age=31536000, immutable"
                      : "no-cache";
    fl_reply_add(&reply, "Vary", FL_SV("Accept-Encoding"));
    if (is_packed) {
        reply.body = (fl_sv){(const char *)asset->begin, (size_t)(asset->end - asset->begin)};
        fl_reply_add(&reply, "Content-Encoding", FL_SV("gzip"));
    } else if (!unpack(asset, arena, &reply.body)) {
        const fl_err err = {.code = FL_ECORRUPT, .message = "a built-in file cannot be unpacked"};
        return fl_problem_reply_err(&err, arena);
    }
    fl_sv tag = fl_arena_printf(arena, "%s%s", asset->etag, is_packed ? "-gzip" : "");
    fl_reply_set_tag(&reply, tag, request, arena);
    return reply;
}

/* ---- files of a folder, while developing ---- */

static const char *type_of(fl_sv path)
{
    static const struct {
        const char *ending;
        const char *type;
    } types[] = {
        {"html", "text/html; charset=utf-8"},
        {"js", "text/javascript; charset=utf-8"},
        {"mjs", "text/javascript; charset=utf-8"},
        {"css", "text/css; charset=utf-8"},
        {"svg", "image/svg+xml"},
        {"json", "application/json"},
        {"webmanifest", "application/manifest+json"},
        {"png", "image/png"},
        {"woff2", "font/woff2"},
        {"txt", "text/plain; charset=utf-8"},
    };
    fl_sv ending = path;
    for (fl_sv rest = path; rest.len > 0;) {
        (void)fl_sv_split(&rest, '.');
        ending = rest.len > 0 ? rest : ending;
    }
    for (size_t i = 0; i < sizeof types / sizeof types[0]; i++) {
        if (fl_sv_eq_cstr(ending, types[i].ending)) {
            return types[i].type;
        }
    }
    return "application/octet-stream";
}

static bool is_plain_name(fl_sv name)
{
    bool is_plain = name.len > 0 && name.len < SEGMENT_MAX && name.ptr[0] != '.';
    for (size_t i = 0; i < name.len && is_plain; i++) {
        char c = name.ptr[i];
        is_plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                   c == '.' || c == '-' || c == '_';
    }
    return is_plain;
}

/* Opens a file below the folder, one part after the other: no "..", no links. -1: there is none. */
static int open_below(const char *dir, fl_sv path)
{
    int at = open(dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    fl_sv rest = {path.ptr + 1, path.len - 1};
    while (at >= 0) {
        char name[SEGMENT_MAX];
        fl_sv part = fl_sv_split(&rest, '/');
        int next = -1;
        if (is_plain_name(part)) {
            memcpy(name, part.ptr, part.len);
            name[part.len] = '\0';
            next = openat(at, name,
                          O_RDONLY | O_NOFOLLOW | O_CLOEXEC | (rest.len > 0 ? O_DIRECTORY : 0));
        }
        (void)close(at);
        at = next;
        if (rest.len == 0) {
            break;
        }
    }
    return at;
}

static bool read_file(const char *dir, fl_sv path, fl_arena *arena, fl_sv *out)
{
    struct stat info;
    const int file = open_below(dir, path);
    bool is_read = file >= 0 && fstat(file, &info) == 0 && S_ISREG(info.st_mode) &&
                   (size_t)info.st_size <= FL_ASSET_BYTES_MAX;
    if (is_read) {
        const size_t size = (size_t)info.st_size;
        char *bytes = fl_arena_alloc(arena, size + 1, 1);
        size_t len = 0;
        ssize_t got = 1;
        while (len < size && got > 0) {
            got = read(file, bytes + len, size - len);
            len += got > 0 ? (size_t)got : 0;
        }
        *out = (fl_sv){bytes, len};
        is_read = len == size;
    }
    if (file >= 0) {
        (void)close(file);
    }
    return is_read;
}

/* ---- which file ---- */

static bool is_screen(fl_sv path)
{
    fl_sv last = path;
    while (last.len > 0 && memchr(last.ptr, '/', last.len) != NULL) {
        (void)fl_sv_split(&last, '/');
    }
    return last.len == 0 || memchr(last.ptr, '.', last.len) == NULL;
}

static fl_reply from_folder(const char *dir, fl_sv path, const fl_request *request, fl_arena *arena)
{
    fl_reply reply = {.status = 200, .content_type = type_of(path), .cache = "no-cache"};
    if (!read_file(dir, path, arena, &reply.body)) {
        return fl_problem_reply(FL_PROBLEM_NO_PAGE, NULL, arena);
    }
    fl_reply_tag(&reply, request, arena);
    return reply;
}

fl_reply fl_assets_file(const fl_assets *assets, fl_sv path, const fl_request *request,
                        fl_arena *arena)
{
    if (assets->ui_dir != NULL) {
        return from_folder(assets->ui_dir, path, request, arena);
    }
    const fl_web_asset *asset = find(assets, path);
    if (asset != NULL) {
        return built_in(asset, request, arena);
    }
    return fl_problem_reply(
        FL_PROBLEM_NO_PAGE,
        assets->count == 0 ? "This fernlock was built without its interface." : NULL, arena);
}

fl_reply fl_assets_reply(const fl_assets *assets, const fl_request *request, fl_arena *arena)
{
    const fl_sv path = is_screen(request->path) ? FL_SV("/index.html") : request->path;
    return fl_assets_file(assets, path, request, arena);
}
