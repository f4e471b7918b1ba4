package main

import (
	"bufio"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// A story is a script of what was done in a shop, a line a deed:
//
//	Mon 08:10 Ann crosscut: Stile; checked
//	Tue 09:00 Ben bore: plug Stile 7; spot left end, hole 2 -- bit wandered
//	31h ago Ann sand: Locker front 1 ! waiting
//
// The time is a day of the week with an hour, or how long before now. After
// the person and the station comes a verb (none for a scan), what it is done
// to (a piece, or a line for its ticket, with a count before it) and what else
// is said, after semicolons. After -- comes a person's reason, after ! the code
// of the refusal that is expected. Lines that begin with # are remarks.
type deed struct {
	line    int
	at      time.Duration // after the Monday of the story, or before its end: then below zero
	who     string
	station string
	verb    string // "" for a scan
	what    string
	count   int
	blanks  bool
	more    []string // as written, after the semicolons
	why     string
	refused string
	floor   []string // of a line that shows the floor: what is expected
}

// verbs are what a line of a story may begin with.
var verbs = []string{"plug", "mend", "hold", "release", "remake", "scrap", "lost", "apart", "doubt", "clear", "check",
	"skip", "load", "unload", "cart", "deliver", "return", "undo", "pattern", "print", "newer",
	"board", "approve", "mix", "shut", "can", "wall", "reading"}

// readStory reads a script. An error names the line.
func readStory(text string) ([]deed, error) {
	var deeds []deed
	lines := bufio.NewScanner(strings.NewReader(text))
	for n := 1; lines.Scan(); n++ {
		line := strings.TrimRight(lines.Text(), " ")
		switch {
		case line == "" || strings.HasPrefix(line, "#"):
		case strings.HasPrefix(line, "  ") && len(deeds) > 0:
			last := &deeds[len(deeds)-1]
			last.floor = append(last.floor, strings.TrimSpace(line))
		default:
			d, err := readDeed(line)
			if err != nil {
				return nil, fmt.Errorf("line %d: %w", n, err)
			}
			d.line = n
			deeds = append(deeds, d)
		}
	}
	return deeds, lines.Err()
}

// readDeed reads one line.
func readDeed(line string) (deed, error) {
	var d deed
	if rest, ok := strings.CutPrefix(line, "floor "); ok {
		d.verb = "floor"
		words := strings.Fields(rest)
		_, err := d.readTime(words)
		return d, err
	}
	head, rest, ok := strings.Cut(line, ": ")
	if !ok {
		return d, fmt.Errorf("no colon in %q", line)
	}
	words, err := d.readTime(strings.Fields(head))
	if err != nil {
		return d, err
	}
	if len(words) == 0 || len(words) > 2 {
		return d, fmt.Errorf("who and where: %q", head)
	}
	d.who = words[0]
	if len(words) == 2 {
		d.station = words[1]
	}
	rest, d.refused, _ = strings.Cut(rest, " ! ")
	rest, d.why, _ = strings.Cut(rest, " -- ")
	fields := strings.Split(rest, ";")
	for _, more := range fields[1:] {
		d.more = append(d.more, strings.TrimSpace(more))
	}
	d.readWhat(strings.Fields(fields[0]))
	return d, nil
}

// readTime takes the time off the front of the words.
func (d *deed) readTime(words []string) ([]string, error) {
	if len(words) < 2 {
		return nil, fmt.Errorf("no time in %v", words)
	}
	if words[1] == "ago" {
		ago, err := lastingOf(words[0])
		d.at = -ago
		return words[2:], err
	}
	day := slices.Index([]string{"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"}, words[0])
	hour, err := time.Parse("15:04", words[1])
	if day < 0 || err != nil {
		return nil, fmt.Errorf("the time %s %s cannot be read", words[0], words[1])
	}
	d.at = time.Duration(day)*24*time.Hour + hour.Sub(hour.Truncate(24*time.Hour))
	return words[2:], nil
}

// lastingOf reads a time such as 6d2h30m.
func lastingOf(text string) (time.Duration, error) {
	days, rest, found := strings.Cut(text, "d")
	if !found {
		return time.ParseDuration(text)
	}
	n, err := strconv.Atoi(days)
	if err != nil || rest == "" {
		return time.Duration(n) * 24 * time.Hour, err
	}
	more, err := time.ParseDuration(rest)
	return time.Duration(n)*24*time.Hour + more, err
}

// readWhat reads the verb, the count and what it is done to.
func (d *deed) readWhat(words []string) {
	if len(words) > 0 && slices.Contains(verbs, words[0]) {
		d.verb, words = words[0], words[1:]
	}
	if len(words) > 1 {
		if n, err := strconv.Atoi(words[0]); err == nil {
			d.count, words = n, words[1:]
		}
	}
	if len(words) > 1 && (words[0] == "blanks" || words[0] == "blank") && d.count > 0 {
		d.blanks, words = true, words[1:]
	}
	d.what = strings.Join(words, " ")
}

// said gives what is said after a word of the deed: "spot left end" for spot.
func (d deed) said(word string) (string, bool) {
	for _, m := range d.more {
		if m == word {
			return "", true
		}
		if rest, ok := strings.CutPrefix(m, word+" "); ok {
			return rest, true
		}
	}
	return "", false
}
