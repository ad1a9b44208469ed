package picture

import (
	"bytes"
	"encoding/binary"
	"iter"
)

// One tag is wanted of all that a camera writes, so it is read here: libraries
// for EXIF read every tag, by far more code with more to go wrong on hostile
// input. The tag and its values are from memory of EXIF 2.32 and TIFF 6.0.
const (
	tagOrientation = 0x0112
	typeShort      = 3
	upright        = 1 // of the eight: the first row is the top, the first column the left
)

// orientation is the camera's word on how it was held, 1 to 8; upright where
// there is none that can be read.
func orientation(format string, data []byte) int {
	switch format {
	case "JPEG":
		for marker, body := range segments(data) {
			if tiff, ok := bytes.CutPrefix(body, exifHead); ok && marker == markerAPP1 {
				return tiffOrientation(tiff)
			}
		}
	case "PNG":
		for name, body := range chunks(data, 8, binary.BigEndian, true) {
			if name == "eXIf" {
				return tiffOrientation(body)
			}
		}
	case "WebP":
		for name, body := range chunks(data, 12, binary.LittleEndian, false) {
			if name == "EXIF" {
				return tiffOrientation(bytes.TrimPrefix(body, exifHead))
			}
		}
	}
	return upright
}

var exifHead = []byte("Exif\x00\x00")

// The markers of JPEG (ITU-T T.81 table B.1, from memory) that matter here.
const (
	markerSOF2 = 0xc2 // a progressive frame
	markerSOS  = 0xda // the picture itself begins
	markerAPP1 = 0xe1
)

// segments walks the head of a JPEG up to the picture itself.
func segments(data []byte) iter.Seq2[byte, []byte] {
	return func(yield func(byte, []byte) bool) {
		for at := 2; at+4 <= len(data) && data[at] == 0xff; {
			marker := data[at+1]
			if marker == 0xff { // fill
				at++
				continue
			}
			end := at + 2 + int(binary.BigEndian.Uint16(data[at+2:]))
			if end < at+4 || end > len(data) || marker == markerSOS || !yield(marker, data[at+4:end]) {
				return
			}
			at = end
		}
	}
}

// progressive reports whether a JPEG keeps all its coefficients in memory
// while it is decoded.
func progressive(data []byte) bool {
	for marker := range segments(data) {
		if marker == markerSOF2 {
			return true
		}
	}
	return false
}

// chunks walks a PNG, whose chunks say their length first and end with a
// checksum, or a RIFF file, whose chunks begin with their name and are even.
func chunks(data []byte, at int, order binary.ByteOrder, isPNG bool) iter.Seq2[string, []byte] {
	return func(yield func(string, []byte) bool) {
		for at+8 <= len(data) {
			name, size := data[at:at+4], order.Uint32(data[at+4:])
			if isPNG {
				name, size = data[at+4:at+8], order.Uint32(data[at:])
			}
			end := int64(at) + 8 + int64(size)
			if end > int64(len(data)) || !yield(string(name), data[at+8:end]) {
				return
			}
			at = int(end) + int(size%2)
			if isPNG {
				at = int(end) + 4
			}
		}
	}
}

// tiffOrientation reads the tag from the first directory of a TIFF file.
func tiffOrientation(tiff []byte) int {
	var order binary.ByteOrder = binary.BigEndian
	if bytes.HasPrefix(tiff, []byte("II")) {
		order = binary.LittleEndian
	}
	if len(tiff) < 8 || order.Uint16(tiff[2:]) != 42 {
		return upright
	}
	at := int64(order.Uint32(tiff[4:]))
	if at+2 > int64(len(tiff)) {
		return upright
	}
	for range order.Uint16(tiff[at:]) {
		entry := at + 2
		if entry+12 > int64(len(tiff)) {
			return upright
		}
		if order.Uint16(tiff[entry:]) == tagOrientation && order.Uint16(tiff[entry+2:]) == typeShort {
			if o := int(order.Uint16(tiff[entry+8:])); o >= 1 && o <= 8 {
				return o
			}
			return upright
		}
		at += 12
	}
	return upright
}
