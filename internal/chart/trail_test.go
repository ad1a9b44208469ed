package chart

import "testing"

func TestATrailGoesFromTheFirstValueToTheLast(t *testing.T) {
	d := Trail("t", "", "", []Value{{0, 80}, {10, 70}, {40, 75}})
	if got, want := d.Lines[0].Path, "M6 6L53 42L194 24"; got != want {
		t.Errorf("path %s, want %s", got, want)
	}
	for _, same := range [][]Value{{{3, 5}}, {{1, 5}, {2, 5}}} {
		for _, p := range Trail("t", "", "", same).Dots {
			if p.Y != trailHeight/2 {
				t.Errorf("%v lies at %v, want in the middle", same, p)
			}
		}
	}
}
