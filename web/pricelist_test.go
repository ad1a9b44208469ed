package web

import (
	"net/http"
	"strings"
	"testing"

	"damperdesk/internal/stock"
)

const partsHead = "code,name,kind,measure,sale,stock,cost\n"

func TestPartsComeInByFile(t *testing.T) {
	s := server(t)
	b := s.as(desk)
	s.putPart(aWiper)
	b.get("/parts/import").want(200).wantWords("#format ~ table", "opened_days")
	if out := b.get("/parts/csv").want(200); !strings.HasPrefix(out.body, "\ufeffcode,name,kind,") || !strings.Contains(out.body, "Wiper 35 mm") {
		t.Errorf("sent is %q", out.body)
	}
	bad := b.postFiles("/parts/import", []attached{{"file", []byte(partsHead + "S1,Spacer,spacer,each,1.20,4,0.40\nS2,,spacer,each,,,\n")}}).want(http.StatusSeeOther)
	plan := b.get(bad.to).want(200).wantWords("[aria-labelledby=refused] tbody", "3 refusednameGive it a name").wantWords(".lead", "1 line refused")
	if plan.Find("input[name=mark]").Length() != 0 {
		t.Error("a file with a refused line is offered to be taken in")
	}
	brought := b.postFiles("/parts/import", []attached{{"file", []byte(partsHead + "S1,Spacer,spacer,each,1.20,4,0.40\nW-35,Wiper,wiper,each,4.50,,\n")}}).want(http.StatusSeeOther)
	b.get(bad.to).want(404)
	plan = b.get(brought.to).want(200).wantWords(".lead", "1 part new, 1 changed, 0 unchanged; 0 lines refused.").
		wantWords("[aria-labelledby=taken]", "there is 4 pieces of it at £0.40 a piece").wantWords("[aria-labelledby=taken]", "sale nothing becomes 4.50")
	s.as(owner).get(brought.to).want(404)
	mark := plan.Find("input[name=mark]").AttrOr("value", "")
	b.post(brought.to+"/apply", "mark", "").want(http.StatusConflict)
	b.post(brought.to+"/apply", "mark", "another").want(http.StatusConflict).wantWords("[role=alert]", "Nothing was taken in: look again")
	b.post(brought.to+"/apply", "mark", mark).wantTo("/parts?done=imported")
	b.get("/parts?done=imported").wantWords("[role=status]", "taken in")
	if i := s.partCoded("s1"); i.Qty != 4 || i.Value != 160 {
		t.Errorf("taken in: %+v", i)
	}
	if i := s.partCoded("w35"); i.Name != "Wiper" || *i.SaleMinor != 450 {
		t.Errorf("changed: %+v", i)
	}
	b.post(brought.to+"/apply", "mark", mark).want(http.StatusNotFound)
}

func TestAFileThatIsNoneOfPartsIsSaid(t *testing.T) {
	b := server(t).as(mechanic)
	for _, c := range []struct {
		file []attached
		says string
	}{
		{nil, "Choose the file"},
		{[]attached{{"file", []byte("")}}, "empty"},
		{[]attached{{"file", []byte("code,colour\nx,1\n")}}, "no column “colour”"},
		{[]attached{{"file", []byte("name\nx\n")}}, "“code” is missing"},
		{[]attached{{"file", []byte(strings.Repeat(" ", stock.MostFile) + "code\nx\n")}}, "more than 4 MB"},
	} {
		p := b.postFiles("/parts/import", c.file).want(http.StatusUnprocessableEntity)
		if got := p.wrong("file"); !strings.Contains(got, c.says) {
			t.Errorf("%q stands beside the file, want %q", got, c.says)
		}
	}
}
