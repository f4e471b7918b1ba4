package rework_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/rework"
)

func TestRelabel(t *testing.T) {
	tests := []struct {
		name string
		of   func(*parts.State)
		code string // "" when its label waits afterwards
	}{
		{"a part whose label fell off", func(s *parts.State) { s.Copies = 1 }, ""},
		{"a held part, too", func(s *parts.State) { s.Held = "crack" }, ""},
		{"an assembly", func(s *parts.State) { s.Kind = parts.Assembly }, ""},
		{"one that waits already", func(s *parts.State) { s.LabelDue = true }, "label-waits"},
		{"a scrapped part", func(s *parts.State) { s.Scrapped = true }, "label-void"},
		{"a part inside a frame", func(s *parts.State) { s.In = "A1" }, "label-inside"},
		{"a ticket", func(s *parts.State) { s.Kind = parts.Ticket }, "label-none"},
		{"a cart", func(s *parts.State) { s.Kind = parts.Cart }, "label-none"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := rail(1, 2, tt.of)
			events, err := rework.Relabel(view(s), by)
			require.Equal(t, tt.code, parts.CodeOf(err))
			if tt.code == "" {
				after := parts.Apply(s, events[0])
				assert.True(t, after.WantsLabel())
				assert.Equal(t, s.Next, after.Next, "nothing was done to the wood")
			}
		})
	}
}
