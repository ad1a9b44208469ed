package templates

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/goahead"
	"damperdesk/internal/job"
	"damperdesk/internal/partslist"
	"damperdesk/internal/picture"
	"damperdesk/internal/plan"
	"damperdesk/internal/procedure"
	"damperdesk/internal/staff"
)

// JobPage is one job: what and whose it is, where it stands, what can be done
// about it and what happened.
type JobPage struct {
	Base
	Job       job.Job
	Original  *job.Job     // that it is about again; nil: it is no comeback
	Row       job.BoardRow // as on the board; zero for a closed job
	Plan      *plan.Plan   // nil for a closed job
	Mechanics []staff.Person
	Offers    []procedure.Service // that it has not
	Next      []string            // stages somebody may simply say it has reached
	Forms     JobForms
	Findings  []bench.Finding
	Pictures  []picture.Picture
	Proposals []goahead.Proposal // of the whole visit
	Standing  goahead.Standing   // likewise
	Quoting   bool               // the job is here for a quote and nothing else
	Effect    *ProposalEffect    // of the work that is being proposed; nil: none is, or not known
	Rates     []bill.TaxRate
	Owed      bill.Balance // for the whole visit
	Pin       job.Pin      // zero where its promise alone counts
	History   History
	Needs     []partslist.Need
}

// asOnBoard is the board with what it says of an open job.
func (p JobPage) asOnBoard() BoardPage { return BoardPage{Base: p.Base, Plan: p.Plan} }

// JobForms holds a Base for each form of the page: an act of its own each.
type JobForms struct {
	Move, Assign, Start, Hold, EndHold, HandOver, Cancel, Propose, Answer, Billed, Pin Base
	WhyBack, Authorise, Mark, Picture                                                  Base
}

func (p JobPage) open() bool { return p.Job.ClosedAt == nil }

func (p JobPage) path() string { return jobPath(p.Job.ID) }

func (p JobPage) customerPath() string {
	return "/customers/" + strconv.FormatInt(p.Job.CustomerID, 10)
}

func (p JobPage) unitPath() string { return "/units/" + strconv.FormatInt(p.Job.UnitID, 10) }

func (p JobPage) visitPath() string { return "/visits/" + strconv.FormatInt(p.Job.VisitID, 10) }

func (p JobPage) sheetPath() string { return "/bench/" + strconv.FormatInt(p.Job.ID, 10) }

// mayStart says whether whoever looks may put the job on the bench.
func (p JobPage) mayStart() bool {
	return p.Person.Has("mechanic") && !p.Job.Unopened() && slices.Contains([]string{job.DroppedOff, job.Arrived, job.InQueue}, p.Job.Stage)
}

// unitLine is what is known of the unit in a line.
func (p JobPage) unitLine() string {
	parts := []string{p.Job.Kind}
	if p.Job.TravelMM > 0 {
		parts = append(parts, strconv.Itoa(p.Job.TravelMM)+" mm")
	}
	if p.Job.Spring != "" {
		parts = append(parts, p.Job.Spring)
	}
	if p.Job.Serial != "" {
		parts = append(parts, "serial "+p.Job.Serial)
	}
	if p.Job.Tag != "" {
		parts = append(parts, "tag "+p.Job.Tag)
	}
	return strings.Join(parts, ", ")
}

// bikeLine is the bike it comes off, as far as known.
func (p JobPage) bikeLine() string {
	return strings.TrimSpace(p.Job.BikeColour + " " + p.Job.BikeWords)
}

// fact is one line of a list of facts.
type fact struct{ term, words string }

// facts leaves out what is not known.
func (p JobPage) facts() []fact {
	j := p.Job
	rider := j.RiderEntered
	if j.RiderKG != nil {
		rider = p.Prefs.Mass(*j.RiderKG) + " with kit"
	}
	came := j.CameAs
	if j.EBike {
		came += ", off an e-bike"
	}
	all := []fact{
		{"Unit", p.unitLine()}, {"Bike", p.bikeLine()}, {"Came as", came}, {"Hangs at", j.HangsAt},
		{"Rider", rider}, {"Riding", j.Riding}, {"Spending limit", p.limitWords(j.LimitMinor, j.Currency)}, {"Old parts", j.OldParts},
		{"Who pays", payerFact(j)},
		{"Goes back by", j.GoesBack}, {"Booked for", p.dayOrNone(j.BookedFor)}, {p.openedTerm(), p.Moment(j.OpenedAt)},
	}
	return slices.DeleteFunc(all, func(f fact) bool { return f.words == "" })
}

func (b Base) dayOrNone(day *time.Time) string {
	if day == nil {
		return ""
	}
	return b.day(*day, "Monday 2 January")
}

func (p JobPage) openedTerm() string {
	if p.Job.BookedFor != nil {
		return "Booked on"
	}
	return "Taken in"
}

// cautions are what the complaint means for whoever touches the unit.
func (p JobPage) cautions() []string {
	var list []string
	for _, code := range p.Job.Symptoms {
		if s, ok := job.SymptomOf(code); ok && s.Caution != "" {
			list = append(list, s.Caution)
		}
	}
	return list
}

func (p JobPage) mechanicOptions() []Option {
	none := p.Job.MechanicID == nil
	options := []Option{{Value: "0", Label: "nobody yet", Chosen: none}}
	for _, m := range p.Mechanics {
		options = append(options, Option{
			Value: strconv.FormatInt(m.ID, 10), Label: m.Name, Chosen: !none && *p.Job.MechanicID == m.ID,
		})
	}
	return options
}

// holdOptions are what the job does not wait for yet.
func (p JobPage) holdOptions() []Option {
	var options []Option
	for _, kind := range job.HoldKinds {
		if !slices.ContainsFunc(p.Job.Holds, func(w job.Wait) bool { return w.Kind == kind }) {
			options = append(options, Option{Value: kind, Label: kind})
		}
	}
	return options
}

func (p JobPage) handOverOptions() []Option {
	post := p.Job.GoesBack == "post"
	return []Option{
		{Value: job.PickedUp, Label: job.PickedUp, Chosen: !post},
		{Value: job.SentBack, Label: job.SentBack, Chosen: post},
	}
}

func endingOptions(booked bool) []Option {
	var options []Option
	for _, e := range job.Endings {
		if e.Booked != booked {
			continue
		}
		options = append(options, Option{Value: e.Name, Label: e.Name, Note: e.Warning})
	}
	return options
}

// waitLine says what a job waits for, since when and until when.
func (b Base) waitLine(w job.Wait) string {
	line := "since " + b.When(w.At)
	if w.By != "" {
		line += ", " + w.By
	}
	if w.ExpectedOn != nil {
		line += fmt.Sprintf("; expected %s", b.Date(*w.ExpectedOn))
	}
	if w.Tray != "" {
		line += "; parts in " + trayWords(w.Tray)
	}
	return line
}

// trayWords names a tray once, whether it was typed with the word or without.
func trayWords(tray string) string {
	if strings.HasPrefix(strings.ToLower(tray), "tray") {
		return tray
	}
	return "tray " + tray
}

// closedLine says how a closed job ended.
func (p JobPage) closedLine() string {
	line := p.Job.Stage + " " + p.When(*p.Job.ClosedAt)
	if p.Job.TakenBy != "" {
		line += ", by " + p.Job.TakenBy
	}
	if p.Job.Ending != job.Done {
		line += ": " + p.Job.Ending
	}
	return line
}

// sentLine says how it went back by post.
func (p JobPage) sentLine() string {
	tracking, air, unpaid := "", "", ""
	if p.Job.Tracking != "" {
		tracking = "tracking code " + p.Job.Tracking
	}
	if p.Job.AirOut {
		air = "the air let out"
	}
	if p.Job.Unpaid != "" {
		unpaid = "unpaid: “" + p.Job.Unpaid + "”"
	}
	return listed("With "+p.Job.Carrier, tracking, air, unpaid)
}

// closedWarning is what the ending means for whoever rides it.
func (p JobPage) closedWarning() string {
	e, _ := job.EndingOf(p.Job.Ending)
	return e.Warning
}

// moveWords is the press that says a job has reached a stage.
func moveWords(stage string) string {
	switch stage {
	case job.InQueue:
		return "Into the queue"
	case job.Arrived:
		return "It has arrived"
	}
	return "It is " + stage
}

func toldOptions(list []bench.Finding) []Option {
	var options []Option
	for _, f := range list {
		options = append(options, Option{Value: idText(f.ID), Label: upperFirst(f.Words)})
	}
	return options
}
