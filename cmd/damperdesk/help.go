package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"runtime"
	"runtime/debug"
	"strings"
	"text/tabwriter"
)

// version is set at build time by -ldflags "-X main.version=...".
var version string

func (p *program) help(context.Context) error {
	fmt.Fprint(p.out, "Damperdesk, the suspension desk of a bike shop.\n\nUsage: damperdesk COMMAND [flags]\n\n")
	w := tabwriter.NewWriter(p.out, 0, 4, 3, ' ', 0)
	fmt.Fprintln(w, "Commands")
	for _, c := range commands() {
		fmt.Fprintf(w, "  %s\t%s\n", c.usage(), c.about)
		c.helpFlags(w)
	}
	fmt.Fprintln(w, "\nSettings: a flag goes before a variable, an empty variable counts as none")
	for _, s := range settings {
		s.help(w)
	}
	return w.Flush()
}

func (c command) helpFlags(w io.Writer) {
	if c.flags == nil {
		return
	}
	set := flag.NewFlagSet("", flag.ContinueOnError)
	c.flags(set, &options{})
	set.VisitAll(func(f *flag.Flag) {
		value, about := flag.UnquoteUsage(f)
		fmt.Fprintf(w, "    %s\t%s\n", strings.TrimSpace("--"+f.Name+" "+value), about)
	})
}

func (s setting) help(w io.Writer) {
	value, about := flag.UnquoteUsage(&flag.Flag{Usage: s.about})
	if !s.secret {
		fmt.Fprintf(w, "  --%s %s\t%s\n    %s\t\n", s.name, value, about, strings.Join(s.env, ", "))
		return
	}
	fmt.Fprintf(w, "  %s\t%s\n    or %[1]s_FILE\tthe same from a file\n", s.env[0], about)
	for _, name := range s.env[1:] {
		fmt.Fprintf(w, "    or %s, %[1]s_FILE\t\n", name)
	}
}

func (p *program) version(context.Context) error {
	_, err := fmt.Fprintf(p.out, "damperdesk %s, %s, %s/%s\n", versionText(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return err
}

// versionText is what was given at build time, else what the Go command knows:
// a tag, or the commit the source stood at.
func versionText() string {
	if version != "" {
		return version
	}
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "of unknown source"
}
