/* A disk that fails: from the n-th write below a folder on, or at the n-th alone.
 *
 * Loaded with LD_PRELOAD; armed by full_at() from within the process. What counts as a
 * write: write, pwrite, ftruncate, fsync, fdatasync, rename, and open of a new file,
 * of a path below the folder.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

static char under[4096];
static long fail_from = -1, count = 0;
static int fail_with = 0, fail_once = 0;

void full_at(const char *folder, long n, int error, int once) {
    strncpy(under, folder, sizeof under - 1);
    fail_from = n; fail_with = error; fail_once = once; count = 0;
}
long full_count(void) { return count; }

static int below(const char *path) {
    if (fail_from < 0) return 0;
    if (path[0] == '/') return strncmp(path, under, strlen(under)) == 0;
    char here[4096];
    return getcwd(here, sizeof here) && strncmp(here, under, strlen(under)) == 0;
}
static int below_fd(int fd) {
    if (fail_from < 0) return 0;
    char link[64], path[4096];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t n = readlink(link, path, sizeof path - 1);
    if (n < 0) return 0;
    path[n] = 0;
    return strncmp(path, under, strlen(under)) == 0;
}
static int fails(void) {
    count++;
    if (count == fail_from || (count > fail_from && !fail_once)) { errno = fail_with; return 1; }
    return 0;
}
#define REAL(name) static __typeof__(&name) real; if (!real) real = dlsym(RTLD_NEXT, #name)

ssize_t write(int fd, const void *b, size_t n) { REAL(write); if (below_fd(fd) && fails()) return -1; return real(fd, b, n); }
ssize_t pwrite(int fd, const void *b, size_t n, off_t o) { REAL(pwrite); if (below_fd(fd) && fails()) return -1; return real(fd, b, n, o); }
ssize_t pwrite64(int fd, const void *b, size_t n, off64_t o) { REAL(pwrite64); if (below_fd(fd) && fails()) return -1; return real(fd, b, n, o); }
int ftruncate(int fd, off_t n) { REAL(ftruncate); if (below_fd(fd) && fails()) return -1; return real(fd, n); }
int ftruncate64(int fd, off64_t n) { REAL(ftruncate64); if (below_fd(fd) && fails()) return -1; return real(fd, n); }
int fsync(int fd) { REAL(fsync); if (below_fd(fd) && fails()) return -1; return real(fd); }
int fdatasync(int fd) { REAL(fdatasync); if (below_fd(fd) && fails()) return -1; return real(fd); }
int rename(const char *a, const char *b) { REAL(rename); if (below(b) && fails()) return -1; return real(a, b); }
int open(const char *p, int f, ...) {
    REAL(open); va_list v; va_start(v, f); mode_t m = va_arg(v, mode_t); va_end(v);
    if ((f & O_CREAT) && below(p) && access(p, F_OK) && fails()) return -1;
    return real(p, f, m);
}
int open64(const char *p, int f, ...) {
    REAL(open64); va_list v; va_start(v, f); mode_t m = va_arg(v, mode_t); va_end(v);
    if ((f & O_CREAT) && below(p) && access(p, F_OK) && fails()) return -1;
    return real(p, f, m);
}
