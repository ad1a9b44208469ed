package money

import (
	"cmp"
	"math/big"
	"slices"
)

// basis is a whole in basis points.
const basis = 10_000

// Times is so many thousandths of a price, rounded half up away from zero.
func Times(price, thousandths int64) int64 { return Part(price, thousandths, 1000) }

// ForMinutes is so many minutes at a price an hour, rounded as Times is.
func ForMinutes(hour int64, minutes int) int64 { return Part(hour, int64(minutes), 60) }

// Tax is the tax of a rate in basis points on a net amount, rounded half up
// away from zero. Of several amounts the sum is taxed, not each.
func Tax(net int64, bp int) int64 { return Part(net, int64(bp), basis) }

// Share is so many basis points of an amount, rounded as Tax is.
func Share(amount int64, bp int) int64 { return Part(amount, int64(bp), basis) }

// TaxWithin is the tax of a rate that lies inside a gross amount, rounded as
// Tax is; the rest is net.
func TaxWithin(gross int64, bp int) int64 { return Part(gross, int64(bp), basis+int64(bp)) }

// Split shares an amount out by weights that are not below zero: each part is
// rounded towards zero, then the units left over go one each to the largest
// remainders, the earlier part first among equals. Without any weight nothing
// is shared out.
func Split(amount int64, weights []int64) []int64 {
	var whole int64
	for _, w := range weights {
		whole += w
	}
	parts := make([]int64, len(weights))
	if whole == 0 {
		return parts
	}
	left, rests := amount, make([]*big.Int, len(weights))
	for i, w := range weights {
		part, rest := new(big.Int).QuoRem(product(amount, w), big.NewInt(whole), new(big.Int))
		parts[i], rests[i] = part.Int64(), rest.Abs(rest)
		left -= parts[i]
	}
	order := make([]int, len(weights))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return rests[b].Cmp(rests[a]) })
	one := int64(cmp.Compare(left, 0))
	for _, i := range order[:left*one] {
		parts[i] += one
	}
	return parts
}

func product(a, b int64) *big.Int { return new(big.Int).Mul(big.NewInt(a), big.NewInt(b)) }

// Part is a·part/whole, rounded half up away from zero, for a whole above zero.
func Part(a, part, whole int64) int64 {
	twice := new(big.Int).Lsh(product(a, part), 1)
	half := big.NewInt(int64(twice.Sign()) * whole)
	return twice.Add(twice, half).Quo(twice, big.NewInt(2*whole)).Int64()
}
