package web

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
)

// An owner rewords a block, has it refused what guards people, and puts it in
// force; a sheet that is begun keeps what it was begun with.
func TestAnOwnerChangesABlock(t *testing.T) {
	s := server(t)
	c := s.counter()
	begun := c.benchJob()
	b := s.as(owner)
	at := "/procedures/W"
	s.as(mechanic).get(at).want(http.StatusForbidden)
	b.get("/procedures").want(http.StatusOK).wantWords("#content", "Lowers").wantWords("#content", fmt.Sprintf("revision %d, as shipped, in force", shippedRevision("W")))
	page404(b, "/procedures/Y", at+"/draft", at+"/draft/step?key=W1", at+"/revisions/99", at+"/revisions/x", "/procedures/services/none")
	b.post(at+"/draft", "intent", b.get(at).intent(at+"/draft")).wantTo(at + "/draft?done=begin")

	p := b.get(at + "/draft/step?key=W5").want(http.StatusOK)
	step := func(p *page, fields ...string) *page {
		return b.post(at+"/draft/step", append([]string{"version", p.value("version"), "kind", "check", "title", "Blow dry", "text", "Until it is dry."}, fields...)...)
	}
	p = b.post(at+"/draft/step", "version", p.value("version"), "key", "W5", "kind", "check", "title", " ", "text", "New ones.").want(http.StatusUnprocessableEntity)
	if !strings.Contains(p.wrong("title"), "what is done") || !strings.Contains(p.wrong("kind"), "stays one") || !strings.Contains(p.wrong("scale"), "stay as shipped") {
		t.Errorf("refused with %q, %q, %q", p.wrong("title"), p.wrong("kind"), p.wrong("scale"))
	}
	if got := p.Find("textarea[name=text]").Text(); got != "New ones." {
		t.Errorf("the text typed came back as %q", got)
	}
	p = b.post(at+"/draft/step", "version", p.value("version"), "after", "W2", "kind", "torque", "title", "Torque it", "text", "Turn.").want(http.StatusUnprocessableEntity)
	if !strings.Contains(p.wrong("spec"), "A torque needs the torque") {
		t.Errorf("a torque without its value: %q", p.wrong("spec"))
	}
	p = step(b.get(at+"/draft/step?after=W2"), "after", "W2", "minutes", "soon").want(http.StatusUnprocessableEntity)
	if p.wrong("minutes") == "" {
		t.Error("minutes in words were taken")
	}
	step(b.get(at+"/draft/step?after=W2"), "after", "W2", "place", "lower-left", "place", "lower-right", "condition", "air", "condition", "").wantTo(at + "/draft?done=step")

	press := func(press string, fields ...string) *page {
		return b.post(at+"/draft/steps", append(fields, "version", b.get(at+"/draft").value("version"), "press", press)...)
	}
	press("up:W2.own1").wantTo(at + "/draft?done=steps")
	press("remove:W5").want(http.StatusConflict).wantWords("[role=alert]", "stays in its block")
	press("place", "to.W4", "1").want(http.StatusConflict).wantWords("[role=alert]", "belongs to a later part")
	press("place", "to.W3", "40").want(http.StatusUnprocessableEntity)
	press("place").want(http.StatusConflict).wantWords("[role=alert]", "No number was typed over")
	press("place", "to.W3", "1").wantTo(at + "/draft?done=steps")
	press("together", "step", "W3").want(http.StatusConflict).wantWords("[role=alert]", "at least two")
	press("together", "step", "W3", "step", "W1", "step", "W2.own1").wantTo(at + "/draft?done=steps")
	b.post(at+"/draft/steps", "version", "1", "press", "up:W2").want(http.StatusConflict).wantWords("[role=alert]", "changed meanwhile")

	b.get(at+"/draft/preview").want(http.StatusOK).wantWords("h1", "with the draft in force")
	b.get(at+"/draft/preview?model=0&came=unit+only&service=lower-leg").want(http.StatusOK).wantWords("#content", "Blow dry").wantWords("#content", "of this block")
	b.get(at+"/draft/preview?model=0&came=unit+only&service=air-can").want(http.StatusOK).wantWords("#content", "is not for a fork")

	force := func(words string) *page {
		return b.post(at+"/draft/force", "version", b.get(at+"/draft").value("version"), "words", words)
	}
	if p = force("").want(http.StatusUnprocessableEntity); !strings.Contains(p.wrong("words"), "what changes and why") {
		t.Errorf("without words: %q", p.wrong("words"))
	}
	force("They went together wet.").wantTo(at + "?done=force")
	p = b.get(at).want(http.StatusOK).wantWords(".head", fmt.Sprintf("Revision %d, the shop’s own, in force", shippedRevision("W")+1)).wantWords(".head", "They went together wet.")
	p.wantWords("#step-W2\\.own1", "Blow dry").wantWords("#step-W2\\.own1", "if: an air spring")
	b.get(fmt.Sprintf("%s/revisions/%d?with=%d", at, shippedRevision("W"), shippedRevision("W")+1)).want(http.StatusOK).wantWords("[data-difference='W2.own1']", "a step came").wantWords("[data-difference='W3']", "its place in the block")
	if c.benchSheet(begun).ByKey("W2.own1") != nil {
		t.Error("a sheet that was begun changed")
	}
	now := c.takeInUnit(customer.UnitDetails{Kind: "fork", ModelWords: "grey fork"}, "lower-leg")
	s.as(mechanic).post(fmt.Sprintf("/jobs/%d/start", now.ID)).want(http.StatusSeeOther)
	if c.benchSheet(now).ByKey("W2.own1") == nil {
		t.Error("a sheet that is begun now has not the step")
	}
}

// A draft that nobody wants goes, and a service is made out of parts.
func TestAnOwnerMakesAService(t *testing.T) {
	s := server(t).counter()
	b := s.as(owner)
	b.post("/procedures/Z/draft", "intent", b.get("/procedures/Z").intent("/procedures/Z/draft")).wantTo("/procedures/Z/draft?done=begin")
	b.post("/procedures/Z/draft/drop", "version", "1").wantTo("/procedures/Z?done=drop")

	make := func(fields ...string) *page {
		return b.post("/procedures/services", append([]string{"name", "Winter look", "kinds", "fork"}, fields...)...)
	}
	p := make("part.0", "W", "when.0", "", "part.1", "", "when.1", "").want(http.StatusUnprocessableEntity)
	if !strings.Contains(p.wrong("part.0"), "The final check with its verdict") || p.value("name") != "Winter look" {
		t.Errorf("without its proof: %q, named %q", p.wrong("part.0"), p.value("name"))
	}
	if p = make("part.0", "W", "part.1", "V").want(http.StatusUnprocessableEntity); !strings.Contains(p.wrong("part.0"), "its air is out") {
		t.Errorf("without the strip: %q", p.wrong("part.0"))
	}
	if p = make("part.0", "W", "part.1", "V", "part.2", "S", "when.2", "if coil").want(http.StatusUnprocessableEntity); !strings.Contains(p.wrong("part.0"), "its air is out") {
		t.Errorf("with a strip of coil forks alone: %q", p.wrong("part.0"))
	}
	if p = make("part.0", "S", "part.1", "V", "part.2", "Z", "when.2", "if coil").want(http.StatusUnprocessableEntity); !strings.Contains(p.wrong("part.0"), "nothing puts them on") {
		t.Errorf("with a close of coil forks alone: %q", p.wrong("part.0"))
	}
	if p = make("part.0", "S", "part.1", "V", "part.2", "W").want(http.StatusUnprocessableEntity); !strings.Contains(p.wrong("part.0"), "nothing puts them on") {
		t.Errorf("without the close: %q", p.wrong("part.0"))
	}
	if p = make("part.0", "A", "part.1", "V9x", "part.2", "V").want(http.StatusUnprocessableEntity); p.wrong("part.1") == "" {
		t.Error("a part nobody can read was taken")
	}
	p = b.post("/procedures/services", "name", "full service", "part.0", "V").want(http.StatusUnprocessableEntity)
	if !strings.Contains(p.wrong("name"), "Another service") || p.wrong("kinds") == "" {
		t.Errorf("a name twice: %q; for nothing: %q", p.wrong("name"), p.wrong("kinds"))
	}
	make("part.0", "A", "part.1", "V8-9", "part.2", "C", "when.2", "only if whole bike", "part.3", "S1-5", "part.4", "R", "covers", "crown-steerer").wantTo("/procedures?done=service")
	at := "/procedures/services/own-winter-look"
	p = b.get(at).want(http.StatusOK).wantWords("h1", "Winter look")
	if p.Find("[name='when.2'] [selected]").AttrOr("value", "") != "only if whole bike" {
		t.Error("its condition was not kept")
	}
	desk := s.as(desk)
	desk.get("/drop-off").wantWords("#content", "Winter look")
	b.post(at, "version", p.value("version"), "name", "Winter look", "kinds", "fork", "part.0", "A", "part.1", "V8-9", "out", "yes").wantTo("/procedures?done=service")
	b.post(at, "version", p.value("version"), "name", "Winter look", "kinds", "fork", "part.0", "V8-9").want(http.StatusConflict)
	if words := desk.get("/drop-off").words("#content"); strings.Contains(words, "Winter look") {
		t.Error("it is offered though it is out of use")
	}
	b.get("/procedures").wantWords("#content", "out of use")
	b.get("/shop").wantWords("#content", "blocks")
}

// A newer shipped text waits beside the shop's own, with what it would change,
// until one press takes it.
func TestAnOwnerTakesAShippedTextThatWaits(t *testing.T) {
	s := server(t).counter()
	b, at := s.as(owner), "/procedures/S"
	b.post(at+"/draft", "intent", b.get(at).intent(at+"/draft")).wantTo(at + "/draft?done=begin")
	b.post(at+"/draft/steps", "version", "1", "press", "remove:S4").wantTo(at + "/draft?done=steps")
	b.post(at+"/draft/force", "version", "2", "words", "Forks come washed.").wantTo(at + "?done=force")
	s.write(func(tx pgx.Tx, by history.By) error { // as if an older program had installed what is shipped
		_, err := tx.Exec(t.Context(), "update block set shipped = shipped - 1 where code = 'S' and shipped is not null")
		return errors.Join(err, procedure.Install(t.Context(), tx, by))
	})
	b.get("/procedures").wantWords("#content", "a newer shipped text waits")
	b.get("/shop").wantWords("#content", "newer shipped texts waiting: 1")
	p := b.get(at).want(http.StatusOK).wantWords(".head", "the shop’s own, in force").wantWords("[data-difference='S4']", "a step came")
	b.post(at+"/take", "revision", "1").want(http.StatusConflict).wantWords("[role=alert]", "not offered any more")
	b.post(at+"/take", "intent", p.intent(at+"/take"), "revision", p.value("revision")).wantTo(at + "?done=take")
	b.get(at).wantWords(".head", "as shipped, in force").wantWords("#step-S4", "Wash the fork")
}

// shippedRevision is that of a block as the program brings it.
func shippedRevision(code string) int {
	blocks, _ := procedure.Shipped()
	return blocks[slices.IndexFunc(blocks, func(b procedure.Block) bool { return b.Code == code })].Revision
}
