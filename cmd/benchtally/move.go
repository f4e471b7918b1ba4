package main

import (
	"context"
	"fmt"

	"benchtally/parts"
	"benchtally/parts/bench"
)

const aboutMove = `
benchtally move copies a shop from a file into a PostgreSQL database, or back
into a new file. The copy is made whole or not at all: every table is compared
and the log is replayed on both sides first. The shop that is moved stays as
it is. Stop its servers first, and start them with the new -db afterwards.

Example:
  benchtally move -from shop.db -to postgres://shop@localhost/shop`

func move(ctx context.Context, t *terminal, args []string) error {
	from := t.String("from", "", "the shop's `FILE`, or a postgres:// address")
	to := t.String("to", "", "a new `FILE`, or the postgres:// address of an empty database")
	if _, err := t.read(args); err != nil {
		return err
	}
	switch {
	case *from == "":
		return usageError("-from is missing: where the shop is")
	case *to == "":
		return usageError("-to is missing: where it is to go")
	case *from == *to:
		return parts.Problemf(parts.Refused, "target-not-empty", "The shop cannot be moved to where it is.").
			Next("Name a new file, or a database that was just made.")
	}
	if err := shopThere(*from); err != nil {
		return err
	}
	moved, err := bench.Move(ctx, *from, *to)
	if err != nil {
		return err
	}
	fmt.Fprintf(t.out, "%s of %s copied and compared; %s and %s replayed on both sides without a difference.\n",
		count(moved.Rows, "row"), count(moved.Tables, "table"), count(moved.Books.Parts, "mark"), count(moved.Books.Events, "event"))
	fmt.Fprintln(t.out, "Start the server with its new -db from now on, and keep what was moved as a backup.")
	return nil
}
