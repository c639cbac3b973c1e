/* Day blocks: columns of differences as variable-length numbers, deflated. */
#include "app/readings_pack.h"

#include <string.h>
#include <zlib.h>

#include "base/civil.h"
#include "base/str.h"
#include "store/store.h"

static const char magic[] = "FLKR1\n";
#define MAGIC_LEN (sizeof magic - 1)
#define BLOCK_READINGS_MAX 86400 /* one a second */
#define BLOCK_BYTES_MAX ((size_t)BLOCK_READINGS_MAX * 24)
#define N_SCALES 4
static const int32_t scales[N_SCALES] = {1000, 100, 10, 1};

/* ---- numbers of variable length: seven bits a byte, the low ones first ---- */

static void put_number(fl_str *out, uint64_t value)
{
    while (value >= 0x80) {
        fl_str_append_char(out, (char)(value | 0x80));
        value >>= 7;
    }
    fl_str_append_char(out, (char)value);
}

static void put_signed(fl_str *out, int64_t value)
{
    put_number(out, value < 0 ? ((uint64_t)(-(value + 1)) << 1 | 1U) : (uint64_t)value << 1);
}

static bool get_number(fl_sv *in, uint64_t *value)
{
    uint64_t sum = 0;
    for (int shift = 0; shift < 63 && in->len > 0; shift += 7) {
        unsigned char byte = (unsigned char)*in->ptr;
        in->ptr++;
        in->len--;
        sum |= (uint64_t)(byte & 0x7F) << shift;
        if (byte < 0x80) {
            *value = sum;
            return true;
        }
    }
    return false;
}

static bool get_signed(fl_sv *in, int64_t *value)
{
    uint64_t raw = 0;
    if (!get_number(in, &raw)) {
        return false;
    }
    *value = (raw & 1U) != 0 ? -(int64_t)(raw >> 1) - 1 : (int64_t)(raw >> 1);
    return true;
}

/* ---- writing ---- */

static int32_t value_of(const fl_logged *reading, bool is_temp)
{
    return is_temp ? reading->temp_milli : reading->rh_milli;
}

/* The largest step that all values of a column are whole multiples of. */
static int scale_of(const fl_readings *readings, bool is_temp)
{
    int scale = 0;
    for (size_t i = 0; i < readings->count && scale < N_SCALES - 1; i++) {
        int32_t value = value_of(&readings->list[i], is_temp);
        while (value != FL_PROBE_MISSING && value % scales[scale] != 0) {
            scale++;
        }
    }
    return scale;
}

static void put_column(fl_str *raw, const fl_logged *list, size_t n, bool is_temp, int32_t step)
{
    int64_t last = 0;
    for (size_t i = 0; i < n; i++) {
        int32_t value = value_of(&list[i], is_temp);
        if (value != FL_PROBE_MISSING) {
            put_signed(raw, value / step - last);
            last = value / step;
        }
    }
}

/* A block's columns: moments, which values there are, temperatures, humidities. */
static void put_block(fl_str *raw, const fl_logged *list, size_t n, const int scale[2])
{
    int64_t last = list[0].offset_s / FL_DAY_S * FL_DAY_S;
    for (size_t i = 0; i < n; i++) {
        put_number(raw, (uint64_t)(list[i].offset_s - last));
        last = list[i].offset_s;
    }
    for (size_t i = 0; i < n; i++) {
        fl_str_append_char(raw, (char)((list[i].temp_milli != FL_PROBE_MISSING ? 1 : 0) |
                                       (list[i].rh_milli != FL_PROBE_MISSING ? 2 : 0)));
    }
    put_column(raw, list, n, true, scales[scale[0]]);
    put_column(raw, list, n, false, scales[scale[1]]);
}

static fl_status deflate_block(fl_str *raw, fl_str *out, fl_err *err)
{
    uLongf packed_len = compressBound((uLong)raw->len);
    fl_arena arena;
    fl_arena_init(&arena);
    unsigned char *packed = fl_arena_alloc(&arena, packed_len, 1);
    int code = compress2(packed, &packed_len, (const Bytef *)raw->ptr, (uLong)raw->len, 6);
    if (code == Z_OK) {
        put_number(out, raw->len);
        put_number(out, packed_len);
        fl_str_append(out, (fl_sv){(const char *)packed, packed_len});
    }
    fl_arena_done(&arena);
    return code == Z_OK ? FL_OK : fl_fail(err, FL_EIO, "the readings could not be compressed");
}

static fl_status check_order(const fl_readings *readings, fl_err *err)
{
    if (readings->count == 0 || readings->count > FL_READINGS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%zu readings: 1 to %d go into one batch", readings->count,
                       FL_READINGS_MAX);
    }
    for (size_t i = 0; i < readings->count; i++) {
        int64_t before = i == 0 ? -1 : readings->list[i - 1].offset_s;
        if (readings->list[i].offset_s <= before || (i == 0 && readings->list[0].offset_s != 0)) {
            return fl_fail(err, FL_EINVAL, "reading %zu of a batch is not after the one before it",
                           i);
        }
    }
    return FL_OK;
}

/* The readings of the day that the i-th stands in, counted from the batch's first. */
static size_t day_length(const fl_readings *readings, size_t i)
{
    int64_t day = readings->list[i].offset_s / FL_DAY_S;
    size_t n = 0;
    while (i + n < readings->count && readings->list[i + n].offset_s / FL_DAY_S == day) {
        n++;
    }
    return n;
}

fl_status fl_readings_pack(const fl_readings *readings, fl_arena *arena, fl_sv *bytes, fl_err *err)
{
    fl_str out;
    fl_str raw;
    fl_status status = check_order(readings, err);
    if (status != FL_OK) {
        return status;
    }
    const int scale[2] = {scale_of(readings, true), scale_of(readings, false)};
    fl_str_init(&out, FL_STORE_BLOB_BYTES_MAX);
    fl_str_init(&raw, BLOCK_BYTES_MAX);
    fl_str_append(&out, (fl_sv){magic, MAGIC_LEN});
    put_number(&out, (uint64_t)readings->unit);
    put_number(&out, (uint64_t)scale[0]);
    put_number(&out, (uint64_t)scale[1]);
    put_number(&out, readings->count);
    for (size_t i = 0; i < readings->count && status == FL_OK;) {
        size_t n = day_length(readings, i);
        fl_str_clear(&raw);
        put_block(&raw, readings->list + i, n, scale);
        put_number(&out, (uint64_t)(readings->list[i].offset_s / FL_DAY_S));
        put_number(&out, n);
        status = deflate_block(&raw, &out, err);
        i += n;
    }
    if (status == FL_OK && out.is_full) {
        status = fl_fail(err, FL_ETOOBIG, "the batch is larger than %d bytes: split the file",
                         FL_STORE_BLOB_BYTES_MAX);
    }
    if (status == FL_OK) {
        *bytes = fl_arena_copy_sv(arena, fl_str_sv(&out));
    }
    fl_str_done(&raw);
    fl_str_done(&out);
    return status;
}

/* ---- reading ---- */

typedef struct block {
    uint64_t day;
    uint64_t n;
    fl_sv raw;
} block;

static bool get_column(fl_sv *raw, const block *b, fl_logged *list, bool is_temp, int32_t step)
{
    int64_t last = 0;
    for (uint64_t i = 0; i < b->n; i++) {
        int32_t *value = is_temp ? &list[i].temp_milli : &list[i].rh_milli;
        int64_t difference = 0;
        if (*value == FL_PROBE_MISSING) {
            continue;
        }
        if (!get_signed(raw, &difference) || difference > INT32_MAX || difference < -INT32_MAX) {
            return false;
        }
        last += difference;
        if (last * step > INT32_MAX || last * step < -INT32_MAX) {
            return false;
        }
        *value = (int32_t)(last * step);
    }
    return true;
}

static bool get_block(const block *b, const int32_t step[2], fl_logged *list)
{
    fl_sv raw = b->raw;
    int64_t last = (int64_t)b->day * FL_DAY_S;
    for (uint64_t i = 0; i < b->n; i++) {
        uint64_t difference = 0;
        if (!get_number(&raw, &difference) || difference > FL_DAY_S) {
            return false;
        }
        last += (int64_t)difference;
        list[i].offset_s = last;
    }
    if (raw.len < b->n) {
        return false;
    }
    for (uint64_t i = 0; i < b->n; i++) {
        list[i].temp_milli = (raw.ptr[i] & 1) != 0 ? 0 : FL_PROBE_MISSING;
        list[i].rh_milli = (raw.ptr[i] & 2) != 0 ? 0 : FL_PROBE_MISSING;
    }
    raw = (fl_sv){raw.ptr + b->n, raw.len - b->n};
    return get_column(&raw, b, list, true, step[0]) && get_column(&raw, b, list, false, step[1]) &&
           raw.len == 0;
}

/* The next block, inflated into `room` (BLOCK_BYTES_MAX). */
static bool next_block(fl_sv *in, char *room, block *out)
{
    uint64_t raw_len = 0;
    uint64_t packed_len = 0;
    if (!get_number(in, &out->day) || !get_number(in, &out->n) || !get_number(in, &raw_len) ||
        !get_number(in, &packed_len) || out->day > 1000000 || out->n == 0 ||
        out->n > BLOCK_READINGS_MAX || raw_len > BLOCK_BYTES_MAX || packed_len > in->len) {
        return false;
    }
    uLongf len = (uLongf)raw_len;
    if (uncompress((Bytef *)room, &len, (const Bytef *)in->ptr, (uLong)packed_len) != Z_OK ||
        len != raw_len) {
        return false;
    }
    out->raw = (fl_sv){room, len};
    *in = (fl_sv){in->ptr + packed_len, in->len - packed_len};
    return true;
}

static bool get_all(fl_sv in, const int32_t step[2], fl_readings *out)
{
    fl_arena arena;
    size_t at = 0;
    bool is_fine = true;
    fl_arena_init(&arena);
    char *room = fl_arena_alloc(&arena, BLOCK_BYTES_MAX, 1);
    while (in.len > 0 && is_fine) {
        block b;
        is_fine = next_block(&in, room, &b) && b.n <= out->count - at &&
                  get_block(&b, step, out->list + at);
        at += is_fine ? (size_t)b.n : 0;
    }
    fl_arena_done(&arena);
    return is_fine && at == out->count;
}

fl_status fl_readings_unpack(fl_sv bytes, fl_arena *arena, fl_readings *out, fl_err *err)
{
    uint64_t head[4] = {0};
    fl_sv in = bytes;
    bool is_fine = in.len > MAGIC_LEN && memcmp(in.ptr, magic, MAGIC_LEN) == 0;
    if (is_fine) {
        in = (fl_sv){in.ptr + MAGIC_LEN, in.len - MAGIC_LEN};
    }
    for (size_t i = 0; i < 4 && is_fine; i++) {
        is_fine = get_number(&in, &head[i]);
    }
    is_fine = is_fine && head[0] < FL_PROBE_UNITS && head[1] < N_SCALES && head[2] < N_SCALES &&
              head[3] > 0 && head[3] <= FL_READINGS_MAX;
    fl_readings readings = {.unit = (fl_probe_unit)head[0], .count = (size_t)head[3]};
    if (is_fine) {
        const int32_t step[2] = {scales[head[1]], scales[head[2]]};
        readings.list = FL_ARENA_ARRAY(arena, fl_logged, readings.count);
        is_fine = get_all(in, step, &readings);
    }
    if (!is_fine) {
        return fl_fail(err, FL_EFORMAT, "the bytes are no batch of readings");
    }
    *out = readings;
    return FL_OK;
}
