package templates

import (
	"strconv"
	"strings"

	"damperdesk/internal/customer"
)

// foundLine tells people of one name apart.
func (b Base) foundLine(c customer.Found) string {
	parts := []string{strconv.Itoa(c.Units) + " units"}
	if c.Units == 1 {
		parts[0] = "1 unit"
	}
	if c.Phone != "" {
		parts = append(parts, c.Phone)
	}
	if c.Mail != "" {
		parts = append(parts, c.Mail)
	}
	if c.LastHere != nil {
		parts = append(parts, "last here "+b.Day(*c.LastHere))
	}
	return strings.Join(parts, ", ")
}
