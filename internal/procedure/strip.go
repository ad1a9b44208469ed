package procedure

// keyDrained, with its side, is the step that judges the oil out of a leg.
const keyDrained = "S9."

var strip = Block{Code: "S", Title: "Strip", Revision: 5, Steps: []Step{
	{
		Key: "S1", Kind: Check, Group: "off the bike", Place: "axle", Conditions: []string{"whole bike"},
		Title: "Battery out, then wheel out, pad spacer in",
		Text: "On an e-bike take the battery out before anything else. Take the wheel out and push a spacer between the brake pads. " +
			"It is right when the wheel stands away from the solvents and the spacer stays put by itself.",
		Caution: "Keep brake fluid and solvent off rotor and pads. Do not squeeze the lever while the wheel is out.",
	},
	{
		Key: "S2", Kind: Picture, Group: "off the bike", Place: "steerer crown", Conditions: []string{"whole bike"},
		Title: "Picture the headset stack and the hose",
		Text: "Picture the spacers, the bearings and the race in their order, and how the brake hose and any cable run. " +
			"It is right when somebody else could put it back from the pictures alone.",
	},
	{
		Key: "S3", Kind: Check, Group: "off the bike", Place: "steerer", Conditions: []string{"whole bike"},
		Title: "Take the fork out of the frame",
		Text: "Hold the fork, loosen the stem and lower the fork out. Hang the bars so that no hose is bent or pulled, " +
			"and keep bearings and spacers in their order in the bag.",
	},
	{
		Key: "S3.crowns", Kind: Picture, Group: "off the bike", Place: "crown stanchion-left stanchion-right", Conditions: []string{"whole bike", "two crowns"},
		Title: "Measure and mark the heights in the crowns",
		Text: "Before a crown bolt is loosened, measure how far each stanchion stands above the upper crown, mark it on tape and picture it with the ruler, the bumpers with it. " +
			"It is right when both sides can be set again to the millimetre.",
	},
	{
		Key: "S4", Kind: Check, Place: "wiper-left wiper-right lower-left lower-right",
		Title: "Wash the fork",
		Text: "Wash with a soft brush, water and a mild cleaner, then dry it. " +
			"It is right when no grit is left that could fall in once the lowers come off.",
		Caution: "No jet at wipers or bearings.",
	},
	{
		Key: "S5", Kind: Check, Place: "top-spring", StopHere: true, Conditions: []string{"may hold air"},
		Tools: "shock pump or valve key, eye protection",
		Title: "Let the air out, cycle, let out again",
		Text: "Let the air out slowly, push the fork through its travel a few times and let out what has gathered; repeat until nothing comes. " +
			"It is right when the gauge shows zero and the fork moves freely by hand. A gauge at zero speaks for one chamber only.",
		Caution: "Turn the valve away from your face and protect your eyes. If the fork stays down or pushes back with the gauge at zero, stop: pressure is trapped.",
	},
	{
		Key: "S5.coil", Kind: Check, Place: "top-spring", StopHere: true, Conditions: []string{"coil"},
		Title: "Take the spring preload off",
		Text: "Turn the preload adjuster fully off. Where no step before has counted its turns, count them now and write them on the bag. " +
			"It is right when the adjuster turns without load and the fork moves freely by hand.",
		Caution: "A spring under load can throw its cap. Protect your eyes and stay out of line with it.",
	},
	{
		Key: "S6", Kind: Check, Group: "lowers off", Place: "knob", Conditions: []string{"adjuster rebound"},
		Tools: "small hex key",
		Title: "Take the rebound knob off and keep it",
		Text: "Undo the set screw or pull the knob off straight. " +
			"It is right when the knob, its screw and any detent ball lie in the bag.",
	},
	{
		Key: "S7", Kind: Check, Group: "lowers off", Place: "foot-left foot-right",
		Tools: "socket or hex key for the feet, soft mallet, pan",
		Title: "Free both feet",
		Text: "Back each fastener off a few turns, tap it square until the shaft lets go inside, and only then take it out. " +
			"Have the pan below: where damper and lowers share their oil, it all drains here.",
		Caution: "Soft mallet, on the fastener only. Never strike the bare shaft.",
	},
	{
		Key: "S8", Kind: Check, Group: "lowers off", Place: "lower-left lower-right",
		Tools: "pan",
		Title: "Draw the lowers off over the pan",
		Text: "Pull the lowers straight down by both legs and let them drain into the pan. " +
			"It is right when they come evenly; if one leg holds, go back and free its foot again.",
	},
	{
		Key: "S9.left", Kind: Reading, Group: "drained", Place: "foot-left", Grades: drainedGrades,
		Title: "Grade the oil drained, rider’s left",
		Text: "Judge how much came out against what the sheet puts in. " +
			"Oil that is milky, black or glitters is a finding as well.",
		Caution: "Too much in the damper’s leg: suspect the damper’s seal.",
	},
	{
		Key: "S9.right", Kind: Reading, Group: "drained", Place: "foot-right", Grades: drainedGrades,
		Title: "Grade the oil drained, rider’s right",
		Text: "Judge how much came out against what the sheet puts in. " +
			"Oil that is milky, black or glitters is a finding as well.",
		Caution: "Too much in the damper’s leg: suspect the damper’s seal.",
	},
	{
		Key: "S10", Kind: Picture, Group: "drained", Place: "stanchion-left stanchion-right", Grades: stanchionGrade,
		Title: "Clean the stanchions, grade and picture them",
		Text: "Clean both stanchions over their whole length, turn them under a bright light and picture the worst place. " +
			"The part the bushings run on is seen only now.",
	},
}}
