package templates

// Every sentence a customer reads that is not typed by the shop stands in this
// file, so that the tone stays one and a translation has one place to go.

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/money"
	"damperdesk/internal/summary"
)

// customerText is what is said at each stage: a heading for a kind of unit and
// a line below it.
var customerText = map[string]struct{ heading, line string }{
	"booked":           {"your %s is booked in.", "We have not got it yet. Bring it as agreed."},
	"dropped off":      {"your %s is with us.", "We have it, and look at it when its turn comes."},
	"arrived":          {"your %s has arrived.", "The parcel is here. We look at it when its turn comes."},
	"in the queue":     {"your %s waits its turn.", "It is in the queue for the bench."},
	"on the bench":     {"your %s is being worked on.", "A mechanic has it on the bench right now."},
	"final check":      {"your %s is nearly done.", "The work is done; we are proving it and setting it up."},
	"ready for pickup": {"your %s is ready.", ""},
	"picked up":        {"your %s is back with you.", "You have picked it up."},
	"sent back":        {"your %s is on its way back.", "We have sent it."},
	"cancelled":        {"your %s is no longer with this job.", "This job has ended without the service."},
}

// holdText says in plain words what a job waits for.
var holdText = map[string]string{
	"waiting on parts":    "We are waiting for a part.",
	"waiting on customer": "We are waiting for your answer. Please ring us.",
	"sent out":            "It is with a specialist for part of the work.",
}

const (
	textBeforeRide = "Before the first ride"
	textAfterRide  = "After the first ride"
	textManual     = "The maker’s current manual governs. If it says otherwise than this page, follow it and tell us."
	textNoAir      = "No air in."
	textDue        = "By the shop’s interval for this model. Wet, gritty or lift-served riding and e-bikes need it sooner."
	textFound      = "What the mechanic saw on it. What is marked “needs doing” and does not stand in the note or among the work as done is still to do: ask us about it."
	textPictures   = "Pictures of the parts"
	textPicture    = "your unit, as it was on the bench"
	textUnsafe     = "Do not ride it as it is."
	textAskUs      = "Ask us about it before it is used."
	textBand       = "The band is where it may be, the dot is yours."
	textBill       = "What it is for"
	textBillGrows  = "So far: the work is not done yet."
	textWrongLink  = "This address shows no visit. It may be too old: ring the shop for a new one."
)

// rideText is what to look at around the first ride, and when not to ride, for
// a kind of unit. Common practice (no source).
type rideText struct {
	before, after []string
	not           string
}

var rideTexts = map[string]rideText{
	"fork": {
		before: []string{
			"Axle tight, brake lever bites where it used to.",
			"Push the bar down hard five times: smooth, no knock.",
			"A faint wet ring on the stanchion is normal today.",
		},
		after: []string{"No oil at the feet or on the stanchions."},
		not:   "a fork that knocks, leaks or loses pressure. Ring us instead.",
	},
	"rear shock": {
		before: []string{
			"Both shock bolts tight, nothing rubs when you sit down hard.",
			"Five hard pushes on the saddle: smooth, no knock.",
			"A faint wet ring on the shaft is normal today.",
		},
		after: []string{"No oil on the shaft or around its seal."},
		not:   "a shock that knocks, leaks or loses pressure. Ring us instead.",
	},
	"seatpost": {
		before: []string{
			"Seat clamp and saddle bolts tight, the post not out past its mark.",
			"Push it down and let it up five times: smooth, no knock.",
		},
		after: []string{"Nothing has come loose, no new play, no oil on the post."},
		not:   "a post that slips, knocks or leaks. Ring us instead.",
	},
}

// measuredNames is what customers read instead of the bench’s step titles.
var measuredNames = map[string]string{
	"A6":           "Bushing play, three heights",
	"A7":           "Stanchions as they came",
	"A8":           "Crown and steerer",
	"A10":          "Travel and adjusters as they came",
	"A11":          "Your complaint, tried here",
	"S9.left":      "Old oil, rider’s left",
	"S9.right":     "Old oil, rider’s right",
	"S10":          "Stanchions, cleaned",
	"P2":           "Volume spacers as they came",
	"P5.coil":      "Coil rate",
	"P6":           "Air-spring seals",
	"P9":           "Oil, air side",
	"P10":          "Volume spacers",
	"P11":          "Top cap",
	"P11.small":    "Top cap",
	"P12":          "Air held under test",
	"D1.3":         "Old oil, damper",
	"D1.6":         "Damper seals",
	"D1.9":         "Oil, damper leg",
	"D1.9.sealed":  "Oil, damper leg",
	"D1.11":        "Oil height, damper leg",
	"D1.7":         "Damper seal head",
	"D1.12":        "Damper cap",
	"D1.7.shaft":   "Damper piston or shaft",
	"D2.3":         "Old fluid, cartridge",
	"D2.5":         "Seals, cartridge",
	"D2.6":         "Cartridge piston or shaft",
	"D2.7":         "Fluid, cartridge",
	"D2.9":         "Floating piston’s depth",
	"D2.10":        "Cartridge seal head",
	"D2.10.bleed":  "Bleed screw",
	"D2.11":        "Gas, cartridge",
	"D2.13":        "Cartridge in the crown",
	"D2.15":        "Foot of the cartridge",
	"U1":           "Bushing play before",
	"U2.left":      "Stanchion wear, rider’s left",
	"U2.right":     "Stanchion wear, rider’s right",
	"U4":           "Depth of the old bushings",
	"U6":           "Bushings",
	"U8":           "New bushings",
	"C3":           "Creaking under load",
	"C4":           "Stanchions, straight edge",
	"C5":           "Steerer",
	"C6":           "Verdict on crown and steerer",
	"Q1":           "What it needs",
	"W4":           "Foam rings",
	"W5":           "Wipers",
	"K4":           "Play at the eyelets",
	"K10":          "Seals of the air can",
	"K12":          "Oil, air side",
	"K13":          "Volume spacers",
	"K14":          "Air can",
	"K16":          "Bolts of the shock",
	"Z3":           "Oil, rider’s left",
	"Z4":           "Oil, rider’s right",
	"Z6":           "Foot washers",
	"Z7":           "Foot, rider’s left",
	"Z8":           "Foot, rider’s right",
	"Z9":           "Rebound range, clicks",
	"R5":           "Stem on the steerer",
	"R5.crowns":    "Crown bolts",
	"R6":           "Brake caliper",
	"R7":           "Axle",
	"R7.pinch":     "Pinch bolts of the axle",
	"V1":           "Full travel by hand",
	"V1.coil":      "Travel under a person’s weight",
	"V4.overnight": "Air lost overnight",
}

// unranked are the steps whose grades are answers beside each other, not a
// scale from good to bad.
var unranked = []string{"A10", "A11", "D2.3", "U8"}

// measuredName falls back to the title at the bench.
func measuredName(s bench.Step) string { return cmp.Or(measuredNames[s.Key], s.Title) }

// movedText tells of a promise that cannot be kept, and of the new day, in one
// line to read out or to send. phone may be empty.
func (b Base) movedText(units []string, phone string, was, to time.Time) string {
	text := fmt.Sprintf("%s here. We promised your %s for %s. We cannot keep that, and are sorry: the work will be done by %s.",
		b.Shop, strings.Join(units, " and "), b.Moment(was), b.Moment(to))
	if phone != "" {
		text += " If that does not suit you, ring us on " + phone + "."
	}
	return text
}

// firstName is how the page speaks to the customer.
func firstName(name string) string {
	first, _, _ := strings.Cut(strings.TrimSpace(name), " ")
	return first
}

// customerHeading speaks to the customer where the visit has one unit; of
// several each has its own sentence.
func customerHeading(j job.Job, several bool) string {
	text := fmt.Sprintf(customerText[j.Stage].heading, j.Kind)
	if several {
		return upperFirst(text)
	}
	return firstName(j.Customer) + ", " + text
}

// visitHeading heads a visit of several units.
func (p CustomerPage) visitHeading() string {
	n := 0
	for _, u := range p.Units {
		if routeAt(u.Job.Stage) == 4 {
			n++
		}
	}
	name := firstName(p.Units[0].Job.Customer)
	switch n {
	case 0:
		return name + ", this is how far your " + num(len(p.Units)) + " units are."
	case len(p.Units):
		return name + ", all is done."
	}
	return name + ", " + num(n) + " of your " + num(len(p.Units)) + " units is done."
}

// unitLine says what it is and what was asked for, in running text.
func unitLine(j job.Job) string {
	line := j.Unit
	if len(j.ServiceNames) > 0 {
		names := make([]string, len(j.ServiceNames))
		for i, name := range j.ServiceNames {
			names[i] = lowerFirst(name)
		}
		line += ", " + joined(names)
	}
	return line + "."
}

// signedText counts the steps, and those a second person checked.
func signedText(u summary.Unit) string {
	text := plural(u.Sheet.Signed(), "step") + " signed"
	if n := u.SecondChecks(); n > 0 {
		text += ", " + num(n) + " of them checked by a second person"
	}
	return text + "."
}

func customerLine(j job.Job) string { return customerText[j.Stage].line }

// sentText says who carries what was sent back.
func sentText(j job.Job) (carrier, tracking string) {
	if j.Tracking == "" {
		return j.Carrier + ".", ""
	}
	return j.Carrier + ",", "tracking code " + j.Tracking + "."
}

// noAirText is what to do before riding a unit that came without its air.
// Common practice (no source).
func noAirText(kind string, pa float64, known bool, p Prefs) (setTo, sag string) {
	setTo = "Before you ride, set it to what the maker’s manual says for you."
	if known {
		setTo = "Before you ride, set it to " + p.Pressure(pa) + " with a shock pump."
	}
	switch kind {
	case "fork":
		sag = "Then check the sag, standing on the pedals with your kit on."
	case "rear shock":
		sag = "Then check the sag, sitting on the bike with your kit on."
	}
	return setTo, sag
}

// endingText says how a job ended when it did not end done.
var endingText = map[string]string{
	"returned undone":                 "It goes back as it came, without the service: whatever was wrong still is.",
	"returned in parts, not rideable": "It goes back in parts. Do not ride it.",
	"not worth repairing":             "Repairing it would cost more than it is worth. Do not ride it as it is.",
	"no fault found":                  "We looked for the fault and did not find it. If it shows again, stop riding and bring it back.",
	"no parts":                        "The parts it needs cannot be had: whatever was wrong still is.",
	"left for scrap":                  "It was left with us for scrap, and is not ridden again.",
}

// afterRide is what to look at after the first ride, with the pressure it left
// with where one was set.
func afterRide(u summary.Unit, p Prefs) []string {
	lines := rideTexts[u.Job.Kind].after
	if pa, ok := u.Sheet.PressureBack(); ok {
		air := "Air still at " + p.Pressure(pa) + " (a pump takes a little with its hose)."
		return append([]string{air}, lines...)
	}
	return lines
}

// dueText says when a service is due again.
func (b Base) dueText(n due.Next) string {
	var when []string
	if n.Rule.Hours > 0 {
		when = append(when, "after "+strconv.Itoa(n.Rule.Hours)+" hours of riding")
	}
	for _, d := range n.Dates {
		by := "by " + b.Date(d.On)
		if d.By == interval.BySeason {
			by = "at the end of the season, " + b.Date(d.On)
		}
		when = append(when, by)
	}
	text := n.Service + " again " + strings.Join(when, " or ")
	if len(when) > 1 {
		text += ", whichever comes first"
	}
	return text + "."
}

// payerText is who pays a line that the customer does not.
var payerText = map[string]string{
	bill.ByUs:       "at our cost",
	bill.ByWarranty: "under warranty",
	bill.ByOther:    "on another bill",
}

// owesText says what is to pay, and what was paid of how much; nothing while
// there is no bill. Before all is done the bill may still grow.
func (p CustomerPage) owesText() (words, more string) {
	b := p.Bill.Balance()
	owed, billed, paid := b.OwedMinor(), p.amount(p.Bill, b.BilledMinor), p.amount(p.Bill, b.PaidMinor)
	switch {
	case b.Lines == 0 && b.PaidMinor == 0:
		return "", ""
	case b.Lines == 0 && owed < 0:
		return paid + " paid ahead.", ""
	case owed > 0 && b.PaidMinor > 0:
		words, more = p.amount(p.Bill, owed)+".", paid+" of "+billed+" is paid."
	case owed > 0:
		words = p.amount(p.Bill, owed) + "."
	case owed < 0:
		words, more = "Nothing.", "You paid "+p.amount(p.Bill, -owed)+" more than the bill; it is yours."
	case b.BilledMinor == 0:
		words = "Nothing."
	default:
		words, more = "Nothing more.", paid+" is paid, thank you."
	}
	if !p.worked() {
		more = strings.TrimSpace(more + " " + textBillGrows)
	}
	return words, more
}

// customerLineText says how a line comes to its amount, and who pays it if not
// the customer.
func (b Base) customerLineText(l bill.Line) string {
	words := b.Prefs.decimals(money.FormatTimes(l.QtyMilli)) + " × " + b.Prefs.Money(l.UnitMinor, l.Currency)
	if l.DiscountMinor != 0 {
		words += ", " + b.lessWords(l)
	}
	return listed(words, payerText[l.Payer])
}

// causeText says how what was found came about; that it happened here is said
// as plainly as the rest.
var causeText = map[string]string{
	bench.FoundSo:      "It came so.",
	bench.HappenedHere: "This happened here, while we worked on it.",
}

// putRightText says what was found and what was done about it.
func putRightText(f bench.Finding) string {
	return "Found, “" + f.Grade + "”. Put right: " + f.AnswerWords
}

// verdictShape and verdictText are the mechanic's word on riding.
func verdictShape(grade string) Shape {
	switch grade {
	case "safe to ride":
		return Square
	case "do not ride":
		return Octagon
	}
	return HalfDisc
}
