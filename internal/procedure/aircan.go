package procedure

// airCan opens the air side of a rear shock; its damper is not opened here. The
// last line stands after the settings are back. Common practice (no source).
var airCan = Block{Code: "K", Title: "Air can of a rear shock", Revision: 2, Steps: []Step{
	{
		Key: "K1", Kind: Check, StopHere: true,
		Tools: "shock pump, eye protection",
		Title: "Air out slowly, cycled, out again",
		Text: "Let the air out slowly, press the shock through its stroke a few times and let out what has gathered; repeat until nothing comes. " +
			"It is right when the gauge shows zero and the shock moves freely. In the bike, have the bike held up: it sinks.",
		Caution: "Turn the valve away from your face and protect your eyes. If it stays down with the gauge at zero, it holds pressure in its negative chamber: stop, and do not take it out by force.",
	},
	{
		Key: "K2", Kind: Check, Group: "out of the frame", Conditions: []string{"whole bike"},
		Title: "Frame held up, shock out",
		Text: "On an e-bike take the battery out first. Hold the rear up so that nothing drops, note which way round the shock sits, " +
			"take both bolts out and lift it out. Keep bolts, washers and spacers in their order.",
		Caution: "The frame folds as the shock comes out: fingers away from its links.",
	},
	{
		Key: "K3", Kind: Check, Group: "out of the frame",
		Title: "Eyelet hardware out, kept in order",
		Text: "Press pins, spacers and seals out of both eyelets without marking the eyelets, and lay them out in their order, each end apart. " +
			"It is right when each end could go back the same way round.",
	},
	{
		Key: "K4", Kind: Check, Group: "out of the frame", Grades: playGrades,
		Title: "Grade the play at both eyelets",
		Text:  "Put the pin back by hand and rock it in each eyelet. Answer with the worse of the two; a worn bushing knocks like a worn shock.",
	},
	{
		Key: "K5", Kind: Check, StopHere: true,
		Title: "Full length, core out, nothing left in",
		Text: "Measure the shock between its eyelets and compare it with its full length. Put the gauge on once more: it reads zero. Then take the valve core out. " +
			"It is right when it is as long as it should be and nothing hisses.",
		Caution: "A shock that is shorter is stuck down: its negative chamber still holds pressure and can fire the can off. It is not opened here but by the maker’s method alone.",
	},
	{
		Key: "K6", Kind: Check, Group: "can off",
		Tools: "soft vice jaws, strap wrench, cloth",
		Title: "Unscrew the can, out of line with it",
		Text: "Wipe the shock clean. Hold its eyelet in soft jaws, put a cloth round the can and turn it off slowly with a strap. " +
			"If it gets harder instead of easier, stop and turn it back on.",
		Caution: "Nobody stands in line with the can. No clamp on the body and no bar through the eyelet.",
	},
	{
		Key: "K7", Kind: Check, Group: "can off",
		Title: "Draw it off; negative chamber wiped out",
		Text: "Draw the can off straight, keep what lies in the negative chamber in its order, and wipe both chambers and the transfer port out. " +
			"It is right when a clean cloth comes out clean.",
		Caution: "It may come with a jump as the last seal lets go. Protect your eyes.",
	},
	{
		Key: "K8", Kind: Picture, Group: "can off",
		Title: "Picture the parts in their order",
		Text:  "Lay seals, rings and spacers out in the order they came, the way up marked, and picture them.",
	},
	{
		Key: "K9", Kind: Check, Group: "can off",
		Title: "Look over body, can and shaft",
		Text: "Turn body and can under a bright light and draw a fingernail along them; look for oil where the damper’s shaft goes in. " +
			"It is right when all is smooth and the shaft is dry.",
		Caution: "Scored: stop, new seals cannot hold air there. Oil at the shaft is the damper’s: it holds gas, is not opened here and goes to a specialist.",
	},
	{
		Key: "K10", Kind: Fit, Group: "can sealed",
		Tools: "plastic pick",
		Parts: "seals of the air can",
		Title: "Fit the seals, one new for one old",
		Text: "Take one seal off, lay the new one beside it, fit it, then go to the next; wiper last. " +
			"It is right when sizes match and each lies in its groove without a twist.",
		Caution: "No metal picks: a scratch in a groove leaks for good.",
	},
	{
		Key: "K11", Kind: Check, Group: "can sealed",
		Title:   "Grease seals and body as the sheet says",
		Text:    "Use the grease the maker names: seals covered all over, a thin even film on the body.",
		Caution: "No grease into the transfer port: it would block the way between the chambers.",
	},
	{
		Key: "K12", Kind: Volume, SpecKey: "air-side oil", Conditions: []string{"air-side oil"},
		Tools: "syringe",
		Title: "Oil into the air side",
		Text: "Put in the oil the sheet names, in the chamber it names. " +
			"It is right when the stated amount has gone in and none has run out.",
		Caution: "More than stated takes the place of air and makes the spring harder.",
	},
	{
		Key: "K13", Kind: Fit, SpecKey: "volume spacers", Grades: keptUsually,
		Parts: "volume spacers",
		Title: "Fit the volume spacers",
		Text:  "As many as came out, or as was agreed. It is right when none can work loose.",
	},
	{
		Key: "K14", Kind: Torque, SpecKey: "air can", Conditions: []string{"torqued can"},
		Title: "Torque the can",
		Text: "Slide the can on straight, so that no lip folds, start its thread by hand for several turns, put the valve core back, " +
			"then turn slowly to the value shown.",
	},
	{
		Key: "K14.hand", Kind: Check, Conditions: []string{"not torqued can"},
		Title: "Turn the can on by hand to its stop",
		Text: "For a can that its maker has tightened by hand: slide it on straight, so that no lip folds, turn it on until it stops, and put the valve core back. " +
			"It is right when no gap is left and no seal shows.",
	},
	{
		Key: "K15", Kind: Check, Conditions: []string{"whole bike"},
		Title: "Shock in, frame moved through its travel",
		Text: "Grease and put the hardware back as pictured, shock the way round it was, bolts started by hand. With the air still out move the frame through its whole travel. " +
			"It is right when nothing touches, binds or pulls at a hose.",
		Caution: "Fingers away from the links.",
	},
	{
		Key: "K16", Kind: Torque, SpecKey: "shock bolt", Fasteners: 2, Conditions: []string{"whole bike"},
		Title:   "Torque both bolts of the shock",
		Text:    "The value is that of the frame’s maker. Threads clean, locker only where the manual says so; tighten each slowly until the wrench clicks once.",
		Caution: "Too loose and it comes out on the trail, too tight and it binds in its eyelet.",
	},
	{
		Key: "K17", Kind: Check, SecondCheck: true, Conditions: []string{"whole bike"},
		Title: "Both bolts of the shock tight",
		Text: "Try both bolts by hand with their key and lift the saddle by a finger’s width. " +
			"It is right when no bolt turns and nothing clicks or gives.",
	},
}}
