package procedure

var sizedGrades = []string{"falls slowly, no play", "sticks", "play left"}

// bushings replaces the linings the stanchions run in. It comes between old
// wipers out and new ones in.
var bushings = Block{Code: "U", Title: "Bushing replacement", Revision: 2, Steps: []Step{
	{
		Key: "U1", Kind: Reading, Place: "wiper-left wiper-right", SpecKey: "play limit", Grades: playGrades,
		Tools: "dial gauge, if the play is measured",
		Title: "Grade the play; measure it if you can",
		Text: "Slide the clean lowers on dry, without wipers and foams, and rock them near full length, at a quarter and at half of the travel. Answer with the worst of the three. " +
			"With a dial gauge on the wiper seat, type what it shows as well.",
	},
	{
		Key: "U2.left", Kind: Reading, Place: "stanchion-left", SpecKey: "stanchion wear limit",
		Tools: "micrometer",
		Title: "Measure the stanchion’s wear, rider’s left",
		Text: "Measure the diameter with a micrometer where the bushings run and where they never do, in two directions a quarter turn apart. " +
			"State by how much the thinnest place is thinner; 0 for no difference.",
		Caution: "Worn more than the sheet allows: stop. New bushings will not cure it.",
	},
	{
		Key: "U2.right", Kind: Reading, Place: "stanchion-right", SpecKey: "stanchion wear limit",
		Tools: "micrometer",
		Title: "Measure the stanchion’s wear, rider’s right",
		Text: "Measure the diameter with a micrometer where the bushings run and where they never do, in two directions a quarter turn apart. " +
			"State by how much the thinnest place is thinner; 0 for no difference.",
		Caution: "Worn more than the sheet allows: stop. New bushings will not cure it.",
	},
	{
		Key: "U3", Kind: Check, StopHere: true, Place: "lower-left lower-right",
		Title: "Casting may be re-bushed, parts right, agreed",
		Text: "It is right when the maker allows new bushings in this casting, the right ones lie at hand with the tool that fits them, " +
			"and the customer’s go-ahead for this work is recorded.",
		Caution: "From here on there is no way back to the old bushings.",
	},
	{
		Key: "U4", Kind: Reading, Place: "lower-left lower-right",
		Tools: "depth gauge",
		Title: "Write down how deep each bushing sits",
		Text: "Measure from the wiper seat down to the upper edge of each bushing, both legs, and write it down in millimetres: upper and lower, left and right. " +
			"It is right when somebody else could press new ones to the same depth from it.",
	},
	{
		Key: "U5", Kind: Check, Place: "lower-left lower-right",
		Tools: "bushing extractor",
		Title: "Pull the old bushings, clean the bores",
		Text: "Draw them with the extractor made for the size, straight and without a lever against the casting, then wipe the bores. " +
			"It is right when the bores are clean, dry and smooth all round.",
		Caution: "No flame near solvent. A casting is warmed only where its maker says so, and only once it is dry.",
	},
	{
		Key: "U6", Kind: Fit, Place: "lower-left lower-right",
		Tools: "bushing press",
		Parts: "bushings of both legs",
		Title: "Press the new ones square and to depth",
		Text: "Press each with the driver that fits, the lower one first, to the depth written down. " +
			"It is right when each sits square, its oil slots line up with those of the casting and the depth is the old one.",
	},
	{
		Key: "U7", Kind: Check, Place: "lower-left lower-right",
		Tools: "sizing tool, in small steps",
		Title: "Size them in small passes",
		Text: "Pull the sizing tool through, the smallest size first, and try the stanchion after every pass. " +
			"It is right when the stanchion goes in by its own weight, wetted with oil.",
		Caution: "What is taken off does not come back: stop one size early and try again.",
	},
	{
		Key: "U8", Kind: Reading, StopHere: true, Place: "lower-left lower-right", Grades: sizedGrades,
		Tools: "the fork’s own stanchions",
		Title: "Lowers fall slowly, no play, both legs",
		Text: "Oil the stanchions lightly, slide the lowers on without wipers and let them go. Then rock them at three heights. " +
			"It is right when they fall slowly under their own weight over the whole travel and nothing rocks.",
		Caution: "Sticking or still loose: do not go on to the wipers.",
	},
	{
		Key: "U9", Kind: Check, Place: "lower-left lower-right",
		Title: "Wash the chips out",
		Text: "Wash both legs out, blow the oil slots clear, wipe and look inside with a light. " +
			"It is right when a clean cloth drawn through comes out clean.",
		Caution: "Gloves and eye protection: chips fly. Used rags go into the bin with a lid.",
	},
}}
