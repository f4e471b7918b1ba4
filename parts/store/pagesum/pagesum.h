/*
** What SQLite's public interface says of its operating system layer. The Go
** driver links SQLite and ships no header for C code of others, so the few
** declarations that are needed stand here, as documented in
** https://www.sqlite.org/c3ref/vfs.html, io_methods.html and c_access_exists.html.
*/
#ifndef PAGESUM_H
#define PAGESUM_H

#include <stdint.h>

typedef long long sqlite3_int64;
typedef struct sqlite3 sqlite3;
typedef struct sqlite3_vfs sqlite3_vfs;
typedef struct sqlite3_file sqlite3_file;
typedef struct sqlite3_io_methods sqlite3_io_methods;

struct sqlite3_file {
  const sqlite3_io_methods *pMethods;
};

struct sqlite3_io_methods {
  int iVersion;
  int (*xClose)(sqlite3_file*);
  int (*xRead)(sqlite3_file*, void*, int iAmt, sqlite3_int64 iOfst);
  int (*xWrite)(sqlite3_file*, const void*, int iAmt, sqlite3_int64 iOfst);
  int (*xTruncate)(sqlite3_file*, sqlite3_int64 size);
  int (*xSync)(sqlite3_file*, int flags);
  int (*xFileSize)(sqlite3_file*, sqlite3_int64 *pSize);
  int (*xLock)(sqlite3_file*, int);
  int (*xUnlock)(sqlite3_file*, int);
  int (*xCheckReservedLock)(sqlite3_file*, int *pResOut);
  int (*xFileControl)(sqlite3_file*, int op, void *pArg);
  int (*xSectorSize)(sqlite3_file*);
  int (*xDeviceCharacteristics)(sqlite3_file*);
  /* from version 2 on */
  int (*xShmMap)(sqlite3_file*, int iPg, int pgsz, int, void volatile**);
  int (*xShmLock)(sqlite3_file*, int offset, int n, int flags);
  void (*xShmBarrier)(sqlite3_file*);
  int (*xShmUnmap)(sqlite3_file*, int deleteFlag);
  /* from version 3 on: mapping the file into memory, which is not offered */
  int (*xFetch)(sqlite3_file*, sqlite3_int64 iOfst, int iAmt, void **pp);
  int (*xUnfetch)(sqlite3_file*, sqlite3_int64 iOfst, void *p);
};

struct sqlite3_vfs {
  int iVersion;
  int szOsFile;
  int mxPathname;
  sqlite3_vfs *pNext;
  const char *zName;
  void *pAppData;
  int (*xOpen)(sqlite3_vfs*, const char *zName, sqlite3_file*, int flags, int *pOutFlags);
  int (*xDelete)(sqlite3_vfs*, const char *zName, int syncDir);
  int (*xAccess)(sqlite3_vfs*, const char *zName, int flags, int *pResOut);
  int (*xFullPathname)(sqlite3_vfs*, const char *zName, int nOut, char *zOut);
  void *(*xDlOpen)(sqlite3_vfs*, const char *zFilename);
  void (*xDlError)(sqlite3_vfs*, int nByte, char *zErrMsg);
  void (*(*xDlSym)(sqlite3_vfs*, void*, const char *zSymbol))(void);
  void (*xDlClose)(sqlite3_vfs*, void*);
  int (*xRandomness)(sqlite3_vfs*, int nByte, char *zOut);
  int (*xSleep)(sqlite3_vfs*, int microseconds);
  int (*xCurrentTime)(sqlite3_vfs*, double*);
  int (*xGetLastError)(sqlite3_vfs*, int, char *);
  /* from version 2 on */
  int (*xCurrentTimeInt64)(sqlite3_vfs*, sqlite3_int64*);
  /* from version 3 on */
  int (*xSetSystemCall)(sqlite3_vfs*, const char *zName, void (*)(void));
  void (*(*xGetSystemCall)(sqlite3_vfs*, const char *zName))(void);
  const char *(*xNextSystemCall)(sqlite3_vfs*, const char *zName);
};

#define SQLITE_OK 0
#define SQLITE_ERROR 1
#define SQLITE_NOMEM 7
#define SQLITE_IOERR 10
#define SQLITE_CORRUPT 11
#define SQLITE_IOERR_SHORT_READ (SQLITE_IOERR | (2 << 8))
#define SQLITE_IOERR_WRITE (SQLITE_IOERR | (3 << 8))
#define SQLITE_IOERR_FSYNC (SQLITE_IOERR | (4 << 8))
#define SQLITE_OPEN_MAIN_DB 0x00000100
#define SQLITE_OPEN_WAL 0x00080000
#define SQLITE_IOCAP_SUBPAGE_READ 0x00008000
#define SQLITE_FCNTL_FILE_POINTER 7
#define SQLITE_FCNTL_RESERVE_BYTES 38

/*
** Weak, because the library that has them is linked to the whole program and
** not to this package, which the go command links by itself once.
*/
extern sqlite3_vfs *sqlite3_vfs_find(const char *zVfsName) __attribute__((weak));
extern int sqlite3_vfs_register(sqlite3_vfs*, int makeDflt) __attribute__((weak));
extern int sqlite3_auto_extension(void (*xEntryPoint)(void)) __attribute__((weak));
extern int sqlite3_file_control(sqlite3*, const char *zDbName, int op, void*) __attribute__((weak));

/* wal_open opens a write-ahead log in the layer below; f has room for wal_needs
** bytes and what that layer needs. */
int wal_open(sqlite3_vfs *below, const char *name, sqlite3_file *f, int flags, int *out);
int wal_needs(void);

/* crc32c goes on with the sum c over n bytes. crc32c_choose chooses the fastest
** way to it, before its first use, and says whether it gives the known sums. */
extern uint32_t (*crc32c)(uint32_t c, const unsigned char *p, int n);
int crc32c_choose(void);

/* pagesum_register makes the operating system layer known under its name. */
int pagesum_register(const char *name);

#endif
