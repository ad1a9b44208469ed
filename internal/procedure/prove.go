package procedure

var prove = Block{Code: "V", Title: "Prove", Revision: 8, Steps: []Step{
	{
		Key: "V1", Kind: Reading, Place: "stanchion-left stanchion-right", SpecKey: "travel", Conditions: []string{"not coil"},
		Title: "Full travel by hand, air still out",
		Text: "With no air in, push the fork down until it stops and measure how far it moved. " +
			"It is right when it reaches the full travel smoothly and does not stop early.",
	},
	{
		Key: "V1.coil", Kind: Reading, Place: "stanchion-left stanchion-right", SpecKey: "travel", MayBeUnknown: true,
		Conditions: []string{"coil"},
		Title:      "Travel under your weight, preload off",
		Text: "With the preload off, lean on the fork with all your weight and measure how far it moved. " +
			"It is right when it goes down and comes back smoothly, with no hard stop before the full travel. " +
			"Where the spring holds you up before that, answer unknown.",
	},
	{
		Key: "V2", Kind: Reading, Group: "settings returned", Place: "top-spring", SpecKey: "rider pressure",
		Tools:      "the gauge it was read with as it came",
		Conditions: []string{"air"},
		Title:      "Charge and read the pressure as returned",
		Text: "Use the gauge that read it when it came in. Charge in steps, move it through its travel at each step so that both chambers level out, " +
			"then bring it to the pressure it came with, or to what was agreed.",
		Caution: "Never above the maximum pressure on the sheet. Keep your face away from the valve.",
	},
	{
		Key: "V2.coil", Kind: Check, Group: "settings returned", Place: "top-spring",
		Conditions: []string{"coil", "not adjuster preload"},
		Title:      "Put the spring preload back",
		Text: "Where it can be turned, turn the preload in by the turns written on the bag, or by what was agreed. " +
			"It is right when the spring does not rattle at full extension.",
	},
	{
		Key: "V3.preload", Kind: Count, Group: "settings returned", Place: "top-spring", SpecKey: "preload turns",
		Conditions: []string{"coil", "adjuster preload"},
		Title:      "Set the spring preload as returned",
		Text: "From fully out, turn the preload in by the turns it came with, or by what was agreed. " +
			"It is right when the spring does not rattle at full extension.",
	},
	{
		Key: "V3.rebound", Kind: Count, Group: "settings returned", Place: "knob", SpecKey: "rebound clicks",
		Conditions: []string{"adjuster rebound"},
		Title:      "Set rebound as returned",
		Text:       "Close the adjuster gently, then open it by the count it came with, or by what was agreed.",
	},
	{
		Key: "V3.compression", Kind: Count, Group: "settings returned", Place: "top-damper", SpecKey: "compression clicks",
		Conditions: []string{"adjuster compression"},
		Title:      "Set compression as returned",
		Text:       "Close the adjuster gently, then open it by the count it came with, or by what was agreed.",
	},
	{
		Key: "V3.lockout", Kind: Count, Group: "settings returned", Place: "top-damper", SpecKey: "lockout positions",
		Conditions: []string{"adjuster lockout"},
		Title:      "Set the lockout as returned",
		Text:       "Put the lever or remote in the position it came in, counted from fully closed, or as agreed.",
	},
	{
		Key: "V4", Kind: Wait, Minutes: 15, Place: "foot-left foot-right wiper-left wiper-right", Conditions: []string{"not lost air"},
		Title: "Stand fifteen minutes, dry and holding",
		Text: "Stand the fork up for fifteen minutes. It is right when both feet and both wipers are dry and, in an air fork, " +
			"the pressure is the same, less what the pump’s hose takes.",
	},
	{
		Key: "V4.shock", Kind: Wait, Minutes: 15, Conditions: []string{"air", "not lost air"},
		Title: "Let it lie fifteen minutes, holding",
		Text:  "Let the shock lie for fifteen minutes. It is right when the pressure is the same, less what the pump’s hose takes, and its shaft is dry.",
	},
	{
		Key: "V4.overnight", Kind: Reading, Place: "top-spring foot-left foot-right", SpecKey: keyAirLost, Conditions: []string{"lost air"},
		Title: "Stand overnight, read the air lost",
		Text: "It came because it lost air, so a quarter of an hour proves nothing: leave it overnight in a room that stays as warm. " +
			"Read it with the same gauge and state what is missing, less what the pump’s hose takes. It is right when no more is missing than the sheet allows and all seals are dry.",
	},
	{
		Key: "V5", Kind: Check, Group: "last look", Place: "lower-left lower-right",
		Title: "No knock, squelch or clunk",
		Text: "Push the fork down hard five times, near the top, in the middle and deep. " +
			"It is right when it is quiet and even both ways.",
	},
	{
		Key: "V6", Kind: Check, Group: "last look",
		Title: "Nothing left in the tray",
		Text:  "Look into the tray and the bag. It is right when there is nothing in them but old parts that were replaced.",
	},
	{
		Key: "V7", Kind: Check, Group: "last look", Place: "axle lower-left",
		Title:   "Brake parts clean",
		Text:    "Look at the brake mount, the pads and the rotor if they are here. It is right when no oil, grease or cleaner is on them.",
		Caution: "If fluid has reached pads or rotor, do not try the brake: say so now and have them cleaned or changed.",
	},
	{
		Key: "V8", Kind: Check, Group: "last look",
		Title: "Waste and bottles away",
		Text:  "Used oil goes into the labelled can under local rules, rags into the bin with a lid, and every bottle is closed and back in its place.",
	},
	{
		Key: "V9", Kind: Reading, Grades: verdictGrades,
		Title: "Say whether it is safe to ride",
		Text: "Choose the verdict, write the rider two or three sentences in plain words, and state the minutes at the bench. " +
			"A unit that knocks, leaks or loses pressure is not ridden.",
	},
}}
