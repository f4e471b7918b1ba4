/*
** The write-ahead log as it is written: SQLite writes two pieces for each page,
** and asks for a sync that covers the file's dates too. Here what a commit adds
** is written in one call, and synced without the dates. Nothing else changes:
** the log and its sums are SQLite's own.
*/
#ifdef __linux__
#define _GNU_SOURCE
#endif
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#ifdef __linux__
#include <fcntl.h>
#include <unistd.h>
#endif

#include "pagesum.h"

enum {
  frame_header = 24,       /* bytes before each page; see https://www.sqlite.org/fileformat2.html#walformat */
  last_of_commit = 4,      /* where it says, by not being zero, that the page ends a commit */
  most_held = (1 << 17) - 1, /* the layer below writes no more at a time */
};

/* A log. What the layer below keeps of it follows in memory. */
struct wal {
  sqlite3_file file;
  unsigned char *held; /* what is to be written, n bytes from the place at on */
  int n;
  sqlite3_int64 at;
  int ends;   /* the frame that is begun ends a commit */
  int own;    /* the same file, opened once more for syncs; -1 for not */
  int synced; /* the layer below has synced it, and with it its name in the folder */
};

#define WAL(f) ((struct wal *)(f))
#define BELOW(f) ((sqlite3_file *)(WAL(f) + 1))
#define CALL(f, method, ...) (BELOW(f)->pMethods->method(BELOW(f), ##__VA_ARGS__))

/* down writes what is held. When that fails nothing is held any more: SQLite
** takes the commit back, and the next one goes to the same place. */
static int down(sqlite3_file *f) {
  int n = WAL(f)->n;
  WAL(f)->n = 0;
  return n == 0 ? SQLITE_OK : CALL(f, xWrite, WAL(f)->held, n, WAL(f)->at);
}

/* wal_write holds what follows on what is held, until the last page of a
** commit: other connections read it from then on. */
static int wal_write(sqlite3_file *f, const void *from, int n, sqlite3_int64 at) {
  struct wal *w = WAL(f);
  int ends = n != frame_header && w->ends, rc = SQLITE_OK;
  if (at != w->at + w->n || w->n + n > most_held) rc = down(f);
  if (rc != SQLITE_OK) return rc;
  if (w->held == NULL && (w->held = malloc(most_held)) == NULL) return SQLITE_NOMEM;
  if (w->n == 0) w->at = at;
  memcpy(w->held + w->n, from, n);
  w->n += n;
  w->ends = n == frame_header && memcmp((const char *)from + last_of_commit, "\0\0\0\0", 4) != 0;
  return ends ? down(f) : SQLITE_OK;
}

static int wal_sync(sqlite3_file *f, int flags) {
  struct wal *w = WAL(f);
  int rc = down(f);
  if (rc != SQLITE_OK) return rc;
#ifdef __linux__
  if (w->synced && w->own >= 0) return fdatasync(w->own) == 0 ? SQLITE_OK : SQLITE_IOERR_FSYNC;
#endif
  rc = CALL(f, xSync, flags);
  w->synced = rc == SQLITE_OK;
  return rc;
}

static int wal_close(sqlite3_file *f) {
  int rc = down(f), closed = CALL(f, xClose);
  free(WAL(f)->held);
  WAL(f)->held = NULL;
#ifdef __linux__
  if (WAL(f)->own >= 0) close(WAL(f)->own);
#endif
  return rc != SQLITE_OK ? rc : closed;
}

/* Everything else sees the file as it would be. */
#define AFTER_DOWN(method, ...) \
  int rc = down(f); \
  return rc != SQLITE_OK ? rc : CALL(f, method, ##__VA_ARGS__)

static int wal_read(sqlite3_file *f, void *to, int n, sqlite3_int64 at) { AFTER_DOWN(xRead, to, n, at); }
static int wal_truncate(sqlite3_file *f, sqlite3_int64 size) { AFTER_DOWN(xTruncate, size); }
static int wal_size(sqlite3_file *f, sqlite3_int64 *size) { AFTER_DOWN(xFileSize, size); }
static int wal_control(sqlite3_file *f, int op, void *arg) { AFTER_DOWN(xFileControl, op, arg); }
static int wal_lock(sqlite3_file *f, int level) { return CALL(f, xLock, level); }
static int wal_unlock(sqlite3_file *f, int level) { return CALL(f, xUnlock, level); }
static int wal_reserved(sqlite3_file *f, int *out) { return CALL(f, xCheckReservedLock, out); }
static int wal_sector(sqlite3_file *f) { return CALL(f, xSectorSize); }
static int wal_characteristics(sqlite3_file *f) { return CALL(f, xDeviceCharacteristics); }

static const sqlite3_io_methods wal_methods = {
  .iVersion = 1, .xClose = wal_close, .xRead = wal_read, .xWrite = wal_write, .xTruncate = wal_truncate,
  .xSync = wal_sync, .xFileSize = wal_size, .xLock = wal_lock, .xUnlock = wal_unlock,
  .xCheckReservedLock = wal_reserved, .xFileControl = wal_control, .xSectorSize = wal_sector,
  .xDeviceCharacteristics = wal_characteristics,
};

int wal_needs(void) { return sizeof(struct wal); }

int wal_open(sqlite3_vfs *below, const char *name, sqlite3_file *f, int flags, int *out) {
  memset(f, 0, sizeof(struct wal));
  WAL(f)->own = -1;
  BELOW(f)->pMethods = NULL;
  int rc = below->xOpen(below, name, BELOW(f), flags, out);
  if (BELOW(f)->pMethods != NULL) f->pMethods = &wal_methods;
#ifdef __linux__
  if (rc == SQLITE_OK) WAL(f)->own = open(name, O_RDWR | O_CLOEXEC);
#endif
  return rc;
}
