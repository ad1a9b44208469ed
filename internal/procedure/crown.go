package procedure

var (
	straightGrades = []string{"straight and parallel", "bent or twisted"}
	clampGrades    = []string{"sound", "crushed, cut or too short"}
	fitGrades      = []string{"fit", "keep an eye on", "do not ride"}
)

// crown is what a crash asks for. Creaking is listened for while the lowers
// still carry load.
var crown = Block{Code: "C", Title: "Crown-steerer inspection", Revision: 1, Steps: []Step{
	{
		Key: "C1", Kind: Check, Group: "crown and steerer", Place: "steerer crown",
		Title: "Clean crown and steerer, look at the race",
		Text: "Clean the crown, the joints and the whole steerer, and look round the crown race. Where there is rust or a dark line at its edge, lift it off. " +
			"It is right when bare, dry metal or whole paint is seen everywhere.",
	},
	{
		Key: "C2", Kind: Picture, Group: "crown and steerer", Place: "steerer crown",
		Title: "Picture the joints in bright light",
		Text: "Picture the foot of the steerer, the race’s seat and each joint of the crown, with bright light from the side. " +
			"The pictures are right when a line as fine as a hair would show.",
	},
	{
		Key: "C3", Kind: Check, Group: "crown and steerer", Place: "crown steerer", Grades: crownGrades,
		Title: "Listen for creaks under load",
		Text: "Rule out headset and stem. Draw a paint line across each joint, load the crown by hand both ways. " +
			"It is right when nothing creaks and no line breaks.",
		Caution: "If in doubt, the answer is do not ride.",
	},
	{
		Key: "C4", Kind: Reading, Group: "crown and steerer", Place: "stanchion-left stanchion-right", Grades: straightGrades,
		Title: "Stanchions straight and parallel",
		Text: "Lay a straight edge along both stanchions, front and side, and sight across the two of them. Measure between them at the top and at the bottom. " +
			"It is right when neither shows light and both distances are the same.",
	},
	{
		Key: "C5", Kind: Check, Group: "crown and steerer", Place: "steerer", Grades: clampGrades,
		Title: "Steerer: clamp area, length, plug",
		Text: "Look round the steerer where the stem clamps it, measure its length against the stem and spacers, and look at the plug or nut inside. " +
			"It is right when it is round, unmarked, long enough for the whole clamp, and has the plug it needs.",
		Caution: "Carbon: any crush or cut condemns it; no star nut in carbon, ever.",
	},
	{
		Key: "C6", Kind: Check, StopHere: true, SecondCheck: true, Place: "crown steerer", Grades: fitGrades,
		Title: "Verdict on crown and steerer",
		Text: "Weigh what was seen, heard and measured by the maker’s limits. Somebody else then looks at the same places. " +
			"It is right when both say the same.",
		Caution: "Press fits that creak are replaced, never glued or pinned. If in doubt, do not ride.",
	},
}}
