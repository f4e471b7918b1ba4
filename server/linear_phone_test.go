package server

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptrace"
	"strings"
	"time"

	"github.com/anishathalye/porcupine"
	"github.com/stretchr/testify/assert"

	"benchtally/parts/shoptest"
)

// phone is one of those who ask at the same time.
type phone struct {
	*quarrelled
	n    int
	dice *rand.Rand
}

// phone gives a phone whose wishes are the same in every run.
func (f *quarrelled) phone(n int) *phone {
	return &phone{quarrelled: f, n: n, dice: rand.New(rand.NewPCG(7, uint64(n)))}
}

func (p *phone) quarrel() {
	for range requests {
		a := p.wish()
		reading := a.verb == "look" || a.verb == "log"
		p.ask(a, !reading && p.dice.IntN(8) == 0)
	}
}

// wish thinks of something to ask for.
func (p *phone) wish() asked {
	verbs := strings.Fields("scan scan scan scan scan scan scan scan scan plug hold release release undo undo undo look look log log")
	a := asked{verb: verbs[p.dice.IntN(len(verbs))], mark: p.marks[p.dice.IntN(len(p.marks))], id: shoptest.NewID().String()}
	switch a.verb {
	case "look", "log":
		return a
	case "scan":
		n := p.dice.IntN(len(boardSteps.Steps))
		if n == restStep && p.dice.IntN(4) > 0 {
			n = boreStep
		}
		a.station = string(boardSteps.Steps[n].Station)
		if a.station == "" || p.dice.IntN(2) == 0 {
			a.step = n + 1
		}
		if p.dice.IntN(12) == 0 {
			a.station, a.step = "", 1001+p.dice.IntN(6)
		}
		a.override, a.early = p.dice.IntN(3) == 0, p.dice.IntN(10) == 0
	case "plug":
		a.override = p.dice.IntN(3) == 0
	case "undo":
		a.target = p.lately(a.mark)
	}
	return a
}

// lately is one of the last things that somebody did to a part, or may have.
func (p *phone) lately(mark string) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	ids := p.ids[mark]
	if len(ids) == 0 {
		return shoptest.NewID().String()
	}
	return ids[max(0, len(ids)-1-p.dice.IntN(3))]
}

// ask asks and writes down when, and what was heard. A phone that is cut off
// either asks again with the same id until it hears, which is one request, or
// gives up: then the request may have been done, may be done later, or never.
func (p *phone) ask(a asked, cut bool) {
	call := p.since()
	h := heard{unknown: true}
	if cut {
		h = p.send(a, p.scissors())
	}
	if !cut || h.unknown && p.dice.IntN(2) == 0 {
		h = p.send(a, nil)
		if h.unknown {
			p.Errorf("%+v was not answered", a)
			return
		}
	}
	op := porcupine.Operation{ClientId: p.n, Input: a, Call: call, Output: h, Return: p.since()}
	p.mu.Lock()
	defer p.mu.Unlock()
	if h.unknown {
		// A line of its own: the phone goes on while this is still open.
		op.ClientId, op.Return = phones+1+len(p.history), math.MaxInt64
	}
	if h.unknown || h.outcome == "recorded" {
		p.ids[a.mark] = append(p.ids[a.mark], a.id)
	}
	p.history = append(p.history, op)
}

func (p *phone) since() int64 { return int64(time.Since(p.start)) }

// scissors cut a request off: before it is sent, when it is, or some time
// after that.
func (p *phone) scissors() func(ctx context.Context) context.Context {
	when, wait := p.dice.IntN(3), time.Duration(p.dice.IntN(3000))*time.Microsecond
	return func(ctx context.Context) context.Context {
		ctx, cancel := context.WithCancel(ctx)
		return httptrace.WithClientTrace(ctx, &httptrace.ClientTrace{
			GotConn: func(httptrace.GotConnInfo) {
				if when == 0 {
					cancel()
				}
			},
			WroteRequest: func(httptrace.WroteRequestInfo) {
				if when == 1 {
					cancel()
				} else {
					time.AfterFunc(wait, cancel)
				}
			},
		})
	}
}

// send sends a request through HTTP and reads the answer.
func (p *phone) send(a asked, cut func(context.Context) context.Context) heard {
	ctx := context.Background()
	if cut != nil {
		ctx = cut(ctx)
	}
	resp, err := p.http.Do(a.request(ctx, p.url))
	if err != nil {
		return heard{unknown: true}
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		return heard{unknown: true}
	}
	h, err := a.read(resp.StatusCode, body)
	assert.NoError(p, err, "%+v: %d %s", a, resp.StatusCode, body)
	return h
}

// request writes what is asked as the API wants it.
func (a asked) request(ctx context.Context, url string) *http.Request {
	method, path := http.MethodPost, a.verb+"s"
	switch a.verb {
	case "look":
		method, path = http.MethodGet, "parts/"+a.mark
	case "log":
		method, path = http.MethodGet, "parts/"+a.mark+"/events"
	}
	body := map[string]any{"id": a.id, "mark": a.mark}
	switch {
	case a.verb == "undo":
		body = map[string]any{"id": a.id, "command": a.target}
	case a.verb == "plug":
		body["override"] = a.override
	case a.verb == "hold":
		body["reason"] = "a knot"
	case a.verb == "scan":
		if a.station != "" {
			body["station"] = a.station
		}
		if a.step > 0 {
			body["step"] = a.step
		}
		if a.early {
			body["at"] = shoptest.Noon.Add(-time.Hour)
		}
		body["override"] = a.override
	}
	data, err := json.Marshal(body)
	if err != nil {
		panic(err)
	}
	r, err := http.NewRequestWithContext(ctx, method, url+path, bytes.NewReader(data))
	if err != nil {
		panic(err)
	}
	return r
}

// read reads an answer of the API.
func (a asked) read(status int, body []byte) (heard, error) {
	h := heard{status: status}
	if a.verb == "log" {
		var events []eventJSON
		err := json.Unmarshal(body, &events)
		var ids []string
		for _, e := range events[min(1, len(events)):] {
			ids = append(ids, e.Command.String())
		}
		h.shape = strings.Join(ids, " ")
		return h, err
	}
	var said struct {
		Outcome, Code, Did, State string
		Filled, Notches           []string
		Next                      json.RawMessage // a step, or after a refusal a sentence
	}
	if err := json.Unmarshal(body, &said); err != nil {
		return h, err
	}
	h.outcome, h.code = said.Outcome, said.Code
	if h.code != "" {
		return h, nil
	}
	h.stands, h.shape = said.State, strings.Join(said.Notches, " ")
	if a.verb == "undo" || a.verb == "scan" {
		h.did = strings.Join(append([]string{said.Did}, said.Filled...), ", ")
	}
	var next struct{ Step int }
	if len(said.Next) > 0 {
		if err := json.Unmarshal(said.Next, &next); err != nil {
			return h, err
		}
	}
	h.next = next.Step
	return h, nil
}
