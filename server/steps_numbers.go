package server

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"benchtally/parts"
)

var (
	amountText = regexp.MustCompile(`^(\d{1,7}([.,]\d{1,6})?|[.,]\d{1,6})$`)
	timeText   = regexp.MustCompile(`^([\d.,]+) ?(h|hours?|min|minutes?|d|days?)?$`)
)

// amount reads a plain number; point and comma both stand before decimals.
func amount(text string) (float64, bool) {
	text = strings.TrimSpace(text)
	if !amountText.MatchString(text) {
		return 0, false
	}
	n, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", "."), 64)
	return n, err == nil
}

// readMinutes reads a time as the nearest number of minutes. A bare number is
// hours; "50 min" and "3 days" say their unit.
func readMinutes(text string) (int, bool) {
	m := timeText.FindStringSubmatch(strings.ToLower(strings.TrimSpace(text)))
	if m == nil {
		return 0, false
	}
	n, ok := amount(m[1])
	switch {
	case strings.HasPrefix(m[2], "d"):
		n *= 24 * 60
	case !strings.HasPrefix(m[2], "m"):
		n *= 60
	}
	return int(math.Round(n)), ok
}

// minutesText writes minutes so that readMinutes reads them again: in hours
// where two decimals are enough, "" for none.
func minutesText(m int) string {
	switch {
	case m == 0:
		return ""
	case m%3 == 0:
		return strconv.FormatFloat(float64(m)/60, 'f', -1, 64)
	}
	return strconv.Itoa(m) + " min"
}

// lengthText writes a length so that it is read again exactly: as the shop
// prints it, unless that rounds. "" is for none.
func lengthText(l parts.Length, st parts.Style) string {
	if l == 0 {
		return ""
	}
	text := l.Format(st)
	if again, err := parts.ParseLength(text, parts.Writing{Unit: st.Unit}); err != nil || again != l {
		return l.String()
	}
	return text
}
