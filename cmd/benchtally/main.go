//go:debug urlmaxqueryparams=25000

// Command benchtally runs a shop: the server, a demo, and what is done to a
// shop's file from a terminal. It owns flags, start-up and shutdown, and
// nothing else: every command reads its flags, calls the bench and prints.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"
	_ "time/tzdata" // the shop's zone is known on machines without one

	"benchtally/parts"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// Exit codes.
const (
	exitFine = iota
	exitProblem
	exitUsage
)

// command is one word of the command line.
type command struct {
	name  string
	says  string // what it does, in a few words
	about string // the same for -h, with an example
	run   func(ctx context.Context, t *terminal, args []string) error
}

// commands lists them in the order people meet them.
func commands() []command {
	return []command{
		{"serve", "run the shop's server (also without any word)", aboutServe, serve},
		{"demo", "run a server with an invented job to try", aboutDemo, demo},
		{"import", "make a job of a cut list", aboutImport, importList},
		{"labels", "write a sheet of labels or tickets as a PDF", aboutLabels, printLabels},
		{"backup", "copy the shop into a file, while the server runs", aboutBackup, backup},
		{"restore", "put a backup in the place of the shop's file", aboutRestore, restore},
		{"check", "look the file over, replay the log and compare it with the present state", aboutCheck, check},
		{"move", "copy a shop from a file into PostgreSQL, or back", aboutMove, move},
		{"rebuild", "make the present state again from the log", aboutRebuild, rebuild},
		{"owner", "give the shop an owner, or another password", aboutOwner, owner},
		{"token", "make a token for a program", aboutToken, token},
		{"version", "say which version this is", aboutVersion, version},
	}
}

// run does what args say and gives the exit code.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	name, rest := "serve", args
	if len(args) > 0 && !strings.HasPrefix(args[0], "-") {
		name, rest = args[0], args[1:]
	}
	if len(args) > 0 && slices.Contains([]string{"help", "-h", "-help", "--help"}, args[0]) {
		list(stdout)
		return exitFine
	}
	all := commands()
	i := slices.IndexFunc(all, func(c command) bool { return c.name == name })
	if i < 0 {
		fmt.Fprintf(stderr, "benchtally has no command %q.\n\n", name)
		list(stderr)
		return exitUsage
	}
	return ended(all[i].run(ctx, newTerminal(all[i], stdout, stderr), rest), name, stderr)
}

// list says which commands there are.
func list(w io.Writer) {
	fmt.Fprint(w, "benchtally tracks the parts of a job through a woodworking shop.\n\nUsage: benchtally COMMAND [flags]\n\n")
	for _, c := range commands() {
		fmt.Fprintf(w, "  %-8s  %s\n", c.name, c.says)
	}
	fmt.Fprint(w, "\n`benchtally COMMAND -h` says more, with an example.\n")
}

// usageError is a command line that cannot be understood.
type usageError string

func (e usageError) Error() string { return string(e) }

// ended prints why a command failed, if it did, and gives the exit code.
func ended(err error, name string, stderr io.Writer) int {
	var usage usageError
	switch p := parts.AsProblem(err); {
	case err == nil, errors.Is(err, flag.ErrHelp):
		return exitFine
	case errors.As(err, &usage):
		fmt.Fprintf(stderr, "benchtally %s: %s\n`benchtally %s -h` says how it is used.\n", name, usage, name)
		return exitUsage
	case p != nil:
		fmt.Fprintln(stderr, p.Error())
		if p.Err != nil {
			fmt.Fprintf(stderr, "(%v)\n", p.Err)
		}
	default:
		fmt.Fprintf(stderr, "benchtally %s: %v\n", name, err)
	}
	return exitProblem
}

// terminal is where a command prints, with the flags it takes.
type terminal struct {
	*flag.FlagSet
	about    string
	out, err io.Writer
}

func newTerminal(c command, stdout, stderr io.Writer) *terminal {
	t := &terminal{flag.NewFlagSet(c.name, flag.ContinueOnError), strings.TrimSpace(c.about), stdout, stderr}
	t.SetOutput(io.Discard) // what is wrong is said once, by ended
	t.Usage = func() {}
	return t
}

// help says what the command does and which flags it takes.
func (t *terminal) help() {
	fmt.Fprintf(t.out, "%s\n\nFlags:\n", t.about)
	t.SetOutput(t.out)
	t.PrintDefaults()
}

// db adds the flag that names the shop's file.
func (t *terminal) db() *string {
	return t.String("db", "benchtally.db", "the shop's `FILE`, or a postgres:// address")
}

// read parses args. Flags may stand before and after the words, of which
// there must be as many as names.
func (t *terminal) read(args []string, names ...string) ([]string, error) {
	var words []string
	for len(args) > 0 {
		if err := t.Parse(args); errors.Is(err, flag.ErrHelp) {
			t.help()
			return nil, err
		} else if err != nil {
			return nil, usageError(err.Error())
		}
		rest := t.Args()
		if used := len(args) - len(rest); used > 0 && args[used-1] == "--" {
			words = append(words, rest...)
			break
		}
		if len(rest) > 0 {
			words, rest = append(words, rest[0]), rest[1:]
		}
		args = rest
	}
	switch {
	case len(words) > len(names):
		return nil, usageError(fmt.Sprintf("%q is one word too many", words[len(names)]))
	case len(words) < len(names):
		return nil, usageError(names[len(words)] + " is missing")
	}
	return words, nil
}
