package picture

import (
	"image"
	"image/color"

	"golang.org/x/image/draw"
)

// shrink makes the longer side at most that many pixels, on white. First whole
// blocks are averaged, a band of rows at a time, so that a large picture needs
// no copy of itself; what is left, less than a half, is interpolated.
func shrink(img image.Image, side int) *image.RGBA {
	b := img.Bounds()
	if n := max(b.Dx(), b.Dy()) / side; n > 1 {
		img = average(img, n)
		b = img.Bounds()
	}
	long := max(b.Dx(), b.Dy())
	w, h := b.Dx(), b.Dy()
	if long > side {
		w, h = max(1, w*side/long), max(1, h*side/long)
	}
	small := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(small, small.Rect, image.White, image.Point{}, draw.Src)
	draw.ApproxBiLinear.Scale(small, small.Rect, img, b, draw.Over, nil)
	return small
}

// average makes one pixel of each block of n by n; the rest at the right and at
// the bottom, less than a block, makes none, unless there is no whole one.
func average(img image.Image, n int) *image.RGBA {
	b := img.Bounds()
	block := image.Pt(min(n, b.Dx()), min(n, b.Dy()))
	small := image.NewRGBA(image.Rect(0, 0, b.Dx()/block.X, b.Dy()/block.Y))
	band := image.NewRGBA(image.Rect(0, 0, small.Rect.Dx()*block.X, block.Y))
	for y := range small.Rect.Dy() {
		draw.Draw(band, band.Rect, image.White, image.Point{}, draw.Src)
		draw.Draw(band, band.Rect, img, b.Min.Add(image.Pt(0, y*block.Y)), draw.Over)
		for x := range small.Rect.Dx() {
			small.SetRGBA(x, y, mean(band, x*block.X, block))
		}
	}
	return small
}

// mean is the mean of a block of a band, from the column x on.
func mean(band *image.RGBA, x int, block image.Point) color.RGBA {
	var sum [3]int
	for y := range block.Y {
		row := band.Pix[band.PixOffset(x, y):]
		for i := range block.X {
			sum[0] += int(row[4*i])
			sum[1] += int(row[4*i+1])
			sum[2] += int(row[4*i+2])
		}
	}
	of := block.X * block.Y
	return color.RGBA{uint8(sum[0] / of), uint8(sum[1] / of), uint8(sum[2] / of), 255}
}

// turn brings a picture upright that was taken in one of the eight
// orientations of EXIF.
func turn(img *image.RGBA, orientation int) *image.RGBA {
	if orientation == upright {
		return img
	}
	w, h := img.Rect.Dx(), img.Rect.Dy()
	// from says which pixel of the picture as it was taken lies at x, y.
	from := map[int]func(x, y int) (int, int){
		2: func(x, y int) (int, int) { return w - 1 - x, y },
		3: func(x, y int) (int, int) { return w - 1 - x, h - 1 - y },
		4: func(x, y int) (int, int) { return x, h - 1 - y },
		5: func(x, y int) (int, int) { return y, x },
		6: func(x, y int) (int, int) { return y, h - 1 - x },
		7: func(x, y int) (int, int) { return w - 1 - y, h - 1 - x },
		8: func(x, y int) (int, int) { return w - 1 - y, x },
	}[orientation]
	turned := image.NewRGBA(image.Rect(0, 0, w, h))
	if orientation > 4 {
		turned = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	for y := range turned.Rect.Dy() {
		for x := range turned.Rect.Dx() {
			turned.SetRGBA(x, y, img.RGBAAt(from(x, y)))
		}
	}
	return turned
}
