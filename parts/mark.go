package parts

import "strings"

// ID is a mark: what names a part, an assembly or a ticket, on its label and
// everywhere else. Its last character is a check by ISO/IEC 7064 MOD 37-2.
// This is the canonical form, capitals without a hyphen: "101S".
type ID string

// FirstSerial is the serial of the first mark: the first that is written with
// three characters and the check. Marks grow with the serial.
const FirstSerial int64 = 32 * 32

// markAlphabet is what marks are written with. I, L, O and U are left out:
// they look like others, in print or by hand.
const markAlphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// Marks are this long, check included.
const (
	shortestMark = 4
	longestMark  = 14 // 13 characters hold every int64
)

// NextMark gives the first mark at or after serial, and the serial to go on
// from. Serials whose check would be no character of a mark are skipped.
func NextMark(serial int64) (ID, int64) {
	for serial = max(serial, FirstSerial); ; serial++ {
		var digits [longestMark]byte
		at := len(digits)
		for n := serial; n > 0; n /= int64(len(markAlphabet)) {
			at--
			digits[at] = markAlphabet[n%int64(len(markAlphabet))]
		}
		body := string(digits[at:])
		check, err := CheckCharacter(body)
		if err == nil && strings.IndexByte(markAlphabet, check) >= 0 {
			return ID(body + string(check)), serial + 1
		}
	}
}

// checkAlphabet gives characters their values in ISO/IEC 7064 MOD 37-2.
const checkAlphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"

// CheckCharacter computes the ISO/IEC 7064 MOD 37-2 check of digits and
// capitals. The result is one of 0-9, A-Z and '*'. Any other character in s,
// or none at all, is an Invalid Problem, mark-unreadable.
func CheckCharacter(s string) (byte, error) {
	sum := 0
	for _, r := range s {
		value := strings.IndexRune(checkAlphabet[:36], r)
		if value < 0 {
			return 0, unreadableMark(s)
		}
		sum = (sum + value) * 2 % 37
	}
	if s == "" {
		return 0, unreadableMark(s)
	}
	return checkAlphabet[(38-sum)%37], nil
}

// ParseMark reads a mark as it is typed or scanned: in any case, with spaces
// and hyphens, O for 0, I and L for 1; or the whole address on a label, which
// ends in /P/MARK or, on a later copy, /P/2/MARK. The error is an Invalid
// Problem: mark-unreadable, or mark-mistyped when only the check is wrong.
func ParseMark(s string) (ID, error) {
	text, ok := markOfAddress(strings.ToUpper(strings.TrimSpace(clipLong(s))))
	if !ok {
		return "", unreadableMark(s)
	}
	text = strings.Map(forgive, text)
	if len(text) < shortestMark || len(text) > longestMark || strings.Trim(text, markAlphabet) != "" {
		return "", unreadableMark(s)
	}
	check, err := CheckCharacter(text[:len(text)-1])
	if err != nil {
		return "", err
	}
	if check != text[len(text)-1] {
		return "", Problemf(Invalid, "mark-mistyped", "There is no mark %s: a character is wrong or two are swapped.", text).
			Next("Compare it with the label, character by character, or scan the label.")
	}
	return ID(text), nil
}

// longestScan bounds what a scanner may send.
const longestScan = 500

func clipLong(s string) string { return s[:min(len(s), longestScan)] }

// markOfAddress gives what follows /P/ or /P/NUMBER/ in an address, text itself
// when it is no address, and false for the address of something else.
func markOfAddress(text string) (string, bool) {
	if !strings.ContainsRune(text, '/') {
		return text, true
	}
	text, _, _ = strings.Cut(text, "#")
	text, _, _ = strings.Cut(text, "?")
	words := strings.Split(strings.TrimRight(text, "/"), "/")
	last := len(words) - 1
	switch {
	case last >= 1 && words[last-1] == "P":
		return words[last], true
	case last >= 2 && words[last-2] == "P" && words[last-1] != "" && strings.Trim(words[last-1], "0123456789") == "":
		return words[last], true
	}
	return "", false
}

// forgive drops what people put between the characters of a mark and reads
// lookalikes as the characters that are in use.
func forgive(r rune) rune {
	switch r {
	case ' ', '\t', '\u00A0', '-', '‐', '‑', '–', '−':
		return -1
	case 'O':
		return '0'
	case 'I', 'L':
		return '1'
	}
	return r
}

func unreadableMark(s string) *Problem {
	return Problemf(Invalid, "mark-unreadable", "%s is not a mark.", quoted(s)).
		Next("A mark is at least four digits and capitals, like %s. Scan the label or type what is printed under its code.", "101S")
}
