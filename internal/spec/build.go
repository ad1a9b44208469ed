package spec

import "slices"

// Build is how a fork fits a bike. What is not known is nil or empty; a rear
// shock or a seatpost has none of it but perhaps stanchions.
type Build struct {
	WheelMM     *int     // bead seat diameter, as in ISO 5775
	StanchionMM *float64 // diameter of the legs
	Crowns      string   // "one", "two"
	Steerer     string   // diameter in mm, of a tapered one at the stem and at the crown
	Axle        string   // diameter and width between the lowers in mm
}

// Standard is a size that the trade builds to, and how it is spoken of.
type Standard struct{ Code, Words string }

// Wheel is a bead seat diameter of ISO 5775 and the trade's word in inches, which
// measures nothing on the wheel.
type Wheel struct {
	MM   int
	Inch string
}

// What a fork may be built to; the sizes are common practice (no source).
var (
	ModelCrowns = []string{"", "one", "two"}
	Wheels      = []Wheel{{622, "29"}, {584, "27.5"}, {559, "26"}, {507, "24"}, {406, "20"}}
	Steerers    = []Standard{
		{"28.6-38.1", "28.6 to 38.1 mm (1⅛ to 1½ in), tapered"},
		{"28.6-45.7", "28.6 to 45.7 mm (1⅛ to 1.8 in), tapered"},
		{"28.6", "28.6 mm (1⅛ in), straight"},
		{"38.1", "38.1 mm (1½ in), straight"},
		{"25.4", "25.4 mm (1 in), straight"},
	}
	Axles = []Standard{
		{"15x110", "15 × 110 mm"},
		{"15x100", "15 × 100 mm"},
		{"20x110", "20 × 110 mm"},
		{"12x100", "12 × 100 mm"},
		{"15x150", "15 × 150 mm"},
		{"9x100", "9 × 100 mm, open drop-outs"},
		{"9x135", "9 × 135 mm, open drop-outs"},
	}
)

// StandardWords are the words of the code, empty for one that is not in the list.
func StandardWords(list []Standard, code string) string {
	if i := slices.IndexFunc(list, func(s Standard) bool { return s.Code == code }); i >= 0 {
		return list[i].Words
	}
	return ""
}

// Stanchions outside these, in mm, are a slip of the pen.
const leastStanchionMM, mostStanchionMM = 20, 50

// faults names the fields "wheel", "stanchion", "crowns", "steerer" and "axle".
func (b Build) faults(kind string) map[string]string {
	fields := map[string]string{}
	ofFork := func(given bool, field, what string, known bool) {
		switch {
		case given && kind != "fork":
			fields[field] = "Only a fork has " + what + "; leave it open."
		case given && !known:
			fields[field] = "Choose from the list, or leave it open."
		}
	}
	ofFork(b.WheelMM != nil, "wheel", "a wheel size", b.WheelMM != nil && b.wheel().MM != 0)
	ofFork(b.Crowns != "", "crowns", "crowns", slices.Contains(ModelCrowns, b.Crowns))
	ofFork(b.Steerer != "", "steerer", "a steerer", StandardWords(Steerers, b.Steerer) != "")
	ofFork(b.Axle != "", "axle", "an axle", StandardWords(Axles, b.Axle) != "")
	if d := b.StanchionMM; d != nil && !(*d >= leastStanchionMM && *d <= mostStanchionMM) {
		fields["stanchion"] = "Give the diameter in millimetres, from 20 to 50."
	}
	return fields
}

func (b Build) wheel() Wheel {
	for _, w := range Wheels {
		if b.WheelMM != nil && w.MM == *b.WheelMM {
			return w
		}
	}
	return Wheel{}
}
