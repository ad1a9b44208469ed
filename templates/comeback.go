package templates

import (
	"strconv"
	"strings"

	"damperdesk/internal/job"
)

// recent is the job with which the unit of an option left here lately.
func (p DropOffPage) recent(o Option) (job.Recent, bool) {
	id, _ := strconv.ParseInt(o.Value, 10, 64)
	r, ok := p.Recent[id]
	return r, ok && !o.Disabled
}

// againField is one name for all units, so that only the answer for the one
// that is chosen counts; what is wrong stands beside that one.
func (p DropOffPage) againField(i int, r job.Recent) Field {
	f := Field{Name: unitField(i, "again"), Label: "Same complaint as on ticket " + num(r.Number) + "?",
		Hint: listed("left "+p.When(r.LeftAt), strings.Join(r.Services, ", "), symptomWords(r.Symptoms))}
	if !p.Chosen(unitField(i, "unit"), idText(r.UnitID), false) {
		f.Apart = idText(r.UnitID)
	}
	return f
}

// AgainYes and AgainNo are the answers for a unit.
func AgainYes(unit int64) string { return idText(unit) + " yes" }
func AgainNo(unit int64) string  { return idText(unit) + " no" }

func againOptions(r job.Recent) []Option {
	return []Option{
		{Value: AgainYes(r.UnitID), Label: "Yes, a comeback", Note: "no charge, and the sheet of then beside the new one"},
		{Value: AgainNo(r.UnitID), Label: "No, something else"},
	}
}

// compared is one line of what was then and is now.
type compared struct{ term, then, now string }

func (p JobPage) leftWords() string {
	if p.Original.ClosedAt == nil {
		return ""
	}
	return p.When(*p.Original.ClosedAt)
}

func (p JobPage) thenAndNow() []compared {
	of := func(j job.Job) []string {
		return []string{listed(symptomWords(j.Symptoms), quoted(j.Complaint)), answerWords(j.Answers), services(j.ServiceNames), j.Mechanic, quoted(j.RiderNote)}
	}
	then, now := of(*p.Original), of(p.Job)
	var lines []compared
	for i, term := range []string{"Complaint", "Asked", "Service", "Mechanic", "Rider’s note"} {
		if then[i] != "" || now[i] != "" {
			lines = append(lines, compared{term, then[i], now[i]})
		}
	}
	return lines
}

func quoted(words string) string {
	if words == "" {
		return ""
	}
	return "“" + words + "”"
}

// payerFact says who pays, where it is not simply the customer.
func payerFact(j job.Job) string {
	switch {
	case j.ComebackOf != nil:
		return "us: comeback of " + strconv.Itoa(j.ComebackNo)
	case j.Payer == job.PaysCustomer:
		return ""
	case j.Unopened():
		return listed(j.Payer, j.PayerWords, "not authorised yet")
	}
	return listed(j.Payer, j.PayerWords)
}
