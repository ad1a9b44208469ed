package templates

import (
	"strconv"
	"time"

	"damperdesk/internal/job"
)

// WallPage is the board for a screen that nobody touches: no riders' names, as
// many jobs at a time as it holds.
type WallPage struct {
	BoardPage
	Page int // that is shown, from 1
}

// wallRows is how many jobs a screen of 1920 by 1080 holds.
const wallRows = 10

// WallTurn is how long each page of the wall stands.
const WallTurn = 15 * time.Second

func (p WallPage) pages() [][]job.BoardRow {
	var pages [][]job.BoardRow
	for rows := p.All; len(rows) > 0; {
		n := min(wallRows, len(rows))
		pages = append(pages, rows[:n])
		rows = rows[n:]
	}
	return pages
}

// Turned is the page with a number that there is.
func (p WallPage) Turned(page int) WallPage {
	p.Page = min(max(page, 1), max(len(p.pages()), 1))
	return p
}

// next is where a wall without scripts turns to.
func (p WallPage) next() string {
	return strconv.Itoa(int(WallTurn.Seconds())) + ";url=/board/wall?page=" + strconv.Itoa(p.Page%max(len(p.pages()), 1)+1)
}

func (p WallPage) turnWords() string {
	if len(p.pages()) < 2 {
		return ""
	}
	return "Page " + strconv.Itoa(p.Page) + " of " + strconv.Itoa(len(p.pages())) + ", turns every " + strconv.Itoa(int(WallTurn.Seconds())) + " seconds."
}

// short is an instant on the wall: the time today, else the day with it.
func (p WallPage) short(t time.Time) string {
	if p.Today(t) {
		return p.Clock(t)
	}
	return p.When(t)
}

// ready is when a job is expected, empty where it is ready or has no place.
func (p WallPage) ready(r job.BoardRow) string {
	if at, words, _ := p.expected(r); r.Stage != job.Ready && !at.IsZero() {
		return p.short(at)
	} else if r.Stage != job.Ready {
		return words
	}
	return ""
}
