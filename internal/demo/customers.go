package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"damperdesk/internal/customer"
)

// person is an invented customer. Phone numbers are of the range that is kept
// for fiction in the United Kingdom (Ofcom: 07700 900000 to 900999).
type person struct {
	name, phone, mail string
	kg                float64 // with kit
	forks             []fork
}

// fork is one unit of a customer: a model of the library, or words.
type fork struct{ model, bike, colour string }

var customers = []person{
	{"Mirela Anttonen", "07700 900 140", "mirela@example.com", 68, []fork{{"Sill", "trail bike", "sage green"}}},
	{"Jonas Whitcombe", "07700 900 141", "", 88, []fork{{"Apsis", "cross-country bike", "white"}, {"Berm", "long-travel bike", "black"}}},
	{"Sanne Whitlow", "07700 900 142", "sanne.whitlow@example.org", 71, []fork{{"Kelp", "trail bike", "plum"}}},
	{"Priya Castellan", "07700 900 143", "priya@example.com", 75, []fork{{"Berm", "long-travel bike", "orange"}}},
	{"Kofi Lindgren", "07700 900 144", "kofi@example.org", 82, []fork{{"Apsis", "commuter", "navy blue"}}},
	{"Hanne Byrd", "07700 900 145", "hanne@example.com", 64, []fork{{"Lode", "hardtail", "yellow"}, {"Sill", "trail bike", "grey"}}},
	{"Tomás Ellery", "07700 900 146", "", 91, []fork{{"Sill", "trail bike", "red"}, {"Ledge", "downhill bike", "raw metal"}}},
	{"Wren Abara", "07700 900 147", "wren@example.com", 59, []fork{{"Apsis", "cross-country bike", "mint"}}},
	{"Sunil Hartley", "07700 900 148", "sunil.hartley@example.org", 79, []fork{{"Berm", "e-bike", "graphite"}, {"Lode", "hardtail", "silver"}}},
	{"Beatrix Nowak", "07700 900 149", "beatrix@example.com", 66, []fork{{"Kelp", "trail bike", "teal"}, {"Lode", "second bike", "white"}}},
	{"Eero Vance", "07700 900 150", "", 97, []fork{{"Ledge", "downhill bike", "black"}}},
	{"Farida Holm", "07700 900 151", "farida@example.com", 62, []fork{{"Apsis", "cross-country bike", "violet"}, {"Kelp", "trail bike", "sand"}}},
	{"Callum Reyes", "07700 900 152", "callum@example.org", 84, []fork{{"Berm", "long-travel bike", "green"}}},
	{"Noor Ashby", "07700 900 153", "noor@example.com", 70, []fork{{"Lode", "hardtail", "brown"}}},
	{"Odette Marsh", "07700 900 118", "odette@example.com", 74, []fork{{"Lode", "hardtail", "green"}, {"Apsis", "commuter", "cream"}}},
	{"Oda Marshall", "07700 900 181", "", 77, []fork{{"Sill", "trail bike", "blue"}}},
	{"Lowri Fenwick", "07700 900 154", "lowri@example.com", 61, []fork{{"Kelp", "trail bike", "coral"}, {"rear shock", "trail bike", "coral"}}},
	{"Anselm Okoro", "07700 900 155", "anselm@example.org", 93, []fork{{"Ledge", "downhill bike", "olive"}, {"Sill", "trail bike", "bronze"}}},
	{"Greta Tolland", "07700 900 156", "", 58, []fork{{"Apsis", "cross-country bike", "black"}}},
	{"Idris Pell", "07700 900 157", "idris@example.com", 86, []fork{{"Berm", "e-bike", "white"}, {"Kelp", "trail bike", "slate"}}},
	{"Maeve Sorley", "07700 900 158", "maeve@example.org", 65, []fork{{"Sill", "trail bike", "lime"}}},
	{"Bram Hallows", "07700 900 159", "bram@example.com", 102, []fork{{"Berm", "long-travel bike", "maroon"}, {"Lode", "hardtail", "black"}}},
	{"Yuki Farrant", "07700 900 160", "yuki@example.com", 57, []fork{{"Kelp", "trail bike", "rose"}}},
	{"Della Quist", "07700 900 161", "", 69, []fork{{"Lode", "hardtail", "red"}, {"Apsis", "commuter", "grey"}}},
	{"Rafe Condon", "07700 900 162", "rafe@example.org", 81, []fork{{"Sill", "trail bike", "copper"}}},
	{"Ingrid Moss", "07700 900 163", "ingrid@example.com", 72, []fork{{"Berm", "long-travel bike", "turquoise"}, {"Kelp", "trail bike", "mustard"}}},
	{"Samir Lowther", "07700 900 164", "samir@example.com", 78, []fork{{"Apsis", "cross-country bike", "orange"}}},
	{"Nell Garrick", "07700 900 165", "", 60, []fork{{"Lode", "child's bike", "purple"}, {"Kelp", "trail bike", "navy blue"}}},
	{"Piotr Ames", "07700 900 166", "piotr@example.org", 89, []fork{{"Ledge", "downhill bike", "white"}, {"Berm", "long-travel bike", "grey"}}},
	{"Thea Rowan", "07700 900 167", "thea@example.com", 67, []fork{{"Sill", "trail bike", "ochre"}}},
}

// newcomers have never been here before today.
var newcomers = []person{
	{"Petra Lindqvist", "07700 900 168", "petra@example.com", 73, []fork{{"Perigee", "hardtail", "ivory"}}},
	{"Joss Marlow", "07700 900 169", "", 80, []fork{{"Sill", "trail bike", "khaki"}}},
	{"Bettina Orr", "07700 900 170", "bettina@example.org", 63, []fork{{"Kelp", "trail bike", "cobalt"}}},
	{"Rosalind Tate", "07700 900 171", "rosalind@example.com", 69, []fork{{"Swale", "long-travel bike", "pewter"}}},
}

// unit is a fork of a customer as it is in the database.
type unit struct {
	fork
	owner      *person
	customerID int64
	id         int64
}

// shockWords describe the one unit that is not in the library.
const shockWords = "rear shock, 210 by 50, air, no name on it"

// addCustomers adds everybody who will ever come, long before they do.
func (s *seeder) addCustomers(ctx context.Context) ([]*unit, error) {
	ids, err := s.modelIDs(ctx)
	if err != nil {
		return nil, err
	}
	var units []*unit
	for i, p := range everybody() {
		at := s.clock.hour(3, 10).Add(time.Duration(i) * 7 * time.Minute)
		answer, err := s.act(ctx, "meet "+p.name, s.staff["Odile"], at, func(a acting) (string, error) {
			answer, err := addCustomer(a, p, ids, numbersOf(i))
			if err == nil {
				err = wantsMore(a, p, i, answer)
			}
			return answer, err
		})
		if err != nil {
			return nil, err
		}
		added, err := readUnits(p, answer)
		if err != nil {
			return nil, err
		}
		units = append(units, added...)
	}
	return units, nil
}

// everybody is the customers and the newcomers.
func everybody() []*person {
	var list []*person
	for _, some := range [][]person{customers, newcomers} {
		for i := range some {
			list = append(list, &some[i])
		}
	}
	return list
}

// addCustomer answers with the id of the customer and those of the units.
func addCustomer(a acting, p *person, models map[string]int64, n *numbers) (string, error) {
	id, err := customer.Add(a.ctx, a.tx, a.by, customer.Details{Name: p.name, Phone: p.phone, Mail: p.mail})
	if err != nil {
		return "", err
	}
	answer := fmt.Sprint(id)
	for _, f := range p.forks {
		d := customer.UnitDetails{Kind: "fork", ModelID: models[f.model], BikeWords: f.bike, BikeColour: f.colour, FrameNo: n.frame(f.colour + f.bike)}
		d.Serial, d.Tag = n.unit()
		if m := modelOf(f.model); m != nil && m.kind != "" {
			d.Kind = m.kind
		}
		if d.ModelID == 0 {
			d.Kind, d.ModelWords, d.Serial, d.Tag = "rear shock", shockWords, "", "TL 31"
		}
		unitID, err := customer.AddUnit(a.ctx, a.tx, a.by, id, d)
		if err != nil {
			return "", err
		}
		answer += fmt.Sprintf(" %d", unitID)
	}
	return answer, nil
}

func readUnits(p *person, answer string) ([]*unit, error) {
	var ids []int64
	for word := range strings.FieldsSeq(answer) {
		var id int64
		if _, err := fmt.Sscan(word, &id); err != nil {
			return nil, err
		}
		ids = append(ids, id)
	}
	if len(ids) != len(p.forks)+1 {
		return nil, fmt.Errorf("%s has %d units, not those of %q", p.name, len(p.forks), answer)
	}
	var units []*unit
	for i, f := range p.forks {
		units = append(units, &unit{fork: f, owner: p, customerID: ids[0], id: ids[i+1]})
	}
	return units, nil
}

// seed makes every run draw the same lots.
const seed = 20_261

func lots(of uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, of)) }
