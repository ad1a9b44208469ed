package shop

import (
	"slices"
	"strings"
	"testing"
)

// Go's own copy of the tz database, which the tests embed, knows every name.
func TestEveryZoneIsOfTheTZDatabase(t *testing.T) {
	var places []string
	for _, name := range Zones() {
		if _, err := location(name); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		places = append(places, name[strings.LastIndexByte(name, '/')+1:])
	}
	if slices.Sort(places); len(slices.Compact(places)) != len(zones) || len(zones) < 400 {
		t.Errorf("%d zones, of which some have the same place", len(zones))
	}
}

func TestAZoneAsPeopleTypeIt(t *testing.T) {
	for typed, want := range map[string]string{
		"Europe/London": "Europe/London", "europe/london": "Europe/London", "London": "Europe/London",
		"new york": "America/New_York", "America/New York": "America/New_York", "UTC": "UTC",
		"Europe/Atlantis": "Europe/Atlantis", "Local": "Local", "": "", "Europe": "Europe",
	} {
		if got := zoneNamed(typed); got != want {
			t.Errorf("%q is %q, want %q", typed, got, want)
		}
	}
}
