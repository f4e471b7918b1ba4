package parts

import (
	"math/big"
	"strconv"
	"strings"
	"unicode"
)

// readMixed takes a number off the front of text: whole, decimal, a fraction
// or a whole number and a proper fraction. It also says whether it is whole.
func readMixed(text string, comma bool) (value *big.Rat, whole bool, rest string, err error) {
	first, rest := span(text, "0123456789.,")
	if strings.HasPrefix(rest, "/") {
		value, rest, err = readFraction(text)
		if err == nil && len(first) > 1 && value.Cmp(big.NewRat(1, 1)) > 0 {
			err = errUnclear
		}
		return value, false, rest, err
	}
	clean, err := decimalPoint(first, comma)
	if err != nil {
		return nil, false, "", err
	}
	value, ok := new(big.Rat).SetString(clean)
	if !ok {
		return nil, false, "", errUnreadable
	}
	digits, _ := span(gap(rest), "0123456789")
	if digits == "" {
		return value, value.IsInt(), rest, nil
	}
	fraction, rest, err := readFraction(gap(rest))
	if err != nil || strings.Contains(clean, ".") || fraction.Cmp(big.NewRat(1, 1)) >= 0 {
		return nil, false, "", errUnreadable
	}
	return value.Add(value, fraction), false, rest, nil
}

// readFraction takes n/d off the front of text; d is at most 128.
func readFraction(text string) (value *big.Rat, rest string, err error) {
	top, rest := span(text, "0123456789")
	rest, slash := strings.CutPrefix(rest, "/")
	bottom, rest := span(rest, "0123456789")
	n, topErr := strconv.ParseInt(top, 10, 32)
	d, bottomErr := strconv.ParseInt(bottom, 10, 32)
	if !slash || topErr != nil || bottomErr != nil || d < 1 || d > 128 {
		return nil, "", errUnreadable
	}
	return big.NewRat(n, d), rest, nil
}

// decimalPoint writes a number of digits, points and commas with at most one
// point, by the rule that ParseLength states.
func decimalPoint(number string, comma bool) (string, error) {
	own, other := ".", ","
	if comma {
		own, other = ",", "."
	}
	last := strings.LastIndexAny(number, ".,")
	if last < 0 {
		return number, nil
	}
	sep := number[last : last+1]
	before, after := number[:last], number[last+1:]
	switch count := strings.Count(number, sep); {
	case after == "":
		return "", errUnreadable
	case count > 1 && strings.Count(before, sep) == strings.Count(number, ".")+strings.Count(number, ",")-1:
		return ungroup(number, sep) // 1,219,500
	case count > 1:
		return "", errUnreadable
	case strings.ContainsAny(before, ".,"):
		group := own
		if sep == own {
			group = other
		}
		whole, err := ungroup(before, group) // 1,219.5
		return whole + "." + after, err
	case sep == other && len(after) == 3 && before != "" && before[0] != '0':
		return ungroup(number, sep) // 1,219
	}
	if before == "" {
		before = "0"
	}
	return before + "." + after, nil
}

// ungroup joins thousands: one to three digits, then groups of three.
func ungroup(number, sep string) (string, error) {
	groups := strings.Split(number, sep)
	for i, g := range groups {
		if len(g) > 3 || len(g) == 0 || i > 0 && len(g) != 3 {
			return "", errUnreadable
		}
	}
	return strings.Join(groups, ""), nil
}

// span splits text after its leading characters of set.
func span(text, set string) (head, tail string) {
	tail = strings.TrimLeft(text, set)
	return text[:len(text)-len(tail)], tail
}

// lookalikes maps characters that people and programs write to plain ones.
var lookalikes = map[rune]string{
	'’': "'", '‘': "'", '′': "'", 'ʹ': "'", '´': "'", '`': "'",
	'”': `"`, '“': `"`, '″': `"`, '„': `"`, 'ʺ': `"`,
	'⁄': "/", '∕': "/", '‐': "-", '‑': "-", '–': "-", '—': "-", '−': "-",
	'½': "1/2", '⅓': "1/3", '⅔': "2/3", '¼': "1/4", '¾': "3/4",
	'⅕': "1/5", '⅖': "2/5", '⅗': "3/5", '⅘': "4/5", '⅙': "1/6", '⅚': "5/6",
	'⅛': "1/8", '⅜': "3/8", '⅝': "5/8", '⅞': "7/8", '⅐': "1/7", '⅑': "1/9", '⅒': "1/10",
	'⁰': "0", '¹': "1", '²': "2", '³': "3", '⁴': "4", '⁵': "5", '⁶': "6", '⁷': "7", '⁸': "8", '⁹': "9",
	'₀': "0", '₁': "1", '₂': "2", '₃': "3", '₄': "4", '₅': "5", '₆': "6", '₇': "7", '₈': "8", '₉': "9",
}

// plain writes s in lower case with plain quotes, slashes, dashes, spaces and
// digits. A raised digit or a one-character fraction after a digit starts a
// number of its own: 2¼ is "2 1/4".
func plain(s string) string {
	var b strings.Builder
	full := false // the last character was an ordinary digit
	for _, r := range s {
		to, special := lookalikes[r]
		switch {
		case special && full && to[0] >= '0' && to[0] <= '9':
			b.WriteString(" " + to)
		case special:
			b.WriteString(to)
		case unicode.Is(unicode.Zs, r) || r == '\t':
			b.WriteByte(' ')
		default:
			b.WriteRune(unicode.ToLower(r))
		}
		full = r >= '0' && r <= '9'
	}
	return strings.ReplaceAll(b.String(), "''", `"`)
}
