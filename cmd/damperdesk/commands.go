package main

import "flag"

// commands is a function because help, which is one of them, reads the list.
func commands() []command {
	return []command{
		{
			name: "demo", do: (*program).demo,
			about: "serve an invented shop, kept apart from yours",
			flags: func(f *flag.FlagSet, o *options) { f.BoolVar(&o.reset, "reset", false, "begin the demo anew") },
		},
		{name: "serve", do: (*program).serve, about: "serve your shop"},
		{name: "migrate up", do: (*program).migrateUp, about: "bring the database's schema up to date; serve does so too"},
		{
			name: "migrate down", do: (*program).migrateDown,
			about: "undo the newest steps of the schema, and what is kept in them",
			flags: func(f *flag.FlagSet, o *options) { f.IntVar(&o.steps, "steps", 1, "how `many`") },
		},
		{name: "migrate status", do: (*program).migrateStatus, about: "say which schema the database has and which is wanted"},
		{
			name: "staff add", do: (*program).staffAdd,
			about: "add somebody who works in the shop",
			flags: func(f *flag.FlagSet, o *options) {
				f.StringVar(&o.name, "name", "", "the person's `name`")
				f.StringVar(&o.roles, "roles", "", "`desk,mechanic,owner` or some of them")
				stdinFlag(f, o)
			},
		},
		{
			name: "staff reset", args: []string{"NAME"}, do: (*program).staffReset,
			about: "give somebody a new pass-phrase and sign them out everywhere",
			flags: stdinFlag,
		},
		{name: "link-key adopt", do: (*program).linkKeyAdopt, about: "make this server's link key the shop's, when the one before is lost"},
		{
			name: "simulate", do: (*program).simulate,
			about: "run an invented shop for months on a database of its own, and say how many of its promises were kept",
			flags: func(f *flag.FlagSet, o *options) {
				f.IntVar(&o.jobs, "jobs", 600, "how `many` a run")
				f.IntVar(&o.runs, "runs", 1, "how `many`, each with the next seed")
				f.IntVar(&o.seed, "seed", 1, "`number` that everything that happens follows from")
				f.Float64Var(&o.load, "load", 0.75, "work that comes, as a `share` of the hours at the bench")
				f.Float64Var(&o.uneven, "uneven", 0.4, "how far weeks `differ`: 0 not at all, 0.4 that one in six brings half as much again")
			},
		},
		{
			name: "simulate stock", do: (*program).simulateStock,
			about: "run the shelf of an invented shop for four years, and set what is advised against plainer ways to order",
			flags: func(f *flag.FlagSet, o *options) {
				f.IntVar(&o.items, "items", 300, "how `many`")
				f.IntVar(&o.runs, "runs", 1, "how `many`, each with the next seed")
				f.IntVar(&o.seed, "seed", 1, "`number` that everything that happens follows from")
			},
		},
		{name: "backtest", do: (*program).backtest, about: "say how the forecasts of ride hours that could have been made last year came true"},
		{
			name: "simulate riders", do: (*program).simulateRiders,
			about: "let invented riders ride for years, without a database, and hold the days that were foretold against those on which their hours were over",
			flags: func(f *flag.FlagSet, o *options) {
				f.IntVar(&o.riders, "riders", 400, "how `many`")
				f.IntVar(&o.years, "years", 2, "how `many`")
				f.IntVar(&o.runs, "runs", 1, "how `many`, each with the next seed")
				f.IntVar(&o.seed, "seed", 1, "`number` that everything that happens follows from")
			},
		},
		{name: "check", do: (*program).check, about: "test what must hold of the data; code 1 when something does not"},
		{
			name: "db-url", do: (*program).dbURL,
			about: "print the database's address, for psql and pg_dump; it may hold a password",
			flags: func(f *flag.FlagSet, o *options) {
				f.BoolVar(&o.owner, "owner", false, "the one that may change the schema")
			},
		},
		{name: "config", do: (*program).config, about: "print the settings and where each comes from, secrets hidden"},
		{name: "ready", do: (*program).ready, about: "ask the server that listens here whether it is ready; code 1 when not"},
		{name: "version", do: (*program).version, about: "print the version"},
		{name: "help", do: (*program).help, about: "print this"},
	}
}

func stdinFlag(f *flag.FlagSet, o *options) {
	f.BoolVar(&o.fromStdin, "stdin", false, "read the pass-phrase from standard input; without it one is made and printed once")
}
