package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strconv"
	"strings"
	"time"

	"benchtally/parts/bench"
)

const aboutBackup = `
benchtally backup copies the whole shop, with its pictures, into a new file. The
server may be running: work goes on. The copy is opened, looked over and
replayed before it gets its name, so a backup that is there is good.

Keep one on another disk. With -https, the folder of the certificates beside the
shop's file belongs into the backup too.

The folder must be there: on a stick that is not in, nothing is made.

Example:
  benchtally backup -db shop.db -out /media/stick/shop-monday.db`

func backup(ctx context.Context, t *terminal, args []string) error {
	dsn := t.db()
	out := t.String("out", "", "the new `FILE` for the copy")
	if _, err := t.read(args); err != nil {
		return err
	}
	if *out == "" {
		return usageError("-out is missing: where should the copy go?")
	}
	b, err := openShop(ctx, *dsn, bench.Options{})
	if err != nil {
		return err
	}
	defer b.Close()
	books, err := b.Backup(ctx, *out)
	if err != nil {
		return b.Explain(err)
	}
	fmt.Fprintf(t.out, "%s: %s, %s, checked.\n", *out, count(books.Parts, "mark"), count(books.Events, "event"))
	return nil
}

// backups is what a command line says of backups that are made by themselves.
type backups struct {
	folder string
	every  time.Duration
	keep   int
}

// backups adds the flags that say so.
func (t *terminal) backups() *backups {
	p := &backups{}
	t.StringVar(&p.folder, "backup", "", "back up into this `FOLDER` by itself, best on another disk")
	p.every = 24 * time.Hour
	t.Func("backup-every", "how `OFTEN` that is: 1d, 8h (default 1d)", p.often)
	t.IntVar(&p.keep, "keep", 14, "how many of the newest backups in that folder stay: `N`")
	return p
}

// often reads how often backups are made.
func (p *backups) often(text string) error {
	hours := text
	if days, ok := strings.CutSuffix(text, "d"); ok {
		n, err := strconv.Atoi(days)
		if err != nil || n > 1000 {
			return errOften
		}
		hours = fmt.Sprint(24*n, "h")
	}
	every, err := time.ParseDuration(hours)
	if err != nil {
		return errOften
	}
	p.every = every
	return nil
}

var errOften = errors.New("say a number and its unit, such as 1d, 8h or 30m")

// spoken says a length of time as people do.
func spoken(d time.Duration) string {
	for _, u := range []struct {
		name string
		long time.Duration
	}{{"day", 24 * time.Hour}, {"hour", time.Hour}, {"minute", time.Minute}} {
		if d%u.long == 0 {
			if d == u.long {
				return u.name
			}
			return fmt.Sprintf("%d %ss", d/u.long, u.name)
		}
	}
	return d.String()
}

// check finds out what makes no sense.
func (p *backups) check(dsn string) error {
	switch {
	case p.folder == "":
		return nil
	case isDatabase(dsn):
		return usageError("-backup is for a file; a PostgreSQL database is backed up with pg_dump")
	case p.every < time.Minute:
		return usageError("-backup-every wants at least a minute, such as 1d")
	case p.keep < 1:
		return usageError("-keep wants a number from 1")
	}
	return nil
}

// tell says where the backups go.
func (p *backups) tell(w io.Writer, dsn string) {
	switch {
	case isDatabase(dsn):
	case p.folder == "":
		fmt.Fprintln(w, "  No backup:          -backup FOLDER makes one each day, best on another disk")
	default:
		fmt.Fprintf(w, "  Backups:            %s, every %s, the newest %d stay\n", p.folder, spoken(p.every), p.keep)
		if onOneDisk(dsn, p.folder) {
			fmt.Fprintln(w, "                      That folder is on the same disk as the shop. What takes the disk takes both: use another one too")
		}
	}
}

// run makes the backups until ctx is done.
func (p *backups) run(ctx context.Context, b *bench.Bench, dsn string, log *slog.Logger) {
	if p.folder == "" {
		return
	}
	b.KeepBackups(ctx, bench.PlanBackups(dsn, p.folder, p.every, p.keep), func(file string, err error) {
		if err != nil {
			log.Error("the backup failed", "file", file, "err", err)
			return
		}
		log.Info("backed up", "file", file)
	})
}
