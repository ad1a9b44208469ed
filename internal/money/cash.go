package money

// coins are the currencies whose smallest coin is larger than their minor unit,
// with the coin in minor units. CHF, CAD and DKK: Unicode CLDR, as
// golang.org/x/text states it. The others from memory of their central banks:
// no öre coins in Sweden since 2010 and Norway since 2012, no haléř in Czechia
// since 2008, 5 forint since 2008, 5 cents in Australia, 10 in New Zealand. What
// is usual for the euro differs by country and is left to the cent.
var coins = map[string]int64{"CHF": 5, "CAD": 5, "AUD": 5, "NZD": 10, "DKK": 50, "SEK": 100, "NOK": 100, "CZK": 100, "HUF": 500}

// Coin is the smallest amount of a currency that can be paid in cash.
func Coin(code string) int64 {
	if coin, ok := coins[code]; ok {
		return coin
	}
	return 1
}

// Cash is an amount as it can be paid in cash, rounded half up away from zero
// to the smallest coin.
func Cash(amount int64, code string) int64 {
	coin := Coin(code)
	return Part(amount, 1, coin) * coin
}
