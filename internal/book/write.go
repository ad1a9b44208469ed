package book

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"damperdesk/internal/interval"
)

// File is the book as a file of that day, which Parse reads again whatever was
// typed into it. What was taken back stays out: whoever reads the file could not
// take it for anything but hours that count. Of a book that is too big it has the
// newest services and notes that fit.
func (b Book) File(today time.Time) File {
	f := File{Format: Format, Version: Version, Made: Date{today}, Shop: sendable(b.Shop.Name, "A shop"), Unit: b.Facts.sent(),
		Services: []Work{}, RideHours: []Ridden{}, Intervals: []Interval{}}
	for _, w := range b.Works {
		f.Services = append(f.Services, w.sent())
	}
	for _, r := range b.Readings {
		if d := riddenOf(r, b.Shop.Location()); r.Standing() && d.check(today) == nil {
			f.RideHours = append(f.RideHours, d)
		}
	}
	for _, d := range b.Due {
		rule, code := d.Rule, sendable(d.Code)
		f.Intervals = append(f.Intervals, Interval{Done{code, sendable(d.Service, code)}, rule.Hours, rule.Months, rule.Season})
	}
	return f.fitting()
}

// sent are the facts as a reader takes them.
func (f Facts) sent() Facts {
	f = f.said(func(words string) string { return sendable(words) })
	if f.Maker+f.Model == "" {
		f.Words = sendable(f.Words, f.Kind)
	}
	return f
}

// sent is the work as a reader takes it: readings and settings that say nothing,
// or what cannot be, stay out.
func (w Work) sent() Work {
	w = w.said(func(words string) string { return sendable(words) })
	w.Shop = sendable(w.Shop, "A shop")
	if len(w.Services) == 0 {
		w.Services = []Done{{}}
	}
	w.Services = each(w.Services, func(d Done) Done { return Done{d.Code, sendable(d.Name, d.Code, "Service")} })
	w.Found = each(w.Found, func(f Found) Found {
		f.What = sendable(f.What, f.Step, somethingFound)
		return f
	})
	w.Readings = slices.DeleteFunc(each(w.Readings, func(r Reading) Reading {
		r.What = sendable(r.What, r.Step)
		return r
	}), func(r Reading) bool { return r.check(w.Day) != nil })
	w.Settings = slices.DeleteFunc(each(w.Settings, func(s Setting) Setting {
		s.Name = sendable(s.Name, s.Key)
		return s
	}), func(s Setting) bool { return s.check(w.Day) != nil })
	w.Services, w.Found, w.Readings, w.Settings = first(w.Services), first(w.Found), first(w.Readings), first(w.Settings)
	return w
}

func first[T any](list []T) []T { return list[:min(len(list), mostReadings)] }

// LeftOut is what a file had no room for: the oldest services and notes of ride
// hours. A reader that does not know it refuses the file, as it would for its size,
// so it made no new Version.
type LeftOut struct {
	Services  int `json:"services"`
	RideHours int `json:"ride_hours"`
}

// fitting is the file without the oldest of what it has no room for.
func (f File) fitting() File {
	services, notes := len(f.Services), len(f.RideHours)
	f.RideHours = f.RideHours[max(0, notes-MostHours):]
	rest := f
	rest.Services, rest.LeftOut = []Work{}, &LeftOut{services, notes}
	room := MostFile - len(rest.text()) - len("\n\n    ")
	fit := 0
	for fit < min(services, MostWorks) && room >= 0 {
		room -= f.Services[fit].size()
		if room >= 0 {
			fit++
		}
	}
	f.Services = f.Services[:fit]
	if fit < services || len(f.RideHours) < notes {
		f.LeftOut = &LeftOut{services - fit, notes - len(f.RideHours)}
	}
	return f
}

// size is how many bytes a work takes in a file, with its comma and its line.
func (w Work) size() int {
	content, _ := json.MarshalIndent(w, "    ", "  ") // nothing in it that JSON has no words for
	return len(content) + len(",\n    ")
}

func (f File) text() []byte {
	content, _ := json.MarshalIndent(f, "", "  ")
	return content
}

// JSON is a file as it is sent.
func (f File) JSON() ([]byte, error) {
	content, err := json.MarshalIndent(f, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("write a service book: %w", err)
	}
	return append(content, '\n'), nil
}

func riddenOf(r interval.Reading, zone *time.Location) Ridden {
	d := Ridden{Kind: r.Kind, On: Date{interval.Day(r.At, zone)}, Hours: r.Hours, RidesAWeek: r.RidesAWeek, HoursARide: r.HoursARide,
		IndoorHours: r.IndoorHours, Source: r.Source}
	if r.Since != nil {
		d.Since = &Date{*r.Since}
	}
	if r.OnDay != nil {
		d.ReadOn = &Date{*r.OnDay}
	}
	if r.Season != interval.AllYear {
		d.Season = r.Season
	}
	for _, c := range r.Conditions {
		if c != interval.HeavyRider {
			d.Conditions = append(d.Conditions, c)
		}
	}
	return d
}
