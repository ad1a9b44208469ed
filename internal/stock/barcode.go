package stock

import (
	"strings"

	"damperdesk/internal/quantity"
)

// CheckBarcode refuses a number of 8, 12, 13 or 14 digits whose last one is not the
// check digit of a GTIN (GS1 General Specifications 7.9): then a digit was misread
// or mistyped. Anything else may stand on a label.
func CheckBarcode(code string) error {
	digits := strings.ReplaceAll(code, " ", "")
	if strings.Trim(digits, "0123456789") != "" {
		return nil
	}
	switch len(digits) {
	case 8, 12, 13, 14:
		if checkDigit(digits[:len(digits)-1]) != digits[len(digits)-1] {
			return &quantity.ParseError{Message: "A digit of that barcode is wrong: its last one does not fit the others."}
		}
	}
	return nil
}

// checkDigit weighs the digits by 3 and 1 from the last one on, and fills the sum up
// to the next ten.
func checkDigit(digits string) byte {
	sum, weight := 0, 3
	for i := len(digits) - 1; i >= 0; i-- {
		sum += weight * int(digits[i]-'0')
		weight = 4 - weight
	}
	return byte('0' + (10-sum%10)%10)
}
