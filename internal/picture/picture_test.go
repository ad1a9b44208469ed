package picture_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/fault"
	"damperdesk/internal/picture"
)

// The corners of a picture as a person sees it, clockwise from the top left.
var (
	red, green = color.RGBA{200, 20, 20, 255}, color.RGBA{20, 160, 20, 255}
	blue, grey = color.RGBA{20, 20, 200, 255}, color.RGBA{128, 128, 128, 255}
	seen       = []color.RGBA{red, green, blue, grey}
)

// taken is the corners as they are stored by a camera that says how it was
// held: by EXIF 2.32 table 8 (tag 0x0112), from memory, which names the side of
// the scene that the first row and the first column of what is stored are.
var taken = map[int][]color.RGBA{
	1: {red, green, blue, grey}, // row 0 is the top, column 0 the left
	2: {green, red, grey, blue}, // top, right
	3: {blue, grey, red, green}, // bottom, right
	4: {grey, blue, green, red}, // bottom, left
	5: {red, grey, blue, green}, // left, top
	6: {green, blue, grey, red}, // right, top
	7: {blue, green, red, grey}, // right, bottom
	8: {grey, red, green, blue}, // left, bottom
}

// corners draws four quarters.
func corners(w, h int, c []color.RGBA) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			quarter := []int{0, 1, 3, 2}[2*(2*y/h)+2*x/w]
			img.SetRGBA(x, y, c[quarter])
		}
	}
	return img
}

func asJPEG(t *testing.T, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func asPNG(t *testing.T, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

const secret = "N 51.5007 W 0.1246 of somebody"

// tiff holds an orientation and what a camera may add.
func tiff(order binary.AppendByteOrder, orientation int) []byte {
	b := []byte("MM")
	if order == binary.LittleEndian {
		b = []byte("II")
	}
	b = order.AppendUint32(order.AppendUint16(b, 42), 8)
	b = order.AppendUint16(b, 2)
	b = order.AppendUint32(order.AppendUint16(order.AppendUint16(b, 0x010e), 2), uint32(len(secret))) // description
	b = order.AppendUint32(b, 8+2+24+4)
	b = order.AppendUint32(order.AppendUint16(order.AppendUint16(b, 0x0112), 3), 1)
	b = order.AppendUint16(order.AppendUint16(b, uint16(orientation)), 0)
	return append(order.AppendUint32(b, 0), secret...)
}

// withEXIF puts an APP1 segment behind the start of a JPEG.
func withEXIF(data, tiff []byte) []byte {
	head := append([]byte{0xff, 0xd8, 0xff, 0xe1}, binary.BigEndian.AppendUint16(nil, uint16(2+6+len(tiff)))...)
	return slices.Concat(head, []byte("Exif\x00\x00"), tiff, data[2:])
}

// withChunk puts a chunk behind the header of a PNG.
func withChunk(data []byte, name string, body []byte) []byte {
	chunk := append(binary.BigEndian.AppendUint32(nil, uint32(len(body))), name...)
	chunk = append(chunk, body...)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	return slices.Concat(data[:33], chunk, data[33:])
}

func decoded(t *testing.T, data []byte) image.Image {
	t.Helper()
	img, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// like reports whether two colours are the same but for what JPEG loses.
func like(a, b color.Color) bool {
	ar, ag, ab, _ := a.RGBA()
	br, bg, bb, _ := b.RGBA()
	off := 0
	for _, d := range []int{int(ar) - int(br), int(ag) - int(bg), int(ab) - int(bb)} {
		off = max(off, max(d, -d)>>8)
	}
	return off < 24
}

func wantSeen(t *testing.T, what string, img image.Image) {
	t.Helper()
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	for i, at := range []image.Point{{w / 4, h / 4}, {3 * w / 4, h / 4}, {3 * w / 4, 3 * h / 4}, {w / 4, 3 * h / 4}} {
		if got := img.At(at.X, at.Y); !like(got, seen[i]) {
			t.Errorf("%s: corner %d is %v, want %v", what, i, got, seen[i])
		}
	}
}

func TestEachOrientationIsTurnedUpright(t *testing.T) {
	for orientation, stored := range taken {
		w, h := 64, 48
		if orientation > 4 {
			w, h = h, w
		}
		plain := asJPEG(t, corners(w, h, stored))
		files := map[string][]byte{
			"JPEG, big-endian":    withEXIF(plain, tiff(binary.BigEndian, orientation)),
			"JPEG, little-endian": withEXIF(plain, tiff(binary.LittleEndian, orientation)),
			"PNG":                 withChunk(asPNG(t, corners(w, h, stored)), "eXIf", tiff(binary.BigEndian, orientation)),
		}
		for name, data := range files {
			m, err := picture.Make(data)
			if err != nil {
				t.Fatalf("%s, orientation %d: %v", name, orientation, err)
			}
			if m.Width != 64 || m.Height != 48 {
				t.Errorf("%s, orientation %d: %d by %d, want 64 by 48", name, orientation, m.Width, m.Height)
			}
			wantSeen(t, fmt.Sprintf("%s, orientation %d", name, orientation), decoded(t, m.Full))
			wantSeen(t, fmt.Sprintf("%s, orientation %d, thumbnail", name, orientation), decoded(t, m.Thumb))
		}
	}
}

// What makes no sense is taken as upright, and nothing is read past its end.
func TestABrokenOrientationIsUpright(t *testing.T) {
	whole := tiff(binary.BigEndian, 6)
	for name, tag := range map[string][]byte{
		"no such orientation": tiff(binary.LittleEndian, 9), "none": tiff(binary.LittleEndian, 0),
		"empty": nil, "cut in its head": whole[:5], "cut in its directory": whole[:25],
		"a directory far away": append([]byte("MM\x00\x2a"), 0xff, 0xff, 0xff, 0xff),
		"not TIFF":             []byte(strings.Repeat("x", 60)),
	} {
		m, err := picture.Make(withEXIF(asJPEG(t, corners(64, 48, seen)), tag))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		wantSeen(t, name, decoded(t, m.Full))
	}
}

func TestNothingOfTheCameraIsKept(t *testing.T) {
	comment := append([]byte{0xff, 0xd8, 0xff, 0xfe}, binary.BigEndian.AppendUint16(nil, uint16(2+len(secret)))...)
	plain := asJPEG(t, corners(64, 48, seen))
	for name, data := range map[string][]byte{
		"JPEG with EXIF":    withEXIF(plain, tiff(binary.BigEndian, 1)),
		"JPEG with comment": slices.Concat(comment, []byte(secret), plain[2:]),
		"PNG with eXIf":     withChunk(asPNG(t, corners(64, 48, seen)), "eXIf", tiff(binary.BigEndian, 1)),
		"PNG with text":     withChunk(asPNG(t, corners(64, 48, seen)), "tEXt", []byte("Comment\x00"+secret)),
		"JPEG with a tail":  append(slices.Clone(plain), secret...),
	} {
		if !bytes.Contains(data, []byte(secret)) {
			t.Fatalf("%s: the words are not in it to begin with", name)
		}
		m, err := picture.Make(data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, kept := range [][]byte{m.Full, m.Thumb} {
			if bytes.Contains(kept, []byte(secret)) || bytes.Contains(kept, []byte("Exif")) {
				t.Errorf("%s: what the camera wrote is still there", name)
			}
			if !bytes.HasPrefix(kept, []byte("\xff\xd8\xff")) {
				t.Errorf("%s: kept as something else than JPEG", name)
			}
		}
	}
}

func TestALargePictureIsMadeSmall(t *testing.T) {
	for _, c := range []struct{ w, h, wantW, wantH int }{
		{4032, 3024, 2048, 1536}, {3024, 4032, 1536, 2048}, {2048, 100, 2048, 100}, {9000, 3, 2048, 1}, {1, 5000, 1, 2048}, {7, 5, 7, 5},
	} {
		m, err := picture.Make(asPNG(t, corners(c.w, c.h, seen)))
		if err != nil {
			t.Fatal(err)
		}
		if m.Width != c.wantW || m.Height != c.wantH {
			t.Errorf("%d by %d became %d by %d, want %d by %d", c.w, c.h, m.Width, m.Height, c.wantW, c.wantH)
		}
		thumb := decoded(t, m.Thumb).Bounds()
		if long := max(thumb.Dx(), thumb.Dy()); long > 320 || long < min(320, m.Width, m.Height) {
			t.Errorf("%d by %d has a thumbnail of %v", c.w, c.h, thumb)
		}
		if c.w > 1000 && c.h > 1000 {
			wantSeen(t, "made small", decoded(t, m.Full))
		}
	}
}

func TestWhatIsClearBecomesWhite(t *testing.T) {
	m, err := picture.Make(asPNG(t, image.NewNRGBA(image.Rect(0, 0, 3000, 2000))))
	if err != nil {
		t.Fatal(err)
	}
	if got := decoded(t, m.Full).At(100, 100); !like(got, color.White) {
		t.Errorf("a clear picture is %v, want white", got)
	}
}

// webpDot is a lossless WebP of one red pixel: the file format of its
// specification, written out by hand.
func webpDot() []byte {
	vp8l := []byte{0x2f, 0, 0, 0, 0, 0x88, 0x88, 0x08}
	return slices.Concat([]byte("RIFF"), binary.LittleEndian.AppendUint32(nil, uint32(12+len(vp8l))), []byte("WEBPVP8L"),
		binary.LittleEndian.AppendUint32(nil, uint32(len(vp8l))), vp8l)
}

// header is a picture that says it is large; nothing of it follows.
func pngHeader(w, h uint32, depth byte) []byte {
	body := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32([]byte("IHDR"), w), h)
	body = append(body, depth, 6, 0, 0, 0)
	return slices.Concat([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0d"), body, binary.BigEndian.AppendUint32(nil, crc32.ChecksumIEEE(body)))
}

func jpegHeader(sof byte, w, h uint16) []byte {
	jfif := []byte("\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x00\x00")
	frame := append(jfif, 0xff, sof, 0, 17, 8, byte(h>>8), byte(h), byte(w>>8), byte(w))
	return append(frame, 3, 1, 0x22, 0, 2, 0x11, 1, 3, 0x11, 1)
}

func TestWhatCannotBeKeptIsRefusedInASentence(t *testing.T) {
	whole := asJPEG(t, corners(640, 480, seen))
	for name, c := range map[string]struct {
		data []byte
		says string
	}{
		"12 MB and a byte":         {append(slices.Clone(whole), make([]byte, picture.MostBytes)...), "at most"},
		"a bomb of a PNG":          {pngHeader(50_000, 50_000, 8), "50000 by 50000 pixels"},
		"a bomb of 16 bits":        {pngHeader(4000, 4000, 16), "12 million"},
		"a bomb of a JPEG":         {jpegHeader(0xc0, 65_535, 65_535), "65535 by 65535 pixels"},
		"a progressive bomb":       {jpegHeader(0xc2, 4000, 4000), "12 million"},
		"half a JPEG":              {whole[:len(whole)/2], "cut off"},
		"half a PNG":               {asPNG(t, corners(640, 480, seen))[:400], "cut off"},
		"the head of a JPEG alone": {whole[:20], "cut off"},
		"HEIC":                     {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), "Set the camera to JPEG"},
		"a film":                   {[]byte("\x00\x00\x00\x18ftypmp42"), "Set the camera to JPEG"},
		"a text":                   {[]byte("GIF89a or some such"), "JPEG, PNG or WebP"},
		"nothing":                  {nil, "JPEG, PNG or WebP"},
	} {
		_, err := picture.Make(c.data)
		var invalid *fault.Invalid
		if !errors.As(err, &invalid) || !strings.Contains(invalid.Fields["picture"], c.says) {
			t.Errorf("%s: %v, want a sentence with %q", name, err, c.says)
		}
	}
}

// A bomb is refused before it is decoded: by its header, with next to nothing
// taken from memory.
func TestABombTakesNoMemory(t *testing.T) {
	bomb := pngHeader(50_000, 50_000, 8)
	got := testing.Benchmark(func(b *testing.B) {
		for b.Loop() {
			picture.Make(bomb)
		}
	})
	if got.AllocedBytesPerOp() > 1<<20 {
		t.Errorf("refusing it takes %d bytes, want under a megabyte", got.AllocedBytesPerOp())
	}
}

func TestWebPIsTaken(t *testing.T) {
	m, err := picture.Make(webpDot())
	if err != nil {
		t.Fatal(err)
	}
	if m.Width != 1 || m.Height != 1 {
		t.Errorf("%d by %d, want a dot", m.Width, m.Height)
	}
}

func FuzzMake(f *testing.F) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, corners(8, 6, seen), nil); err != nil {
		f.Fatal(err)
	}
	f.Add(withEXIF(b.Bytes(), tiff(binary.LittleEndian, 6)))
	f.Add(webpDot())
	f.Add(pngHeader(8, 6, 8))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := picture.Make(data)
		var invalid *fault.Invalid
		if err != nil && !errors.As(err, &invalid) {
			t.Errorf("%v is no sentence for people", err)
		}
		if err == nil && (m.Width < 1 || m.Width > 2048 || m.Height < 1 || m.Height > 2048) {
			t.Errorf("%d by %d", m.Width, m.Height)
		}
	})
}
