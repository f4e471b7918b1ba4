package server

import (
	"cmp"
	"context"
	"encoding/json"
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// lateJSON is a scan that came too late to be judged by itself.
type lateJSON struct {
	Command parts.CommandID `json:"command"`
	Kind    string          `json:"kind"`
	Mark    parts.ID        `json:"mark"`
	Asked   json.RawMessage `json:"asked"`
	Code    string          `json:"code"`
	Detail  string          `json:"detail"`
	Next    string          `json:"next"`
}

func (s *Server) apiLate(c *gin.Context) error {
	all, err := s.bench.LateScans(c.Request.Context())
	if err != nil {
		return err
	}
	words := s.words(c.Request.Context())
	out := make([]lateJSON, 0, len(all))
	for _, l := range all {
		out = append(out, lateJSON{Command: l.Command, Kind: l.Kind, Mark: l.Subject, Asked: l.Request,
			Code: l.Problem.Code, Detail: words.Say(l.Problem), Next: words.Do(l.Problem)})
	}
	return answer(c, http.StatusOK, out)
}

// lateSettled says what is done about a late scan: "record" or "drop".
type lateSettled struct {
	ID string `json:"id"`
	Do string `json:"do"`
}

// settledJSON answers when a late scan was dropped.
type settledJSON struct {
	Outcome string   `json:"outcome"` // "settled"
	Command string   `json:"command"` // the late scan's
	Mark    parts.ID `json:"mark"`
}

// apiSettleLate takes a late scan off the list, because a person has looked
// at it.
func (s *Server) apiSettleLate(c *gin.Context) error {
	late, err := parts.ParseCommandID(c.Param("command"))
	if err != nil {
		return err
	}
	var b lateSettled
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	id, err := commandID(b.ID)
	if err != nil {
		return err
	}
	parked, found, err := s.bench.Answered(c.Request.Context(), late)
	if err != nil {
		return err
	}
	if !found || parked.Outcome != string(parts.Parked) {
		return parts.Problemf(parts.Missing, "late-unknown", "No late scan has the id %s.", late).Next("Look at the list of late scans.")
	}
	switch b.Do {
	case "record":
		return s.did(c)(s.recordLate(c.Request.Context(), id, late, parked.Mark))
	case "drop":
		if err := s.bench.Settle(c.Request.Context(), late); err != nil {
			return err
		}
		return answer(c, http.StatusOK, settledJSON{Outcome: "settled", Command: parked.Command, Mark: parked.Mark})
	}
	return parts.Problemf(parts.Invalid, "field-wrong", "The field %q is not record or drop.", "do").Next("Send one of them.").Fact("field", "do")
}

// recordLate records a late scan as of now. Once it is off the list, a repeat
// of the same id finds the answer of the first time.
func (s *Server) recordLate(ctx context.Context, id, late parts.CommandID, mark parts.ID) (bench.Answer, error) {
	a, err := s.bench.RecordLate(ctx, id, late)
	if parts.CodeOf(err) == "late-gone" {
		before, found, lost := s.bench.Answered(ctx, id)
		if lost != nil || !found || before.Mark != mark {
			return a, cmp.Or(lost, err)
		}
		return before, nil
	}
	if err != nil {
		return a, err
	}
	return a, s.bench.Settle(ctx, late)
}
