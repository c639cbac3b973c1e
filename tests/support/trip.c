/* The counter, and the VFS and the allocators that ask it. */
#define _GNU_SOURCE
#include "support/trip.h"

#include <sys/mman.h>

#include <sqlite3.h>

#include "support/check.h"

typedef struct counter {
    fl_trip trip;
    bool is_armed;
    bool has_fired;
    uint64_t count;
} counter;

static counter *shared; /* in memory that children share */

void fl_trip_arm(fl_trip trip)
{
    *shared = (counter){.trip = trip, .is_armed = true};
}

void fl_trip_disarm(void)
{
    shared->is_armed = false;
}

uint64_t fl_trip_count(void)
{
    return shared->count;
}

bool fl_trip_has_fired(void)
{
    return shared->has_fired;
}

bool fl_trip_is_refusal(void)
{
    return shared->trip.how == FL_TRIP_REFUSED;
}

bool fl_trip_hits(fl_trip_kind kind)
{
    if (shared == NULL || !shared->is_armed || (shared->trip.kinds & kind) == 0) {
        return false;
    }
    shared->count++;
    bool is_hit = shared->count == shared->trip.n ||
                  (shared->trip.is_lasting && shared->count > shared->trip.n);
    shared->has_fired = shared->has_fired || is_hit;
    return is_hit;
}

/* ---- the VFS ---- */

typedef struct trip_file {
    sqlite3_file base;
    sqlite3_file *real; /* behind this struct */
} trip_file;

static sqlite3_vfs *real_vfs;
static sqlite3_vfs trip_vfs;

static sqlite3_file *real_of(sqlite3_file *file)
{
    return ((trip_file *)file)->real;
}

static int write_error(int error)
{
    return fl_trip_is_refusal() ? SQLITE_FULL : error;
}

static int file_close(sqlite3_file *file)
{
    sqlite3_file *real = real_of(file);
    return real->pMethods == NULL ? SQLITE_OK : real->pMethods->xClose(real);
}

static int file_read(sqlite3_file *file, void *bytes, int len, sqlite3_int64 at)
{
    if (fl_trip_hits(FL_TRIP_READ)) {
        return SQLITE_IOERR_READ;
    }
    return real_of(file)->pMethods->xRead(real_of(file), bytes, len, at);
}

static int file_write(sqlite3_file *file, const void *bytes, int len, sqlite3_int64 at)
{
    if (fl_trip_hits(FL_TRIP_WRITE)) {
        return write_error(SQLITE_IOERR_WRITE);
    }
    return real_of(file)->pMethods->xWrite(real_of(file), bytes, len, at);
}

static int file_truncate(sqlite3_file *file, sqlite3_int64 size)
{
    if (fl_trip_hits(FL_TRIP_WRITE)) {
        return SQLITE_IOERR_TRUNCATE;
    }
    return real_of(file)->pMethods->xTruncate(real_of(file), size);
}

/* The power stays on in these tests: nothing need reach the disk. */
static int file_sync(sqlite3_file *file, int flags)
{
    (void)file;
    (void)flags;
    return fl_trip_hits(FL_TRIP_SYNC) ? SQLITE_IOERR_FSYNC : SQLITE_OK;
}

static int file_size(sqlite3_file *file, sqlite3_int64 *size)
{
    if (fl_trip_hits(FL_TRIP_READ)) {
        return SQLITE_IOERR_FSTAT;
    }
    return real_of(file)->pMethods->xFileSize(real_of(file), size);
}

static int lock_error(void)
{
    return fl_trip_is_refusal() ? SQLITE_BUSY : SQLITE_IOERR_LOCK;
}

static int file_lock(sqlite3_file *file, int level)
{
    if (fl_trip_hits(FL_TRIP_LOCK)) {
        return lock_error();
    }
    return real_of(file)->pMethods->xLock(real_of(file), level);
}

static int file_unlock(sqlite3_file *file, int level)
{
    return real_of(file)->pMethods->xUnlock(real_of(file), level);
}

static int file_check_lock(sqlite3_file *file, int *out)
{
    return real_of(file)->pMethods->xCheckReservedLock(real_of(file), out);
}

static int file_control(sqlite3_file *file, int what, void *arg)
{
    return real_of(file)->pMethods->xFileControl(real_of(file), what, arg);
}

static int file_sector(sqlite3_file *file)
{
    return real_of(file)->pMethods->xSectorSize(real_of(file));
}

static int file_traits(sqlite3_file *file)
{
    return real_of(file)->pMethods->xDeviceCharacteristics(real_of(file));
}

static int file_shm_map(sqlite3_file *file, int page, int size, int extend, void volatile **out)
{
    if (fl_trip_hits(FL_TRIP_OPEN)) {
        return SQLITE_IOERR_SHMMAP;
    }
    return real_of(file)->pMethods->xShmMap(real_of(file), page, size, extend, out);
}

static int file_shm_lock(sqlite3_file *file, int offset, int n, int flags)
{
    if ((flags & SQLITE_SHM_LOCK) != 0 && fl_trip_hits(FL_TRIP_LOCK)) {
        return lock_error();
    }
    return real_of(file)->pMethods->xShmLock(real_of(file), offset, n, flags);
}

static void file_shm_barrier(sqlite3_file *file)
{
    real_of(file)->pMethods->xShmBarrier(real_of(file));
}

static int file_shm_unmap(sqlite3_file *file, int should_delete)
{
    return real_of(file)->pMethods->xShmUnmap(real_of(file), should_delete);
}

/* Version 2: shared memory for WAL, but no mapping of the file itself, which would go around us. */
static const sqlite3_io_methods methods = {
    .iVersion = 2,
    .xClose = file_close,
    .xRead = file_read,
    .xWrite = file_write,
    .xTruncate = file_truncate,
    .xSync = file_sync,
    .xFileSize = file_size,
    .xLock = file_lock,
    .xUnlock = file_unlock,
    .xCheckReservedLock = file_check_lock,
    .xFileControl = file_control,
    .xSectorSize = file_sector,
    .xDeviceCharacteristics = file_traits,
    .xShmMap = file_shm_map,
    .xShmLock = file_shm_lock,
    .xShmBarrier = file_shm_barrier,
    .xShmUnmap = file_shm_unmap,
};

static int vfs_open(sqlite3_vfs *vfs, const char *path, sqlite3_file *file, int flags, int *out)
{
    (void)vfs;
    trip_file *mine = (trip_file *)file;
    mine->base.pMethods = NULL;
    mine->real = (sqlite3_file *)(mine + 1);
    if (fl_trip_hits(FL_TRIP_OPEN)) {
        return SQLITE_CANTOPEN;
    }
    int rc = real_vfs->xOpen(real_vfs, path, mine->real, flags, out);
    mine->base.pMethods = rc == SQLITE_OK ? &methods : NULL;
    return rc;
}

static int vfs_delete(sqlite3_vfs *vfs, const char *path, int should_sync)
{
    (void)vfs;
    (void)should_sync;
    return fl_trip_hits(FL_TRIP_WRITE) ? SQLITE_IOERR_DELETE : real_vfs->xDelete(real_vfs, path, 0);
}

static int vfs_access(sqlite3_vfs *vfs, const char *path, int flags, int *out)
{
    (void)vfs;
    return fl_trip_hits(FL_TRIP_READ) ? SQLITE_IOERR_ACCESS
                                      : real_vfs->xAccess(real_vfs, path, flags, out);
}

static int vfs_full_path(sqlite3_vfs *vfs, const char *path, int len, char *out)
{
    (void)vfs;
    return real_vfs->xFullPathname(real_vfs, path, len, out);
}

static int vfs_randomness(sqlite3_vfs *vfs, int len, char *out)
{
    (void)vfs;
    return real_vfs->xRandomness(real_vfs, len, out);
}

/* Waiting for a lock that will not come takes no time here. */
static int vfs_sleep(sqlite3_vfs *vfs, int microseconds)
{
    (void)vfs;
    return microseconds;
}

static int vfs_time(sqlite3_vfs *vfs, double *out)
{
    (void)vfs;
    return real_vfs->xCurrentTime(real_vfs, out);
}

static int vfs_last_error(sqlite3_vfs *vfs, int len, char *out)
{
    (void)vfs;
    return real_vfs->xGetLastError(real_vfs, len, out);
}

static void install_vfs(void)
{
    real_vfs = sqlite3_vfs_find(NULL);
    check_true(real_vfs != NULL);
    trip_vfs = (sqlite3_vfs){
        .iVersion = 1,
        .szOsFile = (int)sizeof(trip_file) + real_vfs->szOsFile,
        .mxPathname = real_vfs->mxPathname,
        .zName = "trip",
        .xOpen = vfs_open,
        .xDelete = vfs_delete,
        .xAccess = vfs_access,
        .xFullPathname = vfs_full_path,
        .xRandomness = vfs_randomness,
        .xSleep = vfs_sleep,
        .xCurrentTime = vfs_time,
        .xGetLastError = vfs_last_error,
    };
    check_int(sqlite3_vfs_register(&trip_vfs, 1), SQLITE_OK);
}

/* ---- allocators ---- */

#if FL_TRIP_IS_EVERY_MALLOC
static void install_allocators(void)
{
    /* support/wrap/calls.c stands before all of them */
}
#else
static sqlite3_mem_methods real_memory;

static void *sqlite_malloc(int size)
{
    return fl_trip_hits(FL_TRIP_MEMORY) ? NULL : real_memory.xMalloc(size);
}

static void *sqlite_realloc(void *old, int size)
{
    return fl_trip_hits(FL_TRIP_MEMORY) ? NULL : real_memory.xRealloc(old, size);
}

static void install_allocators(void)
{
    check_int(sqlite3_config(SQLITE_CONFIG_GETMALLOC, &real_memory), SQLITE_OK);
    sqlite3_mem_methods counting = real_memory;
    counting.xMalloc = sqlite_malloc;
    counting.xRealloc = sqlite_realloc;
    check_int(sqlite3_config(SQLITE_CONFIG_MALLOC, &counting), SQLITE_OK);
}
#endif

void fl_trip_install(void)
{
    if (shared != NULL) {
        return;
    }
    shared = mmap(NULL, sizeof *shared, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    check_true(shared != MAP_FAILED);
    install_allocators();
    install_vfs();
}
