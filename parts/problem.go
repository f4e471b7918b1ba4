package parts

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"
)

// Sort says what kind of thing went wrong, for the edge to choose a status.
type Sort string

// The sorts of problem. What is none of these is a fault of the program.
const (
	Invalid   Sort = "invalid"   // what was sent makes no sense
	Unsigned  Sort = "unsigned"  // nobody has said who is asking
	Forbidden Sort = "forbidden" // this one may not
	Unfit     Sort = "unfit"     // the address does not take such a request
	Missing   Sort = "missing"   // there is no such thing
	Refused   Sort = "refused"   // a rule of the shop says no
	Stale     Sort = "stale"     // someone else got there first
	Already   Sort = "already"   // it was done before: no error, nothing more to do
	Parked    Sort = "parked"    // kept for a person to look at
	TooBig    Sort = "too-big"   // more was sent than is taken at once
	TooMany   Sort = "too-many"  // it is asked too often
	Busy      Sort = "busy"      // the disk is full or the database is away
)

// Problem is an error meant for the person at the bench: what is wrong, what
// to do next, and the facts behind it. Say, And and Do are formats, so that
// the edge can print them in the reader's language and time zone.
type Problem struct {
	Sort    Sort           `json:"sort"`
	Code    string         `json:"code"` // stable, for programs and tests: "waiting"
	Say     string         `json:"say"`  // what is wrong and what is true instead
	Args    Args           `json:"args,omitempty"`
	And     string         `json:"and,omitempty"` // a sentence that follows Say: why it is so
	AndArgs Args           `json:"and_args,omitempty"`
	Do      string         `json:"do,omitempty"` // what to do next
	DoArgs  Args           `json:"do_args,omitempty"`
	Facts   map[string]any `json:"facts,omitempty"`
	Err     error          `json:"-"` // for the log; may be nil
}

// Problemf builds a Problem. Its English sentence is fmt.Sprintf(say, args...).
func Problemf(sort Sort, code, say string, args ...any) *Problem {
	return &Problem{Sort: sort, Code: code, Say: say, Args: args}
}

// Also adds a sentence, a format like Say: why it is so.
func (p *Problem) Also(say string, args ...any) *Problem {
	p.And, p.AndArgs = say, args
	return p
}

// Next adds what to do about it, a format like Say.
func (p *Problem) Next(do string, args ...any) *Problem {
	p.Do, p.DoArgs = do, args
	return p
}

// Fact adds a named value for programs: a ready time, a mate, a station.
func (p *Problem) Fact(name string, value any) *Problem {
	if p.Facts == nil {
		p.Facts = map[string]any{}
	}
	p.Facts[name] = value
	return p
}

// Because keeps the error behind the problem for the log.
func (p *Problem) Because(err error) *Problem {
	p.Err = err
	return p
}

// Error is the English sentence, times in UTC.
func (p *Problem) Error() string {
	say := fmt.Sprintf(p.Say, p.Args...)
	if p.And != "" {
		say += " " + fmt.Sprintf(p.And, p.AndArgs...)
	}
	if p.Do == "" {
		return say
	}
	return say + " " + fmt.Sprintf(p.Do, p.DoArgs...)
}

// Unwrap gives the error behind the problem.
func (p *Problem) Unwrap() error { return p.Err }

// AsProblem gives the problem in err, or nil when err is a fault or nil.
func AsProblem(err error) *Problem {
	if err == nil {
		return nil
	}
	var p *Problem
	if errors.As(err, &p) {
		return p
	}
	return nil
}

// CodeOf gives the code of the problem in err, "" for none.
func CodeOf(err error) string {
	if p := AsProblem(err); p != nil {
		return p.Code
	}
	return ""
}

// Person is the id of a person in a sentence; the edge writes the name.
type Person int64

// Args are the values of a sentence. They keep their kind through JSON: a
// stored refusal is printed again in another zone or language.
type Args []any

type argJSON struct {
	Text *string        `json:"s,omitempty"`
	Int  *int64         `json:"i,omitempty"`
	Time *time.Time     `json:"t,omitempty"`
	Wait *time.Duration `json:"d,omitempty"`
	Who  *Person        `json:"p,omitempty"`
	Warm *Degrees       `json:"c,omitempty"`
}

// MarshalJSON writes each value with its kind.
func (a Args) MarshalJSON() ([]byte, error) {
	out := make([]argJSON, len(a))
	for i, v := range a {
		switch v := v.(type) {
		case time.Time:
			out[i].Time = &v
		case time.Duration:
			out[i].Wait = &v
		case Person:
			out[i].Who = &v
		case Degrees:
			out[i].Warm = &v
		case int:
			n := int64(v)
			out[i].Int = &n
		case int64:
			out[i].Int = &v
		default:
			s := fmt.Sprint(v)
			out[i].Text = &s
		}
	}
	return json.Marshal(out)
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (a *Args) UnmarshalJSON(data []byte) error {
	var in []argJSON
	if err := json.Unmarshal(data, &in); err != nil {
		return err
	}
	*a = make(Args, len(in))
	for i, v := range in {
		switch {
		case v.Time != nil:
			(*a)[i] = *v.Time
		case v.Wait != nil:
			(*a)[i] = *v.Wait
		case v.Who != nil:
			(*a)[i] = *v.Who
		case v.Warm != nil:
			(*a)[i] = *v.Warm
		case v.Int != nil:
			(*a)[i] = int(*v.Int)
		case v.Text != nil:
			(*a)[i] = *v.Text
		}
	}
	return nil
}
