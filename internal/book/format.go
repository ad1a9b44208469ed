// Package book is the service book of one unit: what was done on it here and
// elsewhere, what was measured, and when it is next due. It speaks of the unit
// alone and of no person, so that it may go with the unit when that is sold. As a
// file it leaves one shop and is read in by another.
package book

import (
	"time"

	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// Format and Version head every file; Version rises with any change that an older
// reader would misread.
const (
	Format  = "damperdesk service book"
	Version = 1
)

// File is a service book as JSON. Days are YYYY-MM-DD, values in SI with the name
// of their unit; what is not known is left out.
type File struct {
	Format    string     `json:"format"`
	Version   int        `json:"version"`
	Made      Date       `json:"made"` // the day
	Shop      string     `json:"shop"` // that made it
	Unit      Facts      `json:"unit"`
	Services  []Work     `json:"services"`   // the newest first
	RideHours []Ridden   `json:"ride_hours"` // in the order they were said
	Intervals []Interval `json:"intervals"`  // the shop's that made the file
	LeftOut   *LeftOut   `json:"left_out,omitempty"`
}

// Facts are what the unit is. Maker and Model are those of a library, Words what
// was typed where it is in none.
type Facts struct {
	Kind     string `json:"kind"` // "fork", "rear shock", "seatpost"
	Maker    string `json:"maker,omitempty"`
	Model    string `json:"model,omitempty"`
	Words    string `json:"words,omitempty"`
	Serial   string `json:"serial,omitempty"`
	Spring   string `json:"spring,omitempty"` // "air", "coil", "none"
	TravelMM int    `json:"travel_mm,omitempty"`
}

// Name is what the unit is called.
func (f Facts) Name() string {
	if f.Maker+f.Model == "" {
		return f.Words
	}
	return f.Maker + " " + f.Model
}

// Work is what was done on the unit in one visit that ended done.
type Work struct {
	// Ref tells one work from another wherever the file goes; from 8 to 64
	// hexadecimal digits and dashes.
	Ref      string    `json:"ref"`
	Day      Date      `json:"day"` // it was ready
	Shop     string    `json:"shop"`
	Services []Done    `json:"services"`
	Found    []Found   `json:"found,omitempty"`
	Readings []Reading `json:"readings,omitempty"`
	Settings []Setting `json:"settings,omitempty"` // as returned

	Elsewhere bool `json:"-"` // not done here
	// BackAt is when the book that told of it was taken back, since when it counts
	// for nothing; nil where it stands.
	BackAt *time.Time `json:"-"`
	// Own says that it was done for whoever has the unit now: free words of it
	// are theirs to read.
	Own bool `json:"-"`
}

// Done is a service by its code and name.
type Done struct {
	Code string `json:"code,omitempty"`
	Name string `json:"name"`
}

// Found is a finding in words of our own lists.
type Found struct {
	Step     string `json:"step,omitempty"` // it was found at
	What     string `json:"what"`
	Grade    string `json:"grade"`
	PutRight bool   `json:"put_right"`

	// Words and How are as the mechanic typed them; empty where the work was
	// done for somebody else or elsewhere.
	Words string `json:"-"`
	How   string `json:"-"`
}

// Reading is one thing that was measured, counted or graded; one of Value, Count
// and Grade at least says it.
type Reading struct {
	Step     string        `json:"step"` // code, such as "A6"
	What     string        `json:"what"`
	Quantity quantity.Kind `json:"quantity,omitempty"`
	Value    *float64      `json:"value,omitempty"`
	Unit     string        `json:"unit,omitempty"`     // of Value, SI
	ShownIn  quantity.Unit `json:"shown_in,omitempty"` // as it was read off
	Count    *float64      `json:"count,omitempty"`
	Grade    string        `json:"grade,omitempty"`
	Grades   []string      `json:"grades,omitempty"` // its scale
}

// Setting is one adjustment as the unit went back.
type Setting struct {
	Key      string        `json:"key"` // "pressure" or the adjuster
	Name     string        `json:"name"`
	Form     string        `json:"form,omitempty"` // what is counted: "clicks", "turns", "positions"
	Quantity quantity.Kind `json:"quantity,omitempty"`
	Value    *float64      `json:"value,omitempty"`
	Unit     string        `json:"unit,omitempty"`
	ShownIn  quantity.Unit `json:"shown_in,omitempty"`
	Count    *float64      `json:"count,omitempty"`
	Words    string        `json:"words,omitempty"` // the name of a position
}

// Ridden is what was said of the riding on a day. A rider's weight is theirs and
// goes with no unit.
type Ridden struct {
	// Kind is "stated": hours from since until on; "habit": rides from since on;
	// "meter": hours in all that a meter showed on read_on.
	Kind       string  `json:"kind"`
	On         Date    `json:"on"`
	Since      *Date   `json:"since,omitempty"`
	ReadOn     *Date   `json:"read_on,omitempty"`
	Hours      float64 `json:"hours,omitempty"`
	RidesAWeek float64 `json:"rides_a_week,omitempty"`
	HoursARide float64 `json:"hours_a_ride,omitempty"`
	// Season is the part of the year of a habit: "in the season", "off the season";
	// else it is of all.
	Season      string   `json:"season,omitempty"`
	IndoorHours float64  `json:"indoor_hours,omitempty"` // of hours, on a trainer
	Conditions  []string `json:"conditions,omitempty"`   // "dry", "wet and gritty", "bike park", "e-bike"
	Source      string   `json:"source"`
}

// Interval is when a service is due again: whichever comes first.
type Interval struct {
	Done
	Hours  int  `json:"hours,omitempty"`
	Months int  `json:"months,omitempty"`
	Season bool `json:"season,omitempty"` // once each off-season
}

// Date is a calendar day.
type Date struct{ time.Time }

// MarshalText writes YYYY-MM-DD.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.Format(time.DateOnly)), nil }

// UnmarshalText reads YYYY-MM-DD.
func (d *Date) UnmarshalText(text []byte) (err error) {
	d.Time, err = time.Parse(time.DateOnly, string(text))
	return err
}

// MarshalJSON is that of the text, not of the time inside.
func (d Date) MarshalJSON() ([]byte, error) {
	text, err := d.MarshalText()
	return []byte(`"` + string(text) + `"`), err
}

// UnmarshalJSON reads a JSON string with a day.
func (d *Date) UnmarshalJSON(text []byte) error {
	if len(text) != len(`"2026-01-02"`) || text[0] != '"' {
		return errDay
	}
	return d.UnmarshalText(text[1 : len(text)-1])
}

// measure is the SI unit that values of a kind are written in, and the span they
// can lie in at all.
type measure struct {
	unit      string
	low, high float64
}

// measures are by kind. The spans are far wider than anything of a bike.
var measures = map[quantity.Kind]measure{
	quantity.KindPressure:    {"Pa", -1e5, 1e7},
	quantity.KindVolume:      {"m³", 0, 0.01},
	quantity.KindTorque:      {"N·m", 0, 1000},
	quantity.KindTemperature: {"K", 150, 500},
	quantity.KindMass:        {"kg", 0, 500},
	quantity.KindLength:      {"m", -2, 2},
	quantity.KindViscosity:   {"m²/s", 0, 0.1},
	quantity.KindSpringRate:  {"N/m", 0, 1e7},
	spec.KindShare:           {"1", -1, 10},
	spec.KindCount:           {"1", -1000, 1000},
	spec.KindHours:           {"h", 0, 100000},
	spec.KindMonths:          {"months", 0, 1200},
	spec.KindMinutes:         {"min", 0, 100000},
}
