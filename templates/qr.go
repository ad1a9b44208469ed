package templates

import (
	"fmt"
	"image/color"
	"strings"

	"github.com/boombuler/barcode/qr"
)

// quiet is the margin of light modules that ISO/IEC 18004 asks for on every
// side.
const quiet = 4

// qrPath draws text as a QR code with error correction M, one rectangle for
// each run of dark modules, and gives the view box with its quiet zone. Text
// that no code can hold gives an empty drawing.
func qrPath(text string) (path, box string) {
	code, err := qr.Encode(text, qr.M, qr.Auto)
	if err != nil {
		return "", "0 0 1 1"
	}
	size := code.Bounds().Dx()
	dark := func(x, y int) bool { return code.At(x, y) == color.Black }
	var d strings.Builder
	for y := range size {
		for x := 0; x < size; x++ {
			from := x
			for x < size && dark(x, y) {
				x++
			}
			if x > from {
				fmt.Fprintf(&d, "M%d %dh%dv1h-%dz", from, y, x-from, x-from)
			}
		}
	}
	return d.String(), fmt.Sprintf("-%d -%d %d %d", quiet, quiet, size+2*quiet, size+2*quiet)
}
