package procedure

var fluidGrades = []string{"clear and full", "dark or milky", "air in it", "weeps past a seal"}

// cartridge is a damper that comes out of its leg as one closed part. Its last
// two lines are asked only where the lowers stay on.
var cartridge = Block{Code: "D2", Title: "Cartridge damper", Revision: 3, Steps: []Step{
	{
		Key: "D2.1", Kind: Check, StopHere: true, Place: "top-damper",
		Title: "Gas in the cartridge: let out, or sent out",
		Text: "Look in the manual whether the cartridge holds gas. If it does, let it out at its own valve, the way the manual shows, until the gauge reads zero. " +
			"It is right when the manual says that nothing in it is under pressure now.",
		Caution: "A charge that is not marked or that has no valve: do not open it, send it out. Turn the valve away from your face and protect your eyes.",
	},
	{
		Key: "D2.2", Kind: Check, Group: "cartridge out", Place: "top-damper",
		Tools: "flush socket for the cap",
		Title: "Adjusters open, cartridge out",
		Text: "Open every adjuster gently to its end, undo the cartridge at the crown with a socket that sits flush and lift it out straight. " +
			"It is right when flats, threads and seals are whole and nothing of it is left in the leg.",
		Caution: "Never force an adjuster past its end. The cap can jump as its thread ends: keep your face out of line.",
	},
	{
		Key: "D2.3", Kind: Reading, Group: "cartridge out", Place: "stanchion-damper", Grades: fluidGrades,
		Title: "Judge the fluid, its air and its seals",
		Text: "Wipe the shaft, stroke it slowly twice and look for fluid that comes past a seal; listen for air. Then open it over a clean pan and look at the fluid. " +
			"Answer with the worst you see.",
	},
	{
		Key: "D2.4", Kind: Check, Group: "cartridge out", Place: "stanchion-damper",
		Title: "Shaft, bladder and floating piston sound",
		Text: "Roll the shaft along a straight edge and draw a fingernail along it. Look over the bladder for cracks and swelling, or over the floating piston and its bore for scores. " +
			"Clean every part and leave it to dry. It is right when the shaft is straight and unscored and the rest is whole.",
		Caution: "A scored shaft or bore eats its new seal: stop and propose what it needs first.",
	},
	{
		Key: "D2.5", Kind: Fit, Group: "cartridge out", Place: "stanchion-damper",
		Tools: "plastic pick",
		Parts: "seals of the cartridge",
		Title: "Fit the seals, one new for one old",
		Text: "Lay each old seal beside the new one before it goes in. " +
			"It is right when sizes match and each lies in its groove without a twist, lightly wetted with the damper’s own fluid.",
		Caution: "No metal picks: a scratch in a groove leaks for good.",
	},
	{
		Key: "D2.6", Kind: Torque, Place: "stanchion-damper", SpecKey: "shaft fastener", Conditions: []string{"opened here"},
		Title: "Torque piston or shaft, if it was opened",
		Text: "Hold the shaft in soft jaws by its flats, never by its sliding surface, and turn slowly until the wrench clicks once. " +
			"Where neither piston nor shaft was taken apart, this does not apply.",
	},
	{
		Key: "D2.7", Kind: Volume, Place: "top-damper", SpecKey: "damper fill",
		Tools: "measuring jug or syringe",
		Title: "Fill the cartridge",
		Text: "Use the fluid the sheet names, and no other. Pour slowly down the side with the cartridge upright, " +
			"adjusters open, until the stated amount is in.",
		Caution: "Another fluid changes the damping and may swell the seals.",
	},
	{
		Key: "D2.8", Kind: Wait, Place: "top-damper",
		Title: "Bleed it until no bubble comes",
		Text: "With the adjusters open move the shaft slowly through its whole stroke, let it stand, and go on until no more bubbles rise; or draw them out with a vacuum, " +
			"as the manual has it. It is right when three slow strokes in a row raise none.",
	},
	{
		Key: "D2.9", Kind: Reading, Place: "top-damper", SpecKey: "floating piston depth", Conditions: []string{"floating piston"},
		Tools: "depth gauge",
		Title: "Measure the floating piston’s depth",
		Text: "With the shaft where the manual says, measure from the edge of the body down to the floating piston. " +
			"It is right when the depth is that of the sheet; a cartridge without a floating piston has none, and this does not apply.",
		Caution: "Too high and it locks before full travel, too low and it draws air.",
	},
	{
		Key: "D2.10", Kind: Torque, Place: "stanchion-damper", SpecKey: "damper seal head",
		Title:   "Close it, shaft as the manual says",
		Text:    "Hold the shaft where the manual states. Start the seal head by hand, then turn slowly until the wrench clicks once.",
		Caution: "With the shaft elsewhere it holds too much or too little fluid.",
	},
	{
		Key: "D2.10.bleed", Kind: Torque, Place: "top-damper", SpecKey: "bleed screw", Conditions: []string{"bleed screw"},
		Title:   "Torque the bleed screw",
		Text:    "Wipe its seat dry, turn it in by hand with its new seal, then to the value shown.",
		Caution: "A small screw in soft metal: it strips early.",
	},
	{
		Key: "D2.11", Kind: Reading, Place: "top-damper", SpecKey: "damper gas", Conditions: []string{"gas charge"},
		Tools: "nitrogen or high-pressure pump, as the manual names",
		Title: "Charge the gas, read it",
		Text: "Charge with the gas and to the pressure the sheet states, read it off, then close the valve. " +
			"Where the cartridge holds no gas, this does not apply.",
		Caution: "Only with the fitting and the gas the manual names. Keep your face away from the valve, and never go above the stated pressure.",
	},
	{
		Key: "D2.12", Kind: Check, StopHere: true, Place: "stanchion-damper",
		Title: "Quiet, even, no dead spot, shaft dry",
		Text: "Stroke it slowly and quickly in the hand and try each adjuster at both ends. " +
			"It is right when it is quiet and even from the first millimetre both ways, a lockout holds and the wiped shaft stays dry.",
		Caution: "Whatever is wrong now is wrong in the fork: bleed it again before it goes in.",
	},
	{
		Key: "D2.13", Kind: Torque, Place: "top-damper", SpecKey: "damper cap",
		Title: "Torque the cartridge into the crown",
		Text:  "Slide it in straight, start its thread by hand for several turns, then turn slowly with a flush socket until the wrench clicks once.",
	},
	{
		Key: "D2.14", Kind: Check, Place: "foot-damper knob",
		Title: "Free the cartridge’s foot, lowers on",
		Text: "With the fork upside down, so that the oil of the lowers stays where it is, undo the fastener of the damper’s foot and tap it free with a soft mallet. " +
			"It is right when the shaft lets go and no oil has run out. A cartridge that is held at the crown alone has none, and this does not apply.",
		Caution: "Soft mallet, on the fastener only. If oil runs out, the lowers come off after all: add the lower-leg service.",
	},
	{
		Key: "D2.15", Kind: Torque, Place: "foot-damper", SpecKey: "foot bolt", Conditions: []string{"opened here"},
		Title: "Torque the cartridge’s foot, lowers on",
		Text: "New washer, threads clean, started by hand for several turns, then slowly until the wrench clicks once. " +
			"Where the foot was not opened, this does not apply.",
		Caution: "If the shaft spins along, stop and pull the lowers down on it; no impact gun.",
	},
}}
