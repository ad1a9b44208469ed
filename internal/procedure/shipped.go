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
		forForks(lowers),
		forForks(closing),
		otherWork,
		prove.on("kind fork", "V1", "V1.coil", "V2.coil", "V3.preload", "V4", "V4.overnight", "V5", "V7").
			on("not kind seatpost", "V2", "V3.rebound", "V3.compression", "V3.lockout"),
		forForks(ofWholeBikes(refit)),
	}
	// Where damper and lowers share their oil, whatever takes the lowers off is
	// an oil service: all of it came out at the feet and goes back in at the top.
	lowerLeg := []string{"A", "S", "W", "Z", "V", "R", "D1.1-3 only if shared oil", "D1.9-13 only if shared oil"}
	withSpring := append([]string{"P"}, lowerLeg...)
	services := []Service{
		{Code: "lower-leg", Name: "Lower-leg service", Kinds: []string{"fork"}, Blocks: lowerLeg},
		// One work under two names, so that no coil fork has its air spring
		// serviced on paper; the fork's own spring decides which steps are asked.
		{Code: "air-spring", Name: "Air-spring service", Kinds: []string{"fork"}, Blocks: withSpring, Covers: []string{"lower-leg"}},
		{Code: "coil-spring", Name: "Coil-spring service", Kinds: []string{"fork"}, Blocks: withSpring, Covers: []string{"lower-leg"}},
		{Code: "other", Name: "Other work, in own words", Kinds: []string{"fork", "rear shock", "seatpost"},
			Blocks: []string{"A1-5", "F", "V2-9"}},
	}
	return blocks, services
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
