package main

import (
	"context"
	"fmt"

	"benchtally/parts"
	"benchtally/parts/bench"
)

const aboutRestore = `
benchtally restore puts a backup in the place of the shop's file. Stop the
server first. The backup is looked over and replayed before anything is touched,
and stays as it is. A file that is there is replaced only with -replace, and is
kept beside the new one.

Phones that still hold scans send them afterwards. What was recorded since the
backup is in the old file only.

Example:
  benchtally restore -db shop.db -from /media/stick/shop-monday.db -replace`

func restore(ctx context.Context, t *terminal, args []string) error {
	dsn := t.db()
	from := t.String("from", "", "the `FILE` of the backup")
	replace := t.Bool("replace", false, "put it in the place of a file that is there")
	if _, err := t.read(args); err != nil {
		return err
	}
	if *from == "" {
		return usageError("-from is missing: which backup?")
	}
	done, err := bench.Restore(ctx, *dsn, *from, *replace, bench.Options{})
	if p := parts.AsProblem(err); p != nil && p.Code == "server-running" {
		return p.Next("Stop it first.")
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(t.out, "%s is as it was in %s: %s, %s, checked.\n", *dsn, *from, count(done.Books.Parts, "mark"), count(done.Books.Events, "event"))
	fmt.Fprintln(t.out, "Phones, people, passwords and tokens are as they were then, too: whoever was taken out since is in again.")
	if done.Aside != "" {
		fmt.Fprintf(t.out, "The file that was there is now %s.\n", done.Aside)
	}
	return nil
}
