package web

import (
	"net/http"
	"strings"
	"testing"

	"damperdesk/internal/spec"
)

// csvFile is a file of the columns that the tests need, made of whole rows.
func csvFile(rows ...string) []byte {
	return []byte("row,maker,model,years,kind,spring,damper,key,place,value,unit,fluid,source,document,edition,page,words\n" + strings.Join(rows, "\n") + "\n")
}

const (
	newFoot = "value,Halvard,Sill,2021 to 2024,,,,foot bolt,foot-left foot-right,7.5,N·m,,document,Service manual,3rd edition,41,"
	newFell = "model,Halvard,Fell,,fork,coil,sealed,,,,,,,,,,"
	badStem = "value,Halvard,Sill,2021 to 2024,,,,stem,steerer,5,N·m,,judgement,,,,the Ledge"
)

func TestALibraryGoesOutAndComesInByFile(t *testing.T) {
	s := server(t)
	w := s.library()
	w.put("foot bolt", "7.3 N·m").want(http.StatusSeeOther)
	w.get("/models").want(200).wantWords("main a[href='/models/csv']", "As a file")
	w.get("/models/csv").want(200).wantWords("#format ~ table", "stanchion_mm").wantWords("main", "foot bolt")
	if out := w.get("/models/csv/file").want(200); !strings.HasPrefix(out.body, "\ufeffrow,maker,model,years,") || !strings.Contains(out.body, "foot bolt") {
		t.Errorf("sent is %q", out.body)
	}
	w.get("/models/csv/file?model=99").want(http.StatusNotFound)

	brought := w.postFiles("/models/csv", []attached{{"file", csvFile(newFoot, newFell, badStem)}}).want(http.StatusSeeOther)
	plan := w.get(brought.to).want(200)
	plan.wantWords(".lead", "1 row new, 1 changed, 0 unchanged, 1 refused.").
		wantWords("[aria-labelledby=refused] tbody", "4 refusedsourceFor this one only the maker’s document serves.").
		wantWords("[aria-labelledby=taken] tbody tr:has(del)", "7.3 N·m").wantWords("[aria-labelledby=taken]", "Halvard Fell")
	if models, _ := spec.Models(t.Context(), s.pool); len(models) != 1 {
		t.Error("looking has changed the library")
	}
	s.as(owner).get(brought.to).want(http.StatusNotFound)
	mark := plan.Find("input[name=mark]").AttrOr("value", "")
	w.post(brought.to+"/apply", "mark", "").want(http.StatusConflict)
	w.post(brought.to+"/apply", "mark", "another").want(http.StatusConflict).wantWords("[role=alert]", "Nothing was taken in: look again")
	w.post(brought.to+"/apply", "mark", mark).wantTo("/models?done=csv")
	w.get("/models?done=csv").wantWords("[role=status]", "taken in").wantWords(".models", "Halvard Fell")
	if v := w.draft().Values; len(v) != 1 || v[0].NominalSI != 7.5 {
		t.Errorf("on the draft: %+v", v)
	}
	w.post(brought.to+"/apply", "mark", mark).want(http.StatusNotFound)
}

func TestALibraryChangedMeanwhileIsSaid(t *testing.T) {
	s := server(t)
	w := s.library()
	w.put("foot bolt", "7.3 N·m").want(http.StatusSeeOther)
	brought := w.postFiles("/models/csv", []attached{{"file", csvFile(newFoot)}}).want(http.StatusSeeOther)
	mark := w.get(brought.to).Find("input[name=mark]").AttrOr("value", "")
	w.put("knob screw", "1.1 N·m").want(http.StatusSeeOther)
	p := w.post(brought.to+"/apply", "mark", mark).want(http.StatusConflict).wantWords("[role=alert]", "The library changed since")
	if again := p.Find("input[name=mark]").AttrOr("value", ""); again == "" || again == mark {
		t.Errorf("the page shows the mark %q again", again)
	}
	if v := w.draft().Values; len(v) != 2 || v[0].NominalSI != 7.3 {
		t.Errorf("half of it was taken in: %+v", v)
	}
}

// A file may be larger than a form, whoever of those brings it that may.
func TestALargeFileIsTaken(t *testing.T) {
	s := server(t)
	large := csvFile(newFell, strings.Repeat(",", 16)+strings.Repeat(" ", 2<<20))
	for _, role := range []string{mechanic, owner} {
		s.as(role).postFiles("/models/csv", []attached{{"file", large}}).want(http.StatusSeeOther)
	}
	p := s.as(owner).postFiles("/models/csv", []attached{{"file", append(large, large...)}}).want(http.StatusUnprocessableEntity)
	if got := p.wrong("file"); !strings.Contains(got, "more than 4 MB") {
		t.Errorf("%q stands beside a file of over 4 MB", got)
	}
}

func TestAFileThatIsNoneIsSaidBesideItsField(t *testing.T) {
	w := server(t).library()
	for _, c := range []struct {
		file []attached
		says string
	}{
		{nil, "Choose the file"},
		{[]attached{{"file", []byte("")}}, "empty"},
		{[]attached{{"file", []byte("name,price\nx,1\n")}}, "no column “name”"},
		{[]attached{{"file", []byte("\xff\xfer\x00o\x00w\x00")}}, "UTF-8"},
	} {
		p := w.postFiles("/models/csv", c.file).want(http.StatusUnprocessableEntity)
		if got := p.wrong("file"); !strings.Contains(got, c.says) {
			t.Errorf("%q stands beside the file, want %q", got, c.says)
		}
	}
}
