package tune

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
)

const (
	longestName    = 200  // characters
	longestEncoded = 1000 // bytes of text that are looked at; 200 characters take at most 800
)

// name decodes a text of the file, whose encoding nothing declares: UTF-8 where it is valid, else Shift-JIS where it reads as
// Japanese, else Windows-1252. Control and format characters are taken out. It gives the remark that a guess calls for.
func name(raw []byte) (text string, guess remark, guessed bool) {
	cut := len(raw) > longestEncoded
	raw = raw[:min(len(raw), longestEncoded)]
	if s, ok := whole(raw, cut, utf8.Valid); ok {
		return clean(string(s)), 0, false
	}
	if s, ok := whole(raw, cut, isJapanese); ok {
		decoded, _ := japanese.ShiftJIS.NewDecoder().Bytes(s)
		return clean(string(decoded)), remarkShiftJIS, true
	}
	decoded, _ := charmap.Windows1252.NewDecoder().Bytes(raw)
	return clean(string(decoded)), remarkWindows1252, true
}

// whole gives raw, less the start of a character at the end where it was cut, if it is valid.
func whole(raw []byte, cut bool, valid func([]byte) bool) ([]byte, bool) {
	for lost := 0; lost < 4 && lost <= len(raw); lost++ {
		if s := raw[:len(raw)-lost]; valid(s) {
			return s, true
		}
		if !cut {
			break
		}
	}
	return nil, false
}

// isJapanese reports whether raw is sound Shift-JIS with two kana or kanji side by side: a single one is as likely to be an accented
// letter of Windows-1252 and the letter after it.
func isJapanese(raw []byte) bool {
	decoded, err := japanese.ShiftJIS.NewDecoder().Bytes(raw)
	if err != nil {
		return false
	}
	run, pair := 0, false
	for _, r := range string(decoded) {
		switch {
		case r == utf8.RuneError:
			return false
		case unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana) && r < 0xFF00:
			run++
			pair = pair || run > 1
		default:
			run = 0
		}
	}
	return pair
}

// clean makes one line of s without control and format characters, of at most longestName characters.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.In(r, unicode.Cc, unicode.Cf):
			return -1
		}
		return r
	}, s)
	s = strings.TrimSpace(s)
	if utf8.RuneCountInString(s) > longestName {
		s = strings.TrimSpace(string([]rune(s)[:longestName]))
	}
	return s
}
