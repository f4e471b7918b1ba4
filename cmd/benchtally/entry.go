package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/access"
	"benchtally/parts/bench"
)

const aboutToken = `
benchtally token makes a token by which a program may use the shop's API, and
prints it. It is shown this once: the shop keeps only its hash. The server may
be running. -scope says what the program may do:

  read    look at everything
  scan    record what is done to parts
  office  lists, prints, mixes and what the shop sets up
  gauge   put in temperature and humidity, for a sensor

Example:
  TOKEN=$(benchtally token -db shop.db -scope read,scan -name 'Night report')
  curl -H "Authorization: Bearer $TOKEN" http://localhost:8080/api/v1/jobs`

func token(ctx context.Context, t *terminal, args []string) error {
	dsn := t.db()
	scope := t.String("scope", "", "what the program may do: `SCOPES` of read, scan, office and gauge with commas between them")
	name := t.String("name", "", "what the token is for: a `NAME` for the list of programs")
	if _, err := t.read(args); err != nil {
		return err
	}
	if *scope == "" {
		return usageError("say what the program may do, such as -scope read,scan")
	}
	scopes, err := access.ParseScopes(*scope)
	if err != nil {
		return err
	}
	b, err := bench.Open(ctx, *dsn, bench.Options{})
	if err != nil {
		return err
	}
	defer b.Close()
	made, err := b.AddToken(ctx, *name, scopes...)
	if err != nil {
		return err
	}
	if err := b.Note(ctx, access.Change{What: "benchtally token", Detail: noted("name", *name+" ("+*scope+")")}); err != nil {
		return err
	}
	fmt.Fprintln(t.out, made)
	return nil
}

const aboutOwner = `
benchtally owner gives a person an owner's password: the first one of a shop,
or another one when it is forgotten. It asks for the password, or reads it from
a file. The server may be running.

Example:
  benchtally owner -db shop.db -name Ann`

func owner(ctx context.Context, t *terminal, args []string) error {
	dsn := t.db()
	name := t.String("name", "", "the owner's `NAME`")
	more := t.Bool("new", false, "make one more owner of a shop that has one")
	file := t.String("password-file", "", "a `FILE` whose first line is the password; - for the standard input")
	if _, err := t.read(args); err != nil {
		return err
	}
	if *name == "" {
		return usageError("say whose password it is with -name")
	}
	password, err := t.password(*file)
	if err != nil {
		return err
	}
	b, err := openShop(ctx, *dsn, bench.Options{})
	if err != nil {
		return err
	}
	defer b.Close()
	if err := checkOwner(ctx, b, *name, *more); err != nil {
		return err
	}
	if err := b.SetOwner(ctx, *name, password); err != nil {
		return err
	}
	if err := b.Note(ctx, access.Change{What: "benchtally owner", Detail: noted("name", *name)}); err != nil {
		return err
	}
	fmt.Fprintf(t.out, "%s is an owner of the shop, with this password.\n", *name)
	return nil
}

// checkOwner keeps a slip in a name from making one more owner.
func checkOwner(ctx context.Context, b *bench.Bench, name string, more bool) error {
	people, err := b.Members(ctx)
	if err != nil || more {
		return err
	}
	var owners []string
	for _, p := range people {
		if p.Owner {
			owners = append(owners, p.Name)
		}
		if p.Owner && p.Name == name {
			return nil
		}
	}
	if len(owners) == 0 {
		return nil
	}
	return parts.Problemf(parts.Refused, "owner-other", "%s is no owner of this shop; its owners: %s.", name, strings.Join(owners, ", ")).
		Next("Write the name like that, or say -new for one more owner.")
}

// noted writes what the book of changes keeps of a command.
func noted(name, value string) string {
	data, _ := json.Marshal(map[string]string{name: value})
	return string(data)
}

// password reads a password from a file, or asks a person for it.
func (t *terminal) password(file string) (string, error) {
	switch file {
	case "":
		if !term.IsTerminal(int(os.Stdin.Fd())) {
			return "", usageError("nobody is there to ask: give the password with -password-file FILE")
		}
		fmt.Fprint(t.out, "Owner's password, 12 characters or more: ")
		typed, err := term.ReadPassword(int(os.Stdin.Fd()))
		if err != nil {
			return "", err
		}
		fmt.Fprint(t.out, "\nThe same again: ")
		again, err := term.ReadPassword(int(os.Stdin.Fd()))
		fmt.Fprintln(t.out)
		if err == nil && string(again) != string(typed) {
			err = parts.Problemf(parts.Invalid, "password-differs", "That was not the same twice.").Next("Start again.")
		}
		return string(typed), err
	case "-":
		return firstLine(os.Stdin)
	}
	f, err := os.Open(file)
	if err != nil {
		return "", parts.Problemf(parts.Missing, "password-file", "The file %s cannot be read.", file).Next("Give the name of one that holds the password.").Because(err)
	}
	defer f.Close()
	return firstLine(f)
}

func firstLine(r io.Reader) (string, error) {
	line, err := bufio.NewReader(io.LimitReader(r, 4096)).ReadString('\n')
	if errors.Is(err, io.EOF) {
		err = nil
	}
	return strings.TrimRight(line, "\r\n"), err
}

// askOwner asks a person at the terminal who owns a shop that nobody owns yet.
// Who is started by a service has none, and who presses Enter gets a link.
func (t *terminal) askOwner(ctx context.Context, b *bench.Bench) error {
	needs, err := b.NeedsOwner(ctx)
	if err != nil || !needs || !term.IsTerminal(int(os.Stdin.Fd())) {
		return err
	}
	fmt.Fprint(t.out, "Nobody owns this shop yet. Your name, or Enter to set it up in the browser: ")
	name, err := firstLine(os.Stdin)
	if err != nil || strings.TrimSpace(name) == "" {
		return err
	}
	password, err := t.password("")
	if err != nil {
		return err
	}
	return b.SetOwner(ctx, name, password)
}

// tellEntry says how the shop is opened for the first time, when it was not
// yet: by a link that is good once.
func tellEntry(ctx context.Context, w io.Writer, b *bench.Bench, here string) error {
	needs, err := b.NeedsOwner(ctx)
	if err != nil || !needs {
		return err
	}
	code, err := b.NewSetup(ctx)
	if err != nil {
		return err
	}
	link := here + "/setup/" + code
	fmt.Fprintf(w, "\nNobody owns this shop yet. Open this link, which is good once, to set it up:\n  %s\n", link)
	if drawn, err := labels.Terminal(link); err == nil && phonesReach(here) {
		fmt.Fprintln(w, drawn)
	}
	return nil
}
