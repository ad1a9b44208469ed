package shop

import (
	_ "embed"
	"errors"
	"slices"
	"strings"
	"time"
)

// zoneNames are those of zone.tab in the tz database, which is in the public
// domain: one zone or more for each country.
//
//go:embed zones.txt
var zoneNames string

var zones = strings.Fields(zoneNames)

// Zones are the time zones a shop chooses from. Any other name of the tz
// database is taken too.
func Zones() []string { return slices.Clone(zones) }

// zoneNamed is the name that is meant where it was typed in small letters, with
// spaces, or as the place alone: "new york" is America/New_York.
func zoneNamed(typed string) string {
	if _, err := location(typed); err == nil {
		return typed
	}
	name := strings.ReplaceAll(typed, " ", "_")
	for _, zone := range zones {
		place := zone[strings.LastIndexByte(zone, '/')+1:]
		if strings.EqualFold(zone, name) || strings.EqualFold(place, name) {
			return zone
		}
	}
	return typed
}

// location refuses the two names that time.LoadLocation takes beside those of
// the tz database.
func location(zone string) (*time.Location, error) {
	if zone == "" || zone == "Local" {
		return nil, errors.New("no name of the tz database")
	}
	return time.LoadLocation(zone)
}
