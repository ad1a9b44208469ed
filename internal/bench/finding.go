package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// What a finding asks of whoever rides.
const (
	FoundNote   = "note"
	FoundWatch  = "keep an eye on"
	FoundDue    = "needs doing"
	FoundUnsafe = "do not ride"
)

// FindingGrades lists them from the least on.
var FindingGrades = []string{FoundNote, FoundWatch, FoundDue, FoundUnsafe}

// How what was found came about.
const (
	FoundSo      = "found so"
	HappenedHere = "happened here"
)

// Causes lists them, the usual one first.
var Causes = []string{FoundSo, HappenedHere}

// Found is a finding as a person gives it.
type Found struct {
	Grade, Cause, Words string
	Pictures            []int64 // of the job, that show it
}

// Finding is something found on a unit; StepID is nil for one apart from the
// steps. It stands until it is answered.
type Finding struct {
	ID          int64
	StepID      *int64
	Grade       string
	Cause       string
	Words       string
	Pictures    []int64 // that show it, oldest first
	Actor       string
	At          time.Time
	Answer      string // empty while it stands
	AnswerWords string // why it was withdrawn, or what put it right
	AnswerBy    string
	AnswerAt    *time.Time
}

// mostFound is how long the words of a finding may be, in characters.
const mostFound = 1000

const findingSQL = `select f.id, f.step_id, f.grade, f.cause, f.words,
		array(select picture_id from finding_picture where finding_id = f.id order by picture_id) as pictures, a.name as actor, f.at,
		coalesce(w.kind, '') as answer, coalesce(w.words, '') as answer_words, coalesce(b.name, '') as answer_by, w.at as answer_at,
		f.job_id, j.number
	from finding f join job j on j.id = f.job_id join staff a on a.id = f.actor_id
	left join finding_answer w on w.finding_id = f.id left join staff b on b.id = w.actor_id `

// Findings lists what was found on a job, answered ones too, oldest first.
func Findings(ctx context.Context, q db.Querier, jobID int64) ([]Finding, error) {
	var (
		list []UnitFinding
		b    pgx.Batch
	)
	queueFindings(&b, jobID, &list)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return nil, fmt.Errorf("read findings: %w", err)
	}
	return ofOneJob(list), nil
}

func queueFindings(b *pgx.Batch, jobID int64, list *[]UnitFinding) {
	db.Queue(b, list, findingSQL+"where f.job_id = $1 order by f.id", jobID)
}

func ofOneJob(list []UnitFinding) []Finding {
	var findings []Finding
	for _, f := range list {
		findings = append(findings, f.Finding)
	}
	return findings
}

// Standing leaves out of a list what was answered.
func Standing(list []Finding) []Finding {
	return slices.DeleteFunc(slices.Clone(list), func(f Finding) bool { return f.Answer != "" })
}

// FoundAt lists what was found at a step, answered ones too.
func (s Sheet) FoundAt(stepID int64) []Finding {
	return slices.DeleteFunc(slices.Clone(s.Findings), func(f Finding) bool { return f.StepID == nil || *f.StepID != stepID })
}

// badGrades is what a grade that is not right says of which part, and what the
// finding would ask: common practice (no source).
var badGrades = map[string]struct{ part, asks string }{
	"seen":                            {"Bushing play", FoundWatch},
	"knocks":                          {"Bushing play", FoundDue},
	"coating through":                 {"Stanchions", FoundWatch},
	"catches a fingernail":            {"Stanchions", FoundDue},
	"too much":                        {"Oil drained", FoundDue},
	"creaks":                          {"Crown and steerer", FoundUnsafe},
	"crack, or in doubt":              {"Crown and steerer", FoundUnsafe},
	"travel short":                    {"Travel and adjusters", FoundDue},
	"rebound or lockout does nothing": {"Travel and adjusters", FoundDue},
	"stuck down":                      {"Travel and adjusters", FoundUnsafe},
	"felt here too":                   {"Complaint", FoundDue},
	"dark or milky":                   {"Damper fluid", FoundNote},
	"air in it":                       {"Damper fluid", FoundWatch},
	"weeps past a seal":               {"Damper seal", FoundDue},
	"sticks":                          {"New bushings", FoundDue},
	"play left":                       {"New bushings", FoundDue},
	"bent or twisted":                 {"Stanchions", FoundUnsafe},
	"crushed, cut or too short":       {"Steerer", FoundUnsafe},
	"keep an eye on":                  {"Crown and steerer", FoundWatch},
	"do not ride":                     {"Crown and steerer", FoundUnsafe},
}

// Offer words the finding that a bad grade of the step is; ok is false for a
// grade that is as it should be.
func (s Step) Offer(grade string) (found Found, ok bool) {
	bad, ok := badGrades[grade]
	if !ok || s.Verdict() || !slices.Contains(s.Grades, grade) {
		return Found{}, false
	}
	part := bad.part
	if _, side, sided := strings.Cut(s.Place, "-"); sided && !strings.Contains(s.Place, " ") {
		part += ", rider’s " + side
	}
	return Found{Grade: bad.asks, Cause: FoundSo, Words: part + ": " + grade}, true
}

// settle says by field what a finding lacks. The fields are found, asks and
// cause.
func (f *Found) settle(wrong fields) {
	f.Words = strings.TrimSpace(f.Words)
	switch {
	case f.Words == "":
		wrong["found"] = "Say in a few words what was found."
	case utf8.RuneCountInString(f.Words) > mostFound:
		wrong["found"] = fmt.Sprintf("Write at most %d characters.", mostFound)
	}
	if !slices.Contains(FindingGrades, f.Grade) {
		wrong["asks"] = "Choose one: " + strings.Join(FindingGrades, ", ") + "."
	}
	if !slices.Contains(Causes, f.Cause) {
		wrong["cause"] = "Say whether it came so or happened here."
	}
}

// AddFinding stores a finding apart from the steps.
func AddFinding(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, found Found) error {
	sheet, err := lockSheet(ctx, tx, by, jobID)
	if err != nil {
		return err
	}
	wrong := fields{}
	if found.settle(wrong); len(wrong) > 0 {
		return wrong.err()
	}
	if err := sheet.refuseFinding(); err != nil {
		return err
	}
	return sheet.record(ctx, tx, by, nil, found)
}

// FoundID is the newest finding of the job that was found so at the step, nil
// for apart from the steps.
func FoundID(ctx context.Context, q db.Querier, jobID int64, stepID *int64, found Found) (id int64, err error) {
	err = q.QueryRow(ctx, `select id from finding where job_id = $1 and step_id is not distinct from $2 and grade = $3 and cause = $4 and words = $5
		order by id desc limit 1`, jobID, stepID, found.Grade, found.Cause, strings.TrimSpace(found.Words)).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("look for a finding: %w", err)
	}
	return id, nil
}

func (s Sheet) refuseFinding() error {
	if !open(s.Job.Stage) {
		return fault.Conflict(fmt.Sprintf("This job is %s; its findings stay as they are.", s.Job.Stage))
	}
	return nil
}

// record stores a settled finding. One that the signed verdict belies is
// refused.
func (s *Sheet) record(ctx context.Context, tx pgx.Tx, by history.By, stepID *int64, found Found) error {
	f := Finding{StepID: stepID, Grade: found.Grade, Cause: found.Cause, Words: found.Words, At: by.At}
	if step := s.ByKey(keyNote); step != nil && step.Done != nil && belies(step.Done.Grade, f) {
		return fault.Conflict(fmt.Sprintf("Step %d is signed as “%s”, which this finding belies; cross that out first.", step.Seq, step.Done.Grade))
	}
	err := tx.QueryRow(ctx, `insert into finding (job_id, step_id, grade, cause, words, actor_id, intent_id, at)
		values ($1, $2, $3, $4, $5, $6, $7, $8) returning id`,
		s.Job.ID, stepID, f.Grade, f.Cause, f.Words, by.Staff, by.Intent, by.At).Scan(&f.ID)
	if err != nil {
		return fmt.Errorf("store finding: %w", db.Translate(err))
	}
	if err := s.attach(ctx, tx, by, &f, found.Pictures); err != nil {
		return err
	}
	s.Findings = append(s.Findings, f)
	detail := map[string]any{"finding": f.ID}
	if stepID != nil {
		detail["step"] = *stepID
	}
	return history.Append(ctx, tx, by, s.event("finding recorded", detail))
}

// Stands reports whether that was found at the step and is not answered.
func (s Sheet) Stands(stepID int64, found Found) bool {
	return slices.ContainsFunc(Standing(s.FoundAt(stepID)), func(f Finding) bool {
		return f.Grade == found.Grade && f.Cause == found.Cause && f.Words == found.Words
	})
}

// recordFound stores what was found at steps that were signed just now. What
// stands already, from a sign-off that was crossed out, is not stored twice.
func (s *Sheet) recordFound(ctx context.Context, tx pgx.Tx, by history.By, list ...Signing) error {
	for _, g := range list {
		for _, found := range g.Found {
			if s.Stands(g.StepID, found) {
				continue
			}
			if err := s.record(ctx, tx, by, &g.StepID, found); err != nil {
				return err
			}
		}
	}
	return nil
}

// Verdicts on riding, from the final check.
const (
	verdictSafe  = "safe to ride"
	verdictWatch = "keep an eye on"
)

// belies reports whether a finding may not stand beside a verdict: what is not
// to be ridden is not fit to ride, and what is to be watched is said.
func belies(verdict string, f Finding) bool {
	switch f.Grade {
	case FoundUnsafe:
		return verdict == verdictSafe || verdict == verdictWatch
	case FoundWatch:
		return verdict == verdictSafe
	}
	return false
}

// Belied says why a verdict may not be given while a finding stands; empty
// when it may.
func (s Sheet) Belied(verdict string) string {
	if verdict != FoundUnsafe && s.apart() {
		return "This sheet takes the lowers off and no step of it puts them on."
	}
	for _, f := range Standing(s.Findings) {
		if !belies(verdict, f) {
			continue
		}
		where := "The mechanic"
		if f.StepID != nil {
			where = fmt.Sprintf("Step %d", s.Find(*f.StepID).Seq)
		}
		return fmt.Sprintf("%s found “%s”, %s.", where, f.Words, f.Grade)
	}
	return ""
}

// apart is whether the sheet takes the lowers off and does not put them on.
func (s Sheet) apart() bool { return s.ByKey("S8") != nil && s.ByKey("Z7") == nil }

// refuseVerdict keeps a verdict from being signed against a finding.
func (s Sheet) refuseVerdict(step *Step, g Signing) error {
	if !step.Verdict() || g.Role == RoleChecked {
		return nil
	}
	if why := s.Belied(g.Grade); why != "" {
		return fault.Field("grade", why+" Choose a verdict that says so, or say on the sheet that it is put right or withdrawn.")
	}
	return nil
}
