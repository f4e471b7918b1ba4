package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/access"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// said is what a command printed, and its exit code.
type said struct {
	code     int
	out, err string
}

// runs runs a command line to its end.
func runs(t testing.TB, args ...string) said {
	t.Helper()
	var out, err bytes.Buffer
	code := run(t.Context(), args, &out, &err)
	return said{code, out.String(), err.String()}
}

// fine runs a command line that must succeed.
func fine(t testing.TB, args ...string) string {
	t.Helper()
	s := runs(t, args...)
	require.Equal(t, exitFine, s.code, "%s", s.err)
	require.Empty(t, s.err)
	return s.out
}

// write makes a file and gives its path.
func write(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	return path
}

// newShop is the path of a shop with one small job.
func newShop(t *testing.T) string {
	t.Helper()
	db := filepath.Join(t.TempDir(), "shop.db")
	out := fine(t, "import", "-db", db, "-job", "Tern Point lockers", "-assemblies", "Locker front=2", write(t, "list.csv", shoptest.FramesList))
	require.Contains(t, out, "Job: TERN-POINT-LOCKERS\n")
	require.Contains(t, out, "9 parts, 1 spare and 2 assemblies on 3 lines.\n")
	return db
}

func TestHelp(t *testing.T) {
	for _, args := range []string{"help", "-h", "--help"} {
		out := fine(t, args)
		for _, c := range commands() {
			require.Contains(t, out, "  "+c.name+" ")
		}
	}
	for _, c := range commands() {
		for _, flag := range []string{"-h", "--help"} {
			out := fine(t, c.name, flag)
			require.True(t, strings.HasPrefix(out, "benchtally "+c.name+" "), "%s", out)
			require.Contains(t, out, "Example:\n  ")
			require.Contains(t, out, "Flags:\n")
		}
	}
}

func TestCommandLinesThatMakeNoSense(t *testing.T) {
	tests := []struct {
		name string
		args []string
		says string
	}{
		{"an unknown command", []string{"paint"}, "  rebuild "},
		{"an unknown flag", []string{"check", "-colour"}, "-colour"},
		{"a flag without its value", []string{"check", "-db"}, "-db"},
		{"a word too many", []string{"check", "x"}, `"x"`},
		{"no list", []string{"import", "-job", "X"}, "LIST is missing"},
		{"two lists", []string{"import", "-job", "X", "a.csv", "b.csv"}, `"b.csv"`},
		{"no job", []string{"import", "a.csv"}, "-job"},
		{"a strange unit", []string{"import", "-job", "X", "-unit", "cubit", "a.csv"}, "in or mm"},
		{"a map without a field", []string{"import", "-job", "X", "-map", "Artikel", "a.csv"}, "HEADING=field"},
		{"a map to no field", []string{"import", "-job", "X", "-map", "Artikel=colour", "a.csv"}, "colour"},
		{"assemblies without a number", []string{"import", "-job", "X", "-assemblies", "Front", "a.csv"}, "NAME=N"},
		{"assemblies with a word", []string{"import", "-job", "X", "-assemblies", "Front=two", "a.csv"}, `"two"`},
		{"labels of no job", []string{"labels", "-out", "x.pdf"}, "-job"},
		{"labels to no file", []string{"labels", "-job", "X"}, "-out"},
		{"labels from nought", []string{"labels", "-job", "X", "-out", "x.pdf", "-first", "0"}, "from 1"},
		{"an address without a port", []string{"serve", "-addr", "localhost"}, "HOST:PORT"},
		{"the same without a command", []string{"-addr", "localhost"}, "HOST:PORT"},
		{"a backup to nowhere", []string{"backup"}, "-out"},
		{"a restore of nothing", []string{"restore"}, "-from"},
		{"backups every second", []string{"serve", "-backup", "x", "-backup-every", "1s"}, "a minute"},
		{"backups every now and then", []string{"serve", "-backup", "x", "-backup-every", "daily"}, "1d, 8h"},
		{"backups before yesterday", []string{"serve", "-backup", "x", "-backup-every", "-1d"}, "a minute"},
		{"no backup that stays", []string{"serve", "-backup", "x", "-keep", "0"}, "-keep"},
		{"backups of a PostgreSQL shop", []string{"serve", "-backup", "x", "-db", "postgres://localhost/shop"}, "pg_dump"},
		{"a demo without a port", []string{"demo", "-addr", "8080"}, "HOST:PORT"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Chdir(t.TempDir())
			s := runs(t, tt.args...)
			require.Equal(t, exitUsage, s.code, "%s", s.err)
			require.Empty(t, s.out)
			require.Contains(t, s.err, tt.says)
			left, err := os.ReadDir(".")
			require.NoError(t, err)
			require.Empty(t, left, "nothing is made before the command line is understood")
		})
	}
}

func TestImportTakesFlagsBeforeAndAfterTheList(t *testing.T) {
	list := write(t, "list.csv", "Qty;Artikel;Length;Assembly\n4;Stile;876,3;Locker front\n")
	for _, args := range [][]string{
		{"-job", "A", "-unit", "mm", "-map", "Artikel=part", "-assemblies", "Locker front=2", list},
		{list, "-job", "A", "-unit", "mm", "-map", "Artikel=part", "-assemblies", "Locker front=2"},
		{"-job", "A", list, "-unit=mm", "-map", "Artikel=part", "-assemblies=Locker front=2"},
		{"-job", "A", "-unit", "mm", "-map", "Artikel=part", "-assemblies", "Locker front=2", "--", list},
	} {
		db := filepath.Join(t.TempDir(), "shop.db")
		out := fine(t, append([]string{"import", "-db", db}, args...)...)
		require.Contains(t, out, "Job: A\n4 parts, 0 spares and 2 assemblies on 1 line.\n")
		require.NoError(t, withShop(t, db, func(b *bench.Bench) error {
			job, err := b.Job(t.Context(), "A")
			require.Equal(t, parts.Inch*69/2, job.Lines[0].Length.Length, "876.3 mm is 34 1/2 in exactly")
			return err
		}))
	}
}

func withShop(t *testing.T, db string, do func(*bench.Bench) error) error {
	t.Helper()
	b, err := bench.Open(context.Background(), db, bench.Options{})
	require.NoError(t, err)
	defer b.Close()
	return do(b)
}

func TestATroubledListImportsNothing(t *testing.T) {
	db := filepath.Join(t.TempDir(), "shop.db")
	s := runs(t, "import", "-db", db, "-job", "X", write(t, "list.csv", "Qty,Part,Length\n2,Stile,34 1/2\n1.5,Rail,elleven\n"))
	require.Equal(t, exitProblem, s.code)
	require.Empty(t, s.out)
	lines := strings.Split(strings.TrimSpace(s.err), "\n")
	require.Len(t, lines, 3)
	require.True(t, strings.HasPrefix(lines[0], "row 3, quantity: "), lines[0])
	require.True(t, strings.HasPrefix(lines[1], "row 3, length: "), lines[1])
	require.True(t, strings.HasPrefix(lines[2], "Nothing was imported."), lines[2])
	require.Equal(t, "All is well: 0 marks, 0 events, 0 differences.\n", fine(t, "check", "-db", db))

	for _, list := range []string{"missing.csv", write(t, "list.pdf", "%PDF-1.7"), write(t, "empty.csv", "")} {
		require.Equal(t, exitProblem, runs(t, "import", "-db", db, "-job", "X", list).code)
	}
}

func TestLabels(t *testing.T) {
	db := newShop(t)
	dir := t.TempDir()
	read := func(name string) string {
		data, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		require.True(t, bytes.HasPrefix(data, []byte("%PDF-")))
		return string(data)
	}
	labels := func(out string, also ...string) string {
		return fine(t, append([]string{"labels", "-db", db, "-job", "tern-point-lockers", "-out", filepath.Join(dir, out)}, also...)...)
	}
	require.Contains(t, labels("a.pdf", "-sheet", "letter-3x10"), "Sheet 1: ")
	require.Contains(t, labels("b.pdf"), "Sheet 1: ", "letter-3x10 is the shop's sheet")
	require.Equal(t, read("a.pdf"), read("b.pdf"), "the same sheet is the same bytes")
	require.Contains(t, labels("c.pdf", "-again"), "Sheet 2: ")
	require.NotEqual(t, read("a.pdf"), read("c.pdf"), "the second copies say so")
	labels("d.pdf", "-what", "tickets")
	labels("e.pdf", "-sheet", "a4-3x8", "-first", "24")
	for name, args := range map[string][]string{"sheet-unknown": {"-sheet", "x"}, "first-out": {"-first", "31"}, "print-what": {"-what", "money"}} {
		s := runs(t, append([]string{"labels", "-db", db, "-job", "TERN-POINT-LOCKERS", "-out", filepath.Join(dir, "x.pdf")}, args...)...)
		require.Equal(t, exitProblem, s.code, name)
	}
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, left, 5, "what failed leaves no file")
}

func TestLabelsThatCannotBeWrittenAreNotPrinted(t *testing.T) {
	db := newShop(t)
	before := fine(t, "check", "-db", db)
	s := runs(t, "labels", "-db", db, "-job", "TERN-POINT-LOCKERS", "-out", filepath.Join(t.TempDir(), "missing", "x.pdf"))
	require.Equal(t, exitProblem, s.code)
	require.Equal(t, before, fine(t, "check", "-db", db))
}

// Labels can be printed before the server was ever started: they name this
// computer and the usual port.
func TestTheFirstImportSettlesTheAddress(t *testing.T) {
	t.Setenv("TZ", "America/New_York")
	require.NoError(t, withShop(t, newShop(t), func(b *bench.Bench) error {
		set, err := b.Settings(t.Context())
		require.Equal(t, addressOf("", 8080), set.Address)
		require.Equal(t, "America/New_York", set.Zone)
		return err
	}))
}

func TestCheckAndRebuild(t *testing.T) {
	db := newShop(t)
	require.Equal(t, "All is well: 16 marks, 16 events, 0 differences.\n", fine(t, "check", "-db", db))
	require.Equal(t, "16 states made again from 16 events.\n", fine(t, "rebuild", "-db", db))

	damage(t, db, "UPDATE part_states SET label_due = 1, state = replace(state, '\"next\":0', '\"next\":3')")
	s := runs(t, "check", "-db", db)
	require.Equal(t, exitProblem, s.code)
	require.Equal(t, "16 marks, 16 events, 16 differences.\n", s.out)
	require.Contains(t, s.err, "benchtally rebuild -db "+db)
	fine(t, "rebuild", "-db", db)
	require.Equal(t, "All is well: 16 marks, 16 events, 0 differences.\n", fine(t, "check", "-db", db))
}

func TestAShopThatIsNotThere(t *testing.T) {
	db := filepath.Join(t.TempDir(), "no", "shop.db")
	for _, args := range [][]string{{"check"}, {"rebuild"}, {"labels", "-job", "X", "-out", "x.pdf"}} {
		s := runs(t, append(args, "-db", db)...)
		require.Equal(t, exitProblem, s.code)
		require.Contains(t, s.err, "is not there")
		require.NoFileExists(t, db, "a slip in -db makes no new shop")
	}
}

func TestTokenPrintsATokenAndNothingElse(t *testing.T) {
	db := newShop(t)
	first, second := fine(t, "token", "-db", db, "-scope", "read,scan"), fine(t, "token", "-db", db, "-scope", "read")
	require.Regexp(t, regexp.MustCompile(`^[A-Za-z0-9_-]{32}\n$`), first)
	require.NotEqual(t, first, second)
	require.NoError(t, withShop(t, db, func(b *bench.Bench) error {
		token, known, err := b.Program(t.Context(), strings.TrimSpace(first))
		require.True(t, known)
		require.Equal(t, []access.Scope{access.Read, access.Scan}, token.Scopes)
		return err
	}))
}

func TestVersion(t *testing.T) {
	require.Regexp(t, regexp.MustCompile(`^benchtally \S+.*, go1\.\S+ \w+/\w+\n$`), fine(t, "version"))
	for _, words := range []string{"SHA-256", "github.com/gin-gonic/gin | MIT", "Bitstream Vera", "Apache License", "uPlot"} {
		require.Contains(t, fine(t, "version", "-notices"), words)
	}
}

func TestCounts(t *testing.T) {
	for want, got := range map[string]string{"1 part": count(1, "part"), "0 parts": count(0, "part"), "1 assembly": count(1, "assembly"), "2 assemblies": count(2, "assembly")} {
		require.Equal(t, want, got)
	}
}
