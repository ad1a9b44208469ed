package csvfile

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/fault"
)

// A mark before what a spreadsheet reckons comes off again, whatever the text.
func TestGuardedTextComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`['=+\-@\t]{0,3}[a-z =+'-]{0,6}`).Draw(t, "text")
		if got := bare(guarded(text)); got != text {
			t.Fatalf("%q came back as %q", text, got)
		}
		if g := guarded(text); g != "" && strings.ContainsRune("=+-@\t", rune(g[0])) {
			t.Fatalf("%q stays a formula", g)
		}
	})
}

// The separators are those of RFC 4180 and of spreadsheets where a comma begins
// the decimals.
func TestAFileIsReadByItsColumns(t *testing.T) {
	format := Format{Columns: []string{"code", "name", "amount"}, Needed: []string{"code"}}
	var refused []string
	refuse := func(line int, column, why string) {
		refused = append(refused, fmt.Sprintf("%d %s: %s", line, column, why))
	}
	for _, file := range []string{"name,code,amount\n\"two\nlines\",a,1.5\n", Mark + "name;code;amount\r\n\"two\nlines\";a;1,5\r\n"} {
		rows, err := Read([]byte(file), format, refuse)
		if err != nil || len(rows) != 1 || len(refused) > 0 {
			t.Fatalf("%q: %v, refused %v, %v", file, rows, refused, err)
		}
		r := rows[0]
		if x := r.Number("amount"); r.Line != 2 || r.Text("name") != "two\nlines" || x == nil || *x != 1.5 {
			t.Errorf("%q is read as %+v", file, r)
		}
	}
	rows, err := Read([]byte("code,amount\na,many\nb,1,2\nc\n\"d"), format, refuse)
	if err != nil || len(rows) != 2 {
		t.Fatal(rows, err)
	}
	if rows[0].Number("amount") != nil || rows[1].Number("amount") != nil || rows[1].Line != 4 {
		t.Errorf("%+v", rows)
	}
	want := "3 : The row has 3 cells|5 : The row cannot be read|2 amount: “many” does not begin with a number"
	for i, w := range strings.Split(want, "|") {
		if i >= len(refused) || !strings.HasPrefix(refused[i], w) {
			t.Errorf("refused %q, want %q at %d", refused, w, i)
		}
	}
	for file, says := range map[string]string{"": "empty", "code,colour\n": "no column “colour”", "name\n": "“code” is missing", "code,code\n": "twice", "c\xff": "UTF-8"} {
		var invalid *fault.Invalid
		if _, err := Read([]byte(file), format, refuse); !errors.As(err, &invalid) || !strings.Contains(invalid.Fields["file"], says) {
			t.Errorf("%q: %v, want %q", file, err, says)
		}
	}
}
