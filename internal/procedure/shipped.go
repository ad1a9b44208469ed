package procedure

import "slices"

// Shipped is the content the program brings: blocks and the services made of
// them. Whoever changes the text of a block raises its Revision.
func Shipped() ([]Block, []Service) {
	blocks := []Block{
		inspection.on("kind fork", "A5.preload", "A6", "A7", "A8", "A9", "A10", "A11").
			on("not kind seatpost", "A4", "A5.rebound", "A5.compression", "A5.lockout"),
		forForks(strip),
		forForks(spring),
		forForks(openBath),
		forForks(cartridge),
		forForks(bushings),
		forForks(crown),
		forForks(lowers),
		forForks(closing),
		airCan.on("kind rear shock").on("air", "K1"),
		otherWork,
		forForks(quote),
		prove.on("kind fork", "V1", "V1.coil", "V2.coil", "V3.preload", "V4", "V5", "V7").
			on("kind rear shock", "V4.shock").
			on("not kind seatpost", "V2", "V4.overnight", "V3.rebound", "V3.compression", "V3.lockout"),
		forForks(ofWholeBikes(refit)),
	}
	return blocks, shippedServices()
}

// shippedServices are sets of blocks; their order here is that of the list.
func shippedServices() []Service {
	forks := []string{"fork"}
	closed := []string{"A", "S", "W", "Z", "V", "R"}
	// Where damper and lowers share their oil, whatever takes the lowers off is
	// an oil service: all of it came out at the feet and goes back in at the top.
	oil := []string{"D1.1-3 only if shared oil", "D1.9-13 only if shared oil"}
	damper := []string{"D1 if not cartridge", "D2.1-13 if cartridge"}
	lowerLeg := slices.Concat(closed, oil)
	withSpring := slices.Concat([]string{"P"}, lowerLeg)
	return []Service{
		{Code: "lower-leg", Name: "Lower-leg service", Kinds: forks, Blocks: lowerLeg},
		// One work under two names, so that no coil fork has its air spring
		// serviced on paper; the fork's own spring decides which steps are asked.
		{Code: "air-spring", Name: "Air-spring service", Kinds: forks, Blocks: withSpring, Covers: []string{"lower-leg"}},
		{Code: "coil-spring", Name: "Coil-spring service", Kinds: forks, Blocks: withSpring, Covers: []string{"lower-leg"}},
		// The fork's own damper decides which of the two blocks is asked.
		{Code: "damper", Name: "Damper service", Kinds: forks, Blocks: slices.Concat(damper, closed), Covers: []string{"lower-leg"}},
		{Code: "cartridge", Name: "Cartridge service, lowers left on", Kinds: forks,
			Blocks: []string{"A", "S1-6", "D2 only if lowers stay on", "Z9", "V", "R"}, Covers: []string{"damper"}},
		{Code: "full", Name: "Full service", Kinds: forks, Blocks: slices.Concat([]string{"C", "P"}, damper, closed),
			Covers: []string{"lower-leg", "air-spring", "coil-spring", "damper", "crown-steerer"}},
		{Code: "bushing", Name: "Bushing replacement", Kinds: forks, Blocks: slices.Concat([]string{"U"}, lowerLeg), Covers: []string{"lower-leg"}},
		{Code: "crown-steerer", Name: "Crown-steerer inspection", Kinds: forks, Blocks: []string{"A", "S1-5", "C", "V2-3", "V6-9", "R"}},
		{Code: "strip", Name: "Strip and quote", Kinds: forks, Blocks: slices.Concat([]string{"A", "S", "P1-5", "W3", "Q", "V8-9"}, oil[:1])},
		// The damper of a shock is a specialist's.
		{Code: "air-can", Name: "Air-can service", Kinds: []string{"rear shock"}, Blocks: []string{"A1-5", "K", "V2-9"}},
		{Code: "other", Name: "Other work, in own words", Kinds: []string{"fork", "rear shock", "seatpost"},
			Blocks: []string{"A1-5", "F", "V2-9"}},
	}
}

// forForks is the block with every step asked of forks only.
func forForks(b Block) Block { return b.on("kind fork") }

// ofWholeBikes is the block with every step asked only where the whole bike
// came.
func ofWholeBikes(b Block) Block { return b.on("whole bike") }

// on is the block with one more condition on the steps of those keys, on every
// step when none is named, each step stamped with the block it belongs to.
func (b Block) on(condition string, keys ...string) Block {
	steps := make([]Step, len(b.Steps))
	for i, s := range b.Steps {
		s.Block, s.BlockTitle = b.Code, b.Title
		if len(keys) == 0 || slices.Contains(keys, s.Key) {
			s.Conditions = append([]string{condition}, s.Conditions...)
		}
		steps[i] = s
	}
	b.Steps = steps
	return b
}
