package main

import (
	"strings"
	"testing"
)

func TestWhatIsPrinted(t *testing.T) {
	for _, c := range []struct {
		args []string
		want []string
	}{
		{[]string{"version"}, []string{"damperdesk "}},
		{[]string{"help"}, []string{"migrate down", "--reset", "staff reset NAME", "DAMPERDESK_LINK_KEY_FILE", "--listen host:port"}},
		{[]string{"--help"}, []string{"Commands"}},
		{[]string{"serve", "-h"}, []string{"Commands"}},
		{[]string{"config", "--data", "/nowhere/desk", "--listen", ":0"}, []string{"--data", "/nowhere/desk", ":0", "does not run"}},
	} {
		var out strings.Builder
		if err := run(t.Context(), c.args, []string{"HOME=/home/ada"}, nil, &out, &strings.Builder{}); err != nil {
			t.Errorf("%v: %v", c.args, err)
		}
		for _, want := range c.want {
			if !strings.Contains(out.String(), want) {
				t.Errorf("%v: no %q in\n%s", c.args, want, out.String())
			}
		}
	}
}

func TestMisuseIsToldWithCode2(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{nil, "damperdesk help"},
		{[]string{"sreve"}, `no command "sreve"`},
		{[]string{"migrate"}, "such as: damperdesk migrate up"},
		{[]string{"migrate", "sideways"}, "such as: damperdesk migrate up"},
		{[]string{"migrate", "down", "--steps", "0"}, "--steps is 1 or more"},
		{[]string{"serve", "--port", "80"}, "not defined: -port"},
		{[]string{"serve", "now"}, "wanted is: damperdesk serve"},
		{[]string{"staff", "reset"}, "wanted is: damperdesk staff reset NAME"},
		{[]string{"staff", "add", "--name", "Ada"}, "say who and what for"},
		{[]string{"serve", "--listen", "80"}, "--listen"},
		{[]string{"serve", "--database-url", "postgres://a@b/c"}, "not defined"}, // secrets have no flag
	} {
		err := run(t.Context(), c.args, []string{"HOME=/home/ada"}, nil, &strings.Builder{}, &strings.Builder{})
		var errOut strings.Builder
		code := exitCode(err, &errOut)
		if code != 2 || !strings.Contains(errOut.String(), c.want) {
			t.Errorf("%v: got code %d and %q, want 2 and %q", c.args, code, errOut.String(), c.want)
		}
	}
}

func TestFlagsMayFollowTheOtherArguments(t *testing.T) {
	cmd, rest, err := choose([]string{"staff", "reset", "Ada", "--stdin", "--data", "/srv/desk"})
	if err != nil {
		t.Fatal(err)
	}
	var opts options
	flags, args, err := cmd.parse(rest, &opts)
	if err != nil || flags["data"] != "/srv/desk" || !opts.fromStdin || len(args) != 1 || args[0] != "Ada" {
		t.Errorf("got flags %v, options %+v, arguments %v, %v", flags, opts, args, err)
	}
}
