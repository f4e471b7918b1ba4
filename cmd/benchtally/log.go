package main

import (
	"fmt"
	"io"
	"log/slog"
)

// logging is what a command line says of the log. It goes to the standard
// error, a line for each thing that went wrong: what runs the server keeps it.
type logging struct {
	form string
	all  bool
}

// logging adds the flags that say so.
func (t *terminal) logging() *logging {
	l := &logging{}
	t.StringVar(&l.form, "log", "text", "the `FORM` of the log's lines: text or json")
	t.BoolVar(&l.all, "log-all", false, "a line in the log for every request too")
	return l
}

// check finds out what cannot be meant.
func (l *logging) check() error {
	if l.form != "text" && l.form != "json" {
		return usageError(fmt.Sprintf("-log %s is neither text nor json", l.form))
	}
	return nil
}

func (l *logging) open(w io.Writer) *slog.Logger {
	o := &slog.HandlerOptions{Level: slog.LevelInfo}
	if l.all {
		o.Level = slog.LevelDebug
	}
	if l.form == "json" {
		return slog.New(slog.NewJSONHandler(w, o))
	}
	return slog.New(slog.NewTextHandler(w, o))
}
