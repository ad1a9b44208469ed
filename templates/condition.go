package templates

import (
	"fmt"
	"slices"
	"strings"

	"github.com/a-h/templ"

	"damperdesk/internal/job"
	"damperdesk/internal/picture"
)

// MarkRows is how many marks the drop-off page has room for. The stylesheet
// shows a row once there are words in the one before.
const MarkRows = 6

// sees is where the words of a mark go. The stylesheet knows an empty one by its
// placeholder.
func sees(i, n int) Field {
	return Field{Name: markField(i, n, "words"), Label: "What is there", Attributes: templ.Attributes{"placeholder": " "}}
}

func markField(i, n int, name string) string { return unitField(i, job.MarkField(n, name)) }

func (p DropOffPage) conditionOpen(i int) bool {
	for n := range MarkRows {
		if p.Value(markField(i, n, "words"), "") != "" || p.Value(markField(i, n, "place"), "") != "" {
			return true
		}
	}
	s := p.arriving(i)
	return p.Value(unitField(i, "lefton"), "") != "" || len(s.Kept) > 0 || p.Error(s.Name+"file") != ""
}

// markPlaceOptions are the places, each with where it is on the drawing.
func markPlaceOptions() []Option {
	options := []Option{{Value: "", Label: "where"}}
	for _, place := range job.MarkPlaces {
		o := Option{Value: place, Label: markPlace(place)}
		if at, drawn := spots[place]; drawn {
			o.Attributes = templ.Attributes{"data-x": num(at.x), "data-y": num(at.y)}
		}
		options = append(options, o)
	}
	return options
}

func markPlace(place string) string { return ForkWords([]string{place}) }

func forkMarks(j job.Job) []ForkMark {
	var marks []ForkMark
	for i, m := range j.Marks {
		marks = append(marks, ForkMark{Number: i + 1, Place: m.Place})
	}
	return marks
}

// takesCondition says whether what is seen now is still how it came.
func (p JobPage) takesCondition() bool {
	return slices.Contains([]string{job.Booked, job.DroppedOff, job.Arrived, job.InQueue}, p.Job.Stage)
}

// asItCame are the pictures taken apart from any step before work began.
func (p JobPage) asItCame() []picture.Picture {
	return slices.DeleteFunc(slices.Clone(p.Pictures), func(s picture.Picture) bool {
		return s.StepID != nil || p.Job.StartedAt != nil && s.At.After(*p.Job.StartedAt)
	})
}

// markWords are the marks in a line, numbered as on the drawing.
func markWords(j job.Job) string {
	var words []string
	for i, m := range j.Marks {
		words = append(words, fmt.Sprintf("%d %s (%s)", i+1, m.Words, markPlace(m.Place)))
	}
	return strings.Join(words, "; ")
}
