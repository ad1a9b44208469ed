package web

import (
	"context"
	"net/http"
	"net/url"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/spec"
)

// sill puts a fork of the library into the shop.
func (c frontDesk) sill() (id int64) {
	c.write(func(tx pgx.Tx, by history.By) (err error) {
		d, wheel, travel := 35.0, 622, 150
		id, err = spec.AddModel(context.Background(), tx, by, spec.Model{Kind: "fork", Maker: "Halvard", Name: "Sill", Spring: "air", Damper: "sealed", TravelMM: &travel,
			Build: spec.Build{StanchionMM: &d, WheelMM: &wheel, Axle: "15x110", Crowns: "one"}})
		return err
	})
	return id
}

func TestAnUnknownForkIsKnownByWhatIsMeasured(t *testing.T) {
	c := newFrontDesk(t)
	model := c.id(c.sill())
	measured := []string{"unit0.unit", "new", "unit0.kind", "fork", "unit0.measured.stanchion", "34.9", "unit0.measured.axle", "15x110", "unit0.measured.travel", "160"}
	p := c.post("/drop-off", c.fields(append(measured, "press", "measure")...)...).want(http.StatusOK)
	p.wantWords(`label:has([name="unit0.fits"][value="`+model+`"])`, "Halvard Sill fits: stanchions, axle; differs: it has travel 150 mm")
	if p.value("unit0.measured.stanchion") != "34.9" {
		t.Error("what was measured is gone")
	}
	part := c.get("/models/measured?prefix=unit0.&unit0.kind=fork&unit0.measured.stanchion=35").want(http.StatusOK)
	if part.Find(`[name="unit0.fits"][value="`+model+`"]`).Length() != 1 || part.Find("main").Length() != 0 {
		t.Errorf("the script gets %q, want the models alone", part.body)
	}
	c.post("/drop-off", c.fields(append(measured, "unit0.fits", model)...)...).want(http.StatusSeeOther)
	if rows := c.jobs(); len(rows) != 1 || rows[0].Unit != "Halvard Sill" {
		t.Errorf("taken in as %+v, want the model that was chosen", rows)
	}
}

func TestWhatWasMeasuredIsKeptWhereNoModelFits(t *testing.T) {
	c := newFrontDesk(t)
	c.sill()
	measured := []string{"unit0.unit", "new", "unit0.kind", "fork", "unit0.words", "grey fork", "unit0.measured.stanchion", "38", "unit0.measured.axle", "20x110", "unit0.measured.leg", "right", "unit0.fits", "0"}
	c.post("/drop-off", c.fields(append(measured, "press", "measure")...)...).want(http.StatusOK).wantWords("#f-unit0-fits-part", "No model of the shop fits.")
	c.post("/drop-off", c.fields(append(measured, "unit0.measured.travel", "far")...)...).want(http.StatusUnprocessableEntity).
		wantWords("#f-unit0-measured-travel-error", "length")
	c.post("/drop-off", c.fields(measured...)...).want(http.StatusSeeOther)
	if rows := c.jobs(); len(rows) != 1 || rows[0].Unit != "grey fork, stanchions 38 mm, axle 20 × 110 mm, spring leg rider’s right" {
		t.Errorf("taken in as %+v, want the words and what was measured", rows)
	}
}

// 35 mm is 1.378 in; 1 3/8 in is 34.925 mm (NIST SP 811, B.8).
func TestAMeasurementIsTakenInInchesToo(t *testing.T) {
	c := newFrontDesk(t)
	model := c.id(c.sill())
	for _, typed := range []string{"1 3/8", "1⅜", "1.378 in", "35 mm", "35"} {
		p := c.get("/models/measured?" + url.Values{"prefix": {"unit0."}, "unit0.kind": {"fork"}, "unit0.measured.stanchion": {typed}, "unit0.measured.leg": {"left"}}.Encode()).want(http.StatusOK)
		p.wantWords(`label:has([name="unit0.fits"][value="`+model+`"])`, "fits: stanchions; not known of it: spring leg")
	}
	p := c.get("/models/measured?" + url.Values{"prefix": {"unit0."}, "unit0.kind": {"fork"}, "unit0.measured.stanchion": {"1 3/8 mm"}}.Encode()).want(http.StatusOK)
	if p.Find(`[name="unit0.fits"]`).Length() != 0 {
		t.Error("a fraction of a millimetre is taken for a length")
	}
}

func TestAMeasurementThatIsNoneIsSaidWhenAskedWhatFits(t *testing.T) {
	c := newFrontDesk(t)
	p := c.post("/drop-off", c.fields("unit0.unit", "new", "unit0.measured.stanchion", "thick", "press", "measure")...).want(http.StatusUnprocessableEntity)
	p.wantWords("#f-unit0-measured-stanchion-error", "length")
	if p.Find(`details[open] [name="unit0.measured.stanchion"]`).AttrOr("value", "") != "thick" {
		t.Error("the field is folded away, or what was typed is gone")
	}
}

func TestWhatIsMeasuredOfNoUnitIsNoPage(t *testing.T) {
	c := newFrontDesk(t)
	c.get("/models/measured?prefix=" + url.QueryEscape(`"><b>`) + "&kind=fork&measured.stanchion=35").want(http.StatusNotFound)
}
