package templates

import (
	"fmt"
	"strconv"
	"strings"

	"damperdesk/internal/job"
	"damperdesk/internal/shop"
)

// TicketsPage prints the tickets of a visit, or of one of its jobs: A5 for each
// unit and a label for its bag of small parts. Only is "tickets" or "labels"
// where the other has a printer of its own; empty for both.
type TicketsPage struct {
	Base
	Tickets []TicketPage
	VisitID int64
	Only    string
}

func (p TicketsPage) has(papers string) bool { return p.Only == "" || p.Only == papers }

// path leads to the papers for one printer, or for both.
func (p TicketsPage) path(only string) string {
	if only == "" {
		return p.Path
	}
	return p.Path + "?only=" + only
}

// TicketPage is the ticket of one job.
type TicketPage struct {
	Base
	Job   job.Job
	Visit job.VisitWithJobs
	Desk  shop.Settings
	// Address is what the QR code opens.
	Address string
}

// TagPage is the tag of one job that is posted without its air.
type TagPage struct {
	Base
	Job        job.Job
	Desk       shop.Settings
	PressurePa float64 // as it was set at the final check; 0: not known
}

// symptomWords is a complaint by the words of its symptoms.
func symptomWords(codes []string) string {
	var words []string
	for _, code := range codes {
		if s, ok := job.SymptomOf(code); ok {
			words = append(words, s.Words)
		}
	}
	return strings.Join(words, ", ")
}

func (p TicketPage) cautions() []string {
	var list []string
	for _, code := range p.Job.Symptoms {
		if s, _ := job.SymptomOf(code); s.Caution != "" {
			list = append(list, s.Caution)
		}
	}
	if p.Job.Unopened() {
		list = append(list, job.NotOpened)
	}
	return list
}

func (p TicketPage) unit() string {
	mm := ""
	if p.Job.TravelMM > 0 {
		mm = strconv.Itoa(p.Job.TravelMM) + " mm"
	}
	tag := ""
	if p.Job.Tag != "" {
		tag = "tag " + p.Job.Tag
	}
	bike := strings.TrimSpace(p.Job.BikeColour + " " + p.Job.BikeWords)
	if bike != "" {
		bike = "off the " + bike
	}
	return listed(mm, p.Job.Serial, tag, bike)
}

func (p TicketPage) rider() string {
	kg := ""
	if p.Job.RiderKG != nil {
		kg = p.Prefs.Mass(*p.Job.RiderKG) + " with kit"
	}
	ebike := ""
	if p.Job.EBike {
		ebike = "e-bike"
	}
	return listed(kg, p.Job.Riding, ebike)
}

// place says how the unit came, where it hangs and how it goes back.
func (p TicketPage) place() string {
	hangs := ""
	if p.Job.HangsAt != "" {
		hangs = "hangs at " + p.Job.HangsAt
	}
	return listed(p.Job.CameAs, hangs, "goes back by "+p.Job.GoesBack)
}

// ofVisit is the ticket's place in its visit: "1 of 2"; empty for the only one.
func (p TicketPage) ofVisit() string {
	if len(p.Visit.Jobs) < 2 {
		return ""
	}
	for i, j := range p.Visit.Jobs {
		if j.ID == p.Job.ID {
			return fmt.Sprintf("%d of %d", i+1, len(p.Visit.Jobs))
		}
	}
	return ""
}

// lastName is enough on a label that others can read.
func lastName(name string) string {
	words := strings.Fields(name)
	if len(words) == 0 {
		return ""
	}
	return words[len(words)-1]
}

func deskPhone(phone string) string {
	if phone == "" {
		return ", suspension desk"
	}
	return ", suspension desk, " + phone
}

func itoa(id int64) string { return strconv.FormatInt(id, 10) }
