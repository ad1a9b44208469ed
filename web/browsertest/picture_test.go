package browsertest_test

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/chromedp"

	"damperdesk/internal/picture"
	"damperdesk/web/browsertest"
)

// quarters are those of a picture as it is stored, from the top left by rows.
var quarters = []color.Gray{{20}, {90}, {160}, {230}}

// heldAs is a JPEG of 60 by 40 whose camera says that it was held so: tag 0x0112
// of EXIF 2.32, from memory.
func heldAs(t *testing.T, orientation byte) []byte {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 60, 40))
	for i := range img.Pix {
		x, y := i%60, i/60
		img.Pix[i] = quarters[2*(y/20)+x/30].Y
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 100}); err != nil {
		t.Fatal(err)
	}
	tiff := []byte("Exif\x00\x00MM\x00\x2a\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00" + string([]byte{orientation}) + "\x00\x00\x00\x00\x00\x00")
	head := binary.BigEndian.AppendUint16([]byte{0xff, 0xd8, 0xff, 0xe1}, uint16(2+len(tiff)))
	return slices.Concat(head, tiff, b.Bytes()[2:])
}

// The server turns a picture as Chromium does by itself.
func turnedAlike(t *testing.T, d desk) {
	h := d.sit(t, "", 768, 1024)
	h.goTo("/sign-in")
	for o := byte(1); o <= 8; o++ {
		data := heldAs(t, o)
		seen, err := browsertest.Eval[[]int](h.Tab, `(async () => {
			const image = new Image();
			image.src = "data:image/jpeg;base64,`+base64.StdEncoding.EncodeToString(data)+`";
			await image.decode();
			const canvas = document.createElement("canvas");
			canvas.width = image.naturalWidth; canvas.height = image.naturalHeight;
			const on = canvas.getContext("2d");
			on.drawImage(image, 0, 0);
			const at = (x, y) => on.getImageData(canvas.width * x, canvas.height * y, 1, 1).data[0];
			return [canvas.width, canvas.height, at(.25, .25), at(.75, .25), at(.25, .75), at(.75, .75)];
		})()`)
		h.must(err, "look at a picture")
		m, err := picture.Make(data)
		if err != nil {
			t.Fatal(err)
		}
		img, err := jpeg.Decode(bytes.NewReader(m.Full))
		if err != nil {
			t.Fatal(err)
		}
		ours := []int{m.Width, m.Height}
		for _, at := range []image.Point{{1, 1}, {3, 1}, {1, 3}, {3, 3}} {
			ours = append(ours, int(color.GrayModel.Convert(img.At(m.Width*at.X/4, m.Height*at.Y/4)).(color.Gray).Y))
		}
		for i := range ours {
			if off := ours[i] - seen[i]; off < -8 || off > 8 {
				t.Errorf("orientation %d: width, height and quarters are %v, in Chromium %v", o, ours, seen)
				break
			}
		}
	}
}

// A large picture is taken on the line of a step among others, made small on
// the tablet, seen at once, and signed with the press that follows.
func pictured(t *testing.T, d desk, s stock) {
	job := s.id(`select j.id from job j join visit v on v.id = j.visit_id join customer c on c.id = v.customer_id
		where c.name = 'Farida Holm' and j.stage = 'in the queue'`)
	h := d.sit(t, "Ines", 768, 1024)
	h.goTo("/bench")
	h.press(fmt.Sprintf(`form[action="/jobs/%d/start"] button`, job))
	h.press("main a.main")
	if !h.has(".together .shot.dressed input[capture]") {
		t.Fatalf("the lines at %s take no picture", h.path())
	}
	large := photograph(t)
	h.must(h.Do(chromedp.SetUploadFiles(chromedp.CSS(".shot [data-part='']"), []string{large})), "take a picture")
	h.reads(".shots:has([data-part='']) .shot-note", "Picture kept.")
	seen := `(async () => { const i = document.querySelector(".shots:has([data-part='']) .thumbs img"); await i.decode(); return i.naturalWidth; })()`
	if wide, err := browsertest.Eval[int](h.Tab, seen); err != nil || wide != 320 {
		t.Errorf("the thumbnail is %d wide, want 320; %v", wide, err)
	}
	h.holds("a picture on a line")
	if stored := s.id("select width::bigint from picture where job_id = $1", job); stored != 2048 {
		t.Errorf("it is stored %d wide, want 2048", stored)
	}
	h.press(".signbar .main")
	if n := s.id("select count(*) from signoff o join sheet_step s on s.id = o.step_id where s.job_id = $1 and s.kind = 'picture' and o.reason = ''", job); n != 1 {
		t.Errorf("%d pictures are signed without a reason, want the one that was taken", n)
	}
	if n := s.id("select count(*) from picture where job_id = $1", job); n != 1 {
		t.Errorf("%d pictures are stored, want one, though it went with the press too", n)
	}
	h.goTo(fmt.Sprintf("/bench/%d", job))
	h.press(`.gallery form button`)
	h.reads(".gallery", "for the customer")
}

// photograph is a file as large as a tablet's camera makes them.
func photograph(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "large.jpg")
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 4000, 3000)), nil); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
