package templates

// ShopPage leads the owner to everything that is set for the whole shop.
type ShopPage struct {
	Base
	Groups []SettingGroup
	Start  *ShopStart // nil once there was a ticket
}

// ShopStart is the way of a new shop to its first ticket: how each thing
// stands, empty while it is missing.
type ShopStart struct{ Hours, Terms, People string }

// SettingGroup is settings that belong together.
type SettingGroup struct {
	Name string
	Rows []Setting
}

// Setting is where something is set, and how it stands in a line of words;
// empty while it is not set.
type Setting struct {
	Path, Name string
	For        string // what it is good for
	Stands     string
}
