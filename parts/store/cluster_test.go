package store_test

import (
	"database/sql"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts/shoptest"
)

// cluster is a PostgreSQL of a test's own, for what nobody may do to a shared
// one: kill it, or let its standby take over.
type cluster struct {
	t    testing.TB
	bin  string // folder of the programs
	dir  string // the data
	port int
}

// newCluster makes an empty one and starts it. What it acknowledges is on the
// disk, as in a shop.
func newCluster(t testing.TB) *cluster {
	c := emptyCluster(t)
	c.run("initdb", "-N", "-D", c.dir, "-U", "tests", "-A", "trust", "-E", "UTF8")
	c.start()
	return c
}

// emptyCluster is a place for one.
func emptyCluster(t testing.TB) *cluster {
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin")
	if len(found) == 0 {
		shoptest.SkipOrFail(t, "PostgreSQL is not installed (Debian: postgresql)")
	}
	slices.Sort(found)
	above, err := os.MkdirTemp("", "benchtally-pg-")
	require.NoError(t, err)
	t.Cleanup(func() { os.RemoveAll(above) })
	c := &cluster{t: t, bin: found[len(found)-1], dir: filepath.Join(above, "pg"), port: freePort(t)}
	if who := c.user(); who != nil {
		require.NoError(t, os.Chown(above, int(who.Uid), int(who.Gid)))
	}
	return c
}

// user is who PostgreSQL runs as: it refuses to run as root.
func (c *cluster) user() *syscall.Credential {
	if os.Geteuid() != 0 {
		return nil
	}
	u, err := user.Lookup("postgres")
	require.NoError(c.t, err)
	uid, err := strconv.Atoi(u.Uid)
	require.NoError(c.t, err)
	gid, err := strconv.Atoi(u.Gid)
	require.NoError(c.t, err)
	return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
}

func (c *cluster) try(program string, args ...string) error {
	cmd := exec.Command(filepath.Join(c.bin, program), args...)
	cmd.Dir = "/"
	if who := c.user(); who != nil {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: who}
	}
	log, err := os.CreateTemp(c.t.TempDir(), "log") // a pipe would stay open as long as the server runs
	require.NoError(c.t, err)
	defer log.Close()
	cmd.Stdout, cmd.Stderr = log, log
	if err := cmd.Run(); err != nil {
		said, _ := os.ReadFile(log.Name())
		return fmt.Errorf("%s: %w\n%s", program, err, said)
	}
	return nil
}

func (c *cluster) run(program string, args ...string) {
	c.t.Helper()
	require.NoError(c.t, c.try(program, args...))
}

// start starts it. After a kill the kernel needs a moment to notice that the
// last of its processes is gone.
func (c *cluster) start() {
	c.t.Helper()
	options := fmt.Sprintf("-c listen_addresses=127.0.0.1 -c port=%d -c unix_socket_directories= -c wal_keep_size=64", c.port)
	var err error
	for range 50 {
		if err = c.try("pg_ctl", "-D", c.dir, "-w", "-l", c.dir+".log", "-o", options, "start"); err == nil {
			c.t.Cleanup(func() { c.try("pg_ctl", "-D", c.dir, "-m", "immediate", "stop") })
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	require.NoError(c.t, err)
}

// kill ends it as a power cut would end the program: at once, whatever it does.
func (c *cluster) kill() {
	c.t.Helper()
	data, err := os.ReadFile(filepath.Join(c.dir, "postmaster.pid"))
	require.NoError(c.t, err)
	pid, err := strconv.Atoi(strings.Fields(string(data))[0])
	require.NoError(c.t, err)
	require.NoError(c.t, syscall.Kill(pid, syscall.SIGKILL))
}

// standby starts a copy that follows it and that every commit waits for.
func (c *cluster) standby() *cluster {
	c.t.Helper()
	s := emptyCluster(c.t)
	s.run("pg_basebackup", "-h", "127.0.0.1", "-p", strconv.Itoa(c.port), "-U", "tests", "-D", s.dir, "-R", "-X", "stream", "-c", "fast", "--no-sync")
	s.start()
	db := c.open()
	for _, do := range []string{"ALTER SYSTEM SET synchronous_standby_names = '*'", "SELECT pg_reload_conf()"} {
		_, err := db.Exec(do)
		require.NoError(c.t, err)
	}
	require.Eventually(c.t, func() bool {
		var follows bool
		err := db.QueryRow("SELECT EXISTS (SELECT 1 FROM pg_stat_replication WHERE sync_state = 'sync')").Scan(&follows)
		return err == nil && follows
	}, 10*time.Second, 50*time.Millisecond, "the standby follows")
	return s
}

// dsn is the address of its database, and of those of others that may take over.
func (c *cluster) dsn(others ...*cluster) string {
	hosts := []string{fmt.Sprintf("127.0.0.1:%d", c.port)}
	for _, o := range others {
		hosts = append(hosts, fmt.Sprintf("127.0.0.1:%d", o.port))
	}
	return "postgres://tests@" + strings.Join(hosts, ",") + "/postgres?sslmode=disable&target_session_attrs=read-write"
}

func (c *cluster) open() *sql.DB {
	c.t.Helper()
	db, err := sql.Open("pgx", c.dsn())
	require.NoError(c.t, err)
	c.t.Cleanup(func() { db.Close() })
	return db
}

func freePort(t testing.TB) int {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}
