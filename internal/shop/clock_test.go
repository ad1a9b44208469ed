package shop

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// How people write a time of day: common practice (no source). 12 am is
// midnight and 12 pm is noon, as in the NIST times-of-day FAQ (from memory).
func TestParseClock(t *testing.T) {
	for text, want := range map[string]int{
		"10": 600, "10:00": 600, "1000": 600, " 9.30 ": 570, "9:05": 545, "930": 570, "0930": 570, "0": 0, "00:00": 0,
		"24:00": 1440, "24": 1440, "2400": 1440, "23:59": 1439, "10h30": 630,
		"6 pm": 1080, "6pm": 1080, "6:30 PM": 1110, "6:30 p.m.": 1110, "10am": 600, "12 am": 0, "12am": 0, "12:30 am": 30, "12 pm": 720,
		"noon": 720, "Midnight": 0,
	} {
		if got, ok := ParseClock(text); !ok || got != want {
			t.Errorf("%q is minute %d, %v; want %d", text, got, ok, want)
		}
	}
	for _, text := range []string{
		"", "closed", "ten", "25:00", "24:01", "10:60", "1060", "10:5", "10:000", "-1", "13 pm", "0 am", "10:00:00", "10,5", "1 0", "12345", "10 xm",
	} {
		if got, ok := ParseClock(text); ok {
			t.Errorf("%q is taken for minute %d", text, got)
		}
	}
}

func TestParseDay(t *testing.T) {
	span := func(minutes ...int) []Opening {
		var spans []Opening
		for i := 0; i < len(minutes); i += 2 {
			spans = append(spans, Opening{time.Friday, minutes[i], minutes[i+1]})
		}
		return spans
	}
	for text, want := range map[string][]Opening{
		"": nil, "closed": nil, " Closed ": nil, "-": nil,
		"10:00 to 18:00": span(600, 1080), "10-18": span(600, 1080), "1000–1800": span(600, 1080), "10 until 6 pm": span(600, 1080),
		"10am-6pm": span(600, 1080), "10 till 18": span(600, 1080), "18 to midnight": span(1080, 1440), "18-0": span(1080, 1440),
		"10-13, 14-18": span(600, 780, 840, 1080), "10-13 14-18": span(600, 780, 840, 1080), "10:00-13:00 / 14:00-18:00": span(600, 780, 840, 1080),
		"10 to 13 and 14 to 18": span(600, 780, 840, 1080), "10 to noon; 1 pm to 6 pm": span(600, 720, 780, 1080),
		"10-13,13-18,": span(600, 780, 780, 1080), "8-9 & 10-11 + 12-13": span(480, 540, 600, 660, 720, 780),
	} {
		if got, err := ParseDay(time.Friday, text); err != nil || !slices.Equal(got, want) {
			t.Errorf("%q is %v, %v; want %v", text, got, err, want)
		}
	}
	for text, says := range map[string]string{
		"10": "such as 10:00 to 18:00", "ten to six": "such as", "10-18 or so": "such as", "10-": "such as", "10-18-20": "such as",
		"10-25": "no such time in “10-25”", "10 to 13 pm": "no such time",
		"10 to 6": "closes at 06:00, which is not after 10:00: for the afternoon write 18:00 or 6 pm", "10-10": "not after",
		"10-14, 13-18": "10:00 to 14:00 and 13:00 to 18:00 overlap", "14-18, 10-15": "overlap",
	} {
		got, err := ParseDay(time.Friday, text)
		if !slices.Equal(refused(err), []string{"friday"}) || !strings.Contains(err.Error(), says) {
			t.Errorf("%q is %v, %v; want a sentence with %q", text, got, err, says)
		}
	}
}

// What is printed in the field of a day is read back the same.
func TestWordsOfSpansAreReadBack(t *testing.T) {
	for from := 0; from < DayEnd; from += 7 {
		for to := from + 1; to <= DayEnd; to += 31 {
			o := Opening{time.Monday, from, to}
			if got, err := ParseDay(time.Monday, o.Words()); err != nil || len(got) != 1 || got[0] != o {
				t.Fatalf("%q is read as %v, %v", o.Words(), got, err)
			}
		}
	}
}

func FuzzParseDay(f *testing.F) {
	f.Add("10-13, 14-18")
	f.Fuzz(func(t *testing.T, text string) {
		spans, err := ParseDay(time.Monday, text)
		if err == nil && checkWeek(spans) != nil {
			t.Errorf("%q gives %v, which cannot stand", text, spans)
		}
	})
}
