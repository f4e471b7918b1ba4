package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
)

const aboutImport = `
benchtally import makes a job of a cut list, CSV or XLSX: every part gets a
mark, every line a ticket. A list with anything wrong in it makes nothing, and
every mistake is named with its row and column. What goes into what is written
in the assembly column, the outer one first: Bench back > Ladder.

Example:
  benchtally import -db shop.db -job "Tern Point lockers" lockers.csv
  benchtally import -db shop.db -job Cleats -unit mm -map 'Artikel=part' -assemblies 'Locker front=12' list.xlsx`

func importList(ctx context.Context, t *terminal, args []string) error {
	dsn := t.db()
	job := t.String("job", "", "the job's `NAME`")
	choices := cutlist.Choices{Columns: map[string]cutlist.Field{}, Assemblies: map[string]int{}}
	listFlags(t, &choices)
	words, err := t.read(args, "LIST")
	if err != nil {
		return err
	}
	if strings.TrimSpace(*job) == "" {
		return usageError("-job is missing: the name people call the job")
	}
	table, err := readTable(words[0])
	if err != nil {
		return err
	}
	b, err := bench.Open(ctx, *dsn, bench.Options{Alone: true})
	if err != nil {
		return err
	}
	defer b.Close()
	return makeJob(ctx, t, b, *dsn, *job, table, choices)
}

// listFlags adds the flags that say how a list is read.
func listFlags(t *terminal, c *cutlist.Choices) {
	t.Func("unit", "`UNIT` of numbers without one, in or mm (default: the shop's)", func(s string) error {
		if c.Unit = parts.Unit(s); c.Unit != parts.Inches && c.Unit != parts.Millimetres {
			return fmt.Errorf("it is in or mm")
		}
		return nil
	})
	t.Func("map", "`HEADING=field`: what a column holds; may be given many times", func(s string) error {
		heading, field, err := cutlist.ParseColumn(s)
		c.Columns[heading] = field
		return err
	})
	t.Func("assemblies", "`NAME=N`: how many are made of an assembly, 'Bench back > Ladder=8' of one inside another; may be given many times", func(s string) error {
		at := strings.LastIndexByte(s, '=')
		if at < 1 {
			return fmt.Errorf("write NAME=N, such as 'Locker front=12'")
		}
		n, err := strconv.Atoi(s[at+1:])
		if err != nil {
			return fmt.Errorf("%q is not a number", s[at+1:])
		}
		c.Assemblies[s[:at]] = n
		return nil
	})
}

func readTable(path string) (cutlist.Table, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return cutlist.Table{}, parts.Problemf(parts.Missing, "list-missing", "The list %s cannot be read.", path).
			Next("Give the path of a CSV or XLSX file.").Because(err)
	}
	return cutlist.ReadFile(filepath.Base(path), data)
}

// makeJob makes the job and says what was made, or what is wrong.
func makeJob(ctx context.Context, t *terminal, b *bench.Bench, dsn, name string, table cutlist.Table, c cutlist.Choices) error {
	set, err := settle(ctx, b, addressOf("", usualPort))
	if err != nil {
		return err
	}
	if c.Unit == "" {
		c.Unit = set.Unit
	}
	p, err := b.Preview(ctx, table, c, bench.Picks{})
	if err != nil {
		return err
	}
	if n := len(p.List.Troubles); n > 0 {
		for _, trouble := range p.List.Troubles {
			fmt.Fprintln(t.err, trouble)
		}
		return parts.Problemf(parts.Invalid, "list-troubled", "Nothing was imported.").Next("Put this right in the list and import it again.")
	}
	for _, hint := range p.Hints {
		fmt.Fprintf(t.err, "Worth a look: %s\n", hint)
	}
	job, err := b.MakeJob(ctx, newID(), name, p)
	if err != nil {
		return err
	}
	fmt.Fprintf(t.out, "Job: %s\n", job.Code)
	extra := count(p.Spares, "spare")
	if p.Tests > 0 {
		extra += ", " + count(p.Tests, "test piece")
	}
	fmt.Fprintf(t.out, "%s, %s and %s on %s.\n", count(p.Parts, "part"), extra, count(p.Made, "assembly"), count(len(p.Lines), "line"))
	fmt.Fprintf(t.out, "Print its tickets: benchtally labels -db %s -job %s -what tickets -out tickets.pdf\n", dsn, job.Code)
	return nil
}

// newID makes the id of a command.
func newID() parts.CommandID { return parts.CommandID(uuid.Must(uuid.NewV7())) }

// count writes a number with what is counted: "1 part", "12 assemblies".
func count(n int, what string) string {
	switch stem, y := strings.CutSuffix(what, "y"); {
	case n == 1:
	case y:
		what = stem + "ies"
	default:
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}
