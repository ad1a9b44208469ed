package procedure

// Shipped is the content the program brings: blocks and the services made of
// them. Whoever changes the text of a block raises its Revision.
func Shipped() ([]Block, []Service) {
	blocks := []Block{
		forForks(inspection),
		forForks(strip),
		forForks(lowers),
		forForks(closing),
		forForks(prove),
	}
	services := []Service{
		{Code: "lower-leg", Name: "Lower-leg service", Blocks: []string{"A", "S", "W", "Z", "V"}},
	}
	return blocks, services
}

// forForks is the block with every step asked of forks only and stamped with
// the block it belongs to.
func forForks(b Block) Block {
	steps := make([]Step, len(b.Steps))
	for i, s := range b.Steps {
		s.Block, s.BlockTitle = b.Code, b.Title
		s.Conditions = append([]string{"kind fork"}, s.Conditions...)
		steps[i] = s
	}
	b.Steps = steps
	return b
}
