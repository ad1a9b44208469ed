package book_test

import (
	"cmp"
	"encoding/json"
	"errors"
	"os"
	"reflect"
	"strings"
	"testing"

	"damperdesk/internal/book"
	"damperdesk/internal/fault"
)

const sample = "testdata/book.json"

func sampleText(t testing.TB) string {
	t.Helper()
	content, err := os.ReadFile(sample)
	if err != nil {
		t.Fatal(err)
	}
	return string(content)
}

// A file written by hand after the format's description is read as it says.
func TestASampleIsRead(t *testing.T) {
	f, err := book.Parse([]byte(sampleText(t)), day("2026-01-01"))
	if err != nil {
		t.Fatal(err)
	}
	if f.Unit.Name() != "Tindra Lode" || len(f.Services) != 2 || f.Services[0].Services[0].Code != "air-spring" ||
		*f.Services[0].Readings[0].Value != 492974.5 || *f.Services[0].Settings[1].Count != 7 || f.RideHours[0].Hours != 41.5 || f.Intervals[0].Hours != 50 {
		t.Errorf("read %+v", f)
	}
}

// Editors and forms leave more in a text than letters: RFC 8259 (section 8.1) lets a
// reader ignore a byte order mark; the names of the characters are of Unicode.
func TestOddCharactersAreReadAsPlainOnes(t *testing.T) {
	for name, c := range map[string]struct{ was, is string }{
		"a byte order mark": {"", ""}, "a soft hyphen": {"Lo\u00adde", "Lode"}, "a no-break space": {"Lo\u00a0de", "Lo de"},
		"a zero width space": {"\u200bLode\u200b", "Lode"}, "a joiner": {"Lo\u200dde", "Lode"}, "a narrow space": {"Lo\u202fde ", "Lo de"},
		"a line separator": {"Lo\u2028de", "Lo de"}, "a mark of direction": {"Lode\u200e", "Lode"},
	} {
		content := "\ufeff" + strings.Replace(sampleText(t), "Lode", cmp.Or(c.was, "Lode"), 1)
		f, err := book.Parse([]byte(content), day("2026-01-01"))
		if want := cmp.Or(c.is, "Lode"); err != nil || f.Unit.Model != want {
			t.Errorf("%s: read %q, %v; want %q", name, f.Unit.Model, err, want)
		}
	}
}

func TestEachFileThatIsNoneHasItsSentence(t *testing.T) {
	good := sampleText(t)
	swap := func(was, is string) string {
		if !strings.Contains(good, was) {
			t.Fatalf("the sample has no %q", was)
		}
		return strings.Replace(good, was, is, 1)
	}
	for _, c := range []struct{ name, content, want string }{
		{"nothing", "", "cannot be read as JSON"},
		{"cut off", good[:len(good)/2], "cannot be read as JSON"},
		{"not UTF-8", swap("Tindra", "Tindr\xff"), "cannot be read as JSON in UTF-8"},
		{"more behind it", good + "{}", "goes on with something else"},
		{"too big", good + strings.Repeat(" ", book.MostFile), "more than 4 MB"},
		{"another format", swap("damperdesk service book", "recipe"), "does not begin with the format"},
		{"a later version", swap(`"version": 1`, `"version": 2`), "is of version 2 of the service book; this program reads version 1"},
		{"no version", swap(`"version": 1`, `"version": 0`), "no version"},
		{"a field nobody knows", swap(`"serial"`, `"colour"`), "a part that a service book of version 1 does not have"},
		{"words for a number", swap(`492974.5`, `"lots"`), "is not what has to stand there"},
		{"a number too great for any", swap(`492974.5`, `1e999`), "is not what has to stand there"},
		{"a pressure that cannot be", swap(`492974.5`, `9e12`), "which cannot be"},
		{"another unit", swap(`"unit": "Pa"`, `"unit": "psi"`), "has to be in Pa"},
		{"a quantity nobody knows", swap(`"quantity": "pressure"`, `"quantity": "colour"`), "of a quantity that is not known"},
		{"a day that is none", swap("2025-09-12", "2025-02-30"), "a day that is none"},
		{"a day as a number", swap(`"2025-09-12"`, `20250912`), "a day that is none"},
		{"a day to come", swap("2025-09-12", "2027-09-12"), "still to come"},
		{"a day before any fork", swap("2025-09-12", "1895-09-12"), "before 1980"},
		{"no day", swap(`"day": "2025-09-12",`, ""), "leaves out a day"},
		{"a kind that is none", swap(`"kind": "fork"`, `"kind": "handlebar"`), "fork, a rear shock or a seatpost"},
		{"two of one ref", swap("0b5d3c1e9f0a4c52", "7c1e4b2a9d3f4e60"), "the same ref"},
		{"a ref that is none", swap("0b5d3c1e9f0a4c52", "no ref"), "no ref"},
		{"no service", swap(`[{ "code": "air-spring", "name": "Air-spring service" }]`, "[]"), "does not say what was done"},
		{"a grade off its scale", swap(`"grade": "felt"`, `"grade": "awful"`), "not on its scale"},
		{"a reading without one", swap(`"grade": "felt",`, ""), "says nothing"},
		{"letters that cannot be printed", swap("Lode", `Lo\u0000de`), "cannot be printed"},
		{"letters that run backwards", swap("Lode", "Lo\u202ede"), "cannot be printed"},
		{"letters that stand apart", swap("Lode", "Lo\u2067de"), "cannot be printed"},
		{"words without end", swap("Lode", strings.Repeat("Lode", 60)), "more than 200 characters"},
		{"words of no width", swap("Weir Lane Cycles", "\u200b\u2060"), "has no words"},
		{"more than lived through", swap(`"services": [`, `"services": [`+strings.Repeat("{},", 200_000)), "lived through"},
		{"more notes than ridden", swap(`"ride_hours": [`, `"ride_hours": [`+strings.Repeat(`{ "kind": "stated", "on": "2025-06-01", "hours": 4, "source": "rider" },`, 1000)), "lived through"},
		{"less than nothing left out", swap(`"version": 1`, `"version": 1, "left_out": {"services": -1, "ride_hours": 0}`), "less than nothing"},
		{"more rides than a week has", swap(`"rides_a_week": 2`, `"rides_a_week": 200`), "rides a week"},
		{"a meter without a day", swap(`"kind": "stated"`, `"kind": "meter"`), "the day that it was read on"},
		{"hours of a season", swap(`"hours": 41.5`, `"hours": 41.5, "season": "in the season"`), "only a habit"},
		{"a season nobody knows", swap(`"rides_a_week": 2`, `"rides_a_week": 2, "season": "mostly"`), "Choose one of those listed"},
		{"more indoors than ridden", swap(`"hours": 41.5`, `"hours": 41.5, "indoor_hours": 42`), "more than the hours ridden"},
		{"what a rider weighs", swap(`"hours": 41.5`, `"hours": 41.5, "conditions": ["heavy rider"]`), "what a rider weighs"},
		{"ridden in what nobody knows", swap(`"hours": 41.5`, `"hours": 41.5, "conditions": ["lava"]`), "not on the list"},
		{"hours nobody said", swap(`"source": "rider"`, `"source": "a bird"`), "who said them"},
		{"an interval below nothing", swap(`"hours": 50`, `"hours": -50`), "which is none"},
		{"a travel of metres", swap(`"travel_mm": 140`, `"travel_mm": 140000`), "travel of 140000 mm"},
	} {
		_, err := book.Parse([]byte(c.content), day("2026-01-01"))
		var wrong *fault.Invalid
		if !errors.As(err, &wrong) || !strings.Contains(wrong.Fields["file"], c.want) || strings.Count(wrong.Fields["file"], "\n") > 0 {
			t.Errorf("%s: got %v, want a sentence with %q", c.name, err, c.want)
		}
	}
}

// Whatever comes, the reader refuses it on its field or gives a book that it reads
// again as the same.
func FuzzParse(f *testing.F) {
	f.Add([]byte(sampleText(f)))
	f.Add([]byte(`{"format":"damperdesk service book","version":1}`))
	f.Add([]byte(`[1,2`))
	today := day("2026-01-01")
	f.Fuzz(func(t *testing.T, content []byte) {
		read, err := book.Parse(content, today)
		if err != nil {
			var wrong *fault.Invalid
			if !errors.As(err, &wrong) || wrong.Fields["file"] == "" {
				t.Fatalf("%q: %v is no sentence on the file", content, err)
			}
			return
		}
		written, err := read.JSON()
		if err != nil {
			t.Fatal(err)
		}
		again, err := book.Parse(written, today)
		if err != nil {
			t.Fatalf("what was read is refused when written again: %v\n%s", err, written)
		}
		x, _ := json.Marshal(read)
		y, _ := json.Marshal(again)
		if !reflect.DeepEqual(x, y) {
			t.Fatalf("read as\n%s\nand again as\n%s", x, y)
		}
	})
}
