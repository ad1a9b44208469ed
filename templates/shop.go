package templates

// ShopPage leads the owner to everything that is set for the whole shop.
type ShopPage struct {
	Base
	Groups []SettingGroup
}

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
