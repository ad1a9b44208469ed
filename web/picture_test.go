package web

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"mime/multipart"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/uuid"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/job"
	"damperdesk/internal/picture"
)

// drawnJPEG is a grey picture of that size.
func drawnJPEG(t *testing.T, w, h int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, w, h)), nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// attached is a file in a field of a form.
type attached struct {
	field string
	data  []byte
}

// postFiles is post with files. Fields are name and value in turn.
func (b *browser) postFiles(path string, files []attached, fields ...string) *page {
	b.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	if !slices.Contains(fields, "intent") {
		fields = append(fields, "intent", uuid.NewString())
	}
	for i := 0; i+1 < len(fields); i += 2 {
		if err := w.WriteField(fields[i], fields[i+1]); err != nil {
			b.t.Fatal(err)
		}
	}
	for _, f := range files {
		part, err := w.CreateFormFile(f.field, "picture.jpg")
		if err == nil {
			_, err = part.Write(f.data)
		}
		if err != nil {
			b.t.Fatal(err)
		}
	}
	w.Close()
	req, err := http.NewRequest(http.MethodPost, b.url+path, &body)
	if err != nil {
		b.t.Fatal(err)
	}
	req.Header.Set("Content-Type", w.FormDataContentType())
	req.Header.Set("Origin", b.url)
	return b.do(req)
}

func (c counter) pictures(jobID int64) []picture.Picture {
	c.t.Helper()
	list, err := picture.OfJob(context.Background(), c.pool, jobID)
	if err != nil {
		c.t.Fatal(err)
	}
	return list
}

// atPictures opens the lines that A2 is signed with.
func (c counter) atPictures(b *browser) (step bench.Step, path string, j job.Job) {
	c.t.Helper()
	j = c.benchJob()
	b.post(fmt.Sprintf("/jobs/%d/start", j.ID)).want(http.StatusSeeOther)
	step = *c.benchSheet(j).ByKey("A2")
	return step, stepPath(j.ID, step.ID), j
}

func TestAPictureGoesWithThePressThatSignsItsStep(t *testing.T) {
	s := server(t)
	c := s.counter()
	b := s.as(mechanic)
	step, path, j := c.atPictures(b)
	b.get(path).want(http.StatusOK).wantWords(".shots .shot", "Take a picture")
	file := []attached{{bench.Line(step.ID, "file"), drawnJPEG(t, 640, 480)}, {bench.Line(step.ID, "file"), drawnJPEG(t, 320, 320)}}
	intent := uuid.NewString()
	for range 2 { // a second press is the same act
		b.postFiles(path+"/together", file, "intent", intent, bench.Line(step.ID, "outcome"), "done").want(http.StatusSeeOther)
	}
	sheet, err := bench.Get(context.Background(), s.pool, j.ID)
	if err != nil {
		t.Fatal(err)
	}
	signed := sheet.ByKey("A2")
	if len(sheet.Pictures) != 2 || len(signed.Pictures) != 2 || signed.Done == nil || signed.Done.Reason != "" {
		t.Fatalf("%d pictures of the job, %d at the step, signed as %+v; want two, without a reason", len(sheet.Pictures), len(signed.Pictures), signed.Done)
	}
	p := b.get(path).want(http.StatusOK)
	if n := p.Find(`.thumbs a[href^="/pictures/"] img[alt*="this step"]`).Length(); n != 2 {
		t.Errorf("the signed step shows %d pictures, want 2", n)
	}
}

func TestAPictureStepIsSignedWithoutOneAndSaysWhy(t *testing.T) {
	for name, c := range map[string]struct{ sent, want string }{
		"nothing said": {"", bench.NoneTaken}, "no camera": {bench.NoCamera, bench.NoCamera},
	} {
		t.Run(name, func(t *testing.T) {
			s := server(t)
			b := s.as(mechanic)
			step, path, j := s.counter().atPictures(b)
			b.post(path+"/together", bench.Line(step.ID, "outcome"), "done", bench.Line(step.ID, "without"), c.sent).want(http.StatusSeeOther)
			sheet, err := bench.Get(context.Background(), s.pool, j.ID)
			if err != nil {
				t.Fatal(err)
			}
			if done := sheet.ByKey("A2").Done; done == nil || done.Reason != c.want {
				t.Errorf("signed as %+v, want the reason %q", done, c.want)
			}
		})
	}
}

func TestABadPictureIsSaidBesideItsFieldAndNothingIsSigned(t *testing.T) {
	s := server(t)
	c := s.counter()
	b := s.as(mechanic)
	step, path, j := c.atPictures(b)
	whole := drawnJPEG(t, 640, 480)
	for name, f := range map[string]struct {
		data []byte
		says string
	}{
		"HEIC":     {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), "Set the camera to JPEG"},
		"cut off":  {whole[:len(whole)/2], "cut off"},
		"13 MB":    {append(slices.Clone(whole), make([]byte, 13<<20-len(whole))...), "12 MB at most"},
		"no image": {[]byte("a letter"), "JPEG, PNG or WebP"},
	} {
		field := bench.Line(step.ID, "file")
		bad := b.postFiles(path+"/together", []attached{{field, f.data}}, bench.Line(step.ID, "outcome"), "done").want(http.StatusUnprocessableEntity)
		if got := bad.wrong(field); !strings.Contains(got, f.says) {
			t.Errorf("%s: beside the field it says %q, want %q", name, got, f.says)
		}
	}
	if c.benchSheet(j).ByKey("A2").Done != nil || len(c.pictures(j.ID)) != 0 {
		t.Error("something was stored of what was refused")
	}
	much := append(slices.Clone(whole), make([]byte, 26<<20)...)
	b.postFiles(path+"/together", []attached{{"file", much}}).want(http.StatusRequestEntityTooLarge).wantWords("main", "A picture may have 12 MB")
}

// What was taken stays with its form where that is refused for something else.
func TestThePictureOfAFindingOutlivesARefusal(t *testing.T) {
	s := server(t)
	c := s.counter()
	b := s.as(mechanic)
	_, _, j := c.atPictures(b)
	file := []attached{{"foundfile", drawnJPEG(t, 64, 48)}}
	bad := b.postFiles(benchPath(j.ID)+"/finding", file, "asks", "keep an eye on", "cause", "found so").want(http.StatusUnprocessableEntity)
	if bad.wrong("found") == "" {
		t.Error("it does not say that the words are missing")
	}
	id := bad.value("foundpicture")
	if id == "" || bad.Find(`#add-finding input[name=foundpicture][checked]`).Length() != 1 {
		t.Fatal("the picture did not come back with the form")
	}
	b.post(benchPath(j.ID)+"/finding", "asks", "keep an eye on", "cause", "found so", "found", "dent in the arch", "foundpicture", id).want(http.StatusSeeOther)
	list, err := bench.Findings(context.Background(), s.pool, j.ID)
	if err != nil || len(list) != 1 || len(list[0].Pictures) != 1 || strconv.FormatInt(list[0].Pictures[0], 10) != id {
		t.Fatalf("found %+v, error %v; want it with picture %s", list, err, id)
	}
	b.get(benchPath(j.ID)).wantWords(".gallery", "Dent in the arch")
	other := c.takeInUnit(customer.UnitDetails{Kind: "fork", ModelWords: "a grey fork"}, "lower-leg")
	b.post(fmt.Sprintf("/jobs/%d/start", other.ID)).want(http.StatusSeeOther)
	b.post(benchPath(other.ID)+"/finding", "asks", "note", "cause", "found so", "found", "dent", "foundpicture", id).
		want(http.StatusConflict).wantWords(".problem", "not one of this job’s")
}

// A finding that one press recorded gets its picture afterwards.
func TestAPictureIsAddedToAFindingThatStands(t *testing.T) {
	s := server(t)
	c := s.counter()
	b := s.as(mechanic)
	_, _, j := c.atPictures(b)
	b.post(benchPath(j.ID)+"/finding", "asks", "note", "cause", "found so", "found", "dent in the arch").want(http.StatusSeeOther)
	p := b.get(benchPath(j.ID))
	id := p.Find(`form[action="`+benchPath(j.ID)+`/pictures"] input[name=finding]`).AttrOr("value", "")
	bad := b.postFiles(benchPath(j.ID)+"/pictures", []attached{{"file", []byte("x")}}, "finding", id).want(http.StatusUnprocessableEntity)
	if !strings.HasPrefix(bad.wrong("file"), "This is no picture") {
		t.Errorf("beside the field it says %q", bad.wrong("file"))
	}
	b.postFiles(benchPath(j.ID)+"/pictures", []attached{{"file", drawnJPEG(t, 64, 48)}}, "finding", id).want(http.StatusSeeOther)
	list, err := bench.Findings(context.Background(), s.pool, j.ID)
	if err != nil || len(list) != 1 || len(list[0].Pictures) != 1 {
		t.Errorf("found %+v, %v; want it with its picture", list, err)
	}
	s.as(desk).get("/jobs/"+strconv.FormatInt(j.ID, 10)).wantWords("#found", "dent in the arch")
	b.postFiles(benchPath(j.ID)+"/pictures", []attached{{"file", drawnJPEG(t, 70, 48)}}, "finding", "999999").want(http.StatusNotFound)
	if n := len(c.pictures(j.ID)); n != 1 {
		t.Errorf("%d pictures, want none half-saved for a finding that is not there", n)
	}
}

func TestTheScriptGetsThePartOfThePage(t *testing.T) {
	s := server(t)
	c := s.counter()
	b := s.as(mechanic)
	step, path, j := c.atPictures(b)
	at := []string{"part", "", "step", strconv.FormatInt(step.ID, 10), "intent", uuid.NewString()}
	part := b.postFiles(benchPath(j.ID)+"/pictures", []attached{{"file", drawnJPEG(t, 64, 48)}}, at...).want(http.StatusOK)
	if part.Find("li > img").Length() != 1 || part.Find("html body main").Length() != 0 {
		t.Errorf("the part is %s", part.body)
	}
	// It goes with the press too, where that comes before the answer.
	b.postFiles(path+"/together", []attached{{bench.Line(step.ID, "file"), drawnJPEG(t, 64, 48)}}, at[4], at[5], bench.Line(step.ID, "outcome"), "done").want(http.StatusSeeOther)
	if n := len(c.pictures(j.ID)); n != 1 {
		t.Errorf("%d pictures, want the one", n)
	}
	bad := b.postFiles(benchPath(j.ID)+"/pictures", []attached{{"file", []byte("x")}}, "part", "").want(http.StatusUnprocessableEntity)
	if !strings.HasPrefix(bad.body, "This is no picture") {
		t.Errorf("it is told %q", bad.body)
	}
	b.postFiles(benchPath(j.ID)+"/pictures", nil).want(http.StatusUnprocessableEntity).wantWords("#f-file-error", "Take or choose a picture first.")
	s.as(desk).postFiles(benchPath(j.ID)+"/pictures", []attached{{"file", drawnJPEG(t, 64, 48)}}).want(http.StatusForbidden)
}

func TestAPictureIsServedToTheShopAndWhatIsShownToItsCustomer(t *testing.T) {
	s := server(t)
	c := s.counter()
	b := s.as(mechanic)
	step, _, j := c.atPictures(b)
	b.postFiles(benchPath(j.ID)+"/pictures", []attached{{"file", drawnPNG(t, 3000, 2000)}}, "step", strconv.FormatInt(step.ID, 10)).
		wantTo(benchPath(j.ID) + "#pictures")
	pic := c.pictures(j.ID)[0]
	link := c.address(j)
	for path, wide := range map[string]int{fmt.Sprintf("/pictures/%d", pic.ID): 2048, fmt.Sprintf("/pictures/%d/thumb", pic.ID): 320} {
		s.wantPicture(b, path, wide)
		s.anybody().get(path).want(http.StatusUnauthorized)
		s.anybody().get(link + path).want(http.StatusNotFound)
	}
	if s.anybody().get(link).Find(`img[src*="/pictures/"]`).Length() != 0 {
		t.Error("the customer’s page shows a picture that is the shop’s own")
	}
	show := benchPath(j.ID) + "/pictures/show"
	id := strconv.FormatInt(pic.ID, 10)
	b.post(show, "picture", id, "shown", "yes").wantTo(benchPath(j.ID) + "#pictures")
	s.anybody().get(link).wantWords("main", "Pictures of the parts")
	s.wantPicture(s.anybody(), link+"/pictures/"+id, 2048)
	s.wantPicture(s.anybody(), link+"/pictures/"+id+"/thumb", 320)
	s.anybody().get("/c/somebody-else/pictures/" + id).want(http.StatusNotFound)
	b.post(show, "picture", id, "shown", "no").want(http.StatusSeeOther)
	s.anybody().get(link + "/pictures/" + id).want(http.StatusNotFound)
	s.as(desk).post(show, "picture", id, "shown", "yes").want(http.StatusForbidden)
}

func drawnPNG(t *testing.T, w, h int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, w, h))); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// wantPicture fails the test unless there is a JPEG of that width, for this
// person's browser alone to keep.
func (s *site) wantPicture(b *browser, path string, wide int) {
	s.t.Helper()
	req, err := http.NewRequest(http.MethodGet, s.url+path, nil)
	if err != nil {
		s.t.Fatal(err)
	}
	if b.token != "" {
		req.AddCookie(&http.Cookie{Name: "desk", Value: b.token})
	}
	answer, err := b.client.Do(req)
	if err != nil {
		s.t.Fatal(err)
	}
	defer answer.Body.Close()
	cfg, err := jpeg.DecodeConfig(answer.Body)
	if err != nil || cfg.Width != wide {
		s.t.Errorf("%s: %d, %d wide, %v; want a JPEG of %d", path, answer.StatusCode, cfg.Width, err, wide)
	}
	for name, want := range map[string]string{"Content-Type": "image/jpeg", "X-Content-Type-Options": "nosniff", "Cache-Control": "private, max-age=86400"} {
		if got := answer.Header.Get(name); got != want {
			s.t.Errorf("%s: %s is %q, want %q", path, name, got, want)
		}
	}
}

func TestAMissingPictureIsSaidToBe(t *testing.T) {
	s := server(t)
	c := s.counter()
	b := s.as(mechanic)
	_, _, j := c.atPictures(b)
	b.postFiles(benchPath(j.ID)+"/pictures", []attached{{"file", drawnJPEG(t, 64, 48)}}).want(http.StatusSeeOther)
	s.losePictures()
	path := fmt.Sprintf("/pictures/%d", c.pictures(j.ID)[0].ID)
	b.get(path).want(http.StatusNotFound).wantWords("main", "This picture is missing")
	if p := b.get(path + "/thumb").want(http.StatusNotFound); !strings.HasPrefix(p.body, "<svg") || !strings.Contains(p.body, "missing") {
		t.Errorf("in a page it is %q, want a drawing that says so", p.body)
	}
}
