package procedure

// Quotes reports whether the service is to find out what is to be done.
func (s Service) Quotes() bool { return s.brings(quote.Code, 1) }

// Quoting reports whether nothing but that is wanted.
func Quoting(all []Service, wanted []string) bool {
	for _, code := range wanted {
		if s, known := ByCode(all, code); !known || !s.Quotes() {
			return false
		}
	}
	return len(wanted) > 0
}

// quote is what a fork is taken apart for when nobody knows yet whether it is
// worth it. What is agreed is added to the job as services of their own.
var quote = Block{Code: "Q", Title: "Quote", Revision: 1, Steps: []Step{
	{
		Key: "Q1", Kind: Reading,
		Title: "Say what it needs, in own words",
		Text: "Write what is worn, what is broken and what would have to be done, the parts with their numbers where you know them. " +
			"The damper is judged by its work and its leaks; it is not opened for a quote. " +
			"It is right when the desk can name a price from it without asking you.",
	},
	{
		Key: "Q2", Kind: Check,
		Title: "Parts bagged, oil out, tray named",
		Text: "Bag the small parts by where they belong, wipe what could drip, put all of it in one tray and name the tray on the job. " +
			"It is right when somebody else could put it together again.",
		Caution: "A fork in parts is not ridden. It goes back together by the services that are agreed, or goes home in parts and said so.",
	},
}}
