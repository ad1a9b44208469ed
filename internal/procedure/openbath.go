package procedure

// openBath is a damper that works in a bath of oil, shared with the lowers or
// sealed in its stanchion.
var openBath = Block{Code: "D1", Title: "Open-bath damper", Revision: 4, Steps: []Step{
	{
		Key: "D1.1", Kind: Check, StopHere: true, Place: "top-spring top-damper",
		Title: "Air and preload off before the cap",
		Text: "See once more that no air is in and no preload is on, and that the fork moves freely by hand. " +
			"Only then put a tool to the damper’s cap.",
		Caution: "The cap may jump as its thread ends. Keep your face out of line and a cloth over it.",
	},
	{
		Key: "D1.2", Kind: Check, Group: "damper out", Place: "top-damper",
		Tools: "flush socket for the cap",
		Title: "Take the damper cap out",
		Text: "Open the adjusters at the cap, undo it with a socket that sits flush and lift it out slowly with what hangs on it. " +
			"It is right when flats, thread and seal are whole.",
	},
	{
		Key: "D1.3", Kind: Reading, Group: "damper out", Place: "top-damper foot-damper", Grades: drainedGrades,
		Title: "Let the damper’s oil out and look at it",
		Text: "Tip the leg over the pan and stroke the shaft gently until no more comes. Judge how much came out against what the sheet puts in. " +
			"Oil that is milky, black or glitters is a finding as well.",
	},
	{
		Key: "D1.4", Kind: Check, Group: "damper out", Place: "stanchion-damper",
		Tools: "ring pliers, eye protection",
		Title: "Take the rebound assembly out",
		Text: "Draw it straight out by the shaft, so that no edge marks the bore. " +
			"In a sealed leg hold the ring with one hand while you free it.",
		Caution: "A ring can fly out. Protect your eyes.",
	},
	{
		Key: "D1.5", Kind: Check, Group: "damper out", Place: "stanchion-damper",
		Title: "Look over shaft, piston and seal head",
		Text: "The shaft is straight and unscored, the piston’s ring is whole and the seal head is tight on the shaft. " +
			"Leave the shims as they are unless tuning was ordered.",
	},
	{
		Key: "D1.5.picture", Kind: Picture, Group: "damper out", Place: "stanchion-damper",
		Title: "Picture the parts in their order",
		Text:  "Lay the parts out in the order they came and picture them, the way up marked.",
	},
	{
		Key: "D1.6", Kind: Fit, Group: "damper out", Place: "stanchion-damper",
		Tools: "plastic pick",
		Parts: "seals of the damper",
		Title: "Fit the seals, one new for one old",
		Text:  "Lay each old seal beside the new one before it goes in. It is right when sizes match and each lies in its groove without a twist, lightly oiled.",
	},
	{
		Key: "D1.7", Kind: Torque, Place: "stanchion-damper", SpecKey: "damper seal head", Conditions: []string{"opened here"},
		Title: "Torque the seal head",
		Text: "Hold the part by its flats, never by the shaft’s sliding surface, and turn slowly and evenly until the wrench clicks once. " +
			"A seal head that a ring alone holds has no thread, and this does not apply.",
	},
	{
		Key: "D1.7.shaft", Kind: Torque, Place: "stanchion-damper", SpecKey: "shaft fastener", Conditions: []string{"shaft fastener", "opened here"},
		Title: "Torque piston or shaft, if it was opened",
		Text: "Hold the shaft in soft jaws by its flats and turn slowly until the wrench clicks once. " +
			"Where neither piston nor shaft was taken apart, this does not apply.",
	},
	{
		Key: "D1.8", Kind: Check, StopHere: true, Place: "stanchion-damper",
		Title: "Ring seated, shaft pulled",
		Text:  "Turn the ring in its groove, then pull the shaft hard. It is right when the ring turns all round and nothing moves.",
	},
	{
		Key: "D1.9", Kind: Volume, Place: "top-damper", SpecKey: "shared oil", Conditions: []string{"not sealed"},
		Tools: "measuring jug",
		Title: "Fill the shared leg from the top",
		Text: "Use the fluid the sheet names, and no other. Pour slowly down the side. " +
			"It is right when the stated amount is in and both feet are dry.",
		Caution: "Lowers on and feet torqued first, or it runs out below.",
	},
	{
		Key: "D1.9.sealed", Kind: Volume, Place: "top-damper", SpecKey: "damper fill", Conditions: []string{"not shared oil"},
		Tools: "measuring jug",
		Title: "Fill the sealed leg from the top",
		Text:  "Use the fluid the sheet names, and no other. Pour slowly down the side until the stated amount is in.",
	},
	{
		Key: "D1.10", Kind: Wait, Minutes: 10, Place: "top-damper",
		Title: "Stroke the air out, stand ten minutes",
		Text: "Move the shaft or the lowers slowly through the whole stroke until no more bubbles rise, then let it stand for ten minutes. " +
			"It is right when the last slow stroke raises none.",
	},
	{
		Key: "D1.11", Kind: Reading, Place: "top-damper", SpecKey: "oil height", Conditions: []string{"oil height"},
		Tools: "depth rule or height syringe",
		Title: "Measure the oil height",
		Text: "Where the sheet gives a height: fork compressed, spring out, measure from the rim down to the oil. " +
			"Where it gives none, this does not apply.",
		Caution: "Too much oil locks the fork before it reaches its full travel.",
	},
	{
		Key: "D1.12", Kind: Torque, Place: "top-damper", SpecKey: "damper cap",
		Title: "Torque the damper cap",
		Text:  "Start the cap by hand for several turns, then turn slowly with a flush socket until the wrench clicks once.",
	},
	{
		Key: "D1.13", Kind: Check, Place: "top-damper",
		Title: "No dead spot, adjusters act",
		Text: "Move the fork slowly and quickly through its travel and try each adjuster at both ends. " +
			"It is right when it damps from the first millimetre and each adjuster can be felt.",
	},
}}
