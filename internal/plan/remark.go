package plan

import (
	"fmt"
	"time"

	"damperdesk/internal/job"
)

// Remark judges a row of the board as job.BoardRow.Remark does, and before its
// promise is past by when it is expected: what will miss says so while there is
// time to do something about it.
func (p *Plan) Remark(r job.BoardRow) job.Remark {
	now := r.Remark(p.At, p.zone)
	e, ok := p.Job(r.ID)
	if _, _, opens := p.open.Next(p.At); !ok || !opens {
		return now
	}
	switch now.Kind {
	case job.RemarkWaiting, job.RemarkAsking:
		if e.Standing == WillMiss {
			return job.Remark{Kind: now.Kind, Words: now.Words + "; will miss"}
		}
		return now
	case job.RemarkTight, job.RemarkToday, job.RemarkOnTime:
	default:
		return now
	}
	switch {
	case e.Standing == WillMiss:
		return job.Remark{Kind: job.RemarkWillMiss, Words: p.missWords(e)}
	case p.open.Between(e.Ready, e.Promised) < near:
		return job.Remark{Kind: job.RemarkTight, Words: "tight"}
	}
	return job.Remark{Kind: job.RemarkOnTime, Words: "on time"}
}

// near is how much open time is left between a job and its promise when the
// board calls it tight: a matter of hours, not of how sure a new promise is.
const near = 2 * time.Hour

// Trouble is whether somebody should look at a row: it is late or will be, or
// did not come.
func (p *Plan) Trouble(r job.BoardRow) bool {
	switch p.Remark(r).Kind {
	case job.RemarkLate, job.RemarkLateWaiting, job.RemarkWillMiss, job.RemarkTight, job.RemarkLapsed:
		return true
	case job.RemarkReady, job.RemarkBooked:
		return false
	}
	e, ok := p.Job(r.ID)
	return ok && e.Standing == WillMiss
}

// missWords says by how much a job will miss its promise: by days of the
// calendar, on the day itself by the clock.
func (p *Plan) missWords(e Expected) string {
	if e.Ready.IsZero() {
		return "will miss: nobody has hours for it"
	}
	if n := int(p.day(e.Ready).Sub(p.day(e.Promised)) / (24 * time.Hour)); n == 1 {
		return "will miss by 1 day"
	} else if n > 1 {
		return fmt.Sprintf("will miss by %d days", n)
	}
	late := e.Ready.Sub(e.Promised).Round(5 * time.Minute)
	h, m := int(late.Hours()), int(late.Minutes())%60
	switch {
	case h == 0:
		return fmt.Sprintf("will miss by %d min", max(m, 5))
	case m == 0:
		return fmt.Sprintf("will miss by %d h", h)
	}
	return fmt.Sprintf("will miss by %d h %d min", h, m)
}
