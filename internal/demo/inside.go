package demo

import (
	"context"

	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// rebuild writes down how one fork was found to be inside: shortened, and with
// more oil in one leg than its sheet has.
func (s *seeder) rebuild(ctx context.Context, units []*unit) error {
	var u *unit
	for _, one := range units {
		if one.owner.name == "Mirela Anttonen" {
			u = one
		}
	}
	_, err := s.act(ctx, "the inside of a fork", s.staff["Marit"], s.clock.before(3*openDay), func(a acting) (string, error) {
		travel, spacers := 130, 3
		err := spec.PutInside(a.ctx, a.tx, a.by, u.id, 0, spec.Inside{TravelMM: &travel, Spacers: &spacers,
			Notes: "Travel spacer of 10 mm under the air piston. Thread of the top cap mended: start it by hand."})
		if err != nil {
			return "", err
		}
		return "", spec.PutUnitValue(a.ctx, a.tx, a.by, u.id, modelOf(u.model).asModel(), spec.Value{Key: "lower-leg oil", Place: "foot-left",
			NominalSI: 12e-6, MinusSI: 1e-6, PlusSI: 1e-6, ShownUnit: quantity.Millilitre, Entered: "12 ± 1 mL", Fluid: "bath oil, 10 weight",
			SourceKind: spec.FromJudgement, SourceWords: "Tindra Kelp, which has such foams"})
	})
	return err
}
