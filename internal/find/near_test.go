package find

import (
	"slices"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"damperdesk/internal/fold"
)

// Source for the four kinds: F. J. Damerau, "A technique for computer detection
// and correction of spelling errors", Communications of the ACM 7 (1964), no. 3:
// one letter wrong, missing, extra, or two adjacent ones transposed.
func TestDistanceCountsTheKindsOfDamerau(t *testing.T) {
	for _, c := range []struct {
		kind, typed, meant string
		away               int
	}{
		{"none", "marsh", "marsh", 0},
		{"substitution", "mersh", "marsh", 1},
		{"deletion", "mrsh", "marsh", 1},
		{"insertion", "maarsh", "marsh", 1},
		{"transposition", "mrash", "marsh", 1},
		{"at the beginning", "amrsh", "marsh", 1},
		{"at the end", "marhs", "marsh", 1},
		{"two substitutions", "kattanan", "anttonen", 4},
		{"a transposition and a letter too many", "odtetee", "odette", 2},
		{"no letter in common", "aaaa", "bbbb", 4},
		{"letters of other scripts", "олгьа", "ольга", 1},
		{"nothing typed", "", "abc", 3},
	} {
		for _, pair := range [][2]string{{c.typed, c.meant}, {c.meant, c.typed}} {
			if got := distance(pair[0], pair[1]); got != c.away {
				t.Errorf("%s: distance(%q, %q) = %d, want %d", c.kind, pair[0], pair[1], got, c.away)
			}
		}
	}
}

// Whatever slips happen, as many as a term may have, the trigrams that are
// looked for still have one in common with the word that was meant.
func TestNoMistypedWordIsLostAmongTheTrigrams(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		meant := []rune(rapid.StringMatching(`[a-eß]{4,16}`).Draw(t, "meant"))
		word := slices.Clone(meant)
		allowed := term{text: string(word)}.mistakes()
		touched := 0 // up to here letters have slipped
		for range allowed {
			word, touched = slip(t, word, touched)
		}
		typed := term{text: string(word)}
		if distance(typed.text, string(meant)) > typed.mistakes() {
			return // a shorter word may have fewer
		}
		looked := tail(fold.Grams(typed.text), typed.mistakes())
		if typed.mistakes() > 0 && !slices.ContainsFunc(fold.Grams(string(meant)), func(g string) bool { return slices.Contains(looked, g) }) {
			t.Fatalf("%q typed for %q shares none of %q", typed.text, string(meant), looked)
		}
	})
}

// slip is one slip of Damerau's kinds behind what has slipped already.
func slip(t *rapid.T, word []rune, from int) ([]rune, int) {
	if from >= len(word)-1 {
		return word, from
	}
	at := rapid.IntRange(from, len(word)-2).Draw(t, "at")
	letter := rapid.RuneFrom([]rune("abcdexyz")).Draw(t, "letter")
	switch rapid.IntRange(0, 3).Draw(t, "kind") {
	case 0:
		return slices.Insert(word, at, letter), at + 1
	case 1:
		return slices.Delete(word, at, at+1), at
	case 2:
		word[at] = letter
		return word, at + 1
	}
	word[at], word[at+1] = word[at+1], word[at]
	return word, at + 2
}

func TestMistakesGrowWithTheWord(t *testing.T) {
	for text, want := range map[string]int{"": 0, "ode": 0, "moss": 1, "ольга": 1, "marshall": 1, "castellan": 2, "tl20418": 1, "447700900118": 1} {
		if got := (term{text: text}).mistakes(); got != want {
			t.Errorf("%q of %d letters may have %d mistakes, want %d", text, utf8.RuneCountInString(text), got, want)
		}
	}
	if got := (term{text: "odette", mail: "odette@"}).mistakes(); got != 0 {
		t.Errorf("a mail address may have %d mistakes, want none", got)
	}
}

func TestNearestIsTheClosestFirst(t *testing.T) {
	words := []string{"castellan", "castelan", "castellans", "marsh", "castellan", "castle", "casstellane"}
	if got, want := nearest("castellann", 2, words), []string{"castellan", "castellans", "casstellane", "castelan"}; !slices.Equal(got, want) {
		t.Errorf("nearest = %q, want %q", got, want)
	}
	if got := nearest("marsh", 1, []string{"marsh"}); got != nil {
		t.Errorf("the word itself is %q, no mistyping", got)
	}
	many := make([]string, 0, 40)
	for r := 'a'; r <= 'z'; r++ {
		many = append(many, "mars"+string(r))
	}
	if got := nearest("marsh", 1, many); len(got) != mostNear || got[0] != "marsa" {
		t.Errorf("nearest = %d words, first %q; want %d in order", len(got), got[0], mostNear)
	}
}
