package main

import (
	"context"
	"fmt"
	"runtime"
	"runtime/debug"

	"benchtally/parts/bench"
)

const aboutCheck = `
benchtally check looks for damage in the file, replays everything that was ever
recorded and compares what it adds up to with the present state. It changes
nothing and may run beside the server. Exit code 1 says that something is wrong.

Example:
  benchtally check -db shop.db`

func check(ctx context.Context, t *terminal, args []string) error {
	dsn := t.db()
	if _, err := t.read(args); err != nil {
		return err
	}
	b, err := openShop(ctx, *dsn, bench.Options{})
	if err != nil {
		return err
	}
	defer b.Close()
	books, err := b.Check(ctx)
	if err != nil {
		return err
	}
	for _, d := range books.Damage {
		fmt.Fprintln(t.err, d)
	}
	if len(books.Damage) > 0 {
		return b.Sound(books)
	}
	if len(books.Differences) == 0 {
		fmt.Fprint(t.out, "All is well: ")
	}
	fmt.Fprintf(t.out, "%s, %s, %s.\n", count(books.Parts, "mark"), count(books.Events, "event"), count(len(books.Differences), "difference"))
	for _, d := range books.Differences {
		fmt.Fprintln(t.err, d)
	}
	return b.Sound(books)
}

const aboutRebuild = `
benchtally rebuild makes the present state of every part again from the log.
Stop the server first, and keep a copy of the file.

Example:
  benchtally rebuild -db shop.db`

func rebuild(ctx context.Context, t *terminal, args []string) error {
	dsn := t.db()
	if _, err := t.read(args); err != nil {
		return err
	}
	b, err := openShop(ctx, *dsn, bench.Options{Alone: true})
	if err != nil {
		return err
	}
	defer b.Close()
	if err := b.Rebuild(ctx); err != nil {
		return err
	}
	books, err := b.Check(ctx)
	if err != nil {
		return err
	}
	fmt.Fprintf(t.out, "%s made again from %s.\n", count(books.Parts, "state"), count(books.Events, "event"))
	return nil
}

const aboutVersion = `
benchtally version says which version this is and what it was built from; with
-notices also whose work is in it, and their licences.

Example:
  benchtally version -notices`

func version(_ context.Context, t *terminal, args []string) error {
	notices := t.Bool("notices", false, "the work of others in it, with their licences")
	if _, err := t.read(args); err != nil {
		return err
	}
	revision, edited := "", ""
	number := "unknown"
	if info, ok := debug.ReadBuildInfo(); ok {
		number = info.Main.Version
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision":
				revision = " " + s.Value[:min(12, len(s.Value))]
			case s.Key == "vcs.modified" && s.Value == "true":
				edited = " with changes"
			}
		}
	}
	fmt.Fprintf(t.out, "benchtally %s%s%s, %s %s/%s\n", number, revision, edited, runtime.Version(), runtime.GOOS, runtime.GOARCH)
	if *notices {
		return printNotices(t.out)
	}
	return nil
}
