package shop

import (
	"github.com/rickar/cal/v2"
	"github.com/rickar/cal/v2/at"
	"github.com/rickar/cal/v2/au"
	"github.com/rickar/cal/v2/be"
	"github.com/rickar/cal/v2/bg"
	"github.com/rickar/cal/v2/ca"
	"github.com/rickar/cal/v2/ch"
	"github.com/rickar/cal/v2/cz"
	"github.com/rickar/cal/v2/de"
	"github.com/rickar/cal/v2/dk"
	"github.com/rickar/cal/v2/es"
	"github.com/rickar/cal/v2/fr"
	"github.com/rickar/cal/v2/gb"
	"github.com/rickar/cal/v2/gr"
	"github.com/rickar/cal/v2/hr"
	"github.com/rickar/cal/v2/ie"
	"github.com/rickar/cal/v2/it"
	"github.com/rickar/cal/v2/lt"
	"github.com/rickar/cal/v2/lv"
	"github.com/rickar/cal/v2/nl"
	"github.com/rickar/cal/v2/no"
	"github.com/rickar/cal/v2/nz"
	"github.com/rickar/cal/v2/pl"
	"github.com/rickar/cal/v2/ro"
	"github.com/rickar/cal/v2/se"
	"github.com/rickar/cal/v2/si"
	"github.com/rickar/cal/v2/sk"
	"github.com/rickar/cal/v2/us"
	"github.com/rickar/cal/v2/za"
)

// Region has public holidays. Its code is that of ISO 3166.
type Region struct {
	Code, Name string
	days       []*cal.Holiday
}

// Regions are those whose holidays are known, by name. Days that only a part of
// one keeps are closures of their own.
var Regions = []Region{
	{"AU-ACT", "Australia: Australian Capital Territory", au.HolidaysACT},
	{"AU-NSW", "Australia: New South Wales", au.HolidaysNSW},
	{"AU-NT", "Australia: Northern Territory", au.HolidaysNT},
	{"AU-QLD", "Australia: Queensland", au.HolidaysQLD},
	{"AU-SA", "Australia: South Australia", au.HolidaysSA},
	{"AU-TAS", "Australia: Tasmania", au.HolidaysTAS},
	{"AU-VIC", "Australia: Victoria", au.HolidaysVIC},
	{"AU-WA", "Australia: Western Australia", au.HolidaysWA},
	{"AT", "Austria", at.Holidays},
	{"BE", "Belgium", be.Holidays},
	{"BG", "Bulgaria", bg.Holidays},
	{"CA", "Canada", ca.Holidays},
	{"HR", "Croatia", hr.Holidays},
	{"CZ", "Czechia", cz.Holidays},
	{"DK", "Denmark", dk.Holidays},
	{"GB-EAW", "England and Wales", gb.Holidays},
	{"FI", "Finland", finland},
	{"FR", "France", fr.Holidays},
	{"DE", "Germany: what all of it keeps", de.Holidays},
	{"DE-BW", "Germany: Baden-Württemberg", de.HolidaysBW},
	{"DE-BY", "Germany: Bavaria", de.HolidaysBY},
	{"DE-BE", "Germany: Berlin", de.HolidaysBE},
	{"DE-BB", "Germany: Brandenburg", de.HolidaysBB},
	{"DE-HB", "Germany: Bremen", de.HolidaysHB},
	{"DE-HH", "Germany: Hamburg", de.HolidaysHH},
	{"DE-HE", "Germany: Hesse", de.HolidaysHE},
	{"DE-NI", "Germany: Lower Saxony", de.HolidaysNI},
	{"DE-MV", "Germany: Mecklenburg-Western Pomerania", de.HolidaysMV},
	{"DE-NW", "Germany: North Rhine-Westphalia", de.HolidaysNW},
	{"DE-RP", "Germany: Rhineland-Palatinate", de.HolidaysRP},
	{"DE-SL", "Germany: Saarland", de.HolidaysSL},
	{"DE-SN", "Germany: Saxony", de.HolidaysSN},
	{"DE-ST", "Germany: Saxony-Anhalt", de.HolidaysST},
	{"DE-SH", "Germany: Schleswig-Holstein", de.HolidaysSH},
	{"DE-TH", "Germany: Thuringia", de.HolidaysTH},
	{"GR", "Greece", gr.Holidays},
	{"IE", "Ireland", ie.Holidays},
	{"IT", "Italy", it.Holidays},
	{"LV", "Latvia", lv.Holidays},
	{"LT", "Lithuania", lt.Holidays},
	{"NL", "Netherlands", nl.Holidays},
	{"NZ", "New Zealand", nz.Holidays},
	{"NO", "Norway", no.Holidays},
	{"PL", "Poland", pl.Holidays},
	{"RO", "Romania", ro.Holidays},
	{"GB-SCT", "Scotland", scotland},
	{"SK", "Slovakia", sk.Holidays},
	{"SI", "Slovenia", si.Holidays},
	{"ZA", "South Africa", za.Holidays},
	{"ES", "Spain", es.Holidays},
	{"SE", "Sweden", se.Holidays},
	{"CH-AG", "Switzerland: Aargau", ch.HolidaysAG},
	{"CH-BL", "Switzerland: Basel-Landschaft", ch.HolidaysBL},
	{"CH-BS", "Switzerland: Basel-Stadt", ch.HolidaysBS},
	{"CH-BE", "Switzerland: Bern", ch.HolidaysBE},
	{"CH-FR", "Switzerland: Fribourg", ch.HolidaysFR},
	{"CH-GE", "Switzerland: Geneva", ch.HolidaysGE},
	{"CH-GR", "Switzerland: Grisons", ch.HolidaysGR},
	{"CH-LU", "Switzerland: Lucerne", ch.HolidaysLU},
	{"CH-SG", "Switzerland: St. Gallen", ch.HolidaysSG},
	{"CH-TI", "Switzerland: Ticino", ch.HolidaysTI},
	{"CH-VS", "Switzerland: Valais", ch.HolidaysVS},
	{"CH-VD", "Switzerland: Vaud", ch.HolidaysVD},
	{"CH-ZH", "Switzerland: Zurich", ch.HolidaysZH},
	{"US", "United States, federal", us.Holidays},
}
