package procedure

// spring takes the air spring apart and together again, or the coil where the
// fork has one. It follows the lowers coming off.
var spring = Block{Code: "P", Title: "Spring", Revision: 4, Steps: []Step{
	{
		Key: "P1", Kind: Check, StopHere: true, Place: "top-spring foot-spring", Conditions: []string{"air"},
		Tools: "valve core key",
		Title: "No air left: core out, shaft moves freely",
		Text: "Put the gauge on once more: it reads zero. Take the valve core out, then push the air shaft in by hand. " +
			"It is right when the shaft goes in and stays where you leave it.",
		Caution: "A shaft that pushes back or is stuck has pressure behind it: stop. Only the maker’s manual has the method; until then nobody stands in line with the shaft.",
	},
	{
		Key: "P1.coil", Kind: Check, StopHere: true, Place: "top-spring foot-spring", Conditions: []string{"coil"},
		Title: "Preload off, nothing presses on the cap",
		Text: "See once more that the preload is fully off and that the rod at the foot moves freely by hand. " +
			"It is right when nothing but its thread holds the cap.",
		Caution: "A spring that still presses throws the cap as its thread ends. Protect your eyes and stay out of line.",
	},
	{
		Key: "P2", Kind: Count, Group: "spring out", Place: "top-spring", SpecKey: "volume spacers", Conditions: []string{"air"},
		Tools: "flush socket for the cap",
		Title: "Take the top cap off, count the spacers",
		Text: "Undo the cap with a socket that sits flush and count the volume spacers that hang on it or lie below it. " +
			"None counts as 0.",
	},
	{
		Key: "P2.coil", Kind: Check, Group: "spring out", Place: "top-spring", Conditions: []string{"coil"},
		Tools: "flush socket for the cap, eye protection",
		Title: "Hold the cap down, undo it, spring out",
		Text: "Press the cap down with the palm as its last threads come free, let it rise slowly, then lift out spacers and spring. " +
			"It is right when they lie in the order they came, the spring the same way up.",
		Caution: "Protect your eyes: the cap can jump.",
	},
	{
		Key: "P3", Kind: Check, Group: "spring out", Place: "stanchion-spring", Conditions: []string{"air"},
		Tools: "ring pliers, eye protection",
		Title: "Ring off, air shaft and seal head out",
		Text: "In the leg the sheet names, hold the seal head in with one hand, lift the retaining ring out of its groove, " +
			"then draw shaft and seal head out straight.",
		Caution: "A ring under load flies. Protect your eyes and keep a hand over it until it is out.",
	},
	{
		Key: "P4", Kind: Picture, Group: "spring out", Place: "stanchion-spring",
		Title: "Picture the parts in their order",
		Text:  "Lay the parts out in the order they came, the way up marked, and picture them. It is right when the spring could go together again from the picture alone.",
	},
	{
		Key: "P5", Kind: Check, Group: "spring out", Place: "stanchion-spring", Conditions: []string{"air"},
		Title: "Look into the bore and over the piston",
		Text: "Wipe the bore clean, shine a light through it and turn piston and shaft slowly under it. " +
			"It is right when bore, shaft and the groove of the ring are smooth all round.",
		Caution: "Scored: stop. New seals cannot hold air there; propose what it needs first.",
	},
	{
		Key: "P5.coil", Kind: Reading, Group: "spring out", Place: "stanchion-spring", SpecKey: "coil rate", MayBeUnknown: true,
		Conditions: []string{"coil"},
		Title:      "Clean the spring, read its rate",
		Text: "Clean spring and bore, look for bright rubbed coils and cracks, and read the rate printed on the spring or shown by its colour. " +
			"Where nothing can be read, answer unknown.",
	},
	{
		Key: "P6", Kind: Fit, Group: "spring greased", Place: "stanchion-spring", Conditions: []string{"air"},
		Tools: "plastic pick",
		Parts: "seals of the air spring",
		Title: "Fit the seals, one new for one old",
		Text: "Take one seal off, lay the new one beside it, fit it, then go to the next. " +
			"It is right when sizes match and each lies in its groove without a twist.",
		Caution: "No metal picks: a scratch in a groove leaks for good.",
	},
	{
		Key: "P7", Kind: Check, Group: "spring greased", Place: "stanchion-spring", Conditions: []string{"air"},
		Tools: "grease the maker names",
		Title: "Grease seals and bore as the sheet says",
		Text: "Use the grease the maker names: seals covered all over, a thin even film in the bore, the shaft wiped. " +
			"Slide the piston in turning it, so that no lip folds.",
		Caution: "No grease into the transfer port: it would block the way between the chambers.",
	},
	{
		Key: "P7.coil", Kind: Check, Group: "spring greased", Place: "stanchion-spring top-spring", Conditions: []string{"coil"},
		Title: "Grease the spring and put it back",
		Text: "Grease it all round where it can touch the bore, put it in the way up it came with its spacers, and oil the cap’s seal. " +
			"It is right when the cap starts by hand, held down, for several turns.",
		Caution: "Hold the cap down until its thread has caught.",
	},
	{
		Key: "P8", Kind: Check, StopHere: true, Place: "stanchion-spring", Conditions: []string{"air"},
		Title: "Ring seated, shaft pulled hard",
		Text: "Turn the retaining ring in its groove, then pull the shaft hard several times. " +
			"It is right when the ring turns all round and nothing moves.",
		Caution: "A ring that is not home lets the shaft go under pressure.",
	},
	{
		Key: "P9", Kind: Volume, Place: "top-spring", SpecKey: "air-side oil", Conditions: []string{"air", "air-side oil"},
		Tools: "syringe",
		Title: "Oil into the air side",
		Text: "Put in the oil the sheet names, on top of the piston, and work the shaft slowly a few times. " +
			"It is right when the stated amount has gone in and nothing has run out at the bottom.",
		Caution: "More than stated takes the place of air and makes the spring harder.",
	},
	{
		Key: "P10", Kind: Fit, Place: "top-spring", SpecKey: "volume spacers", Grades: keptUsually, Conditions: []string{"air"},
		Parts: "volume spacers",
		Title: "Fit the volume spacers",
		Text: "As many as came out, or as was agreed, each clicked or screwed home on the next. " +
			"It is right when none can work loose and drop into the bore.",
	},
	{
		Key: "P11", Kind: Torque, Place: "top-spring", SpecKey: "air top cap", Conditions: []string{"not small top cap"},
		Title: "Torque the cap of the spring leg",
		Text: "Oil the seal, start the cap by hand, and put the valve core back in if the cap has one. " +
			"Then turn slowly with a flush socket until the wrench clicks once.",
	},
	{
		Key: "P11.small", Kind: Torque, Place: "top-spring", SpecKey: "top cap", Conditions: []string{"small top cap"},
		Title: "Torque the small cap of the spring leg",
		Text: "Oil the seal, start the cap by hand, and put the valve core back in if the cap has one. " +
			"Then turn slowly and evenly until the wrench clicks once.",
		Caution: "Plastic and small caps strip early: this value, not that of a large metal cap.",
	},
	{
		Key: "P12", Kind: Wait, Place: "top-spring stanchion-spring", SpecKey: "leak test pressure", Conditions: []string{"air", "leak test"},
		Title: "Leak test with the lowers off",
		Text: "Charge to the low pressure shown and no more, wait as long as the sheet says, and look for bubbles at cap and seal head. " +
			"It is right when the gauge shows the same as before, less the pump’s hose. Then let all of the air out again.",
		Caution: "Nobody stands in line with the shaft while there is air in. Air out before the lowers go on.",
	},
}}
