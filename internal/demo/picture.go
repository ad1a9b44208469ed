package demo

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"math/rand/v2"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/history"
	"damperdesk/internal/picture"
	"damperdesk/internal/procedure"
)

// picturesAt takes the pictures of the steps of a press, and of what is found
// at them, of jobs that are open: those of the past were taken by nobody.
func (s *seeder) picturesAt(a *acting, t *task, p press, at time.Time) error {
	if t.ago == nil {
		return nil
	}
	took := 0
	for _, step := range p {
		if step.Kind == procedure.Picture {
			if _, err := s.take(a, t, step, at, nil); err != nil {
				return err
			}
			took++
		}
		for i, f := range t.found {
			if f.step != step.Key || f.Grade == bench.FoundNote {
				continue
			}
			id, err := s.take(a, t, step, at, &f)
			if err != nil {
				return err
			}
			t.found[i].Pictures = []int64{id}
			took++
		}
	}
	if took == 0 {
		return nil
	}
	return t.hold(a)
}

// take draws a picture and keeps it; the customer is given what was found.
func (s *seeder) take(a *acting, t *task, step bench.Step, at time.Time, f *found) (id int64, err error) {
	scratches := 0
	if f != nil {
		scratches = 3
	}
	var file bytes.Buffer
	if err := png.Encode(&file, drawn(lots(uint64(step.ID)), scratches)); err != nil {
		return 0, err
	}
	made, err := s.pictures.Make(a.ctx, file.Bytes())
	if err != nil {
		return 0, err
	}
	err = a.then(s.atBench(t.mechanic), at.Add(-30*time.Second), func(by history.By) error {
		id, err = picture.Add(a.ctx, a.tx, by, s.pictures, t.id, &step.ID, made)
		return err
	})
	if err != nil || f == nil {
		return id, err
	}
	err = a.then(s.atBench(t.mechanic), at.Add(-20*time.Second), func(by history.By) error {
		return picture.Show(a.ctx, a.tx, by, t.id, id, true)
	})
	return id, err
}

const (
	drawnWide = 960
	drawnHigh = 720
)

// drawn is an invented picture: a stanchion in its wiper before a bench, with
// scratches down its side.
func drawn(r *rand.Rand, scratches int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, drawnWide, drawnHigh))
	draw.Draw(img, img.Rect, image.NewUniform(color.RGBA{202, 194, 180, 255}), image.Point{}, draw.Src)
	middle, radius := drawnWide/2+r.IntN(120)-60, 110+r.IntN(20)
	tube(img, image.Rect(middle-radius, 0, middle+radius, 470), color.RGBA{70, 62, 54, 255})
	tube(img, image.Rect(middle-radius-28, 430, middle+radius+28, 486), color.RGBA{30, 30, 32, 255})
	tube(img, image.Rect(middle-radius-44, 486, middle+radius+44, drawnHigh), color.RGBA{40, 92, 98, 255})
	for range scratches {
		scratch(img, r, middle-radius/2+r.IntN(radius), 90+r.IntN(80), 180+r.IntN(130))
	}
	return img
}

// tube shades an upright cylinder, brightest left of its middle.
func tube(img *image.RGBA, at image.Rectangle, c color.RGBA) {
	for x := at.Min.X; x < at.Max.X; x++ {
		across := float64(x-at.Min.X) / float64(at.Dx())
		light := 0.45 + 1.3*math.Exp(-math.Pow((across-0.35)/0.22, 2))
		shade := func(v uint8) uint8 { return uint8(min(255, float64(v)*light)) }
		column := image.NewUniform(color.RGBA{shade(c.R), shade(c.G), shade(c.B), 255})
		draw.Draw(img, image.Rect(x, at.Min.Y, x+1, at.Max.Y), column, image.Point{}, draw.Src)
	}
}

// scratch is a bright line, down from a point, that wanders a little.
func scratch(img *image.RGBA, r *rand.Rand, x, y, length int) {
	bright := image.NewUniform(color.RGBA{226, 222, 214, 255})
	for i := range length {
		if i%24 == 0 {
			x += r.IntN(3) - 1
		}
		draw.Draw(img, image.Rect(x, y+i, x+2, y+i+1), bright, image.Point{}, draw.Src)
	}
}
