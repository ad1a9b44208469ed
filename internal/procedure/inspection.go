package procedure

// The shipped blocks are common practice (no source); the maker's current
// manual governs.

var (
	// What is fitted: the usual first, which its step begins with.
	newUsually  = []string{"new", "kept, good", "kept, worn", "customer’s own"}
	keptUsually = []string{"kept, good", "kept, worn", "new", "customer’s own"}

	playGrades     = []string{"none", "felt", "seen", "knocks"}
	stanchionGrade = []string{"clean", "polished", "coating through", "catches a fingernail"}
	drainedGrades  = []string{"none", "little", "about right", "too much"}
	crownGrades    = []string{"silent and whole", "creaks", "crack, or in doubt"}
	movesGrades    = []string{"all of it works", "travel short", "rebound or lockout does nothing", "stuck down"}
	feltGrades     = []string{"no complaint", "felt here too", "not felt here"}
	verdictGrades  = []string{"safe to ride", "keep an eye on", "do not ride"}
)

// keyIdentify is the step that compares the unit with what the library says it
// is.
const keyIdentify = "A3"

// inspection is done at the bench before anything is washed.
var inspection = Block{Code: "A", Title: "Drop-off inspection", Revision: 6, Steps: []Step{
	{
		Key: "A1", Kind: Check, Group: "arrival", Place: "crown",
		Title: "Tag the unit and its bag",
		Text: "Tie the ticket to the unit and put its stub in the bag for small parts. " +
			"It is right when unit, bag and this sheet show the same number.",
	},
	{
		Key: "A2", Kind: Picture, Group: "arrival", Place: "crown stanchion-left stanchion-right",
		Title: "Take pictures before washing",
		Text: "Picture both sides, the serial number, every surface that slides in a seal, the crown of a fork, and every mark that is there already. " +
			"The pictures are right when a scratch as wide as a hair can be seen.",
	},
	{
		Key: keyIdentify, Kind: Check, Group: "arrival",
		Title: "Confirm model, travel, spring and damper",
		Text: "Read model and travel off the unit itself, and see whether it has an air or a coil spring and which kind of damper. " +
			"If it is not what the ticket says, correct the ticket before you go on.",
	},
	{
		Key: "A4", Kind: Reading, Group: "settings as received", Place: "top-spring", SpecKey: "rider pressure",
		Tools:        "shock pump with a gauge",
		MayBeUnknown: true, Conditions: []string{"air"},
		Title: "Read the pressure as received",
		Text: "Screw the gauge on squarely and read it before any air is let out. Keep this gauge by: the same one is used when it goes out. " +
			"One that came empty reads 0. If no reading can be had, answer unknown.",
		Caution: "Keep your eyes away from the valve. Leave a faulty valve alone.",
	},
	{
		Key: "A5.preload", Kind: Count, Group: "settings as received", Place: "top-spring", SpecKey: "preload turns",
		MayBeUnknown: true, Conditions: []string{"coil", "adjuster preload"},
		Title: "Count the spring preload as received",
		Text: "Turn the adjuster out gently until it stops, counting the turns to the nearest quarter, then put it back by the same count. " +
			"Fully out counts as 0.",
		Caution: "Never force an adjuster past its end.",
	},
	{
		Key: "A5.rebound", Kind: Count, Group: "settings as received", Place: "knob", SpecKey: "rebound clicks",
		MayBeUnknown: true, Conditions: []string{"adjuster rebound"},
		Title: "Count the rebound setting as received",
		Text: "Turn the adjuster gently until it is fully closed, counting each click, then put it back by the same count. " +
			"Count turns or positions where it has no clicks.",
		Caution: "Never force an adjuster past its end.",
	},
	{
		Key: "A5.compression", Kind: Count, Group: "settings as received", Place: "top-damper", SpecKey: "compression clicks",
		MayBeUnknown: true, Conditions: []string{"adjuster compression"},
		Title: "Count the compression setting as received",
		Text: "Turn the adjuster gently until it is fully closed, counting each click, then put it back by the same count. " +
			"Count turns or positions where it has no clicks.",
		Caution: "Never force an adjuster past its end.",
	},
	{
		Key: "A5.lockout", Kind: Count, Group: "settings as received", Place: "top-damper", SpecKey: "lockout positions",
		MayBeUnknown: true, Conditions: []string{"adjuster lockout"},
		Title: "Note the lockout position as received",
		Text: "Count the positions from fully closed to where the lever or remote stands, then put it back. " +
			"Fully closed counts as 0.",
		Caution: "Never force a lever past its end.",
	},
	{
		Key: "A6", Kind: Check, Group: "condition", Place: "wiper-left wiper-right", Grades: playGrades,
		Title: "Grade bushing play at three heights",
		Text: "First rule out the headset. Then hold the crown still, rock the lowers forwards and back, and feel the joint at the wiper with a fingertip: " +
			"near full extension, at a quarter and at half of the travel. Answer with the worst of the three.",
	},
	{
		Key: "A7", Kind: Check, Group: "condition", Place: "stanchion-left stanchion-right", Grades: stanchionGrade,
		Title: "Grade the stanchions by eye and nail",
		Text: "Wipe a strip clean, look along it in bright light and draw a fingernail across every mark. " +
			"Answer with the worst place of the two and picture it.",
	},
	{
		Key: "A8", Kind: Check, Group: "condition", Place: "crown steerer", Grades: crownGrades,
		Title: "Look over crown and steerer",
		Text: "Load the crown by hand and listen for creaking; look for cracks and bare lines where the stanchions and the steerer enter the crown. " +
			"It is right when it is silent and whole.",
		Caution: "If in doubt, the answer is do not ride.",
	},
	{
		Key: "A9", Kind: Check, Group: "condition", Place: "foot-left foot-right axle lower-left lower-right",
		Title: "Look for leaks and damage below",
		Text: "Look for oil at both feet and both wipers, for damaged threads at the axle and the brake mount, and for dents and cracks in the lowers. " +
			"Whatever you see is a finding.",
	},
	{
		Key: "A10", Kind: Check, Group: "condition", Place: "lower-left lower-right", Grades: movesGrades,
		Title: "Try travel, rebound and lockout",
		Text: "Push the fork through as much travel as it gives, let it come back, and try each adjuster at both ends. " +
			"It is right when it moves freely, comes back without a top-out knock and the lockout holds.",
		Caution: "A fork that is stuck down may hold trapped pressure and can fire its shaft out. Do not pump it, pull at it or open it: the maker’s manual has the only method.",
	},
	{
		Key: "A11", Kind: Check, Group: "condition", Grades: feltGrades,
		Title: "Try to reproduce the complaint",
		Text: "Do what the rider says brings it about and see whether you feel or hear it too. " +
			"Write it down as a finding if you do; if you cannot, say so to the desk before the fork comes apart.",
	},
}}
