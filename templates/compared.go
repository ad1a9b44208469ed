package templates

import (
	"cmp"
	"strconv"
	"strings"

	"damperdesk/internal/spec"
)

// comparedField is a field of a drop-off as two of them are held against each
// other. Without show it is as it was typed.
type comparedField struct {
	name, label string
	show        func(c *comparison, value string) string
}

// What is compared, in the order of the form; a field of a unit comes after
// "unit0.". Beside these are the customer, the marks, the pictures and what is
// asked about a symptom.
var (
	visitCompared = []comparedField{
		{"name", "Name", nil}, {"phone", "Phone", nil}, {"mail", "Mail", nil}, {"units", "Units", nil},
		{"came", "Came by", nil}, {"goesback", "Goes back by", nil}, {"address", "Address", nil},
		{"booked", "Day it comes", func(c *comparison, v string) string { return c.dayWords(v) }}, {"left", "Left with it", nil},
		{"promise", "Ready by", func(c *comparison, v string) string { return c.promiseWords(v) }},
		{"promised", "Ready by another time", nil}, {"limit", "Spending limit", nil}, {"terms", "Accepted by", nil},
		{"later", "May be written later", func(_ *comparison, v string) string { return laterWords(v) }},
	}
	unitCompared = []comparedField{
		{"unit", "Unit", func(c *comparison, v string) string { return c.unitNamed(v) }},
		{"again", "Same complaint as before", func(c *comparison, v string) string { return c.againNamed(v) }},
		{"kind", "Kind", nil}, {"model", "Model", func(c *comparison, v string) string { return c.modelNamed(v) }}, {"words", "In own words", nil},
		{"serial", "Serial", nil}, {"serialsure", "A serial that another unit has", nil}, {"tag", "Own tag number", nil},
		{"bike", "Off which bike", nil}, {"colour", "Its colour", nil}, {"frame", "Frame number", nil},
		{MeasuredField + "stanchion", "Stanchion diameter", nil},
		{MeasuredField + "axle", "Axle", func(_ *comparison, v string) string { return cmp.Or(spec.StandardWords(spec.Axles, v), v) }},
		{MeasuredField + "wheel", "Wheel size", func(_ *comparison, v string) string { return wheelNamed(v) }},
		{MeasuredField + "crowns", "Crowns", nil},
		{MeasuredField + "steerer", "Steerer", func(_ *comparison, v string) string { return cmp.Or(spec.StandardWords(spec.Steerers, v), v) }},
		{MeasuredField + "travel", "Travel", nil}, {MeasuredField + "spring", "Spring", nil},
		{MeasuredField + "leg", "Spring in", func(_ *comparison, v string) string { return legNamed(v) }},
		{"fits", "Model that fits", func(c *comparison, v string) string { return c.modelNamed(v) }},
		{"cameas", "Came as", nil}, {"hangs", "Hangs at", nil}, {"lefton", "Left on it", nil},
		{"rider", "Weight", nil}, {"ridersure", "An unusual weight", nil}, {"riding", "Riding", nil},
		{"hours", "Hours ridden", nil}, {"rides", "Rides a week", nil}, {"each", "Each ride", nil}, {"ebike", "On an e-bike", nil},
		{"ridden", "Ridden in", nil}, {"meter", "Meter shows", nil}, {"readon", "Meter read on", func(c *comparison, v string) string { return c.dayWords(v) }},
		{"indoor", "Of the hours on a trainer", nil}, {"part", "Rides a week are of", nil}, {"happened", "Since it was last here", func(_ *comparison, v string) string { return happenedWords(strings.Split(v, ", ")) }},
		{"symptoms", "What it does", func(_ *comparison, v string) string { return symptomWords(strings.Split(v, ", ")) }},
		{"complaint", "In the rider’s words", nil}, {"services", "Services wanted", nil}, {"oldparts", "Old parts", nil},
		{"mechanic", "Mechanic", func(c *comparison, v string) string { return c.mechanicNamed(v) }},
		{"payer", "Who pays", nil}, {"payerwords", "Claim number, or which team or shop", nil},
	}
)

func wheelNamed(value string) string {
	for _, w := range spec.Wheels {
		if strconv.Itoa(w.MM) == value {
			return wheelWords(w)
		}
	}
	return value
}

func legNamed(value string) string {
	if value == "" {
		return ""
	}
	return legWords(value)
}
