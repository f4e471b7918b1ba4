package server

import (
	"cmp"
	"context"
	"slices"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// stepsUse says who follows one version of a list of steps.
type stepsUse struct {
	Version int
	Newest  bool
	Steps   []parts.Step
	Pieces  int // under way
	Jobs    []jobUse
}

// jobUse is a job with its pieces that follow a version.
type jobUse struct {
	parts.Job
	Pieces int
}

// stepsInUse gives the versions that pieces under way follow, newest first,
// by the key of their list. Only jobs on the floor have such pieces.
func (s *Server) stepsInUse(ctx context.Context) (map[string][]stepsUse, error) {
	board, err := s.bench.Floor(ctx)
	if err != nil {
		return nil, err
	}
	versions := map[int64]*stepsUse{}
	lists := map[int64]string{}
	for _, j := range board.Jobs {
		job, err := s.bench.Job(ctx, j.Job.Code)
		if err != nil {
			return nil, err
		}
		for id, n := range underWay(job) {
			r := job.Routings[id]
			if versions[id] == nil {
				versions[id], lists[id] = &stepsUse{Version: r.Version, Steps: r.Steps}, r.Key
			}
			versions[id].Pieces += n
			versions[id].Jobs = append(versions[id].Jobs, jobUse{Job: job.Job, Pieces: n})
		}
	}
	out := map[string][]stepsUse{}
	for id, use := range versions {
		out[lists[id]] = append(out[lists[id]], *use)
	}
	for _, uses := range out {
		slices.SortFunc(uses, func(a, b stepsUse) int { return cmp.Compare(b.Version, a.Version) })
	}
	return out, nil
}

// underWay counts the pieces of a job that still have a step before them, by
// the version they follow.
func underWay(job bench.JobPieces) map[int64]int {
	out := map[int64]int{}
	for _, st := range job.States {
		if st.Kind.Counts() || st.In != "" {
			continue
		}
		if _, more := parts.NextStep(job.Routings[st.Steps], st); more {
			out[st.Steps]++
		}
	}
	return out
}
