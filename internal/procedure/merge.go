package procedure

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/fault"
)

// keyLockout is the spec key of the lever whose positions a model may name.
const keyLockout = "lockout positions"

// maxTogether is how many lines one press may sign.
const maxTogether = 6

// Merge makes the lines of one bench sheet out of the blocks of all services:
// each step key once, in the one fixed order of blocks, without the steps the
// facts rule out. The order of services does not matter, nor does naming one
// twice. What depends on a fact that is not known is asked rather than left
// out, and marked Unsure, except a part of a service marked "only if".
//
// It fails with fault.Invalid on "services" when there is none, and with
// fault.Conflict when a service is for units of another kind, when it names a
// block that is not there, when it has no work of its own for the unit, or when
// nothing is left to do.
func Merge(services []Service, blocks map[string]Block, f Facts) ([]Step, error) {
	if len(services) == 0 {
		return nil, fault.Field("services", "Choose at least one service.")
	}
	wanted := map[string]Step{}
	for _, s := range services {
		if !s.For(f.Kind) {
			return nil, fault.Conflict(fmt.Sprintf("“%s” is not for a %s.", s.Name, f.Kind))
		}
		if err := s.bring(wanted, blocks, f); err != nil {
			return nil, err
		}
	}
	if len(wanted) == 0 {
		return nil, fault.Conflict("These services have no steps for a unit of this kind.")
	}
	_, lowersOff := wanted[lowersOffStep]
	on := sheet{facts: f, lowersOff: lowersOff}
	steps := make([]Step, 0, len(wanted))
	for _, s := range wanted {
		s.Place = settle(s.Place, f)
		if s.Kind == Count && s.SpecKey == keyLockout {
			s.Grades = f.Positions
		}
		if s.Kind == Fit && len(s.Grades) == 0 {
			s.Grades = newUsually
		}
		switch {
		case s.Key == keyIdentify && f.Named != "":
			s.Text = "By the ticket: " + f.Named + ". " + s.Text
		case s.Key == keyLegs && f.Laid != "":
			s.Text = "By the model: " + f.Laid + ". " + s.Text
		case drainedOther(s.Key, f):
			s.Caution = ""
		}
		steps = append(steps, s)
	}
	sortSteps(steps, blocks, on)
	return together(steps), nil
}

// bring adds the steps of one service. One whose own parts bring none, such as
// a way of working that the spec sheet does not allow, is refused rather than
// left as a strip and a close with nothing between.
func (s Service) bring(wanted map[string]Step, blocks map[string]Block, f Facts) error {
	own, works := false, false
	for _, entry := range s.Blocks {
		n, err := want(wanted, entry, blocks, f)
		if err != nil {
			return refusal(s, err)
		}
		if !frames(entry) {
			own, works = true, works || n > 0
		}
	}
	if own && !works {
		return fault.Conflict(fmt.Sprintf("“%s” has no work of its own for this unit, by its model and its spec sheet: choose another service.", s.Name))
	}
	return nil
}

// frames reports whether an entry is of what stands around any work: the look,
// the strip, the close, the proof and the refit.
func frames(entry string) bool {
	name, _, _ := strings.Cut(entry, " ")
	p, err := parsePart(name)
	return err == nil && slices.Contains([]string{"A", "S", "Z", "V", "R"}, p.block)
}

// drainedOther reports whether the step judges what drained from the leg that is
// known not to be the damper's, whose seal it then says nothing of.
func drainedOther(key string, f Facts) bool {
	leg, drained := strings.CutPrefix(key, keyDrained)
	return drained && f.DamperLeg != "" && leg != f.DamperLeg
}

// errNoBlock is a service naming a block that the library does not hold.
type errNoBlock string

func (e errNoBlock) Error() string { return fmt.Sprintf("there is no block %q", string(e)) }

func refusal(s Service, err error) error {
	var missing errNoBlock
	if errors.As(err, &missing) {
		return fault.Conflict(fmt.Sprintf("The service “%s” needs the block %s, which is not in the library.", s.Name, string(missing)))
	}
	return fmt.Errorf("merge service %s: %w", s.Code, err)
}

// want adds the steps that one entry of a service's blocks brings, and counts
// them.
func want(wanted map[string]Step, entry string, blocks map[string]Block, f Facts) (count int, err error) {
	name, brought, err := brings(entry, f)
	if err != nil || brought == no {
		return 0, err
	}
	p, err := parsePart(name)
	if err != nil {
		return 0, err
	}
	block, ok := blocks[p.block]
	if !ok {
		return 0, errNoBlock(p.block)
	}
	for _, s := range block.Steps {
		s.Block, s.BlockTitle = block.Code, block.Title
		n := s.Number()
		asked, err := s.applies(f)
		if err != nil {
			return 0, err
		}
		if asked = asked.and(brought); asked == no || n < p.from || n > p.to {
			continue
		}
		before, twice := wanted[s.Key]
		s.Unsure = asked == unknown && (!twice || before.Unsure)
		wanted[s.Key] = s
		count++
	}
	return count, nil
}

// May lists the steps that a service can bring on some unit, in the order of its
// blocks.
func May(s Service, blocks map[string]Block) (list []Step, err error) {
	for _, entry := range s.Blocks {
		name, _, _ := strings.Cut(entry, " ")
		p, err := parsePart(name)
		if err != nil {
			return nil, refusal(s, err)
		}
		for _, step := range blocks[p.block].Steps {
			known := slices.ContainsFunc(list, func(l Step) bool { return l.Key == step.Key })
			if n := step.Number(); !known && n >= p.from && n <= p.to {
				list = append(list, step)
			}
		}
	}
	return list, nil
}

// brings takes the condition off an entry and puts it to the facts.
func brings(entry string, f Facts) (name string, brought answer, err error) {
	name, condition, conditional := strings.Cut(entry, " if ")
	if !conditional {
		return name, yes, nil
	}
	brought, err = ask(condition, f)
	name, surely := strings.CutSuffix(name, " only")
	if brought == unknown && surely {
		brought = no
	}
	return name, brought, err
}

// part is a block or some of its steps.
type part struct {
	block    string
	from, to int
}

var partForm = regexp.MustCompile(`^\.?([0-9]+)(?:-([0-9]+))?$`)

// parsePart reads "W", "S5", "S1-5" or "D1.1-8". The block is the longest code
// the order knows that the text begins with, so that D1 is never step 1 of D.
func parsePart(text string) (part, error) {
	var code string
	for _, st := range order {
		if strings.HasPrefix(text, st.block) && len(st.block) > len(code) {
			code = st.block
		}
	}
	rest := text[len(code):]
	const end = 1 << 30
	if rest == "" {
		return part{code, 0, end}, nil
	}
	m := partForm.FindStringSubmatch(rest)
	if code == "" || m == nil {
		return part{}, errNoBlock(text)
	}
	from, _ := strconv.Atoi(m[1])
	to := from
	if m[2] != "" {
		to, _ = strconv.Atoi(m[2])
	}
	return part{code, from, to}, nil
}

// sortSteps puts steps in the fixed order, within a stretch as in their block.
func sortSteps(steps []Step, blocks map[string]Block, on sheet) {
	seq := map[string]int{}
	for _, b := range blocks {
		for i, s := range b.Steps {
			seq[s.Key] = i
		}
	}
	slices.SortFunc(steps, func(a, b Step) int {
		return cmp.Or(cmp.Compare(slot(a, on), slot(b, on)), cmp.Compare(seq[a.Key], seq[b.Key]))
	})
}

// settle names the leg of places that depend on the unit. Where the leg is not
// known both are named.
func settle(place string, f Facts) string {
	var places []string
	for p := range strings.FieldsSeq(place) {
		switch at, leg, _ := strings.Cut(p, "-"); leg {
		case "spring":
			places = append(places, sides(at, f.SpringLeg)...)
		case "damper":
			places = append(places, sides(at, f.DamperLeg)...)
		default:
			places = append(places, p)
		}
	}
	return strings.Join(places, " ")
}

func sides(at, leg string) []string {
	if leg == "" {
		return []string{at + "-left", at + "-right"}
	}
	return []string{at + "-" + leg}
}

// together names each unbroken run of lines of one group after its first line,
// at most maxTogether lines long, and frees a line that stands alone.
func together(steps []Step) []Step {
	groups := make([]string, len(steps))
	for i := range steps {
		groups[i], steps[i].Group = steps[i].Group, ""
	}
	for i := 0; i < len(steps); {
		end := i + 1
		for end < len(steps) && end-i < maxTogether && groups[i] != "" &&
			groups[end] == groups[i] && steps[end].Block == steps[i].Block {
			end++
		}
		for j := i; end-i > 1 && j < end; j++ {
			steps[j].Group = steps[i].Key
		}
		i = end
	}
	return steps
}
