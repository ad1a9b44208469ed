package templates

import (
	"context"
	"io"
	"net/url"
	"slices"
	"strings"

	"github.com/a-h/templ"

	"damperdesk/internal/find"
)

// FindPage is what was found for what somebody typed, Base.Looked.
type FindPage struct {
	Base
	Found find.Result
	Code  bool // it was looked for as a code that leads somewhere, and is none
}

// newPath leads to a drop-off for somebody new of the name that was typed.
func (p FindPage) newPath() string {
	return "/drop-off?customer=new&who=" + url.QueryEscape(p.Looked)
}

// unknown says that a code leads nowhere.
func (p FindPage) unknown() string {
	switch {
	case p.Looked == "":
		return "Scan a ticket, or type its number into the box above."
	case p.Found.Nothing():
		return "No ticket, serial, tag, frame number, part or customer’s page here has the code “" + p.Looked + "”."
	}
	return "Nothing has exactly the code “" + p.Looked + "”. This comes near:"
}

// findable says what can be typed.
const findable = "The box above finds jobs, customers and units by a ticket number; by a name, or at least three letters that a word of it begins with; " +
	"by a phone number or its last three digits; by the beginning of a mail address; by a serial, own tag or frame number, or part of it; " +
	"by the colour of a bike and what it is; and by the model. Several of them together narrow it down: marsh green hardtail."

// marked shows pieces of a text, what was looked for among them as such.
func marked(pieces []find.Piece) templ.Component {
	return templ.ComponentFunc(func(_ context.Context, w io.Writer) error {
		var b strings.Builder
		for _, p := range pieces {
			if p.Marked {
				b.WriteString("<mark>" + templ.EscapeString(p.Text) + "</mark>")
			} else {
				b.WriteString(templ.EscapeString(p.Text))
			}
		}
		_, err := io.WriteString(w, b.String())
		return err
	})
}

// traits are what tells a unit from others, as far as known.
func (p FindPage) traits(u find.Unit) [][]find.Piece {
	list := [][]find.Piece{p.Found.Words(u.Kind)}
	add := func(word, text string, mark func(string) []find.Piece) {
		if text != "" {
			list = append(list, append([]find.Piece{{Text: word + " "}}, mark(text)...))
		}
	}
	add("off the", strings.TrimSpace(u.BikeColour+" "+u.BikeWords), p.Found.Words)
	add("serial", u.Serial, p.Found.Code)
	add("tag", u.Tag, p.Found.Code)
	add("frame", u.FrameNo, p.Found.Code)
	return list
}

// unitLine lists the traits.
func (p FindPage) unitLine(u find.Unit) []find.Piece { return commas(p.traits(u)) }

// jobLine is whose unit it is, and by which traits it was found.
func (p FindPage) jobLine(u find.Unit) []find.Piece {
	list := [][]find.Piece{p.Found.Words(u.Owner.Name)}
	for _, t := range p.traits(u) {
		if slices.ContainsFunc(t, func(piece find.Piece) bool { return piece.Marked }) {
			list = append(list, t)
		}
	}
	return commas(list)
}

func commas(list [][]find.Piece) []find.Piece {
	var line []find.Piece
	for i, pieces := range list {
		if i > 0 {
			line = append(line, find.Piece{Text: ", "})
		}
		line = append(line, pieces...)
	}
	return line
}

// jobEnd is when a job is promised, or how it ended.
func (p FindPage) jobEnd(j find.Job) string {
	if j.ClosedAt != nil {
		return listed(j.Ending, p.Date(p.local(*j.ClosedAt)))
	}
	return "promised " + p.Day(j.PromisedAt)
}
