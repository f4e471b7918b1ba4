/*
** The operating system layer that sums the pages of a database file; see the
** package comment. It stands before the default one, which does the work.
*/
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "pagesum.h"

enum {
  reserved = 8,     /* bytes at the end of a page that SQLite leaves to us */
  at_reserved = 20, /* where a file's header says how many there are */
  header = 24,      /* as much of the header as is looked at */
};

static const char magic[16] = "SQLite format 3";
static const unsigned char mark[4] = {'s', 'u', 'm', '1'};

static sqlite3_vfs *default_vfs;
static sqlite3_vfs summing_vfs;

static void store32(unsigned char *p, uint32_t v) {
  p[0] = v >> 24;
  p[1] = v >> 16;
  p[2] = v >> 8;
  p[3] = v;
}

/* sum_of is the sum of a page of n bytes, of all but its last four. */
static uint32_t sum_of(const unsigned char *page, int n, uint32_t number) {
  unsigned char at[4];
  store32(at, number);
  return crc32c(crc32c(0, page, n - 4), at, 4);
}

static void put_sum(unsigned char *page, int n, uint32_t number) {
  memcpy(page + n - reserved, mark, sizeof mark);
  store32(page + n - 4, sum_of(page, n, number));
}

static int sum_is_right(const unsigned char *page, int n, uint32_t number) {
  unsigned char want[4];
  if (memcmp(page + n - reserved, mark, sizeof mark) != 0) return 0;
  store32(want, sum_of(page, n, number));
  return memcmp(page + n - 4, want, sizeof want) == 0;
}

/* A database file. What the default layer keeps of it follows in memory. */
struct summed {
  sqlite3_file file;
  unsigned char *copy; /* of the page that is written */
  int room;            /* of copy */
  int sums;            /* the file is known to have sums */
  int assumed;         /* because it is a new one: its header is not written yet */
};

#define OWN(f) ((struct summed *)(f))
#define REAL(f) ((sqlite3_file *)(OWN(f) + 1))
#define CALL(f, method, ...) (REAL(f)->pMethods->method(REAL(f), ##__VA_ARGS__))

/* is_page says whether n bytes at a place are a page. SQLite reads less at a
** time only of the header, and writes nothing but pages. */
static int is_page(int n, sqlite3_int64 at) {
  return n >= 512 && n <= 65536 && (n & (n - 1)) == 0 && at % n == 0;
}

static int says_sums(const unsigned char *head) {
  return memcmp(head, magic, sizeof magic) == 0 && head[at_reserved] == reserved;
}

/* has_sums looks into the file until it is known to have sums: another
** connection may have given it some. A file whose header is not there yet is
** a new one, some of whose pages SQLite wants written before the first. */
static int has_sums(sqlite3_file *f) {
  static const unsigned char none[header];
  struct summed *s = OWN(f);
  unsigned char head[header];
  if (s->sums) return 1;
  memset(head, 0, sizeof head);
  int rc = CALL(f, xRead, head, sizeof head, 0);
  if (rc != SQLITE_OK && rc != SQLITE_IOERR_SHORT_READ) return 0;
  s->assumed = memcmp(head, none, sizeof none) == 0;
  s->sums = s->assumed || says_sums(head);
  return s->sums;
}

/* first_page_is_right also finds a header that says nothing of sums any more:
** with the word put back, the page's sum is right. */
static int first_page_is_right(sqlite3_file *f, unsigned char *page, int n) {
  unsigned char said = page[at_reserved];
  OWN(f)->sums = says_sums(page);
  OWN(f)->assumed = 0;
  if (OWN(f)->sums) return sum_is_right(page, n, 1);
  page[at_reserved] = reserved;
  int lost = sum_is_right(page, n, 1);
  page[at_reserved] = said;
  return !lost;
}

/* page_is_right says whether what was read of a page is what was written. */
static int page_is_right(sqlite3_file *f, unsigned char *page, int n, sqlite3_int64 at, int whole) {
  if (at == 0) return !whole || first_page_is_right(f, page, n);
  if (!has_sums(f)) return 1;
  return whole && sum_is_right(page, n, at / n + 1); /* SQLite takes what is cut off for zeros */
}

static int summed_read(sqlite3_file *f, void *to, int n, sqlite3_int64 at) {
  int rc = CALL(f, xRead, to, n, at);
  if (rc != SQLITE_OK && rc != SQLITE_IOERR_SHORT_READ) return rc;
  if (!is_page(n, at) || page_is_right(f, to, n, at, rc == SQLITE_OK)) return rc;
  return SQLITE_CORRUPT; /* an input fault's kind would be lost while SQLite reads the schema */
}

/* room_for makes room for a copy of a page: the page itself is in SQLite's
** cache and must stay as it is. */
static int room_for(struct summed *s, int n) {
  if (s->room >= n) return 1;
  unsigned char *more = realloc(s->copy, n);
  if (more == NULL) return 0;
  s->copy = more;
  s->room = n;
  return 1;
}

static int summed_write(sqlite3_file *f, const void *from, int n, sqlite3_int64 at) {
  struct summed *s = OWN(f);
  if (!is_page(n, at)) return CALL(f, xWrite, from, n, at);
  if (at == 0) {
    int says = says_sums(from);
    if (s->assumed && !says) return SQLITE_IOERR_WRITE; /* pages after it have sums already */
    s->sums = says;
    s->assumed = 0;
  }
  if (!has_sums(f)) return CALL(f, xWrite, from, n, at);
  if (!room_for(s, n)) return SQLITE_NOMEM;
  memcpy(s->copy, from, n);
  put_sum(s->copy, n, at / n + 1);
  return CALL(f, xWrite, s->copy, n, at);
}

static int summed_close(sqlite3_file *f) {
  free(OWN(f)->copy);
  OWN(f)->copy = NULL;
  return CALL(f, xClose);
}

/* Without this SQLite would read long texts past the pages' sums. */
static int summed_characteristics(sqlite3_file *f) {
  return CALL(f, xDeviceCharacteristics) & ~SQLITE_IOCAP_SUBPAGE_READ;
}

static int summed_truncate(sqlite3_file *f, sqlite3_int64 size) { return CALL(f, xTruncate, size); }
static int summed_sync(sqlite3_file *f, int flags) { return CALL(f, xSync, flags); }
static int summed_size(sqlite3_file *f, sqlite3_int64 *size) { return CALL(f, xFileSize, size); }
static int summed_lock(sqlite3_file *f, int level) { return CALL(f, xLock, level); }
static int summed_unlock(sqlite3_file *f, int level) { return CALL(f, xUnlock, level); }
static int summed_reserved(sqlite3_file *f, int *out) { return CALL(f, xCheckReservedLock, out); }
static int summed_control(sqlite3_file *f, int op, void *arg) { return CALL(f, xFileControl, op, arg); }
static int summed_sector(sqlite3_file *f) { return CALL(f, xSectorSize); }
static int summed_shm_map(sqlite3_file *f, int page, int size, int extend, void volatile **to) {
  return CALL(f, xShmMap, page, size, extend, to);
}
static int summed_shm_lock(sqlite3_file *f, int at, int n, int flags) { return CALL(f, xShmLock, at, n, flags); }
static void summed_shm_barrier(sqlite3_file *f) { CALL(f, xShmBarrier); }
static int summed_shm_unmap(sqlite3_file *f, int remove) { return CALL(f, xShmUnmap, remove); }

#define BASIC \
  .xClose = summed_close, .xRead = summed_read, .xWrite = summed_write, .xTruncate = summed_truncate, \
  .xSync = summed_sync, .xFileSize = summed_size, .xLock = summed_lock, .xUnlock = summed_unlock, \
  .xCheckReservedLock = summed_reserved, .xFileControl = summed_control, .xSectorSize = summed_sector, \
  .xDeviceCharacteristics = summed_characteristics

/* Version 3 would let SQLite read the file as memory, past the sums. */
static const sqlite3_io_methods shared_methods = {
  .iVersion = 2, BASIC,
  .xShmMap = summed_shm_map, .xShmLock = summed_shm_lock,
  .xShmBarrier = summed_shm_barrier, .xShmUnmap = summed_shm_unmap,
};
static const sqlite3_io_methods basic_methods = {.iVersion = 1, BASIC};

static int summing_open(sqlite3_vfs *v, const char *name, sqlite3_file *f, int flags, int *out) {
  (void)v;
  if (flags & SQLITE_OPEN_WAL) return wal_open(default_vfs, name, f, flags, out);
  if (!(flags & SQLITE_OPEN_MAIN_DB)) return default_vfs->xOpen(default_vfs, name, f, flags, out);
  memset(f, 0, sizeof(struct summed));
  REAL(f)->pMethods = NULL;
  int rc = default_vfs->xOpen(default_vfs, name, REAL(f), flags, out);
  const sqlite3_io_methods *real = REAL(f)->pMethods;
  if (real != NULL) f->pMethods = real->iVersion >= 2 && real->xShmMap != NULL ? &shared_methods : &basic_methods;
  return rc;
}

/* reserve asks, for each new connection, that its file has room for the sums:
** a new one from its first page on, another one when it is next vacuumed. */
static int reserve(sqlite3 *db, char **message, const void *routines) {
  sqlite3_file *f = NULL;
  int n = reserved;
  (void)message;
  (void)routines;
  if (sqlite3_file_control(db, "main", SQLITE_FCNTL_FILE_POINTER, &f) != SQLITE_OK || f == NULL) return SQLITE_OK;
  if (f->pMethods != &shared_methods && f->pMethods != &basic_methods) return SQLITE_OK;
  return sqlite3_file_control(db, "main", SQLITE_FCNTL_RESERVE_BYTES, &n);
}

/* The methods of the default layer are kept but for xOpen: several layers of
** SQLite's own share them, so they ask nothing of the structure they are in. */
int pagesum_register(const char *name) {
  if (!crc32c_choose()) return SQLITE_ERROR;
  if (sqlite3_vfs_find == NULL || (default_vfs = sqlite3_vfs_find(NULL)) == NULL) return SQLITE_ERROR;
  summing_vfs = *default_vfs;
  summing_vfs.pNext = NULL;
  summing_vfs.zName = name;
  summing_vfs.szOsFile += (int)sizeof(struct summed) > wal_needs() ? (int)sizeof(struct summed) : wal_needs();
  summing_vfs.xOpen = summing_open;
  int rc = sqlite3_vfs_register(&summing_vfs, 0);
  if (rc != SQLITE_OK) return rc;
  return sqlite3_auto_extension((void (*)(void))reserve);
}
