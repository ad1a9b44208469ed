package templates

import (
	"github.com/a-h/templ"

	"damperdesk/internal/chart"
)

// box is the geometry of a bar.
func box(b chart.Bar) templ.OrderedAttributes {
	return templ.OrderedAttributes{
		{Key: "x", Value: chart.Coord(b.X)}, {Key: "y", Value: chart.Coord(b.Y)},
		{Key: "width", Value: chart.Coord(b.Width)}, {Key: "height", Value: chart.Coord(b.Height)},
	}
}
