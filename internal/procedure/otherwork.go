package procedure

// otherWork is the way through the shop for whatever no service of its own is
// shipped for: done by the maker's manual and written down in words.
var otherWork = Block{Code: "F", Title: "Other work", Revision: 1, Steps: []Step{
	{
		Block: "F", BlockTitle: "Other work",
		Key: "F1", Kind: Reading, Conditions: []string{"not kind rear shock"},
		Title: "What was done, in own words",
		Text:  whatWasDone,
		Caution: "Before anything is undone: air out slowly, eyes away from the valve, and no spring under load. " +
			"If it stays down or pushes back, stop: pressure is trapped, and only the maker’s manual has the method.",
	},
	{
		Block: "F", BlockTitle: "Other work",
		Key: "F1.shock", Kind: Reading, Conditions: []string{"kind rear shock"},
		Title: "What was done, in own words",
		Text:  whatWasDone,
		Caution: "A rear shock is pressurised. Air out slowly before anything is undone, eyes away from the valve; " +
			"one that stays down or pushes back still holds pressure: stop. The damper holds gas of its own: " +
			"it is not opened here, it normally goes to a specialist. The maker’s manual governs.",
	},
}}

const whatWasDone = "Do it by the maker’s manual. Then write what was found, what was done and what went in, " +
	"each torque with its value and where that comes from. " +
	"It is right when somebody who was not there can tell from it what was changed."
