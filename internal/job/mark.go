package job

import (
	"cmp"
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

// Mark is something seen on a unit as it came.
type Mark struct {
	Place string // of MarkPlaces
	Words string
	At    time.Time
	By    string
}

// MarkPlaces are where on the drawing of a fork a mark may be, from the top
// down, and at last what the drawing does not show.
var MarkPlaces = []string{"steerer", "crown", "top-left", "top-right", "stanchion-left", "stanchion-right", "wiper-left", "wiper-right",
	"arch", "lower-left", "lower-right", "axle", "foot-left", "foot-right", "knob", Elsewhere}

// Elsewhere is a place that the drawing does not show, and any of what is no
// fork.
const Elsewhere = "elsewhere"

// mostMarks is how many one unit may come with.
const mostMarks = 20

const markSQL = `select k.place, k.words, k.at, coalesce(s.name, '') as by from job_mark k left join staff s on s.id = k.actor_id`

// MarkField names what one row of marks on the form has: "place" or "words".
func MarkField(row int, name string) string { return fmt.Sprintf("mark%d.%s", row, name) }

// tidyMarks keeps every row where it is, so that what is wrong is said beside it.
func tidyMarks(rows []Mark) []Mark {
	rows = slices.Clone(rows)
	for i := range rows {
		m := &rows[i]
		if m.Words = strings.TrimSpace(m.Words); m.Words != "" {
			m.Place = cmp.Or(m.Place, Elsewhere)
		}
	}
	return rows
}

// checkMarks looks at each row; one of which nothing is filled in is none.
func checkMarks(f faults, prefix string, rows []Mark) {
	for i, m := range rows {
		if field, sentence := m.fault(); field != "" && m != (Mark{}) {
			f.add(prefix+MarkField(i, field), true, sentence)
		}
	}
	f.add(prefix+"mark", len(filled(rows)) > mostMarks, fmt.Sprintf("A unit comes with at most %d marks.", mostMarks))
}

// filled are the rows that say something.
func filled(rows []Mark) []Mark {
	return slices.DeleteFunc(slices.Clone(rows), func(m Mark) bool { return m.Words == "" })
}

func (m Mark) fault() (field, sentence string) {
	switch {
	case m.Words == "":
		return "words", "Say what is there, or choose no place."
	case !slices.Contains(MarkPlaces, m.Place):
		return "place", "Say where on the unit it is."
	case utf8.RuneCountInString(m.Words) > maxShort:
		return "words", tooLong(maxShort)
	}
	return "", ""
}

func keepMarks(batch *pgx.Batch, by history.By, jobID int64, marks []Mark) {
	for _, m := range marks {
		batch.Queue(`insert into job_mark (job_id, place, words, actor_id, intent_id, at) values ($1, $2, $3, nullif($4, 0::bigint), $5, $6)`,
			jobID, m.Place, m.Words, by.Staff, by.Intent, by.At)
	}
}

// AddMark keeps one more mark of a job that work has not begun on: later ones
// are findings.
func AddMark(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, m Mark) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	m.Words = strings.TrimSpace(m.Words)
	if m.Words == "" {
		return fault.Field("mark", "Say what is there.")
	}
	if _, sentence := m.fault(); sentence != "" {
		return fault.Field("mark", sentence)
	}
	var n int
	if err := tx.QueryRow(ctx, "select count(*) from job_mark where job_id = $1", jobID).Scan(&n); err != nil {
		return fmt.Errorf("count marks: %w", err)
	}
	switch {
	case n >= mostMarks:
		return fault.Conflict(fmt.Sprintf("A unit comes with at most %d marks: write the others as a finding.", mostMarks))
	case !slices.Contains([]string{Booked, DroppedOff, Arrived, InQueue}, j.stage):
		return fault.Conflict("Work on it has begun: what is seen now is a finding.")
	}
	batch := &pgx.Batch{}
	keepMarks(batch, by, jobID, []Mark{m})
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return fmt.Errorf("keep mark: %w", db.Translate(err))
	}
	return j.append(ctx, tx, by, "mark seen", map[string]any{"place": m.Place})
}
