/* A VFS that can lose power. Real files hold what programs see; beside each stands an image of what
 * is surely on the disk and the list of operations since its last sync. */
#define _GNU_SOURCE
#include "support/powercut.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <sqlite3.h>

#include "base/alloc.h"
#include "base/rng.h"
#include "support/check.h"

#define FILES_MAX 64
#define SECTOR 512

/* A write or a truncation that was not synced yet. */
typedef struct pending {
    bool is_truncate;
    bool is_rebirth; /* it stands for a new file under a name whose removal was not synced */
    int64_t at;      /* offset, or the new size */
    size_t len;
    unsigned char *bytes; /* owned */
} pending;

typedef struct tracked {
    char path[512];
    struct stat info;     /* which file it is, by device and inode */
    bool is_durable;      /* its name and image outlive a cut */
    bool is_removed;      /* its removal was not synced: the name may come back */
    unsigned char *image; /* owned: the bytes as of the last sync */
    size_t len;
    pending *list; /* owned */
    size_t n_list;
} tracked;

typedef struct shim_file {
    sqlite3_file base;
    tracked *of;         /* NULL for temporary files */
    sqlite3_file *real;  /* behind this struct */
    bool is_new_journal; /* its first sync syncs the folder, too, as SQLite's own VFS does */
} shim_file;

static struct {
    sqlite3_vfs vfs;
    sqlite3_vfs *real;
    tracked files[FILES_MAX];
    size_t n_files;
    fl_fault fault;
    uint64_t n;
    uint64_t count;
    bool has_fired;
} disk;

/* ---- the images ---- */

static void forget_pending(tracked *file)
{
    for (size_t i = 0; i < file->n_list; i++) {
        fl_alloc_free(file->list[i].bytes);
    }
    fl_alloc_free(file->list);
    file->list = NULL;
    file->n_list = 0;
}

static void forget_all(void)
{
    for (size_t i = 0; i < disk.n_files; i++) {
        forget_pending(&disk.files[i]);
        fl_alloc_free(disk.files[i].image);
    }
    disk.n_files = 0;
}

static void image_resize(tracked *file, size_t len)
{
    file->image = fl_alloc_resize(file->image, len + 1, 1);
    if (len > file->len) {
        memset(file->image + file->len, 0, len - file->len);
    }
    file->len = len;
}

static void image_write(tracked *file, int64_t at, const unsigned char *bytes, size_t len)
{
    size_t end = (size_t)at + len;
    if (end > file->len) {
        image_resize(file, end);
    }
    memcpy(file->image + at, bytes, len);
}

static void note_pending(tracked *file, pending what)
{
    file->list = fl_alloc_resize(file->list, file->n_list + 1, sizeof *file->list);
    file->list[file->n_list++] = what;
}

/* One operation reaches the image: all of it, or each sector by chance. */
static void apply(tracked *file, const pending *what, fl_rng *chance)
{
    if (what->is_truncate) {
        if (chance == NULL || fl_rng_below(chance, 2) == 0) {
            image_resize(file, (size_t)what->at);
        }
        return;
    }
    for (size_t done = 0; done < what->len;) {
        size_t sector_end = SECTOR - ((size_t)what->at + done) % SECTOR;
        size_t piece = what->len - done < sector_end ? what->len - done : sector_end;
        if (chance == NULL || fl_rng_below(chance, 2) == 0) {
            image_write(file, what->at + (int64_t)done, what->bytes + done, piece);
        }
        done += piece;
    }
}

static void apply_all(tracked *file, fl_rng *chance)
{
    for (size_t i = 0; i < file->n_list; i++) {
        if (file->list[i].is_rebirth && chance != NULL) {
            if (fl_rng_below(chance, 2) == 0) {
                break; /* the name still means the old file: nothing of the new one is seen */
            }
            image_resize(file, 0);
            continue;
        }
        apply(file, &file->list[i], chance);
    }
    forget_pending(file);
}

static void image_from_disk(tracked *file)
{
    FILE *in = fopen(file->path, "rb");
    if (in == NULL) {
        return;
    }
    image_resize(file, (size_t)file->info.st_size);
    size_t got = fread(file->image, 1, file->len, in);
    check_int(got, file->len);
    check_int(fclose(in), 0);
}

/* The same file under another name: its history goes on. */
static void copy_history(tracked *to, const tracked *from)
{
    to->is_durable = from->is_durable;
    image_resize(to, from->len);
    memcpy(to->image, from->image, from->len);
    for (size_t i = 0; i < from->n_list; i++) {
        pending copy = from->list[i];
        copy.bytes = fl_alloc(copy.len + 1, 1);
        memcpy(copy.bytes, from->list[i].bytes, copy.len);
        note_pending(to, copy);
    }
}

static tracked *find(const char *path)
{
    for (size_t i = 0; i < disk.n_files; i++) {
        if (strcmp(disk.files[i].path, path) == 0) {
            return &disk.files[i];
        }
    }
    return NULL;
}

static const tracked *find_inode(const struct stat *info)
{
    for (size_t i = disk.n_files; i > 0; i--) {
        const tracked *file = &disk.files[i - 1];
        if (file->info.st_ino == info->st_ino && file->info.st_dev == info->st_dev) {
            return file;
        }
    }
    return NULL;
}

/* Before a file is opened: a file that was there before us is surely on the disk. */
static tracked *track(const char *path)
{
    tracked *file = find(path);
    struct stat info;
    bool exists = stat(path, &info) == 0;
    if (file != NULL && exists && file->info.st_ino == info.st_ino) {
        return file;
    }
    if (file != NULL && !exists) {
        if (file->is_removed) {
            forget_pending(file);
            note_pending(
                file, (pending){.is_truncate = true, .is_rebirth = true, .bytes = fl_alloc(1, 1)});
            file->is_removed = false;
        }
        return file;
    }
    const tracked *same = exists ? find_inode(&info) : NULL;
    if (file == NULL) {
        check_true(disk.n_files < FILES_MAX);
        file = &disk.files[disk.n_files++];
        *file = (tracked){.is_durable = false};
        (void)snprintf(file->path, sizeof file->path, "%s", path);
    }
    if (exists) {
        file->info = info;
        forget_pending(file);
        if (same != NULL) {
            copy_history(file, same);
        } else {
            file->is_durable = true;
            image_from_disk(file);
        }
    }
    return file;
}

static size_t folder_len(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? 0 : (size_t)(slash - path);
}

/* The folder of a file is synced: names that were removed in it stay removed. */
static void folder_synced(const char *path)
{
    size_t len = folder_len(path);
    for (size_t i = 0; i < disk.n_files; i++) {
        tracked *file = &disk.files[i];
        if (folder_len(file->path) != len || strncmp(file->path, path, len) != 0) {
            continue;
        }
        if (file->n_list > 0 && file->list[0].is_rebirth) {
            file->list[0].is_rebirth = false; /* the name means the new file, still empty */
            image_resize(file, 0);
        } else if (file->is_removed) {
            file->is_durable = false;
            image_resize(file, 0);
        }
        file->is_removed = false;
    }
}

/* ---- faults ---- */

/* Counts an operation; SQLITE_OK when it shall happen. */
static int next_operation(int error, bool is_write)
{
    disk.count++;
    bool is_hit = disk.count == disk.n;
    bool is_after = disk.has_fired && disk.count > disk.n;
    switch (disk.fault) {
    case FL_FAULT_POWER:
    case FL_FAULT_ERROR_ON:
        disk.has_fired = disk.has_fired || is_hit;
        return is_hit || is_after ? error : SQLITE_OK;
    case FL_FAULT_ERROR_ONCE:
        disk.has_fired = disk.has_fired || is_hit;
        return is_hit ? error : SQLITE_OK;
    case FL_FAULT_FULL_ONCE:
        disk.has_fired = disk.has_fired || is_hit;
        return is_hit && is_write ? SQLITE_FULL : SQLITE_OK;
    case FL_FAULT_NONE:
    default:
        return SQLITE_OK;
    }
}

/* Reading without power fails as well. */
static bool is_dark(void)
{
    return disk.fault == FL_FAULT_POWER && disk.has_fired;
}

/* ---- methods of a file ---- */

static shim_file *shim(sqlite3_file *file)
{
    return (shim_file *)file;
}

static int file_close(sqlite3_file *file)
{
    shim_file *mine = shim(file);
    return mine->real->pMethods == NULL ? SQLITE_OK : mine->real->pMethods->xClose(mine->real);
}

static int file_read(sqlite3_file *file, void *bytes, int len, sqlite3_int64 at)
{
    shim_file *mine = shim(file);
    return is_dark() ? SQLITE_IOERR_READ : mine->real->pMethods->xRead(mine->real, bytes, len, at);
}

static int file_write(sqlite3_file *file, const void *bytes, int len, sqlite3_int64 at)
{
    shim_file *mine = shim(file);
    int rc = mine->of == NULL ? SQLITE_OK : next_operation(SQLITE_IOERR_WRITE, true);
    if (rc == SQLITE_OK) {
        rc = mine->real->pMethods->xWrite(mine->real, bytes, len, at);
    }
    if (rc == SQLITE_OK && mine->of != NULL) {
        pending what = {.at = at, .len = (size_t)len, .bytes = fl_alloc((size_t)len + 1, 1)};
        memcpy(what.bytes, bytes, (size_t)len);
        note_pending(mine->of, what);
    }
    return rc;
}

static int file_truncate(sqlite3_file *file, sqlite3_int64 size)
{
    shim_file *mine = shim(file);
    int rc = mine->of == NULL ? SQLITE_OK : next_operation(SQLITE_IOERR_TRUNCATE, false);
    if (rc == SQLITE_OK) {
        rc = mine->real->pMethods->xTruncate(mine->real, size);
    }
    if (rc == SQLITE_OK && mine->of != NULL) {
        note_pending(mine->of, (pending){.is_truncate = true, .at = size, .bytes = fl_alloc(1, 1)});
    }
    return rc;
}

/* The real file is not synced: the disk is ours. */
static int file_sync(sqlite3_file *file, int flags)
{
    (void)flags;
    shim_file *mine = shim(file);
    int rc = mine->of == NULL ? SQLITE_OK : next_operation(SQLITE_IOERR_FSYNC, false);
    if (rc == SQLITE_OK && mine->of != NULL) {
        apply_all(mine->of, NULL);
        mine->of->is_durable = true;
        if (mine->is_new_journal) {
            mine->is_new_journal = false;
            folder_synced(mine->of->path);
        }
    }
    return rc;
}

static int file_size(sqlite3_file *file, sqlite3_int64 *size)
{
    return shim(file)->real->pMethods->xFileSize(shim(file)->real, size);
}

static int file_lock(sqlite3_file *file, int level)
{
    return shim(file)->real->pMethods->xLock(shim(file)->real, level);
}

static int file_unlock(sqlite3_file *file, int level)
{
    return shim(file)->real->pMethods->xUnlock(shim(file)->real, level);
}

static int file_check_lock(sqlite3_file *file, int *out)
{
    return shim(file)->real->pMethods->xCheckReservedLock(shim(file)->real, out);
}

static int file_control(sqlite3_file *file, int what, void *arg)
{
    return shim(file)->real->pMethods->xFileControl(shim(file)->real, what, arg);
}

static int file_sector(sqlite3_file *file)
{
    return shim(file)->real->pMethods->xSectorSize(shim(file)->real);
}

static int file_traits(sqlite3_file *file)
{
    return shim(file)->real->pMethods->xDeviceCharacteristics(shim(file)->real);
}

static int file_shm_map(sqlite3_file *file, int page, int size, int extend, void volatile **out)
{
    return shim(file)->real->pMethods->xShmMap(shim(file)->real, page, size, extend, out);
}

static int file_shm_lock(sqlite3_file *file, int offset, int n, int flags)
{
    return shim(file)->real->pMethods->xShmLock(shim(file)->real, offset, n, flags);
}

static void file_shm_barrier(sqlite3_file *file)
{
    shim(file)->real->pMethods->xShmBarrier(shim(file)->real);
}

static int file_shm_unmap(sqlite3_file *file, int should_delete)
{
    return shim(file)->real->pMethods->xShmUnmap(shim(file)->real, should_delete);
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

/* ---- methods of the VFS ---- */

static int vfs_open(sqlite3_vfs *vfs, const char *path, sqlite3_file *file, int flags, int *out)
{
    (void)vfs;
    shim_file *mine = shim(file);
    mine->base.pMethods = NULL;
    mine->real = (sqlite3_file *)(mine + 1);
    mine->of = NULL;
    mine->is_new_journal = false;
    if (is_dark()) {
        return SQLITE_CANTOPEN;
    }
    if (path != NULL) {
        mine->is_new_journal =
            access(path, F_OK) != 0 && (flags & (SQLITE_OPEN_MAIN_JOURNAL | SQLITE_OPEN_WAL)) != 0;
        mine->of = track(path);
    }
    int rc = disk.real->xOpen(disk.real, path, mine->real, flags, out);
    if (rc != SQLITE_OK) {
        return rc;
    }
    mine->base.pMethods = &methods;
    if (mine->of != NULL && stat(path, &mine->of->info) != 0) {
        return SQLITE_CANTOPEN;
    }
    return SQLITE_OK;
}

static int vfs_delete(sqlite3_vfs *vfs, const char *path, int should_sync)
{
    (void)vfs;
    int rc = next_operation(SQLITE_IOERR_DELETE, false);
    if (rc == SQLITE_OK) {
        rc = disk.real->xDelete(disk.real, path, 0);
    }
    tracked *file = find(path);
    if (rc == SQLITE_OK && file != NULL) {
        file->info = (struct stat){0}; /* its inode may be used again */
        file->is_removed = true;       /* the name may come back … */
        if (should_sync != 0) {
            folder_synced(path); /* … but not now */
        }
    }
    return rc;
}

static int vfs_access(sqlite3_vfs *vfs, const char *path, int flags, int *out)
{
    (void)vfs;
    return disk.real->xAccess(disk.real, path, flags, out);
}

static int vfs_full_path(sqlite3_vfs *vfs, const char *path, int len, char *out)
{
    (void)vfs;
    return disk.real->xFullPathname(disk.real, path, len, out);
}

static int vfs_randomness(sqlite3_vfs *vfs, int len, char *out)
{
    (void)vfs;
    return disk.real->xRandomness(disk.real, len, out);
}

static int vfs_sleep(sqlite3_vfs *vfs, int microseconds)
{
    (void)vfs;
    return disk.real->xSleep(disk.real, microseconds);
}

static int vfs_time(sqlite3_vfs *vfs, double *out)
{
    (void)vfs;
    return disk.real->xCurrentTime(disk.real, out);
}

static int vfs_last_error(sqlite3_vfs *vfs, int len, char *out)
{
    (void)vfs;
    return disk.real->xGetLastError(disk.real, len, out);
}

void fl_powercut_install(void)
{
    sqlite3_vfs *now = sqlite3_vfs_find(NULL);
    check_true(now != NULL);
    if (now == &disk.vfs) { /* a test before this one failed, and did not take it away */
        forget_all();
        fl_powercut_arm(FL_FAULT_NONE, 0);
        return;
    }
    disk.real = now;
    disk.vfs = (sqlite3_vfs){
        .iVersion = 1,
        .szOsFile = (int)sizeof(shim_file) + disk.real->szOsFile,
        .mxPathname = disk.real->mxPathname,
        .zName = "powercut",
        .xOpen = vfs_open,
        .xDelete = vfs_delete,
        .xAccess = vfs_access,
        .xFullPathname = vfs_full_path,
        .xRandomness = vfs_randomness,
        .xSleep = vfs_sleep,
        .xCurrentTime = vfs_time,
        .xGetLastError = vfs_last_error,
    };
    check_int(sqlite3_vfs_register(&disk.vfs, 1), SQLITE_OK);
    fl_powercut_arm(FL_FAULT_NONE, 0);
}

void fl_powercut_remove(void)
{
    check_int(sqlite3_vfs_unregister(&disk.vfs), SQLITE_OK);
    check_int(sqlite3_vfs_register(disk.real, 1), SQLITE_OK);
    forget_all();
}

void fl_powercut_arm(fl_fault fault, uint64_t n)
{
    disk.fault = fault;
    disk.n = n;
    disk.count = 0;
    disk.has_fired = false;
}

uint64_t fl_powercut_operations(void)
{
    return disk.count;
}

bool fl_powercut_has_fired(void)
{
    return disk.has_fired;
}

/* ---- after the cut ---- */

static void write_image(const tracked *file)
{
    FILE *out = fopen(file->path, "wb");
    check_true(out != NULL);
    check_int(fwrite(file->image, 1, file->len, out), file->len);
    check_int(fclose(out), 0);
}

/* A file that our own code removed or renamed is left alone: that step was synced by us. */
static bool is_ours_to_restore(const tracked *file)
{
    size_t len = strlen(file->path);
    bool is_side = len > 4 && (strcmp(file->path + len - 4, "-wal") == 0 ||
                               strstr(file->path, "-journal") != NULL);
    return is_side || access(file->path, F_OK) == 0;
}

void fl_powercut_restart(fl_leftover leftover, uint64_t seed)
{
    fl_rng rng = {seed};
    for (size_t i = 0; i < disk.n_files; i++) {
        tracked *file = &disk.files[i];
        char shm[600];
        (void)snprintf(shm, sizeof shm, "%s-shm", file->path);
        (void)unlink(shm);
        if (!is_ours_to_restore(file)) {
            continue;
        }
        bool is_there = access(file->path, F_OK) == 0;
        if (leftover == FL_LEFTOVER_SOME) {
            file->is_durable = file->is_durable || (is_there && fl_rng_below(&rng, 2) == 0);
            apply_all(file, &rng);
        } else if (leftover == FL_LEFTOVER_ALL) {
            file->is_durable = is_there;
            apply_all(file, NULL);
        }
        if (file->is_durable) {
            write_image(file);
        } else {
            (void)unlink(file->path);
        }
    }
    forget_all();
    fl_powercut_arm(FL_FAULT_NONE, 0);
}
