/* Our own calls of the system, which the linker leads here (--wrap, cmake/FernlockTests.cmake):
 * each counts for support/trip.h and may fail. Calls from inside other libraries do not pass
 * here, but their allocations do: this program's malloc is everybody's. Under sanitizers, which
 * have their own, it is only ours, and SQLite's by its hook (support/trip.c). */
#define _GNU_SOURCE
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "support/trip.h"

/* ---- memory ---- */

#define MEMORY(X)                                                                                  \
    X(FL_TRIP_MEMORY, ENOMEM, void *, NULL, malloc, (size_t size), (size))                         \
    X(FL_TRIP_MEMORY, ENOMEM, void *, NULL, calloc, (size_t n, size_t size), (n, size))            \
    X(FL_TRIP_MEMORY, ENOMEM, void *, NULL, realloc, (void *old, size_t size), (old, size))

#if FL_TRIP_IS_EVERY_MALLOC
/* glibc's own names for what these stand before; free stays glibc's. */
#define STAND_BEFORE(kind, error, type, failure, name, parameters, arguments)                      \
    type __libc_##name parameters;                                                                 \
    type name parameters                                                                           \
    {                                                                                              \
        if (fl_trip_hits(kind)) {                                                                  \
            errno = error;                                                                         \
            return failure;                                                                        \
        }                                                                                          \
        return __libc_##name arguments;                                                            \
    }
MEMORY(STAND_BEFORE)
#endif

/* ---- calls ---- */

/* X(kind, errno, return type, value of a failure, name, parameters, arguments) */
#define WRAPPED(X)                                                                                 \
    X(FL_TRIP_OPEN, EMFILE, FILE *, NULL, fopen, (const char *path, const char *mode),             \
      (path, mode))                                                                                \
    X(FL_TRIP_OPEN, EMFILE, DIR *, NULL, opendir, (const char *path), (path))                      \
    X(FL_TRIP_OPEN, ENOSPC, int, -1, mkstemp, (char *path), (path))                                \
    X(FL_TRIP_READ, EIO, ssize_t, -1, read, (int fd, void *to, size_t len), (fd, to, len))         \
    X(FL_TRIP_WRITE, ENOSPC, ssize_t, -1, write, (int fd, const void *at, size_t len),             \
      (fd, at, len))                                                                               \
    X(FL_TRIP_WRITE, ENOSPC, int, -1, mkdir, (const char *path, mode_t mode), (path, mode))        \
    X(FL_TRIP_WRITE, EIO, int, -1, rename, (const char *from, const char *to), (from, to))         \
    X(FL_TRIP_WRITE, EIO, int, -1, link, (const char *from, const char *to), (from, to))           \
    X(FL_TRIP_WRITE, EIO, int, -1, unlink, (const char *path), (path))                             \
    X(FL_TRIP_SYNC, EIO, int, -1, fsync, (int fd), (fd))

#define WRAP(kind, error, type, failure, name, parameters, arguments)                              \
    type __real_##name parameters;                                                                 \
    type __wrap_##name parameters;                                                                 \
    type __wrap_##name parameters                                                                  \
    {                                                                                              \
        if (fl_trip_hits(kind)) {                                                                  \
            errno = error;                                                                         \
            return failure;                                                                        \
        }                                                                                          \
        return __real_##name arguments;                                                            \
    }
WRAPPED(WRAP)
#if !FL_TRIP_IS_EVERY_MALLOC
MEMORY(WRAP)
#endif

size_t __real_fread(void *to, size_t size, size_t n, FILE *file);
size_t __wrap_fread(void *to, size_t size, size_t n, FILE *file);
ssize_t __real_getline(char **to, size_t *cap, FILE *file);
ssize_t __wrap_getline(char **to, size_t *cap, FILE *file);
int __real_ferror(FILE *file);
int __wrap_ferror(FILE *file);
int __real_open(const char *path, int flags, ...);
int __wrap_open(const char *path, int flags, ...);

static FILE *broken; /* the stream whose read failed */

/* A read that fails is told by ferror alone. */
size_t __wrap_fread(void *to, size_t size, size_t n, FILE *file)
{
    if (fl_trip_hits(FL_TRIP_READ)) {
        broken = file;
        errno = EIO;
        return 0;
    }
    return __real_fread(to, size, n, file);
}

ssize_t __wrap_getline(char **to, size_t *cap, FILE *file)
{
    if (fl_trip_hits(FL_TRIP_READ)) {
        broken = file;
        errno = EIO;
        return -1;
    }
    return __real_getline(to, cap, file);
}

int __wrap_ferror(FILE *file)
{
    return file == broken ? 1 : __real_ferror(file);
}

int __wrap_open(const char *path, int flags, ...)
{
    mode_t mode = 0;
    if ((flags & O_CREAT) != 0) {
        va_list args;
        va_start(args, flags);
        mode = va_arg(args, mode_t);
        va_end(args);
    }
    if (fl_trip_hits(FL_TRIP_OPEN)) {
        errno = EMFILE;
        return -1;
    }
    return __real_open(path, flags, mode);
}
