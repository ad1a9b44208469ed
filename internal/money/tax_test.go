package money_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/money"
	"damperdesk/internal/vector"
)

// TestVectors runs every row of testdata/money. Amounts are in minor units.
func TestVectors(t *testing.T) {
	for file, check := range map[string]func(*testing.T, map[string]string){
		"times": checkTimes, "tax": checkTax, "split": checkSplit, "hour": checkHour,
	} {
		t.Run(file, func(t *testing.T) {
			for i, row := range vector.Rows(t, "money", file) {
				t.Run(strconv.Itoa(i+2), func(t *testing.T) {
					check(t, row)
				})
			}
		})
	}
}

func whole(t *testing.T, text string) []int64 {
	t.Helper()
	var list []int64
	for word := range strings.FieldsSeq(text) {
		n, err := strconv.ParseInt(word, 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, n)
	}
	return list
}

func checkTimes(t *testing.T, row map[string]string) {
	in := whole(t, row["price"]+" "+row["thousandths"]+" "+row["want"])
	if got := money.Times(in[0], in[1]); got != in[2] {
		t.Errorf("Times(%d, %d) = %d, want %d", in[0], in[1], got, in[2])
	}
}

func checkHour(t *testing.T, row map[string]string) {
	in := whole(t, row["hour"]+" "+row["minutes"]+" "+row["want"])
	if got := money.ForMinutes(in[0], int(in[1])); got != in[2] {
		t.Errorf("ForMinutes(%d, %d) = %d, want %d", in[0], in[1], got, in[2])
	}
}

func checkTax(t *testing.T, row map[string]string) {
	rule, name := money.Tax, "Tax"
	if row["inside"] == "yes" {
		rule, name = money.TaxWithin, "TaxWithin"
	}
	in := whole(t, row["bp"]+" "+row["tax"]+" "+row["each"])
	var sum, each int64
	for _, amount := range whole(t, row["amounts"]) {
		sum += amount
		each += rule(amount, int(in[0]))
	}
	if got := rule(sum, int(in[0])); got != in[1] {
		t.Errorf("%s(%d, %d) = %d, want %d", name, sum, in[0], got, in[1])
	}
	if each != in[2] {
		t.Errorf("%s of each of %s at %d adds up to %d, want %d", name, row["amounts"], in[0], each, in[2])
	}
}

func checkSplit(t *testing.T, row map[string]string) {
	amount, weights, want := whole(t, row["amount"])[0], whole(t, row["weights"]), whole(t, row["want"])
	if got := money.Split(amount, weights); !slices.Equal(got, want) {
		t.Errorf("Split(%d, %v) = %v, want %v", amount, weights, got, want)
	}
}

// Amounts of the size a shop can owe.
func amounts(t *rapid.T) int64 {
	return rapid.Int64Range(-1_000_000_000_000, 1_000_000_000_000).Draw(t, "amount")
}

func TestPartsAddUpAndNoneIsOneOff(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		amount := amounts(t)
		weights := rapid.SliceOfN(rapid.Int64Range(0, 1_000_000), 1, 8).Draw(t, "weights")
		var all, sum int64
		for _, w := range weights {
			all += w
		}
		parts := money.Split(amount, weights)
		for i, p := range parts {
			sum += p
			if off := p*all - amount*weights[i]; off >= all && all > 0 || off <= -all && all > 0 {
				t.Errorf("Split(%d, %v) = %v: part %d is a unit or more off", amount, weights, parts, i)
			}
		}
		if all > 0 && sum != amount {
			t.Errorf("Split(%d, %v) = %v, which adds up to %d", amount, weights, parts, sum)
		}
	})
}

func TestTaxOfTheOppositeIsTheOpposite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		amount, bp := amounts(t), rapid.IntRange(0, 10_000).Draw(t, "bp")
		for name, rule := range map[string]func(int64, int) int64{"Tax": money.Tax, "TaxWithin": money.TaxWithin} {
			if a, b := rule(amount, bp), rule(-amount, bp); a != -b {
				t.Errorf("%s at %d bp: %d of %d, but %d of %d", name, bp, a, amount, b, -amount)
			}
		}
	})
}

// The tax inside what a net amount and its tax come to is that tax: rounding
// the tax by at most half a unit moves the gross by as much, the tax inside by less.
func TestTaxInsideTheGrossIsTheTaxOfTheNet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		net, bp := amounts(t), rapid.IntRange(0, 10_000).Draw(t, "bp")
		tax := money.Tax(net, bp)
		if got := money.TaxWithin(net+tax, bp); got != tax {
			t.Errorf("%d and its tax of %d at %d bp hold a tax of %d", net, tax, bp, got)
		}
	})
}
