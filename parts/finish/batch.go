package finish

import (
	"strings"
	"time"

	"benchtally/parts"
)

// Batch is one mixing of a mix.
type Batch struct {
	Number  int64       `json:"number"`
	Mix     string      `json:"mix"`    // its key
	Name    string      `json:"name"`   // of the mix, as it was called then
	Recipe  string      `json:"recipe"` // see Mix.Recipe
	MixedAt time.Time   `json:"mixed_at"`
	By      int64       `json:"by,omitempty"`
	PotLife int         `json:"pot_life_minutes,omitempty"` // as the mix had it then
	From    []Container `json:"from,omitempty"`
	Volume  Volume      `json:"volume"`
	Left    Volume      `json:"left"`
	Jar     Volume      `json:"jar,omitempty"` // set aside for touching up; not counted in Left
	Open    bool        `json:"open"`
}

// Container is a can that went into a batch.
type Container struct {
	Name    string    `json:"name"`
	Lot     string    `json:"lot,omitempty"`
	Opened  time.Time `json:"opened,omitzero"`
	Expires time.Time `json:"expires,omitzero"`
}

// The codes of a batch.
const (
	CodePotLifePast  = "pot-life-past"
	CodeBatchClosed  = "batch-closed"
	CodeBatchEmpty   = "batch-empty"
	CodeNoBatch      = "no-batch"
	CodeLotMissing   = "lot-missing"
	CodeCanExpired   = "can-expired"
	CodeCanOld       = "can-old"
	CodeJarTooLarge  = "jar-too-large"
	CodeMoreThanLeft = "more-than-left"
)

// UsualJar is what is set aside of a batch for touching up: common practice,
// no source.
const UsualJar = 30 * Millilitre

// Mixed records a dosing as a batch. A jar for touching up is taken off what
// is left; of a mix that sets in its pot it would be of no use.
func Mixed(m Mix, d Dosing, from []Container, jar Volume, by int64, at time.Time) (Batch, *parts.Problem) {
	if p := Check(m); p != nil {
		return Batch{}, p
	}
	if m.TwoPart() {
		jar = 0
	}
	if jar < 0 || jar >= d.Volume {
		return Batch{}, invalid(CodeJarTooLarge, "A jar of %s leaves nothing of a batch of %s.", ml(jar), ml(d.Volume)).Next("Set less aside.")
	}
	for _, c := range m.Components {
		if c.NeedsLot && lotOf(from, c.Name) == "" {
			return Batch{}, invalid(CodeLotMissing, "The lot of %s is not written.", c.Name).Next("Read it off the can.")
		}
	}
	return Batch{Mix: m.Key, Name: m.Name, Recipe: m.Recipe(), MixedAt: at, By: by, PotLife: m.PotLife, From: from,
		Volume: d.Volume, Left: d.Volume - jar, Jar: jar, Open: true}, nil
}

func lotOf(from []Container, name string) string {
	for _, c := range from {
		if strings.EqualFold(c.Name, name) && strings.TrimSpace(c.Lot) != "" {
			return c.Lot
		}
	}
	return ""
}

// Until is when the batch sets in its pot; zero when it does not.
func (b Batch) Until() time.Time {
	if b.PotLife <= 0 {
		return time.Time{}
	}
	return b.MixedAt.Add(time.Duration(b.PotLife) * time.Minute)
}

// Usable refuses a batch that must not go on wood at now: one that is past
// its pot life, closed or used up. nil when it may.
func Usable(b Batch, now time.Time) *parts.Problem {
	until := b.Until()
	switch {
	case !until.IsZero() && !now.Before(until):
		return parts.Problemf(parts.Refused, CodePotLifePast, "Batch %d of %s was mixed at %s, and its %d min were over at %s.", b.Number, b.Name, b.MixedAt, b.PotLife, until).
			Next("Mix a new batch. This one hardens and may get hot: put it where its data sheet says, open and away from what burns.").
			Fact("until", until)
	case !b.Open:
		return parts.Problemf(parts.Refused, CodeBatchClosed, "Batch %d of %s is closed.", b.Number, b.Name).Next("Take the open batch, or mix one.")
	case b.Left <= 0:
		return parts.Problemf(parts.Refused, CodeBatchEmpty, "Nothing is left of batch %d of %s.", b.Number, b.Name).
			Next("Mix a new batch, or correct how much is left.")
	}
	return nil
}

// UsualShelf is how long a can that was opened keeps: common practice, no
// source. Its data sheet decides.
const UsualShelf = 365 * 24 * time.Hour

// Doubts are warnings about the cans that a batch came from, or will come
// from. They stop nobody, whatever their sort: old finish may be good, and a
// test piece tells.
func Doubts(from []Container, now time.Time) []*parts.Problem {
	const do = "Stir it, look for skin and lumps, and try it on a test piece first."
	var out []*parts.Problem
	for _, c := range from {
		switch {
		case !c.Expires.IsZero() && !now.Before(c.Expires):
			out = append(out, parts.Problemf(parts.Refused, CodeCanExpired, "%s is %d days past its date.", c.Name, days(now.Sub(c.Expires))).Next(do))
		case !c.Opened.IsZero() && now.Sub(c.Opened) > UsualShelf:
			out = append(out, parts.Problemf(parts.Refused, CodeCanOld, "%s has been open for %d days.", c.Name, days(now.Sub(c.Opened))).Next(do))
		}
	}
	return out
}

func days(d time.Duration) int { return int(d / (24 * time.Hour)) }

// OpenBatch is the batch that a scan takes for a mix: the one mixed last
// among those that can be used. Without one it says why not.
func OpenBatch(batches []Batch, m Mix, now time.Time) (Batch, *parts.Problem) {
	var best Batch
	found := false
	var last *parts.Problem
	for _, b := range batches {
		if b.Mix != m.Key {
			continue
		}
		if p := Usable(b, now); p != nil {
			if b.Open {
				last = p
			}
			continue
		}
		if !found || b.MixedAt.After(best.MixedAt) || b.MixedAt.Equal(best.MixedAt) && b.Number > best.Number {
			best, found = b, true
		}
	}
	switch {
	case found:
		return best, nil
	case last != nil:
		return Batch{}, last
	}
	return Batch{}, parts.Problemf(parts.Refused, CodeNoBatch, "There is no open batch of %s.", m.Name).Next("Mix one, and record it.")
}

// Take takes some of what is left of a batch.
func Take(b Batch, v Volume) (Batch, *parts.Problem) {
	if v < 0 || v > b.Left {
		return b, invalid(CodeMoreThanLeft, "%s is more than the %s left of batch %d.", ml(v), ml(b.Left), b.Number).
			Next("Write what was used, or correct how much is left.")
	}
	b.Left -= v
	return b, nil
}
