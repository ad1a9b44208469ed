package procedure

const touchingTyre = "A tyre that touches can stop the wheel dead: do not let it go like that."

// refit puts the fork back into the bike it came in. Its first lines stand
// before the air goes in, the others after it.
var refit = Block{Code: "R", Title: "Refit", Revision: 6, Steps: []Step{
	{
		Key: "R1", Kind: Check, Place: "steerer crown",
		Title: "Race, bearings and spacers as pictured",
		Text: "Compare with the picture taken before the fork came out. " +
			"It is right when the crown race sits square and tight, both bearings are clean, greased and the right way up, and every spacer is in its place.",
	},
	{
		Key: "R2", Kind: Check, Place: "steerer",
		Title: "Steerer through the whole stem clamp",
		Text: "Slide the fork in and put spacers and stem on. " +
			"It is right when the steerer fills the stem’s clamp over its full height and still ends far enough below the cap to be drawn up.",
		Caution: "A steerer that is too short for the clamp is not ridden. On carbon use the plug it came with, never a star nut.",
	},
	{
		Key: "R2.crowns", Kind: Check, Place: "crown stanchion-left stanchion-right", Conditions: []string{"two crowns"},
		Title: "Stanchions at their marks, bumpers back",
		Text: "Set both stanchions in the crowns to the height that was marked, within what the maker allows, and put the bumpers where they meet the frame at full lock. " +
			"It is right when both sides measure the same and no stanchion can reach the frame.",
		Caution: "Below the maker’s lowest mark the tyre meets the crown.",
	},
	{
		Key: "R3", Kind: Check, Place: "crown arch lower-left lower-right", Conditions: []string{"not coil"},
		Title: "Bottom the fork: tyre and hose free",
		Text: "With the wheel in and the air still out, push the fork down until it stops and turn the bars from lock to lock. " +
			"It is right when the tyre clears crown, arch and frame and no hose or cable is pulled, pinched or rubbed.",
		Caution: touchingTyre,
	},
	{
		Key: "R3.coil", Kind: Check, Place: "crown arch lower-left lower-right", Conditions: []string{"coil"},
		Title: "Measure over the tyre; hose free",
		Text: "A coil spring keeps the fork from being pushed to its end by hand. With the wheel in and the fork at full length, " +
			"measure straight up from the tyre to the lowest part of the crown, then turn the bars from lock to lock. " +
			"It is right when that is more than the full travel and the clearance the maker asks for, " +
			"the tyre clears arch and frame, and no hose or cable is pulled, pinched or rubbed.",
		Caution: touchingTyre,
	},
	{
		Key: "R4", Kind: Check, Place: "steerer crown",
		Title: "Set the headset, stem bolts still loose",
		Text: "Draw the headset up at the cap before any stem bolt is tight, and line the stem up with the wheel. " +
			"It is right when nothing rocks as the fork is pushed to and fro and the bars turn freely from side to side.",
		Caution: "The cap sets the bearings only. It holds nothing once you ride.",
	},
	{
		Key: "R5", Kind: Torque, Place: "steerer", SpecKey: "stem", Fasteners: 2,
		Title: "Torque the stem on the steerer",
		Text: "The value is that of the stem’s maker, or of the fork’s maker where that is lower. " +
			"Tighten the bolts by turns, a little each, until the wrench clicks once at every bolt and no longer moves one.",
		Caution: "Too tight crushes the steerer, too loose lets the bars turn. Look at the headset again afterwards.",
	},
	{
		Key: "R5.crowns", Kind: Torque, Place: "crown", SpecKey: "crown pinch", Fasteners: 4, Conditions: []string{"two crowns"},
		Title: "Torque the crown bolts, by turns",
		Text: "Threads clean and as dry or greased as the manual says. Tighten the bolts of each crown by turns, a little each, " +
			"until the wrench clicks once at every bolt and no longer moves one.",
		Caution: "Too tight crushes the stanchion and makes it stick, too loose lets it slip. Look at the headset again afterwards.",
	},
	{
		Key: "R6", Kind: Torque, Place: "lower-left", SpecKey: "brake caliper", Fasteners: 2, Conditions: []string{"disc brake"},
		Title: "Torque the brake caliper, rotor true",
		Text: "Centre the caliper on the rotor with the lever held, then tighten both bolts by turns to the value shown. " +
			"It is right when the rotor runs between the pads without touching.",
		Caution: "Clean hands and no oil near rotor and pads. Keep fingers out of a turning rotor.",
	},
	{
		Key: "R7", Kind: Torque, Place: "axle", SpecKey: "axle", Conditions: []string{"threaded axle"},
		Title: "Torque the axle",
		Text: "Clean the thread, grease it if the manual says so, seat the wheel fully and turn the axle in by hand. " +
			"Then tighten it slowly to the value shown; pinch bolts, if any, come after it.",
		Caution: "An axle that does not turn in freely by hand is crossed: take it out and look.",
	},
	{
		Key: "R7.lever", Kind: Check, Place: "axle", Conditions: []string{"lever axle"},
		Title: "Close the axle’s lever",
		Text: "Seat the wheel fully, turn the axle in by hand and close the lever as its manual shows. " +
			"It is right when the lever takes real force over its second half, leaves a mark in the palm and lies clear of fork and rotor.",
		Caution: "A lever that closes easily holds nothing. It is closed over, never turned like a nut.",
	},
	{
		Key: "R7.pinch", Kind: Torque, Place: "axle", SpecKey: "axle pinch", Fasteners: 2, Conditions: []string{"axle pinch"},
		Title: "Torque the axle’s pinch bolts",
		Text: "Last of the axle: push the fork down a few times first, so that both legs lie where they run freely. " +
			"Then tighten the bolts by turns, a little each, until the wrench clicks once at every bolt and no longer moves one.",
		Caution: "Too tight cracks the casting, too loose lets the axle creep. Tightened before the axle, they hold the legs askew.",
	},
	{
		Key: "R8", Kind: Check, StopHere: true, Place: "axle lower-left",
		Title: "Lever firm, brake holds a pushed bike",
		Text: "Pump the lever until it is firm, then push the bike forward and pull the front brake hard. " +
			"It is right when the lever stays well off the bar, the wheel stops dead and nothing shifts or clicks.",
		Caution: "A lever that comes to the bar or a brake that slips: nobody rides it until that is put right.",
	},
	{
		Key: "R9.stem", Kind: Check, SecondCheck: true, Place: "steerer",
		Title: "Stem tight and straight",
		Text: "Hold the wheel between the knees and try to turn the bars, then rock the bike with the front brake held. " +
			"It is right when the stem does not turn, points along the wheel and the headset has no play.",
	},
	{
		Key: "R9.crowns", Kind: Check, SecondCheck: true, Place: "crown", Conditions: []string{"two crowns"},
		Title: "Both crowns tight, heights the same",
		Text: "Try every crown bolt by hand with its key, and measure both stanchions above the upper crown. " +
			"It is right when no bolt turns, both heights are the same and the bumpers stand where they meet the frame.",
	},
	{
		Key: "R9.axle", Kind: Check, SecondCheck: true, Place: "axle",
		Title: "Axle in and tight",
		Text: "Look at both ends of the axle, try it, its lever and any pinch bolts by hand and rock the wheel sideways. " +
			"It is right when the axle shows at both legs as it should, is tight or closed, and the wheel has no play.",
	},
	{
		Key: "R9.brake", Kind: Check, SecondCheck: true, Place: "lower-left",
		Title: "Brake mounted and working",
		Text: "Look at both caliper bolts and at the hose’s clamp, spin the wheel and pull the lever. " +
			"It is right when no bolt turns by hand, the rotor runs free and the brake holds a pushed bike.",
	},
	{
		Key: "R10", Kind: Check, Place: "crown",
		Title: "Remote, lights and battery back",
		Text: "Connect the remote, the lights, the speed sensor and on an e-bike, last of all, the battery. " +
			"It is right when each of them works and whatever came with the bike is on it again.",
	},
}}
