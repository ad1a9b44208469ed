package procedure

var lowers = Block{Code: "W", Title: "Lowers", Revision: 3, Steps: []Step{
	{
		Key: "W1", Kind: Check, Group: "lowers cleaned", Place: "wiper-left wiper-right",
		Tools: "tyre lever or wiper lever, padding",
		Title: "Take wipers and foams out",
		Text: "Lever each wiper up evenly, a little all round, then lift the foam ring out. " +
			"Wipers that are to be kept come out undamaged or stay in if the foam can be reached.",
		Caution: "Rest the lever on padding: the casting is soft and a nicked edge leaks.",
	},
	{
		Key: "W2", Kind: Check, Group: "lowers cleaned", Place: "lower-left lower-right",
		Tools: "lint-free cloth, long rod, gloves",
		Title: "Wipe the insides and seats clean and dry",
		Text: "Draw clean lint-free cloth through both legs and round the wiper seats until it comes out as it went in. " +
			"It is right when no solvent is left to thin the new oil.",
		Caution: "Gloves, fresh air and no flame near solvent. Used rags go into the bin with a lid.",
	},
	{
		Key: "W3", Kind: Check, Group: "lowers cleaned", Place: "lower-left lower-right",
		Title: "Look at the bushing linings",
		Text: "Shine a light into each leg: the lining is whole and even all round, no bare metal shows. " +
			"Slide the lowers on dry for a moment to feel for play where you graded it before.",
	},
	{
		Key: "W4", Kind: Fit, Group: "wipers in", Place: "wiper-left wiper-right",
		Parts: "2 foam rings",
		Title: "Soak the foams and fit them",
		Text: "Press the foams in the oil the sheet names for the lowers until no more bubbles come. " +
			"They go in before or after the wipers are driven, as the type of wiper asks.",
	},
	{
		Key: "W5", Kind: Fit, Group: "wipers in", Place: "wiper-left wiper-right", Grades: keptUsually,
		Tools: "wiper driver, soft mallet",
		Parts: "2 wipers",
		Title: "Fit the wipers, square and flush",
		Text: "New wipers, or the old ones if they are whole, soft and dry outside. Take the garter springs off to drive them, " +
			"drive each square until it sits flush all round, then put the springs back in their grooves.",
	},
	{
		Key: "W6", Kind: Check, Group: "wipers in", Place: "wiper-left wiper-right",
		Title: "Foams flat, lips filmed",
		Text: "The foams lie flat under the lips without a twist. Put a thin film of grease or oil on the lips, whichever the sheet names; " +
			"a lump of it is too much.",
	},
}}
