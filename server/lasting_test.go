package server

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"benchtally/templates"
)

// Up to four days the hours are said: two days and a little are not three.
func TestHowLongIsSaid(t *testing.T) {
	const day = 24 * time.Hour
	for d, want := range map[time.Duration]string{
		0: "no time", time.Second: "1 min", 59 * time.Minute: "59 min", 90 * time.Minute: "1 h 30 min", 47 * time.Hour: "47 h",
		2 * day: "2 days", 2*day + time.Minute: "2 days 1 h", 2*day + 5*time.Hour: "2 days 5 h", 3*day - time.Minute: "3 days",
		4*day - time.Hour: "3 days 23 h", 4 * day: "4 days", 4*day + time.Hour: "5 days", 14 * day: "14 days",
	} {
		assert.Equal(t, want, lasting(templates.English, d), "%v", d)
	}
}
