package job

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
)

// Answer is what the rider said when asked about a symptom.
type Answer struct {
	Symptom  string // codes
	Question string
	Words    string
}

// Asked is the question in words; empty for one that is no longer asked.
func (a Answer) Asked() string {
	s, _ := SymptomOf(a.Symptom)
	if i := s.question(a.Question); i >= 0 {
		return s.Asks[i].Words
	}
	return ""
}

// AskField names the field of an answer within its unit.
func AskField(symptom, question string) string { return "ask." + symptom + "." + question }

func (s Symptom) question(code string) int {
	return slices.IndexFunc(s.Asks, func(q Question) bool { return q.Code == code })
}

// answersFor keeps of the answers, tidied, those to what is asked about these
// symptoms: one that was ticked and cleared again leaves its own behind.
func answersFor(symptoms []string, answers []Answer) []Answer {
	var kept []Answer
	for _, a := range answers {
		s, _ := SymptomOf(a.Symptom)
		a.Words = strings.TrimSpace(a.Words)
		if a.Words != "" && slices.Contains(symptoms, a.Symptom) && s.question(a.Question) >= 0 {
			kept = append(kept, a)
		}
	}
	return kept
}

const answerSQL = `select a.symptom, a.question, a.words from job_answer a`

// sortAnswers puts them in the order they are asked.
func sortAnswers(list []Answer) {
	slices.SortFunc(list, func(a, b Answer) int {
		s, _ := SymptomOf(a.Symptom)
		return cmp.Or(cmp.Compare(symptomIndex(a.Symptom), symptomIndex(b.Symptom)), cmp.Compare(s.question(a.Question), s.question(b.Question)))
	})
}

// came is what was said and seen of one job when it came.
type came struct {
	answers []Answer
	marks   []Mark
}

// readCame reads it for several jobs.
func readCame(ctx context.Context, q db.Querier, ids []int64) (map[int64]came, error) {
	type answer struct {
		JobID int64
		Answer
	}
	type mark struct {
		JobID int64
		Mark
	}
	var (
		said  []answer
		marks []mark
		b     pgx.Batch
	)
	db.Queue(&b, &said, "select job_id, symptom, question, words from job_answer where job_id = any ($1)", ids)
	db.Queue(&b, &marks, `select k.job_id, k.place, k.words, k.at, coalesce(s.name, '') as by
		from job_mark k left join staff s on s.id = k.actor_id where k.job_id = any ($1) order by k.id`, ids)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return nil, fmt.Errorf("read how jobs came: %w", err)
	}
	all := map[int64]came{}
	for _, a := range said {
		c := all[a.JobID]
		c.answers = append(c.answers, a.Answer)
		all[a.JobID] = c
	}
	for _, m := range marks {
		c := all[m.JobID]
		c.marks = append(c.marks, m.Mark)
		all[m.JobID] = c
	}
	for _, c := range all {
		sortAnswers(c.answers)
	}
	return all, nil
}

func keepAnswers(batch *pgx.Batch, jobID int64, answers []Answer) {
	for _, a := range answers {
		batch.Queue("insert into job_answer (job_id, symptom, question, words) values ($1, $2, $3, $4)", jobID, a.Symptom, a.Question, a.Words)
	}
}
