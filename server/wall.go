package server

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"slices"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/drying"
	"benchtally/parts/floor"
)

// What a screen on the wall lists at most: beyond it a number says how many
// more there are, and the floor on a phone has them all.
const (
	mostOnWall = 24 // waits, and pieces that need a person's eye
	mostBefore = 6  // lines before one station
)

// wallPage is a screen on the wall, for people who have their hands full: read
// from across the shop, nothing to press, all jobs together.
type wallPage struct {
	Words      words
	Only       string      // the code of the one job it shows; "" for all
	Shade      string      // "light" or "dark" when asked for; "" as the screen is set
	Version    string      // of the page itself: a screen that has another loads it again
	Late       int         // scans that wait for a person
	Conditions []condition // of the shop's file or its backups

	Ready, Waiting int
	Stations       []wallStation
	Waits          []wallWait
	MoreWaits      int
	Eyes           []wallMention // need a person's eye
	MoreEyes       int
	Jobs           int
}

// wallStation is what stands before one station, of all jobs.
type wallStation struct {
	Name           string
	Ready, Waiting int
	Lines          []wallLine
	More           int
}

// wallLine is some pieces of one line before a station.
type wallLine struct {
	floor.Group
	Job string // its name, when the screen shows several jobs
}

// Spread reports whether some of its waiting pieces are free before others.
func (l wallLine) Spread() bool { return l.First > 0 && l.First < l.Waiting && l.Last.After(l.Until) }

// wallWait is what is in clamps, sets, dries or rests until a time.
type wallWait struct {
	Name  string
	Where string
	Clock parts.Clock
	Until time.Time // parts.Never while it is too cold
}

// wallMention is one piece that needs a person's eye, and why.
type wallMention struct {
	Why, Name, Note string
	By              time.Time // for a coat: by when it has to be on
	Job             string    // its name, when the screen shows several jobs
}

func (s *Server) wall(c *gin.Context) error {
	page, err := s.lookWall(c.Request.Context(), c.Query("job"))
	if err != nil {
		return err
	}
	for _, shade := range []string{"light", "dark"} {
		if c.Request.URL.Query().Has(shade) {
			page.Shade = shade
		}
	}
	s.page(c, http.StatusOK, "wall", "The wall", page)
	return nil
}

// wallStream keeps a screen up to date until it goes away.
func (s *Server) wallStream(c *gin.Context) { s.stream(c, room{page: "wall", job: c.Query("job")}) }

func (s *Server) lookWall(ctx context.Context, only string) (wallPage, error) {
	f, err := s.lookFloor(ctx, only)
	if err != nil {
		return wallPage{}, err
	}
	d, err := s.bench.Drying(ctx)
	if err != nil {
		return wallPage{}, err
	}
	page := onWall(f.Jobs, d.Rows)
	page.Words, page.Only, page.Late, page.Conditions = f.Words, f.Only, f.Late, f.Conditions
	page.Version, err = s.wallVersion()
	return page, err
}

// onWall puts the floors of the jobs together, with what of theirs is wet.
func onWall(jobs []floor.JobBoard, wet []drying.Row) wallPage {
	page := wallPage{Jobs: len(jobs)}
	at := map[parts.Station]int{}
	for _, j := range jobs {
		for _, st := range j.Stations {
			if len(st.Groups) == 0 {
				continue
			}
			i, ok := at[st.Station.Key]
			if !ok {
				i = len(page.Stations)
				at[st.Station.Key] = i
				page.Stations = append(page.Stations, wallStation{Name: capital(st.Station.Name)})
			}
			page.Stations[i].add(st, j.Job.Name, len(jobs) > 1)
			page.Ready, page.Waiting = page.Ready+st.Ready, page.Waiting+st.Waiting
		}
		page.Waits = append(page.Waits, rests(j.Waits)...)
		page.Waits = append(page.Waits, dries(j.Job.ID, wet)...)
		eyes := append(windows(j.Job.ID, wet), wallEyes(j)...)
		for i := range eyes {
			if len(jobs) > 1 {
				eyes[i].Job = j.Job.Name
			}
		}
		page.Eyes = append(page.Eyes, eyes...)
	}
	slices.SortStableFunc(page.Waits, func(a, b wallWait) int { return a.Until.Compare(b.Until) })
	page.Waits, page.MoreWaits = first(page.Waits, mostOnWall)
	page.Eyes, page.MoreEyes = first(page.Eyes, mostOnWall)
	for i := range page.Stations {
		st := &page.Stations[i]
		slices.SortStableFunc(st.Lines, soonest)
		st.Lines, st.More = first(st.Lines, mostBefore)
	}
	return page
}

// soonest puts what can be done now before what waits, and of that what is free
// next first; what waits for parts has no time and comes last.
func soonest(a, b wallLine) int {
	timed := func(l wallLine) int {
		if l.Ready > 0 || !l.Until.IsZero() && !l.Short {
			return 0
		}
		return 1
	}
	return cmp.Or(cmp.Compare(min(b.Ready, 1), min(a.Ready, 1)), cmp.Compare(timed(a), timed(b)), free(a).Compare(free(b)))
}

// free is when the first of a line's waiting pieces is free, of all that can be
// done now alike.
func free(l wallLine) time.Time {
	if l.Ready > 0 || l.Short {
		return time.Time{}
	}
	return l.Until
}

// add puts what one job has before the station to the rest.
func (w *wallStation) add(st floor.StationBoard, job string, several bool) {
	w.Ready, w.Waiting = w.Ready+st.Ready, w.Waiting+st.Waiting
	for _, g := range st.Groups {
		line := wallLine{Group: g}
		if several {
			line.Job = job
		}
		w.Lines = append(w.Lines, line)
	}
}

// rests lists the waits that are not wet: wood that moves until it is still.
func rests(waits []floor.Wait) []wallWait {
	var out []wallWait
	for _, w := range waits {
		if w.Clock == parts.Resting {
			out = append(out, wallWait{Name: cmp.Or(w.Name, counted(w.Count, w.Line.Name)), Clock: w.Clock, Until: w.Until})
		}
	}
	return out
}

// dries lists what is wet of a job.
func dries(job int64, wet []drying.Row) []wallWait {
	var out []wallWait
	for _, r := range wet {
		if r.Line.Job == job && r.When != drying.IsReady {
			out = append(out, wallWait{Name: r.Pieces(), Where: r.Where, Clock: r.Clock, Until: r.Ready})
		}
	}
	return out
}

// windows lists the coats of a job that can be put on now, and only for a
// while.
func windows(job int64, wet []drying.Row) []wallMention {
	var out []wallMention
	for _, r := range wet {
		if r.Line.Job == job && r.When == drying.IsReady && !r.Closes.IsZero() {
			out = append(out, wallMention{Why: "next coat", Name: r.Pieces(), By: r.Closes})
		}
	}
	return out
}

func counted(n int, name string) string {
	if n == 1 {
		return name
	}
	return fmt.Sprintf("%d × %s", n, name)
}

// wallEyes lists what needs a person's eye, what stops a job first.
func wallEyes(j floor.JobBoard) []wallMention {
	var out []wallMention
	for _, kind := range []struct {
		why  string
		list []floor.Mention
	}{{"short", j.Short}, {"look at", j.Doubted}, {"held", j.Held}, {"in repair", j.Mending}} {
		for _, m := range kind.list {
			out = append(out, wallMention{Why: kind.why, Name: m.Name, Note: m.Note})
		}
	}
	return out
}

// first gives the first most of a list, and how many more there are.
func first[T any](list []T, most int) ([]T, int) {
	n := min(len(list), most)
	return list[:n], len(list) - n
}

// wallVersion names the page as this program draws it: its template, its
// style sheets and its script, whose addresses are in it.
func (s *Server) wallVersion() (string, error) {
	t, err := s.tongues[0].Page("wall")
	if err != nil {
		return "", err
	}
	var empty bytes.Buffer
	if err := t.ExecuteTemplate(&empty, "page", frame{Body: wallPage{}}); err != nil {
		return "", err
	}
	sum := sha256.Sum256(empty.Bytes())
	return hex.EncodeToString(sum[:6]), nil
}
