package procedure

import (
	"maps"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
)

// keyAirLost is what is read in the morning.
const keyAirLost = "air lost overnight"

// Overnight is whether the unit stands overnight before the step.
func (s Step) Overnight() bool { return s.SpecKey == keyAirLost }

// Pause is a time for which a unit stands while it is worked on.
type Pause struct {
	Before  float64 // share of the steps that come before it
	Minutes int     // 0: overnight
}

// Outline is as much of the services and of the blocks in force as says for how
// long units stand. It keeps what it has answered, so it is for one goroutine.
type Outline struct {
	services []outlineService
	steps    []outlineStep
	blocks   map[string]Block
	answered map[string][]Pause
}

type outlineService struct {
	Code   string
	Name   string
	Blocks []string
}

type outlineStep struct {
	Block      string
	Key        string
	Kind       Kind
	SpecKey    string
	Minutes    int
	Conditions []string
}

// Queue asks for it.
func (o *Outline) Queue(b *pgx.Batch) {
	db.Queue(b, &o.services, "select code, name, blocks from service order by seq, code")
	db.Queue(b, &o.steps, `select b.code as block, s.key, s.kind, s.spec_key, s.minutes, s.conditions
		from step s join block b on b.id = s.block_id where b.state = 'current' order by b.code, s.seq`)
}

// Pauses are the waits of a known length that services ask for on a unit, in the
// order of its sheet. What no sheet could be made of has none.
func (o *Outline) Pauses(codes []string, f Facts) []Pause {
	lost := f.lostAir() == yes
	key := strings.Join(append(slices.Sorted(slices.Values(codes)), f.Kind, f.Spring, f.Damper, f.CameAs), "\n")
	if lost {
		key += "\n" + LosesAir
	}
	pauses, known := o.answered[key]
	if !known {
		pauses = o.pauses(codes, f)
		if o.answered == nil {
			o.answered = map[string][]Pause{}
		}
		o.answered[key] = pauses
	}
	return pauses
}

func (o *Outline) pauses(codes []string, f Facts) (list []Pause) {
	wanted := map[string]Step{}
	for _, s := range o.services {
		for _, entry := range s.Blocks {
			if !slices.Contains(codes, s.Code) {
				break
			}
			if _, err := want(wanted, entry, o.inForce(), f); err != nil {
				return nil
			}
		}
	}
	_, lowersOff := wanted[lowersOffStep]
	steps := slices.Collect(maps.Values(wanted))
	sortSteps(steps, o.inForce(), sheet{facts: f, lowersOff: lowersOff})
	for i, s := range steps {
		if s.Minutes > 0 || s.Overnight() {
			list = append(list, Pause{Before: float64(i) / float64(len(steps)), Minutes: s.Minutes})
		}
	}
	return list
}

func (o *Outline) inForce() map[string]Block {
	if o.blocks == nil {
		o.blocks = map[string]Block{}
		for _, s := range o.steps {
			b := o.blocks[s.Block]
			b.Code = s.Block
			b.Steps = append(b.Steps, Step{Block: s.Block, Key: s.Key, Kind: s.Kind, SpecKey: s.SpecKey, Minutes: s.Minutes, Conditions: s.Conditions})
			o.blocks[s.Block] = b
		}
	}
	return o.blocks
}

// Named is what a service is called.
func (o *Outline) Named(code string) string {
	for _, s := range o.services {
		if s.Code == code {
			return s.Name
		}
	}
	return code
}
