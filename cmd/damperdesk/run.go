package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"slices"
	"strings"
)

// program is one run of one command.
type program struct {
	Config
	options
	args []string // what follows the command and is no flag
	in   io.Reader
	out  io.Writer // for people and pipes
	log  *slog.Logger
}

// options are the flags of single commands.
type options struct {
	reset     bool
	owner     bool
	steps     int
	name      string
	roles     string
	fromStdin bool
	jobs      int
	runs      int
	seed      int
	load      float64
	uneven    float64
	items     int
	riders    int
	years     int
}

// command is a row of the table of commands.
type command struct {
	name  string // one word or two
	args  []string
	about string
	flags func(*flag.FlagSet, *options)
	do    func(*program, context.Context) error
}

// misuse lists what is wrong with the flags and the environment. It ends the
// program with code 2.
type misuse []string

func (m misuse) Error() string { return strings.Join(m, "\n") }

func (m misuse) err() error {
	if len(m) == 0 {
		return nil
	}
	return m
}

// errFindings ends a check that found something; all is said by then.
var errFindings = errors.New("the check found something")

// run does what the arguments ask for.
func run(ctx context.Context, args, environ []string, in io.Reader, out, errOut io.Writer) error {
	cmd, rest, err := choose(args)
	if err != nil {
		return err
	}
	p := &program{in: in, out: out}
	flags, args, err := cmd.parse(rest, &p.options)
	if errors.Is(err, flag.ErrHelp) {
		return p.help(ctx)
	}
	if err != nil {
		return err
	}
	p.args = args
	if p.Config, err = readConfig(environ, flags); err != nil && cmd.name != "help" && cmd.name != "version" {
		return err
	}
	p.log = slog.New(slog.NewTextHandler(errOut, &slog.HandlerOptions{Level: p.LogLevel}))
	return cmd.do(p, ctx)
}

// exitCode is 0, 1 for what failed and 2 for what was asked wrongly.
func exitCode(err error, errOut io.Writer) int {
	var wrong misuse
	switch {
	case err == nil:
		return 0
	case errors.Is(err, errFindings):
		return 1
	case errors.As(err, &wrong):
		for _, line := range wrong {
			fmt.Fprintln(errOut, "damperdesk:", line)
		}
		return 2
	}
	fmt.Fprintln(errOut, "damperdesk:", err)
	return 1
}

// choose finds the command of one or two words at the head of the arguments.
func choose(args []string) (command, []string, error) {
	if len(args) == 0 {
		return command{}, nil, misuse{"say what to do, such as: damperdesk demo; damperdesk help lists the commands"}
	}
	if slices.Contains([]string{"-h", "-help", "--help"}, args[0]) {
		args = []string{"help"}
	}
	list := commands()
	for words := min(2, len(args)); words > 0; words-- {
		name := strings.Join(args[:words], " ")
		i := slices.IndexFunc(list, func(c command) bool { return c.name == name })
		if i >= 0 {
			return list[i], args[words:], nil
		}
	}
	for _, c := range list {
		if first, second, two := strings.Cut(c.name, " "); two && first == args[0] {
			return command{}, nil, misuse{fmt.Sprintf("%s: say what of it, such as: damperdesk %s %s", first, first, second)}
		}
	}
	return command{}, nil, misuse{fmt.Sprintf("there is no command %q; damperdesk help lists them", args[0])}
}

// parse reads flags, which may stand before and after the other arguments. It
// returns those of settings by name.
func (c command) parse(args []string, opts *options) (flags map[string]string, rest []string, err error) {
	set := flag.NewFlagSet(c.name, flag.ContinueOnError)
	set.SetOutput(io.Discard)
	flags = map[string]string{}
	for _, s := range settings {
		if !s.secret {
			set.Func(s.name, s.about, func(text string) error { flags[s.name] = text; return nil })
		}
	}
	if c.flags != nil {
		c.flags(set, opts)
	}
	for {
		if err := set.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return nil, nil, err
			}
			return nil, nil, misuse{fmt.Sprintf("%s: %v", c.name, err)}
		}
		if args = set.Args(); len(args) == 0 {
			break
		}
		rest, args = append(rest, args[0]), args[1:]
	}
	if len(rest) != len(c.args) {
		return nil, nil, misuse{fmt.Sprintf("%s: wanted is: damperdesk %s", c.name, c.usage())}
	}
	return flags, rest, nil
}

func (c command) usage() string {
	return strings.Join(append([]string{c.name}, c.args...), " ")
}
