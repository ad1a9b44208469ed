package procedure

// Shipped is the content the program brings: blocks and the services made of
// them. Whoever changes the text of a block raises its Revision.
func Shipped() ([]Block, []Service) {
	blocks := []Block{
		forForks(inspection),
		forForks(strip),
		forForks(openBath),
		forForks(lowers),
		forForks(closing),
		forForks(prove),
		forForks(ofWholeBikes(refit)),
	}
	services := []Service{
		// Where damper and lowers share their oil, a lower-leg service is an oil
		// service: all of it came out at the feet and goes back in at the top.
		{Code: "lower-leg", Name: "Lower-leg service", Blocks: []string{"A", "S", "W", "Z", "V", "R",
			"D1.1-3 only if shared oil", "D1.9-13 only if shared oil"}},
	}
	return blocks, services
}

// forForks is the block with every step asked of forks only.
func forForks(b Block) Block { return b.on("kind fork") }

// ofWholeBikes is the block with every step asked only where the whole bike
// came.
func ofWholeBikes(b Block) Block { return b.on("whole bike") }

// on is the block with one more condition on every step, each stamped with the
// block it belongs to.
func (b Block) on(condition string) Block {
	steps := make([]Step, len(b.Steps))
	for i, s := range b.Steps {
		s.Block, s.BlockTitle = b.Code, b.Title
		s.Conditions = append([]string{condition}, s.Conditions...)
		steps[i] = s
	}
	b.Steps = steps
	return b
}
