package server_test

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// A person's word overrules what was asked for, and nothing else: leaving
// steps out must not become the record of a step, and what nobody may overrule
// gets no such button.
func TestAWordOverrulesWhatWasAsked(t *testing.T) {
	s := serve(t)
	job := shoptest.ListJob(t, s.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	shelf := named(t, s, job.Job.Code, "Shelf", parts.Single)
	to := func(verb string, fields ...string) (int, string) {
		form := url.Values{"id": {shoptest.NewID().String()}}
		for i := 0; i < len(fields); i += 2 {
			form.Set(fields[i], fields[i+1])
		}
		return post(t, s.url+"/P/"+shelf+"/"+verb, form)
	}
	to("scan", "station", "rip")
	status, page := to("skip", "step", "7", "reason", "Bought ready")
	require.Equal(t, 422, status)
	_, word, shown := strings.Cut(page, `<form class="offer" method="post" action="/P/`+shelf+`/skip"`)
	require.True(t, shown, "the word goes where the request went")
	assert.Contains(t, word, "It has moved enough")
	status, page = to("skip", "step", "7", "reason", "It has moved enough", "override", "1")
	require.Equal(t, 200, status)
	assert.Contains(t, page, "Steps left out")
	j, err := s.bench.Job(t.Context(), job.Job.Code)
	require.NoError(t, err)
	for _, st := range j.States {
		if string(st.Part) == shelf {
			assert.Equal(t, parts.WasSkipped, st.Past[5].How, "it was left out, and not recorded")
		}
	}
	s.clock.Pass(24 * time.Hour)
	status, page = to("release")
	require.Equal(t, 200, status)
	assert.NotContains(t, page, `name="override"`)
}

// What is fitted into a frame wants no label of its own until it comes out.
func TestAFittedPartWantsNoLabel(t *testing.T) {
	s := serve(t)
	job := shoptest.ListJob(t, s.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	for _, line := range []string{"Stile", "Rail"} {
		ticket := named(t, s, job.Job.Code, line, parts.Ticket)
		_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: ticket, Station: "bore"})
		require.NoError(t, err)
	}
	waiting := func() int {
		due, err := s.bench.LabelQueue(t.Context())
		require.NoError(t, err)
		n := 0
		for _, j := range due {
			n += j.Count
		}
		return n
	}
	before := waiting()
	frame := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: frame, Station: "glue"})
	require.NoError(t, err)
	assert.Equal(t, before-4, waiting())
	_, err = s.bench.TakeApart(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: frame})
	require.NoError(t, err)
	assert.Equal(t, before, waiting(), "they want it again")
}
