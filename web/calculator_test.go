package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// answerOf is what a calculator says under a term.
func (p *page) answerOf(term string) string {
	p.t.Helper()
	for i := range p.Find(".answer dt").Nodes {
		dt := p.Find(".answer dt").Eq(i)
		if strings.TrimSpace(dt.Text()) == term {
			return strings.Join(strings.Fields(dt.Next().Text()), " ")
		}
	}
	return ""
}

func calculatorURL(name string, fields ...string) string {
	q := url.Values{}
	for i := 0; i < len(fields); i += 2 {
		q.Set(fields[i], fields[i+1])
	}
	return "/calculators/" + name + "?" + q.Encode()
}

// The published examples reach people in the units they typed.
func TestCalculatorsSayWhatIsPublished(t *testing.T) {
	b := server(t).as(mechanic)
	for _, c := range []struct {
		source, at, term, want string
	}{
		{"NIST SP 811, B.8: 62 lbf·in is 7.00505939971 N·m", calculatorURL("units", "value", "62 lbf·in"), "In N·m", "7 N·m 7.0050594 N·m unrounded"},
		{"NIST SP 811, B.8: 85 psi is 5.86054369919 bar", calculatorURL("units", "value", "85 psi"), "In bar", "5.85 bar 5.8605437 bar unrounded"},
		{"US Army TM 9-254: set 60, applied 70", calculatorURL("torque", "torque", "70 lbf·in", "tool", "", "length", "12 in", "extension", "2 in", "angle", "0"),
			"Set the wrench to", "6.8 N·m 60 lbf·in; 6.779 N·m unrounded"},
		{"85 psi set at 20 °C reads 78.19830 psi at 0 °C: ideal gas", calculatorURL("pressure", "pressure", "85 psi", "t1", "20", "h1", "0", "t2", "0", "h2", "0", "most", ""),
			"The gauge reads there", "78 psi 7 psi less"},
		{"600 kPa from sea level to 2000 m reads 621.82358: US Standard Atmosphere 1976", calculatorURL("pressure", "pressure", "600 kPa", "t1", "15", "h1", "0", "t2", "15", "h2", "2000", "most", ""),
			"The gauge reads there", "90 psi 3 psi more"}, // 621.82358 kPa is 90.19 psi
		{"ASTM D341 recomputed: (40, 32), (100, 5.4) is 86.277857 at 20 °C", calculatorURL("fluid", "v1", "32", "t1", "40", "v2", "5.4", "t2", "100", "at", "20"),
			"At 20 °C", "86.3 mm²/s"},
		{"ASTM D2270 by chemicals: 32 and 5.4 are 102", calculatorURL("fluid", "v1", "32", "t1", "40", "v2", "5.4", "t2", "100", "at", "20"),
			"Viscosity index", "102 the higher, the less it thickens in the cold"},
		{"ISO 3448: 28.8 to 35.2 is VG 32", calculatorURL("fluid", "v1", "32", "t1", "40", "v2", "5.4", "t2", "100", "at", "20"), "Grade", "ISO VG 32 32.0 mm²/s at 40 °C"},
		{"Refutas (Maples 2000): 0.5952015 of 7.5 with 16.1 makes 10", calculatorURL("blend", "thin", "7.5", "thick", "16.1", "want", "10", "amount", "100 mL"),
			"By Refutas", "59.5 mL thin and 40.5 mL thick 59.5 % thin"},
		{"Refutas (Maples 2000): 5 and 20 by 0.6 and 0.4 are 8.1085", calculatorURL("mix", "v1", "5", "amount1", "60 mL", "v2", "20", "amount2", "40 mL", "v3", "", "amount3", ""),
			"By Refutas", "8.1 mm²/s at the temperature of the others"},
		{"ASTM D7152: the same in three, 5 and 5 and 20 by 0.3, 0.3 and 0.4 are 8.0813", calculatorURL("mix", "v1", "5", "amount1", "30 mL", "v2", "5", "amount2", "30 mL", "v3", "20", "amount3", "40 mL"),
			"By ASTM D7152", "8.1 mm²/s at the temperature of the others"},
	} {
		if got := strings.ReplaceAll(b.get(c.at).want(200).answerOf(c.term), "\u00a0", " "); got != c.want {
			t.Errorf("%s: %q, want %q", c.source, got, c.want)
		}
	}
}

// A fork that already sags as wanted keeps its pressure; one that sags more gets
// more; the maker's most holds it back.
func TestTheSagCalculatorAdvises(t *testing.T) {
	b := server(t).as(mechanic)
	ask := func(sag, want, most string) *page {
		t.Helper()
		return b.get(calculatorURL("sag", "pressure", "70 psi", "sag", sag, "pressure2", "", "sag2", "", "spacers", "", "spacers2", "", "spacer", "", "travel", "150", "want", want,
			"least", "40 psi", "most", most, "rider", "")).want(200)
	}
	p := ask("30", "20", "150 psi")
	if got := p.answerOf("Try next"); !strings.HasPrefix(got, "70") || p.answerOf("But") != "" {
		t.Errorf("as wanted: %q, %q", got, p.answerOf("But"))
	}
	if p.Find("svg.chart").Length() != 1 || p.Find("#answer tbody tr").Length() != 11 {
		t.Error("no chart with its table behind it")
	}
	if got := ask("40", "20", "150 psi").answerOf("Try next"); !strings.HasSuffix(got, "more") {
		t.Errorf("too much sag: %q", got)
	}
	// One spacer more hardens the end; the sag of this rider hardly tells.
	p = b.get(calculatorURL("sag", "pressure", "70 psi", "sag", "30", "pressure2", "", "sag2", "", "spacers", "1", "spacers2", "2", "spacer", "10 mL", "travel", "150", "want", "20",
		"least", "40 psi", "most", "150 psi", "rider", "82 kg")).want(200)
	var harder, before int
	if _, err := fmt.Sscanf(p.answerOf("Pressed to the end it takes"), "%d N %d N", &harder, &before); err != nil || harder <= before {
		t.Errorf("with a spacer more the end takes %q", p.answerOf("Pressed to the end it takes"))
	}
	p = ask("45", "15", "90 psi")
	if got := p.answerOf("Try next"); !strings.HasPrefix(got, "90") || !strings.Contains(p.answerOf("But"), "the most allowed") {
		t.Errorf("over the most: %q, %q", got, p.answerOf("But"))
	}
}

// 280 psi at 0 °C is 323 psi at 40 °C (ideal gas, by hand: 294.696 × 313.15/273.15
// − 14.696); 5 psi at 10,000 m is an empty spring brought up from the sea.
func TestThePressureCalculatorWarns(t *testing.T) {
	b := server(t).as(mechanic)
	ask := func(pressure, t1, t2, h2, most string) *page {
		t.Helper()
		return b.get(calculatorURL("pressure", "pressure", pressure, "t1", t1, "h1", "0", "t2", t2, "h2", h2, "most", most)).want(200)
	}
	p := ask("280 psi", "0", "40", "0", "300 psi")
	if there, but := p.answerOf("The gauge reads there"), p.answerOf("But"); there != "323 psi 43 psi more" || !strings.Contains(but, "above the most allowed, 300 psi") {
		t.Errorf("over the most: %q, %q", there, but)
	}
	if p := ask("280 psi", "0", "40", "0", "323.5 psi"); p.answerOf("But") != "" || p.answerOf("Before pumping") != "" {
		t.Error("it warns below the most")
	}
	if got := ask("85 psi", "20", "0", "0", "").answerOf("Before pumping"); !strings.Contains(got, "look it up") {
		t.Errorf("without a most: %q", got)
	}
	if got := ask("5 psi", "15", "15", "10000", "100 psi").answerOf("To read the same there, set here"); !strings.Contains(got, "cannot be") {
		t.Errorf("a setting below zero: %q", got)
	}
}

// What no workshop has is asked again beside its field, rather than worked out.
func TestACalculatorAsksAgain(t *testing.T) {
	b := server(t).as(mechanic)
	whole := map[string][]string{
		"torque": {"torque", "7.3", "tool", "", "length", "300", "extension", "50", "angle", "0"},
		"blend":  {"thin", "7.5", "thick", "16.1", "want", "10", "amount", "100 mL"},
		"sag": {"pressure", "70", "sag", "30", "pressure2", "", "sag2", "", "spacers", "", "spacers2", "", "spacer", "", "travel", "150", "want", "20",
			"least", "", "most", "", "rider", ""},
	}
	for _, c := range []struct {
		name  string
		typed []string
		field string
	}{
		{"torque", []string{"torque", "0"}, "torque"},
		{"torque", []string{"torque", "999999999999999"}, "torque"},
		{"torque", []string{"length", "0.00000001"}, "length"},
		{"torque", []string{"extension", "999999999999", "angle", "90"}, "extension"},
		{"torque", []string{"extension", "299.999", "angle", "180"}, "extension"},
		{"blend", []string{"amount", "0"}, "amount"},
		{"sag", []string{"pressure", "0"}, "pressure"},
		{"sag", []string{"pressure2", "2000", "sag2", "10"}, "pressure2"},
		{"sag", []string{"pressure2", "90", "sag2", "40"}, "sag2"},
		{"sag", []string{"sag", "149.9"}, "sag"},
		{"sag", []string{"travel", "999999999999"}, "travel"},
		{"sag", []string{"rider", "999999999999"}, "rider"},
		{"sag", []string{"spacers2", "2", "spacer", "7 mL"}, "rider"},
	} {
		fields := append(slices.Clone(whole[c.name]), c.typed...)
		if p := b.get(calculatorURL(c.name, fields...)).want(http.StatusUnprocessableEntity); p.wrong(c.field) == "" {
			t.Errorf("%s, %v: nothing beside %s, %q", c.name, c.typed, c.field, p.words("#answer"))
		}
	}
	if got := b.get(calculatorURL("units", "value", "0.0001 psi")).want(200).answerOf("In bar"); got != "0 bar 0.00000689475729 bar unrounded" {
		t.Errorf("a small value is printed as %q", got)
	}
}

// A wrench that ends at 15 N·m is not set to 34.3 (40 × 300/350, by hand).
func TestTheTorqueCalculatorSetsNoWrenchBeyondItsScale(t *testing.T) {
	c := server(t).counter()
	c.benchJob()
	p := c.as(mechanic).get(calculatorURL("torque", "torque", "40 N·m", "tool", strconv.FormatInt(c.toolNamed("Wrench 3").ID, 10), "length", "300", "extension", "50", "angle", "0")).want(200)
	if set, but := p.answerOf("On Wrench 3"), p.answerOf("But"); set != "" || !strings.Contains(but, "34.3 N·m is above its scale") {
		t.Errorf("set to %q, but %q", set, but)
	}
}

// What is shown of a pressure never lies above the most that is allowed, whatever
// it is rounded to, and where no most is known the answer says so. 76.6 psi and
// 100.4 psi are what 5.28 bar and 6.92 bar are.
func TestTheSagCalculatorStaysInTheLimits(t *testing.T) {
	b := server(t).as(mechanic)
	ask := func(least, most string) *page {
		t.Helper()
		return b.get(calculatorURL("sag", "pressure", "70 psi", "sag", "30", "pressure2", "", "sag2", "", "spacers", "", "spacers2", "", "spacer", "", "travel", "150", "want", "15",
			"least", least, "most", most, "rider", "")).want(200)
	}
	for _, c := range []struct{ least, most, next string }{{"", "5.28 bar", "76 psi"}, {"6.92 bar", "200 psi", "101 psi"}} {
		p := ask(c.least, c.most)
		if got := p.answerOf("Try next"); !strings.HasPrefix(got, c.next) || !strings.Contains(p.answerOf("But"), "allowed") {
			t.Errorf("from %q to %q: %q, %q", c.least, c.most, got, p.answerOf("But"))
		}
		if got := p.answerOf("Before pumping"); got != "" {
			t.Errorf("with a most: %q", got)
		}
	}
	if got := ask("", "").answerOf("Before pumping"); !strings.Contains(got, "look it up") {
		t.Errorf("without a most: %q", got)
	}
}

func TestACalculatorKeepsWhatItCannotAnswer(t *testing.T) {
	b := server(t).as(desk)
	for at, field := range map[string]string{
		calculatorURL("units", "value", "lots"): "value",
		calculatorURL("torque", "torque", "7.3", "tool", "", "length", "", "extension", "50", "angle", "0"):                                                                                                  "length",
		calculatorURL("pressure", "pressure", "85 mm", "t1", "", "h1", "", "t2", "", "h2", "", "most", ""):                                                                                                   "pressure",
		calculatorURL("sag", "pressure", "70", "sag", "160", "pressure2", "", "sag2", "", "spacers", "", "spacers2", "", "spacer", "", "travel", "150", "want", "20", "least", "", "most", "", "rider", ""):  "sag",
		calculatorURL("sag", "pressure", "70", "sag", "30", "pressure2", "90", "sag2", "", "spacers", "", "spacers2", "", "spacer", "", "travel", "150", "want", "20", "least", "", "most", "", "rider", ""): "sag2",
		calculatorURL("sag", "pressure", "70", "sag", "30", "pressure2", "", "sag2", "", "spacers", "", "spacers2", "", "spacer", "", "travel", "150", "want", "90", "least", "", "most", "", "rider", ""):   "want",
		calculatorURL("blend", "thin", "7.5", "thick", "lots", "want", "10", "amount", "100"):                                                                                                                "thick",
		calculatorURL("fluid", "v1", "32", "t1", "warm", "v2", "5.4", "t2", "100", "at", "20"):                                                                                                               "t1",
		calculatorURL("mix", "v1", "5", "amount1", "60 mL", "v2", "20", "amount2", "0", "v3", "", "amount3", ""):                                                                                             "amount2",
		calculatorURL("mix", "v1", "5", "amount1", "60 mL", "v2", "20", "amount2", "40 mL", "v3", "9", "amount3", ""):                                                                                        "amount3",
		calculatorURL("riders", "model", "", "rider", "80 kg"):                                                                                                                                               "model",
	} {
		p := b.get(at).want(http.StatusUnprocessableEntity)
		if p.wrong(field) == "" || !strings.Contains(p.words("#answer"), p.wrong(field)) {
			t.Errorf("%s: beside %s %q, in the answer %q", at, field, p.wrong(field), p.words("#answer"))
		}
	}
	// What a kernel refuses is said in its words.
	b.get(calculatorURL("blend", "thin", "7.5", "thick", "16.1", "want", "20", "amount", "100")).want(http.StatusUnprocessableEntity).
		wantWords("#answer", "these two can make from 7.5 to 16.1")
	b.get(calculatorURL("torque", "torque", "7.3", "tool", "", "length", "300", "extension", "300", "angle", "180")).want(http.StatusUnprocessableEntity).
		wantWords("#answer", "nothing is tightened so")
	p := b.get(calculatorURL("sag", "pressure", "5 psi", "sag", "30", "pressure2", "", "sag2", "", "spacers", "", "spacers2", "", "spacer", "", "travel", "150", "want", "60", "least", "", "most", "", "rider", "")).
		want(http.StatusUnprocessableEntity)
	if !strings.Contains(p.wrong("want"), "take less sag") {
		t.Errorf("more sag than an empty fork has: %q", p.wrong("want"))
	}
	b.get("/calculators/abacus").want(http.StatusNotFound)
}

// An address with some of the fields waits for the others.
func TestACalculatorIsReachedWithWhatIsKnown(t *testing.T) {
	c := server(t).counter()
	j, b := c.benchJob(), c.as(mechanic)
	_, step := c.onBench(b, j, "Z7")
	at, ok := b.get(step).want(200).Find(`a[href^="/calculators/torque"]`).Attr("href")
	if !ok {
		t.Fatal("a torque step does not lead to its calculator")
	}
	p := b.get(at).want(200)
	if got := p.value("torque"); strings.ReplaceAll(got, "\u00a0", " ") != "7.3 N·m" {
		t.Errorf("the torque is %q", got)
	}
	if p.value("extension") != "0" || p.wrong("length") != "" || p.Find(".answer").Length() != 0 {
		t.Error("it does not wait for the length")
	}
}
