package demo

import (
	"fmt"
	"math/rand/v2"
)

// numbers are those that a customer's units and bikes carry.
type numbers struct {
	of      int // the customer
	serials *rand.Rand
	frames  *rand.Rand
	bikes   map[string]string // the frame number of each bike
	units   int               // that have been numbered
}

func numbersOf(customer int) *numbers {
	return &numbers{of: customer, serials: lots(uint64(customer)), frames: lots(1<<21 + uint64(customer)), bikes: map[string]string{}}
}

// unit has a serial; that of some customers' first can no longer be read, and has
// a tag of the shop's own.
func (n *numbers) unit() (serial, tag string) {
	serial = fmt.Sprintf("%c%c%06d", 'A'+rune(n.serials.IntN(26)), 'A'+rune(n.serials.IntN(26)), n.serials.IntN(1_000_000))
	if n.units++; n.of%8 == 5 && n.units == 1 {
		return "", fmt.Sprintf("TL %d", 40+n.of)
	}
	return serial, ""
}

// frame is the number of one bike; of every third nobody has looked for it.
func (n *numbers) frame(bike string) string {
	number, known := n.bikes[bike]
	if !known {
		if drawn := n.frames.IntN(10_000_000); drawn%3 != 0 {
			number = fmt.Sprintf("WB%07d", drawn)
		}
		n.bikes[bike] = number
	}
	return number
}
