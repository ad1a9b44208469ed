package chart

// Stack is a chart of rows that are each made of the same parts.
type Stack struct {
	ID, Title, About string
	Fills            []Fill // of the parts
	Rows             []Row
}

// Row is one bar with words above it.
type Row struct {
	Words string
	Parts []float64
}

const (
	stackWidth = 540.0
	rowHeight  = 90.0
	barHeight  = 36.0
)

// Draw makes the drawing. The number of a part stands below it where it has
// room; the table beside the drawing has them all.
func (s Stack) Draw() Drawing {
	d := Drawing{ID: s.ID, Title: s.Title, About: s.About, Width: stackWidth, Height: rowHeight * float64(len(s.Rows))}
	longest := 0.0
	for _, r := range s.Rows {
		longest = max(longest, r.sum())
	}
	x := Linear{Low: 0, High: longest, Start: 1, End: stackWidth - 1}
	for i, r := range s.Rows {
		y := rowHeight * float64(i)
		d.Texts = append(d.Texts, Text{Point: Point{0, y + 16}, Words: r.Words})
		from := 0.0
		for k, part := range r.Parts {
			start, end := x.At(from), x.At(from+part)
			from += part
			if end-start < 0.5 {
				continue
			}
			d.Bars = append(d.Bars, Bar{X: start, Y: y + 24, Width: end - start, Height: barHeight, Fill: s.Fills[k]})
			if end-start > 28 {
				d.Texts = append(d.Texts, Text{Point: Point{start + 2, y + 24 + barHeight + 16}, Words: short(part)})
			}
		}
	}
	return d
}

func (r Row) sum() float64 {
	sum := 0.0
	for _, p := range r.Parts {
		sum += p
	}
	return sum
}
