package procedure

// keyLegs is the step that compares the legs with what the library says of them.
const keyLegs = "Z1"

var closing = Block{Code: "Z", Title: "Close", Revision: 4, Steps: []Step{
	{
		Key: keyLegs, Kind: Check, StopHere: true, Place: "stanchion-left stanchion-right arch",
		Title: "Right parts in the right legs",
		Text: "It is right when spring and damper are in the legs the model’s page names, the fluid for each leg stands at hand, " +
			"and the lowers face the right way round. The spring is usually on the rider’s left, but not always.",
	},
	{
		Key: "Z2", Kind: Check, Place: "wiper-left wiper-right",
		Title: "Slide the lowers part-way on",
		Text: "Guide both stanchions through the wipers together and stop while the foot holes are still clear of the shafts. " +
			"It is right when every lip lies outwards with no fold in it.",
	},
	{
		Key: "Z3", Kind: Volume, Place: "foot-left", SpecKey: "lower-leg oil", Conditions: []string{"not shared oil left"},
		Tools: "syringe",
		Title: "Lower-leg oil in, rider’s left",
		Text: "Tilt the fork and put the oil in through the foot with a syringe. " +
			"It is right when the syringe is empty and none has run back out.",
		Caution: "The nozzle goes past the shaft, not into it. A leg whose damper shares its oil gets none here: it is filled from the top.",
	},
	{
		Key: "Z4", Kind: Volume, Place: "foot-right", SpecKey: "lower-leg oil", Conditions: []string{"not shared oil right"},
		Tools: "syringe",
		Title: "Lower-leg oil in, rider’s right",
		Text: "Tilt the fork and put the oil in through the foot with a syringe. " +
			"It is right when the syringe is empty and none has run back out.",
		Caution: "The nozzle goes past the shaft, not into it. A leg whose damper shares its oil gets none here: it is filled from the top.",
	},
	{
		Key: "Z5", Kind: Check, Group: "feet", Place: "foot-left foot-right",
		Title: "Push the lowers home",
		Text: "Push the lowers on until both shaft ends show at the feet. " +
			"If one does not show, look why; do not pull it in with the fastener.",
	},
	{
		Key: "Z6", Kind: Fit, Group: "feet", Place: "foot-left foot-right",
		Parts: "2 crush washers",
		Title: "New washers, fasteners started by hand",
		Text: "Wipe the threads clean, put a new washer on each foot fastener and turn it in by hand for several turns. " +
			"Thread locker only if the sheet says so.",
	},
	{
		Key: "Z7", Kind: Torque, Place: "foot-left", SpecKey: "foot bolt",
		Title: "Torque the foot, rider’s left",
		Text:  "Set the wrench to the value shown and turn slowly and evenly until it clicks once.",
		Caution: "If the shaft spins along, stop and pull the lowers down on it; no impact gun. " +
			"Too tight strips the shaft, too loose loses the oil.",
	},
	{
		Key: "Z8", Kind: Torque, Place: "foot-right", SpecKey: "foot bolt",
		Title: "Torque the foot, rider’s right",
		Text:  "Set the wrench to the value shown and turn slowly and evenly until it clicks once.",
		Caution: "If the shaft spins along, stop and pull the lowers down on it; no impact gun. " +
			"Too tight strips the shaft, too loose loses the oil.",
	},
	{
		Key: "Z9", Kind: Count, Place: "knob", SpecKey: "rebound range", Conditions: []string{"adjuster rebound"},
		Title: "Fit the rebound knob, count its range",
		Text: "Fit the knob and count from fully closed to fully open. " +
			"It is right when every click is felt and the count is what the sheet gives.",
	},
}}
