package bench_test

import (
	"slices"
	"time"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// fitsAt reports whether a step puts an assembly together, or goes past the
// dry fit: what is glued was fitted.
func (t *thing) fitsAt(m meant) bool {
	return !m.repair && slices.ContainsFunc(t.list[t.next:m.index+1], func(s parts.Step) bool { return s.Binds })
}

// gluesAt reports whether a step is a glue-up, or goes past one.
func (t *thing) gluesAt(m meant) bool {
	return !m.repair && slices.ContainsFunc(t.list[t.next:m.index+1], func(s parts.Step) bool { return s.Glues })
}

// parts are the things of a few marks.
func (sl *slate) parts(ids []parts.ID) []*thing {
	return sl.those(func(t *thing) bool { return slices.Contains(ids, t.mark) })
}

// onAFinish reports whether a step would glue onto a face of one of the parts
// that has a coat.
func onAFinish(inside []*thing, m meant) bool {
	for _, p := range inside {
		for i := range p.behind {
			for _, face := range p.list[i].Coats {
				if slices.Contains(m.step.Joins, face) {
					return true
				}
			}
		}
	}
	return false
}

// fit is a dry fit: the parts on the bench become this assembly's own.
func (sl *slate) fit(t *thing, m meant, r bench.Request, at time.Time) ruling {
	kit := map[int64][]*thing{} // what could go in, by line
	free := map[parts.ID]*thing{}
	for _, o := range sl.things {
		if sl.lines[o.line].Into == t.line && !o.kind.Counts() && o.stopped() == "" && (r.Override && !o.mending() && (!o.doubt || slices.Contains(r.Parts, string(o.mark))) || o.fit(at)) {
			kit[o.line] = append(kit[o.line], o)
			free[o.mark] = o
		}
	}
	named := map[int64][]*thing{}
	for _, id := range slices.Compact(slices.Sorted(slices.Values(r.Parts))) {
		o, ok := free[parts.ID(id)]
		if !ok || len(named[o.line]) == sl.lines[o.line].Each {
			return no("refused does-not-fit")
		}
		named[o.line] = append(named[o.line], o)
	}
	for _, l := range sl.lines {
		if l.Into == t.line && len(kit[l.ID]) < l.Each {
			return no("refused parts-missing")
		}
	}
	for _, of := range kit {
		if m.step.Glues && onAFinish(of, m) && !r.Override {
			return no("refused scuff-first")
		}
	}
	return yes(func(w *writing) {
		w.on(t, at)
		own := w.chosen(func(o *thing) bool { return w.lines[o.line].Into == t.line && !o.kind.Counts() })
		for _, l := range w.lines {
			if l.Into == t.line {
				w.fairFit(l, kit[l.ID], named[l.ID], own, at)
			}
		}
		for _, o := range own {
			w.on(o, at)
			o.in, o.spare, o.test, o.cart, o.doubt = t.mark, false, false, "", false
			t.inside = append(t.inside, o.mark)
		}
		w.pass(t, m, at)
		w.checked(t, m, r, at)
	})
}

// fit reports whether a part is good enough to be fitted: nothing is left to
// do, nothing is wet, nothing in doubt.
func (t *thing) fit(at time.Time) bool { return t.finished && !t.mending() && !t.wet(at) && !t.doubt }

// fairFit says whether the parts of a line that were fitted were the right
// ones: as many as it takes, the named ones, the unfinished only when there
// are no others, and a spare only when nothing else is left.
func (w *writing) fairFit(l parts.Line, kit, named, own []*thing, at time.Time) {
	in := 0
	worst := 0
	for _, o := range own {
		if o.line == l.ID {
			in++
			w.fair(slices.Contains(kit, o), "%s could not be fitted", o.mark)
			if !slices.Contains(named, o) {
				worst = max(worst, o.rank(at))
			}
		}
	}
	w.fair(in == l.Each, "%d of %s were fitted", in, l.Name)
	for _, o := range named {
		w.fair(slices.Contains(own, o), "%s was on the bench and is not in it", o.mark)
	}
	for _, o := range kit {
		w.fair(slices.Contains(own, o) || o.rank(at) >= worst, "%s was better than what was fitted", o.mark)
	}
}

// rank is how gladly a part is fitted: 0 most.
func (t *thing) rank(at time.Time) int {
	switch {
	case !t.fit(at):
		return 3
	case t.test:
		return 2
	case t.spare:
		return 1
	}
	return 0
}

// takeApart is for what is only dry or screwed.
func (sl *slate) takeApart(t *thing, at time.Time) ruling {
	switch {
	case at.Before(t.lastAt):
		return no("parked late")
	case t.kind != parts.Assembly:
		return no("refused not-an-assembly")
	case t.scrapped:
		return no("refused scrapped")
	case len(t.inside) == 0:
		return no("already not-together")
	case t.in != "":
		return no("refused in-assembly")
	case t.glued():
		return no("refused glued")
	case t.delivered:
		return no("refused delivered")
	case t.wet(at):
		return no("refused waiting")
	}
	return yes(func(w *writing) {
		w.on(t, at)
		for _, o := range w.parts(t.inside) {
			w.on(o, at).in = ""
		}
		t.inside, t.next, t.finished, t.clocks = nil, 0, false, nil
		for !t.list[t.next].Binds {
			t.next++
		}
		t.behind = t.behind[:t.next]
	})
}

// glued reports whether a glue-up lies behind an assembly; one that was left
// out glued nothing.
func (t *thing) glued() bool {
	for i := range t.behind {
		if t.list[i].Glues && t.behind[i].how != parts.WasSkipped {
			return true
		}
	}
	return false
}
