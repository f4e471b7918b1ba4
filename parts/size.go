package parts

import "strings"

// Size is one dimension of a part. The zero Size was not given. A size to
// suit is found at the bench; Length is then that of the blank, or zero.
type Size struct {
	Length Length `json:"length,omitempty"`
	ToSuit bool   `json:"to_suit,omitempty"`
}

// toSuit lists the words for a size that is found at the bench.
var toSuit = []string{"to suit", "to-suit", "passend", "nach aufmaß", "nach aufmass", "nach maß", "nach mass"}

// ParseSize reads one dimension of a cut list: a length, "to suit", "to suit
// 36" (the size of the blank), or nothing or a dash for a size not given. Its
// errors are those of ParseLength.
func ParseSize(s string, w Writing) (Size, error) {
	text := strings.Trim(plain(s), " ")
	if strings.Trim(text, "-") == "" {
		return Size{}, nil
	}
	for _, words := range toSuit {
		rest, found := strings.CutPrefix(text, words)
		switch rest = strings.Trim(rest, " ,:;()"); {
		case !found:
			continue
		case rest == "":
			return Size{ToSuit: true}, nil
		}
		l, err := ParseLength(rest, w)
		if err != nil {
			return Size{}, err
		}
		return Size{Length: l, ToSuit: true}, nil
	}
	l, err := ParseLength(s, w)
	if err != nil {
		return Size{}, err
	}
	return Size{Length: l}, nil
}

// Format prints the size the way the shop does, "" when it was not given.
func (s Size) Format(st Style) string {
	switch {
	case s == Size{}:
		return ""
	case !s.ToSuit:
		return s.Length.Format(st)
	case s.Length == 0:
		return "to suit"
	}
	return "to suit " + s.Length.Format(st)
}

// String prints the size exactly; ParseSize reads it again.
func (s Size) String() string {
	switch {
	case s == Size{}:
		return ""
	case !s.ToSuit:
		return s.Length.String()
	case s.Length == 0:
		return "to suit"
	}
	return "to suit " + s.Length.String()
}
