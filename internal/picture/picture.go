// Package picture keeps the pictures that are taken of units: made small and
// free of all that a camera writes beside them, in a folder under the hash of
// their content, with a row each.
//
// The file comes first and the row after it, so that a row always has its
// file. What a crash leaves between the two has no row, and Sweep removes it.
package picture

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"

	"golang.org/x/image/webp"

	"damperdesk/internal/fault"
)

// What may come in, and what is kept of it.
const (
	// MostBytes is the most a picture may hold as it comes in.
	MostBytes = 12 << 20
	// mostPixels is the most that are decoded, which is 100 MB at four bytes
	// each. What takes more for each, such as a progressive JPEG, may have half.
	mostPixels = 25_000_000
	fullSide   = 2048 // pixels of the longer side, at most
	thumbSide  = 320
	quality    = 85
)

// Made is a picture as it is kept: two JPEG files without anything of the camera.
type Made struct {
	Full, Thumb   []byte
	Width, Height int // of Full
}

func refuse(format string, args ...any) error {
	return fault.Field("picture", fmt.Sprintf(format, args...))
}

// ErrTooLarge refuses a picture for its size in bytes.
var ErrTooLarge = refuse("A picture may have %d MB at most. Set the camera to a smaller size and take it again.", MostBytes>>20)

// Make reads a JPEG, PNG or WebP and writes it anew, turned the way the camera
// says that it was held. How large it is when decoded is read from its header
// first. Colours outside sRGB are taken as they are numbered.
func Make(data []byte) (Made, error) {
	if len(data) > MostBytes {
		return Made{}, ErrTooLarge
	}
	from := formatOf(data)
	if from.decode == nil {
		return Made{}, from.refusal()
	}
	if err := from.refuseSize(data); err != nil {
		return Made{}, err
	}
	img, err := from.decode(bytes.NewReader(data))
	if err != nil {
		return Made{}, errCutOff
	}
	full := turn(shrink(img, fullSide), orientation(from.name, data))
	m := Made{Width: full.Bounds().Dx(), Height: full.Bounds().Dy()}
	if m.Full, err = encode(full); err != nil {
		return Made{}, err
	}
	m.Thumb, err = encode(shrink(full, thumbSide))
	return m, err
}

var errCutOff = refuse("This picture is damaged or was cut off on its way. Send it again, or take it anew.")

func encode(img image.Image) ([]byte, error) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}); err != nil {
		return nil, fmt.Errorf("write picture: %w", err)
	}
	return b.Bytes(), nil
}

// format is what the first bytes of a file say that it is.
type format struct {
	name   string
	config func(*bytes.Reader) (image.Config, error)
	decode func(*bytes.Reader) (image.Image, error) // nil: it is not taken
}

var (
	formatJPEG = format{"JPEG",
		func(r *bytes.Reader) (image.Config, error) { return jpeg.DecodeConfig(r) },
		func(r *bytes.Reader) (image.Image, error) { return jpeg.Decode(r) }}
	formatPNG = format{"PNG",
		func(r *bytes.Reader) (image.Config, error) { return png.DecodeConfig(r) },
		func(r *bytes.Reader) (image.Image, error) { return png.Decode(r) }}
	formatWebP = format{"WebP",
		func(r *bytes.Reader) (image.Config, error) { return webp.DecodeConfig(r) },
		func(r *bytes.Reader) (image.Image, error) { return webp.Decode(r) }}
	formatHEIC = format{name: "HEIC"}
)

// formatOf looks at the content alone: what a file is called proves nothing.
func formatOf(data []byte) format {
	has := func(at int, text string) bool { return bytes.HasPrefix(data[min(at, len(data)):], []byte(text)) }
	switch {
	case has(0, "\xff\xd8\xff"):
		return formatJPEG
	case has(0, "\x89PNG\r\n\x1a\n"):
		return formatPNG
	case has(0, "RIFF") && has(8, "WEBP"):
		return formatWebP
	case has(4, "ftyp"): // the brand of an ISO base media file comes next
		return formatHEIC
	}
	return format{}
}

func (f format) refusal() error {
	if f.name == "HEIC" {
		return refuse("This is a HEIC picture or a film, which cannot be kept here. Set the camera to JPEG and take it again.")
	}
	return refuse("This is no picture that can be kept here. Take a JPEG, PNG or WebP.")
}

// refuseSize reads the header alone.
func (f format) refuseSize(data []byte) error {
	cfg, err := f.config(bytes.NewReader(data))
	if err != nil {
		var unknown jpeg.UnsupportedError
		if errors.As(err, &unknown) {
			return refuse("This kind of JPEG cannot be read here. Set the camera to plain JPEG and take it again.")
		}
		return errCutOff
	}
	most := mostPixels
	if f.costly(cfg.ColorModel, data) {
		most /= 2
	}
	if cfg.Width < 1 || cfg.Height < 1 || int64(cfg.Width)*int64(cfg.Height) > int64(most) {
		return refuse("This picture has %d by %d pixels, which is more than can be read here: %d million in all. Set the camera to a smaller size and take it again.",
			cfg.Width, cfg.Height, most/1_000_000)
	}
	return nil
}

// costly reports whether decoding takes more than four bytes a pixel.
func (f format) costly(model color.Model, data []byte) bool {
	switch model {
	case color.RGBA64Model, color.NRGBA64Model:
		return true
	}
	return f.name == "JPEG" && progressive(data)
}
