package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"benchtally/parts"
	"benchtally/parts/bench"
)

const aboutLabels = `
benchtally labels writes the labels of a job's parts and assemblies, or its
tickets, as a PDF. Print it at 100 %, not fitted to the page. The same sheet
is written again as it was, unless -again asks for new copies.

Example:
  benchtally labels -db shop.db -job TERN-POINT-LOCKERS -what tickets -out tickets.pdf
  benchtally labels -db shop.db -job TERN-POINT-LOCKERS -sheet a4-3x8 -first 5 -out labels.pdf`

func printLabels(ctx context.Context, t *terminal, args []string) error {
	dsn := t.db()
	r := bench.PrintRequest{ID: newID()}
	t.StringVar(&r.Job, "job", "", "the job's `CODE`")
	t.StringVar(&r.What, "what", "labels", "`WHAT` is printed: labels or tickets")
	t.StringVar(&r.Sheet, "sheet", "", "the `FORMAT` of labels, such as letter-3x10, a4-3x8 or roll-57x32 (default: the shop's)")
	t.IntVar(&r.First, "first", 1, "`N`, the first free label of a used sheet, from 1, along the rows")
	t.BoolVar(&r.Again, "again", false, "new copies, even when the same sheet was written before")
	out := t.String("out", "", "the `PDF` to write")
	if _, err := t.read(args); err != nil {
		return err
	}
	switch {
	case r.Job == "":
		return usageError("-job is missing: the code that import printed")
	case *out == "":
		return usageError("-out is missing: the PDF to write")
	case r.First < 1:
		return usageError("-first counts from 1")
	}
	b, err := openShop(ctx, *dsn, bench.Options{Alone: true})
	if err != nil {
		return err
	}
	defer b.Close()
	if _, err := settle(ctx, b, addressOf("", usualPort)); err != nil {
		return err
	}
	return writeWhole(*out, func(w io.Writer) error {
		order, err := b.Print(ctx, r)
		if err != nil {
			return err
		}
		fmt.Fprintf(t.out, "Sheet %d: %s\n", order.ID, *out)
		return b.WriteOrder(ctx, w, order.ID)
	})
}

// openShop opens a shop that must be there.
func openShop(ctx context.Context, dsn string, o bench.Options) (*bench.Bench, error) {
	if err := shopThere(dsn); err != nil {
		return nil, err
	}
	return bench.Open(ctx, dsn, o)
}

func shopThere(dsn string) error {
	if _, err := os.Stat(dsn); !isDatabase(dsn) && err != nil {
		return parts.Problemf(parts.Missing, "shop-missing", "The shop's file %s is not there.", dsn).
			Next("Give its path with -db. The server or an import makes a new one.").Because(err)
	}
	return nil
}

// writeWhole writes a file whole or not at all. That it can be written is
// known before write is asked, because printing is recorded.
func writeWhole(path string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".benchtally-*.pdf")
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	defer os.Remove(f.Name())
	if err := write(f); err != nil {
		f.Close()
		return err
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if err := os.Chmod(f.Name(), 0o644); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return os.Rename(f.Name(), path)
}
