package templates

import (
	"slices"

	"damperdesk/internal/bench"
	"damperdesk/internal/picture"
	"damperdesk/internal/procedure"
	"damperdesk/internal/summary"
)

// shotField takes pictures. The files are sent as Name+"file"; what is kept
// already comes back as ids in Name+"picture" where the form needs them.
// Without a job they are of a unit that is being taken in.
type shotField struct {
	Name          string
	Apart         string // tells it from others of its name on the page
	Label         string
	Job           int64
	Step, Finding int64 // 0: none
	IDs           bool
	Kept          []picture.Picture
}

func (s shotField) field() Field { return Field{Name: s.Name + "file", Apart: s.Apart} }

// list is the id of the element that the thumbnails go in.
func (s shotField) list() string { return s.field().id() + "-kept" }

// sends is where the script sends each picture.
func (s shotField) sends() string {
	if s.Job == 0 {
		return "/drop-off/pictures"
	}
	return benchPath(s.Job) + "/pictures"
}

// path leads to what is kept.
func (s shotField) path() func(id int64) string {
	if s.Job == 0 {
		return WaitingPicture
	}
	return JobPicture
}

// part names the field that the ids of what is kept are sent in; empty where
// they are not sent.
func (s shotField) part() string {
	if !s.IDs {
		return ""
	}
	return s.Name + "picture"
}

func (l stepLine) shots(p StepPage, name, label string) shotField {
	s := shotField{Name: l.name(name), Label: label, Job: p.Sheet.Job.ID, Step: l.Step.ID}
	if name != "" {
		s.IDs, s.Kept = true, l.kept(s, p.Sheet)
		return s
	}
	s.Kept = l.Step.Pictures
	return s
}

// kept is what came with the form that was refused.
func (b Base) kept(s shotField, sheet bench.Sheet) []picture.Picture {
	return slices.DeleteFunc(slices.Clone(sheet.Pictures), func(p picture.Picture) bool {
		return b.Typed == nil || !slices.Contains(b.Typed[s.part()], idText(p.ID))
	})
}

// found takes pictures of a finding that is being added.
func (p SheetPage) found() shotField {
	s := shotField{Name: "found", Label: "Take a picture of it", Job: p.Sheet.Job.ID, IDs: true}
	s.Kept = p.Finding.kept(s, p.Sheet)
	return s
}

func takesPictures(s *bench.Step) bool { return s.Kind == procedure.Picture }

// offers says whether a grade of the step offers its finding.
func (p StepPage) offers(s *bench.Step) bool {
	return slices.ContainsFunc(p.grades(s), func(g grade) bool { return g.bad })
}

func picturePath(id int64) string { return "/pictures/" + idText(id) }

// JobPicture and WaitingPicture lead to a picture of a job, and to one of a unit
// that is being taken in.
func JobPicture(id int64) string     { return picturePath(id) }
func WaitingPicture(id int64) string { return "/drop-off/pictures/" + idText(id) }

// arriving takes pictures of a unit on the form.
func (p DropOffPage) arriving(i int) shotField {
	s := shotField{Name: unitField(i, ""), Label: "Take a picture", IDs: true}
	s.Kept = slices.DeleteFunc(slices.Clone(p.Pictures), func(w picture.Picture) bool {
		return !slices.Contains(p.Typed[s.part()], idText(w.ID))
	})
	return s
}

// takenBy says who took a picture and when.
func (b Base) takenBy(p picture.Picture) string { return p.Actor + ", " + b.When(p.At) }

// of says what a picture shows: what was found, else the step it was taken at.
func (p SheetPage) of(pic picture.Picture) string {
	for _, f := range p.Sheet.Findings {
		if slices.Contains(f.Pictures, pic.ID) {
			return f.Words
		}
	}
	if pic.StepID != nil {
		if step := p.Sheet.Find(*pic.StepID); step != nil {
			return "step " + num(step.Seq) + ", " + lowerFirst(step.Title)
		}
	}
	return "apart from the steps"
}

// thumbMost is the longer side of a thumbnail at most, in pixels of its file.
const thumbMost = 320

// thumbWidth and thumbHeight keep its place on the page until it is there.
func thumbWidth(p picture.Picture) string  { return num(thumbOf(p, p.Width)) }
func thumbHeight(p picture.Picture) string { return num(thumbOf(p, p.Height)) }

func thumbOf(p picture.Picture, side int) int {
	long := max(p.Width, p.Height)
	if long <= thumbMost {
		return side
	}
	return max(1, side*thumbMost/long)
}

// picturesOf lists those of a job that show a finding.
func picturesOf(list []picture.Picture, f bench.Finding) []picture.Picture {
	return bench.Sheet{Pictures: list}.PicturesOf(f)
}

func (p CustomerPage) picturePath(pic picture.Picture) string {
	return "/c/" + p.Token + picturePath(pic.ID)
}

// otherPictures are those of a unit that no finding which its customer reads shows.
func otherPictures(u summary.Unit) []picture.Picture {
	found := toldCustomer(u.Sheet.Findings)
	return slices.DeleteFunc(slices.Clone(u.Sheet.Pictures), func(pic picture.Picture) bool {
		return slices.ContainsFunc(found, func(f bench.Finding) bool { return slices.Contains(f.Pictures, pic.ID) })
	})
}

// apartFromAll is the form for a picture that belongs to nothing else, with what
// is wrong if it is the one that came back.
func (p SheetPage) apartFromAll() Base {
	return p.Picture.Alone(p.Picture.Intent, p.Picture.Typed != nil && p.Picture.Typed.Get("finding") == "")
}
